import { auditedScan, readyScan } from '../audit.ts';
import type { Mesh } from '../geometry/mesh.ts';
import { scanKey, type Brief } from '../rules/brief.ts';
import type { JudgedFile, ScanBodies } from '../verdict/judgedFile.ts';
import { listedPath, type ListedFile } from './listedFiles.ts';
import { openedFile } from './openedFile.ts';
import { isOneFile } from './writtenFile.ts';

/** The scans that panels are judged by. */
export interface JobScans {
  /** What the verdict tells of each file. */
  readonly judged: readonly JudgedFile[];
  /** The files that are left to be judged. */
  readonly others: readonly ListedFile[];
  readonly bodies: ScanBodies;
}

/**
 * Reads the scans of a job, each file once, and makes them ready. `lists`: the files of each scan;
 * `files`: all that is to be audited, among which a scan keeps the name it has there.
 */
export function jobScans(
  lists: readonly (readonly string[])[],
  files: readonly ListedFile[],
  brief: Brief,
  most: number,
): JobScans {
  const read = new Map<string, { readonly judged: JudgedFile; readonly mesh: Mesh | null }>();
  const listed = new Set<ListedFile>();
  for (const path of new Set(lists.flat())) {
    const own = files.filter((file) => isOneFile(file.path, path));
    own.forEach((file) => listed.add(file));
    const file = own[0] ?? listedPath(path)[0];
    read.set(
      path,
      openedFile(file, most, (source) => auditedScan(source, brief)),
    );
  }
  return {
    judged: [...read.values()].map(({ judged }) => judged),
    others: files.filter((file) => !listed.has(file)),
    bodies: new Map(
      lists.map((list) => [
        scanKey(list),
        readyScan(list.flatMap((path) => read.get(path)!.mesh ?? [])),
      ]),
    ),
  };
}

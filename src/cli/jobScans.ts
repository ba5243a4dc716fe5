import { statSync } from 'node:fs';
import { basename } from 'node:path';
import { auditedScan, isScan, readyScan, type Source } from '../audit.ts';
import type { Mesh } from '../geometry/mesh.ts';
import type { ScanBody } from '../geometry/scanBody.ts';
import { scanKey, type Brief } from '../rules/brief.ts';
import { checksumOf, type JudgedFile, type ScanBodies } from '../verdict/judgedFile.ts';
import { keepScan, keptScan, leastKept } from './keptScan.ts';
import { printable } from '../writers/shown.ts';
import type { ListedFile } from './listedFiles.ts';
import { openedFile } from './openedFile.ts';
import { scanProgress } from './progress.ts';
import { UsageFault } from './usageFault.ts';
import { isOneFile } from './writtenFile.ts';

/** The scans that panels are judged by. */
export interface JobScans {
  /** What the verdict tells of each file. */
  readonly judged: readonly JudgedFile[];
  /** The files that are left to be judged. */
  readonly others: readonly ListedFile[];
  readonly bodies: ScanBodies;
}

/** How scans are to be read. */
export interface ScanReading {
  readonly brief: Brief;
  /** Bytes that a mesh may take. */
  readonly most: number;
  /** Version of the program; null: nothing is to be kept beside a scan, nor what is kept to be used. */
  readonly keptBy: string | null;
  readonly stream: NodeJS.WriteStream;
}

/** A scan as it was read; its body where that is there already. */
interface ReadScan {
  readonly judged: JudgedFile;
  readonly mesh: Mesh | null;
  readonly body: ScanBody | null;
}

const sizeOf = ({ path }: ListedFile): number => {
  try {
    return statSync(path).size;
  } catch {
    return 0;
  }
};

/** The source with `step` told of all that is read of it. */
const watched = (source: Source, step: (bytes: number) => void): Source =>
  'scan' in source
    ? {
        ...source,
        scan: {
          size: source.scan.size,
          read: (into, at) => {
            const count = source.scan.read(into, at);
            step(count);
            return count;
          },
        },
      }
    : source;

/** The scan by what is kept beside it, else by its own bytes; then it is kept. */
function readOrKept(
  { path, name }: ListedFile,
  source: Source,
  brief: Brief,
  keptBy: string | null,
): ReadScan {
  if (!('scan' in source) || keptBy === null || source.scan.size < leastKept)
    return { ...auditedScan(source, brief), body: null };
  const checksum = checksumOf(source.scan);
  const kept = keptScan(path, checksum, keptBy);
  if (kept)
    return { judged: { ...kept.judged, file: name }, mesh: kept.body.tree.mesh, body: kept.body };
  const { judged, mesh } = auditedScan(source, brief, checksum);
  const body = mesh && readyScan([mesh]);
  if (body) keepScan(path, checksum, keptBy, { judged, body });
  return { judged, mesh: body && body.tree.mesh, body };
}

async function readScan(
  file: ListedFile,
  { brief, most, keptBy, stream }: ScanReading,
): Promise<ReadScan> {
  const line = await scanProgress(printable(file.name), sizeOf(file), stream);
  try {
    return openedFile(file, most, (source) =>
      readOrKept(file, watched(source, line.step), brief, keptBy),
    );
  } finally {
    line.end();
  }
}

/** What the verdict calls a scan that is none of the files to be audited. */
const ownName = (path: string, files: readonly ListedFile[]): string => {
  const name = basename(path);
  return files.some((file) => file.name === name) ? path : name;
};

/** Refuses what no reader of scans would take. `from`: where it is named. */
export function refuseNoScan(paths: readonly string[], from: string): void {
  const other = paths.find((path) => !isScan(path));
  if (other !== undefined)
    throw new UsageFault(
      `${from} ${other}: that is no scan. Give a mesh or a cloud of points: *.stl, *.ply or *.obj.`,
    );
}

/**
 * Reads the scans of a job, each file once, and makes them ready. `lists`: the files of each scan;
 * `files`: all that is to be audited, among which a scan keeps the name it has there.
 */
export async function jobScans(
  lists: readonly (readonly string[])[],
  files: readonly ListedFile[],
  reading: ScanReading,
): Promise<JobScans> {
  const read = new Map<string, ReadScan>();
  const listed = new Set<ListedFile>();
  for (const path of new Set(lists.flat())) {
    const own = files.filter((file) => isOneFile(file.path, path));
    own.forEach((file) => listed.add(file));
    const file = own[0] ?? { path, name: ownName(path, files), fault: null };
    read.set(path, await readScan(file, reading));
  }
  const bodyOf = (list: readonly string[]): ScanBody | null => {
    const own = list.map((path) => read.get(path)!);
    return own.length === 1 && own[0].body
      ? own[0].body
      : readyScan(own.flatMap(({ mesh }) => mesh ?? []));
  };
  return {
    judged: [...read.values()].map(({ judged }) => judged),
    others: files.filter((file) => !listed.has(file)),
    bodies: new Map(lists.map((list) => [scanKey(list), bodyOf(list)])),
  };
}

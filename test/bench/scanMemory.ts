import { execFileSync } from 'node:child_process';
import { statSync } from 'node:fs';
import { join } from 'node:path';
import { largeStl } from './largeStl.ts';

/** The most memory a process has that reads one large scan, its own included. */
export interface ScanMemory {
  readonly name: string;
  readonly fileBytes: number;
  readonly peakBytes: number;
  /** Peak over the size of the file. */
  readonly ratio: number;
  readonly aim: string;
  readonly milliseconds: number;
}

/** What the process that reads prints (readScanFile.ts). */
interface Report {
  readonly milliseconds: number;
  readonly peakBytes: number;
  readonly counts: { readonly vertices: number; readonly triangles: number } | null;
  readonly faults: number;
}

/** Writes a binary STL file of that many facets, and has a process of its own read it. */
export function scanMemory(root: string, folder: string, facets: number): ScanMemory {
  const path = join(folder, 'large.stl');
  const across = Math.round(Math.sqrt(facets / 2.5));
  const written = largeStl(path, Math.round(facets / 2 / across), across);
  const printed = execFileSync(
    process.execPath,
    [join(root, '.ci/run-ts.mjs'), join(root, 'test/bench/readScanFile.ts'), path],
    { encoding: 'utf8' },
  );
  const { milliseconds, peakBytes, counts, faults } = JSON.parse(printed) as Report;
  if (counts?.triangles !== written || counts.vertices !== written / 2 || faults > 0)
    throw new Error(`${written} facets were written, ${counts?.triangles} triangles were read`);
  const fileBytes = statSync(path).size;
  return {
    name: `memory: a binary STL file of ${written} facets, corners welded`,
    fileBytes,
    peakBytes,
    ratio: peakBytes / fileBytes,
    aim: 'at most 2.5',
    milliseconds,
  };
}

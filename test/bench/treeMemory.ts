import { execFileSync } from 'node:child_process';
import { join } from 'node:path';

/** The most memory that a process takes to make the tree of a scan, the scan included. */
export interface TreeMemory {
  readonly name: string;
  readonly meshBytes: number;
  readonly peakBytes: number;
  /** Peak over the size of the mesh's arrays. */
  readonly ratio: number;
  readonly aim: string;
  readonly milliseconds: number;
}

/** What the process that makes the tree prints (makeTree.ts). */
interface Report {
  readonly milliseconds: number;
  readonly peakBytes: number;
  readonly meshBytes: number;
  readonly triangles: number;
  readonly isFound: boolean;
}

/** Has a process of its own make the tree of a generated scan of about so many triangles. */
export function treeMemory(root: string, count: number): TreeMemory {
  const printed = execFileSync(
    process.execPath,
    [join(root, '.ci/run-ts.mjs'), join(root, 'test/bench/makeTree.ts'), String(count)],
    { encoding: 'utf8' },
  );
  const { milliseconds, peakBytes, meshBytes, triangles, isFound } = JSON.parse(printed) as Report;
  if (!isFound) throw new Error('the tree finds nothing');
  return {
    name: `memory: closest points, ${triangles} triangles made ready`,
    meshBytes,
    peakBytes,
    ratio: peakBytes / meshBytes,
    aim: 'at most 2.5',
    milliseconds,
  };
}

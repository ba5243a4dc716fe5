// Makes the tree of a generated scan, and prints the most memory that the process had more than before:
// run by treeMemory.ts in a process of its own.
import { existsSync, readFileSync } from 'node:fs';
import { wavyField } from '../../fixtures/wavyField.ts';
import { closestPoints } from '../../src/geometry/closestPoints.ts';
import { triangleTree } from '../../src/geometry/triangleTree.ts';

/** The most memory that this process has had; what resourceUsage tells may be that of the one it came from. */
function highWater(): number {
  const path = '/proc/self/status';
  const told = existsSync(path) && /VmHWM:\s+(\d+) kB/.exec(readFileSync(path, 'utf8'));
  return 1024 * (told ? Number(told[1]) : process.resourceUsage().maxRSS);
}

const [count] = process.argv.slice(2).map(Number);
const before = process.memoryUsage().rss;
const mesh = wavyField(count);
const begun = performance.now();
const tree = triangleTree(mesh);
const milliseconds = performance.now() - begun;
const peakBytes = highWater() - before;
const { distances } = closestPoints(tree, Float64Array.of(1, 1, 0));
console.log(
  JSON.stringify({
    milliseconds,
    peakBytes,
    meshBytes: mesh.vertices.byteLength + mesh.triangles.byteLength,
    triangles: mesh.triangles.length / 3,
    isFound: distances[0] < 1,
  }),
);

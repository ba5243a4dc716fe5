import type { TriangleTree } from './triangleTree.ts';
import type { Vector } from './vector.ts';

/**
 * Calls `visit` with the first triangle and the count of each leaf, in the order of the leaves, whose box
 * comes within `radius` mm of a place: every triangle that has a vertex so near is in one of them.
 */
export function leavesWithin(
  { boxes, links, counts }: TriangleTree,
  [x, y, z]: Vector,
  radius: number,
  visit: (first: number, count: number) => void,
): void {
  const square = radius * radius;
  const waiting = [0];
  while (waiting.length > 0) {
    const node = waiting.pop()!;
    const at = 6 * node;
    const dx = Math.max(boxes[at] - x, 0, x - boxes[at + 3]);
    const dy = Math.max(boxes[at + 1] - y, 0, y - boxes[at + 4]);
    const dz = Math.max(boxes[at + 2] - z, 0, z - boxes[at + 5]);
    if (dx * dx + dy * dy + dz * dz > square) continue;
    if (counts[node] === 0) waiting.push(links[node], node + 1);
    else visit(links[node], counts[node]);
  }
}

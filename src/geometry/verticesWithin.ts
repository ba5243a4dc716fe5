import type { TriangleTree } from './triangleTree.ts';
import type { Vector } from './vector.ts';

/**
 * Numbers of the mesh's vertices that lie within `radius` mm of a place, rising: all of them, but for
 * vertices of no triangle.
 */
export function verticesWithin(tree: TriangleTree, place: Vector, radius: number): Uint32Array {
  const { boxes, links, counts, corners, mesh } = tree;
  const { vertices } = mesh;
  const [x, y, z] = place;
  const square = radius * radius;
  const found = new Set<number>();
  const waiting = [0];
  while (waiting.length > 0) {
    const node = waiting.pop()!;
    const at = 6 * node;
    const dx = Math.max(boxes[at] - x, 0, x - boxes[at + 3]);
    const dy = Math.max(boxes[at + 1] - y, 0, y - boxes[at + 4]);
    const dz = Math.max(boxes[at + 2] - z, 0, z - boxes[at + 5]);
    if (dx * dx + dy * dy + dz * dz > square) continue;
    if (counts[node] === 0) {
      waiting.push(links[node], node + 1);
      continue;
    }
    for (let k = 3 * links[node]; k < 3 * (links[node] + counts[node]); k++) {
      const v = 3 * corners[k];
      const [ex, ey, ez] = [vertices[v] - x, vertices[v + 1] - y, vertices[v + 2] - z];
      if (ex * ex + ey * ey + ez * ez <= square) found.add(corners[k]);
    }
  }
  return Uint32Array.from(found).sort();
}

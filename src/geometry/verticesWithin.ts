import { leavesWithin } from './leavesWithin.ts';
import type { TriangleTree } from './triangleTree.ts';
import type { Vector } from './vector.ts';

/**
 * Numbers of the mesh's vertices that lie within `radius` mm of a place, rising: all of them, but for
 * vertices of no triangle.
 */
export function verticesWithin(tree: TriangleTree, place: Vector, radius: number): Uint32Array {
  const { vertices, triangles } = tree.mesh;
  const [x, y, z] = place;
  const square = radius * radius;
  const found = new Set<number>();
  leavesWithin(tree, place, radius, (first, count) => {
    for (let k = 3 * first; k < 3 * (first + count); k++) {
      const v = 3 * triangles[k];
      const [ex, ey, ez] = [vertices[v] - x, vertices[v + 1] - y, vertices[v + 2] - z];
      if (ex * ex + ey * ey + ez * ez <= square) found.add(triangles[k]);
    }
  });
  return Uint32Array.from(found).sort();
}

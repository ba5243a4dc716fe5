import { placeOrder } from './placeOrder.ts';
import { searchTree, treeSearch } from './treeSearch.ts';
import type { TriangleTree } from './triangleTree.ts';

/** Where on its triangle a closest point lies: inside, on the edge after corner 0, 1 or 2, or on that corner. */
export const features = [
  'face',
  'edge-0',
  'edge-1',
  'edge-2',
  'corner-0',
  'corner-1',
  'corner-2',
] as const;

/** The points of a mesh that are closest to some places, in flat arrays. */
export interface ClosestPoints {
  /** x, y, z of each, mm; NaN where nothing lies within reach. */
  readonly points: Float64Array;
  /** mm; Infinity where nothing lies within reach. */
  readonly distances: Float64Array;
  /** Number of the triangle in the tree's mesh, the lowest of several as near; -1 where nothing lies within reach. */
  readonly triangles: Int32Array;
  /** Index in `features`. */
  readonly features: Uint8Array;
}

/** The length of a way, at least. */
const lengthOf = (x: number, y: number, z: number): number =>
  Math.sqrt(x * x + y * y + z * z) * (1 + 1e-14);

/**
 * The closest points of a mesh to places (x, y, z one after the other, mm) that lie within `reach` mm,
 * exactly. Places are looked at in an order in which they are near each other, each search starting from
 * what was found before; the answers hang on no order.
 */
export function closestPoints(
  tree: TriangleTree,
  places: Float64Array,
  reach = Infinity,
): ClosestPoints {
  const { vertices, triangles } = tree.mesh;
  const count = Math.floor(places.length / 3);
  const found: ClosestPoints = {
    points: new Float64Array(3 * count).fill(NaN),
    distances: new Float64Array(count).fill(Infinity),
    triangles: new Int32Array(count).fill(-1),
    features: new Uint8Array(count),
  };
  const search = treeSearch(tree);
  const { known } = search;
  let last = -1;
  for (const number of placeOrder(places)) {
    const px = places[3 * number];
    const py = places[3 * number + 1];
    const pz = places[3 * number + 2];
    // also false for NaN
    if (!(Math.abs(px) + Math.abs(py) + Math.abs(pz) < Infinity)) continue;
    const moved = lengthOf(px - known[0], py - known[1], pz - known[2]);
    known[0] = px;
    known[1] = py;
    known[2] = pz;
    known[3] = reach * reach;
    known[4] = -1;
    searchTree(search, moved, last);
    const triangle = known[4];
    if (triangle < 0) continue;
    last = triangle;
    const a = 3 * triangles[3 * triangle];
    const b = 3 * triangles[3 * triangle + 1];
    const c = 3 * triangles[3 * triangle + 2];
    for (let axis = 0; axis < 3; axis++) {
      const from = vertices[a + axis];
      found.points[3 * number + axis] =
        from + known[6] * (vertices[b + axis] - from) + known[7] * (vertices[c + axis] - from);
    }
    found.distances[number] = Math.sqrt(known[3]);
    found.triangles[number] = triangle;
    found.features[number] = known[5];
  }
  return found;
}

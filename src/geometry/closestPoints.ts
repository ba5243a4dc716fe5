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
  /** Number of the triangle in the mesh, the lowest of several as near; -1 where nothing lies within reach. */
  readonly triangles: Int32Array;
  /** Index in `features`. */
  readonly features: Uint8Array;
}

/** Middles of 32-bit numbers can be taken some 150 times along each axis, and halves 32 times: more than all. */
const mostWaiting = 1024;

/** What is known of the place that is asked for. */
interface Best {
  square: number;
  /** In the order of the leaves; -1: none. */
  leaf: number;
  x: number;
  y: number;
  z: number;
  feature: number;
}

/**
 * The closest point of one triangle, taken where it is nearer than the best so far. By the regions of the
 * triangle's plane: Ericson, Real-Time Collision Detection, 5.1.5 (from memory; held against brute force
 * of another kind in test/geometry).
 */
function tryTriangle(
  tree: TriangleTree,
  leaf: number,
  px: number,
  py: number,
  pz: number,
  best: Best,
): void {
  const { corners, numbers, mesh } = tree;
  const v = mesh.vertices;
  const [i, j, k] = [3 * corners[3 * leaf], 3 * corners[3 * leaf + 1], 3 * corners[3 * leaf + 2]];
  const ax = v[i];
  const ay = v[i + 1];
  const az = v[i + 2];
  const abx = v[j] - ax;
  const aby = v[j + 1] - ay;
  const abz = v[j + 2] - az;
  const acx = v[k] - ax;
  const acy = v[k + 1] - ay;
  const acz = v[k + 2] - az;
  const apx = px - ax;
  const apy = py - ay;
  const apz = pz - az;
  const d1 = abx * apx + aby * apy + abz * apz;
  const d2 = acx * apx + acy * apy + acz * apz;
  let s = 0;
  let t = 0;
  let feature = 0;
  if (d1 <= 0 && d2 <= 0) feature = 4;
  else {
    const bb = abx * abx + aby * aby + abz * abz;
    const bc = abx * acx + aby * acy + abz * acz;
    const cc = acx * acx + acy * acy + acz * acz;
    // products with p - b and p - c, from those with p - a
    const d3 = d1 - bb;
    const d4 = d2 - bc;
    const d5 = d1 - bc;
    const d6 = d2 - cc;
    if (d3 >= 0 && d4 <= d3) {
      s = 1;
      feature = 5;
    } else if (d6 >= 0 && d5 <= d6) {
      t = 1;
      feature = 6;
    } else {
      const vc = d1 * d4 - d3 * d2;
      const vb = d5 * d2 - d1 * d6;
      const va = d3 * d6 - d5 * d4;
      if (vc <= 0 && d1 >= 0 && d3 <= 0) {
        s = d1 / (d1 - d3);
        feature = 1;
      } else if (vb <= 0 && d2 >= 0 && d6 <= 0) {
        t = d2 / (d2 - d6);
        feature = 3;
      } else if (va <= 0 && d4 - d3 >= 0 && d5 - d6 >= 0) {
        t = (d4 - d3) / (d4 - d3 + (d5 - d6));
        s = 1 - t;
        feature = 2;
      } else {
        const whole = va + vb + vc;
        s = vb / whole;
        t = vc / whole;
      }
    }
  }
  // a triangle with two corners in one place is the edge that is left of it
  if (!(Math.abs(s) <= 1 && Math.abs(t) <= 1)) {
    const isLine = acx * acx + acy * acy + acz * acz > 0;
    const along = isLine ? d2 : d1;
    const size = isLine ? acx * acx + acy * acy + acz * acz : abx * abx + aby * aby + abz * abz;
    const share = size > 0 ? Math.min(1, Math.max(0, along / size)) : 0;
    s = isLine ? 0 : share;
    t = isLine ? share : 0;
    feature = isLine ? 3 : 1;
  }
  const x = ax + s * abx + t * acx;
  const y = ay + s * aby + t * acy;
  const z = az + s * abz + t * acz;
  const square = (px - x) * (px - x) + (py - y) * (py - y) + (pz - z) * (pz - z);
  if (
    square < best.square ||
    (square === best.square && best.leaf >= 0 && numbers[leaf] < numbers[best.leaf])
  ) {
    best.square = square;
    best.leaf = leaf;
    best.x = x;
    best.y = y;
    best.z = z;
    best.feature = feature;
  }
}

/** Square of the distance from a place to a node's box; 0 inside. */
function boxSquare(boxes: Float32Array, node: number, px: number, py: number, pz: number): number {
  const at = 6 * node;
  const dx = Math.max(boxes[at] - px, 0, px - boxes[at + 3]);
  const dy = Math.max(boxes[at + 1] - py, 0, py - boxes[at + 4]);
  const dz = Math.max(boxes[at + 2] - pz, 0, pz - boxes[at + 5]);
  return dx * dx + dy * dy + dz * dz;
}

/**
 * The closest points of a mesh to places (x, y, z one after the other, mm) within `reach` mm, exactly.
 * Each search starts from the triangle that was closest to the place before it, so that places in the
 * order of a grid are found fastest; the answers hang on no order. Triangles are to be larger than a
 * billionth of a millimetre: products of what is smaller vanish.
 */
export function closestPoints(
  tree: TriangleTree,
  places: Float64Array,
  reach = Infinity,
): ClosestPoints {
  const { boxes, links, counts, numbers } = tree;
  const count = places.length / 3;
  const found: ClosestPoints = {
    points: new Float64Array(3 * count),
    distances: new Float64Array(count),
    triangles: new Int32Array(count),
    features: new Uint8Array(count),
  };
  const waiting = new Int32Array(mostWaiting);
  const squares = new Float64Array(mostWaiting);
  const best: Best = { square: 0, leaf: -1, x: NaN, y: NaN, z: NaN, feature: 0 };
  // a box that was reckoned with rounding may not lose a triangle that is as near
  const slack = 1 + 1e-14;
  let last = -1;
  for (let k = 0; k < count; k++) {
    const [px, py, pz] = [places[3 * k], places[3 * k + 1], places[3 * k + 2]];
    best.square = reach * reach;
    best.leaf = -1;
    if (last >= 0) tryTriangle(tree, last, px, py, pz, best);
    let top = 0;
    waiting[top] = 0;
    squares[top++] = boxSquare(boxes, 0, px, py, pz);
    while (top > 0) {
      const node = waiting[--top];
      if (squares[top] > best.square * slack) continue;
      if (counts[node] > 0) {
        const end = links[node] + counts[node];
        for (let leaf = links[node]; leaf < end; leaf++) tryTriangle(tree, leaf, px, py, pz, best);
        continue;
      }
      const [one, other] = [node + 1, links[node]];
      const [a, b] = [boxSquare(boxes, one, px, py, pz), boxSquare(boxes, other, px, py, pz)];
      // the nearer is looked at first
      waiting[top] = a <= b ? other : one;
      squares[top++] = Math.max(a, b);
      waiting[top] = a <= b ? one : other;
      squares[top++] = Math.min(a, b);
    }
    if (best.leaf >= 0) last = best.leaf;
    const isFound = best.leaf >= 0;
    found.points[3 * k] = isFound ? best.x : NaN;
    found.points[3 * k + 1] = isFound ? best.y : NaN;
    found.points[3 * k + 2] = isFound ? best.z : NaN;
    found.distances[k] = isFound ? Math.sqrt(best.square) : Infinity;
    found.triangles[k] = isFound ? numbers[best.leaf] : -1;
    found.features[k] = isFound ? best.feature : 0;
  }
  return found;
}

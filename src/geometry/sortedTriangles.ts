import { meshBox, type Mesh } from './mesh.ts';
import { sortedByKeys, type Keyed } from './sortedByKeys.ts';
import { spaceCurve } from './spaceCurve.ts';
import type { Vector } from './vector.ts';

/** The triangles of a mesh, sorted along a curve. */
export interface SortedTriangles extends Keyed {
  readonly mesh: Mesh;
  /** The box about it. */
  readonly box: { readonly low: Vector; readonly high: Vector };
}

/**
 * Puts a mesh's triangles in the order of their centres along a curve. `room` has three numbers for
 * each, and is used up.
 */
export function sortedTriangles(mesh: Mesh, room: Uint32Array): SortedTriangles {
  const { vertices, triangles } = mesh;
  const count = triangles.length / 3;
  const box = meshBox(mesh);
  const { low, high } = box;
  const curve = spaceCurve(low, high);
  const [x, y, z] = low;
  // of a third of a sum of three corners
  const [scaleX, scaleY, scaleZ] = curve.scale.map((scale) => scale / 3);
  const [bitsX, bitsY, bitsZ] = curve.bits;
  const all = { keys: room.subarray(0, count), numbers: room.subarray(count, 2 * count) };
  const sorted = { keys: room.subarray(2 * count), numbers: new Uint32Array(count) };
  const { keys, numbers } = all;
  for (let k = 0; k < count; k++) {
    const a = 3 * triangles[3 * k];
    const b = 3 * triangles[3 * k + 1];
    const c = 3 * triangles[3 * k + 2];
    keys[k] =
      bitsX[((vertices[a] - x + (vertices[b] - x) + (vertices[c] - x)) * scaleX) | 0] |
      bitsY[((vertices[a + 1] - y + (vertices[b + 1] - y) + (vertices[c + 1] - y)) * scaleY) | 0] |
      bitsZ[((vertices[a + 2] - z + (vertices[b + 2] - z) + (vertices[c + 2] - z)) * scaleZ) | 0];
    numbers[k] = k;
  }
  return { mesh, box, ...sortedByKeys(all, sorted) };
}

/** Where in a range the first key stands that has a bit; those before it have it not, those after it have. */
function firstWith(keys: Uint32Array, bit: number, from: number, to: number): number {
  let [without, has] = [from, to - 1];
  while (without + 1 < has) {
    const middle = (without + has) >> 1;
    if ((keys[middle] & bit) === 0) without = middle;
    else has = middle;
  }
  return has;
}

/**
 * Where the second part of a range of sorted triangles begins: where its cell of the curve is halved.
 * Triangles in one cell are sorted anew, by which side of the middle of their longest extent they lie
 * on; where that parts nothing, the range is halved.
 */
export function secondPart(
  { mesh, keys, numbers }: SortedTriangles,
  from: number,
  to: number,
): number {
  const unlike = keys[from] ^ keys[to - 1];
  if (unlike !== 0) return firstWith(keys, 1 << (31 - Math.clz32(unlike)), from, to);
  const { vertices, triangles } = mesh;
  const centre = (k: number, axis: number): number =>
    vertices[3 * triangles[3 * numbers[k]] + axis] +
    vertices[3 * triangles[3 * numbers[k] + 1] + axis] +
    vertices[3 * triangles[3 * numbers[k] + 2] + axis];
  let [axis, widest, middle] = [0, 0, 0];
  for (let one = 0; one < 3; one++) {
    let [low, high] = [Infinity, -Infinity];
    for (let k = from; k < to; k++) {
      const value = centre(k, one);
      if (value < low) low = value;
      if (value > high) high = value;
    }
    if (high - low > widest) [axis, widest, middle] = [one, high - low, low + (high - low) / 2];
  }
  let second = from;
  for (let k = from; k < to; k++) {
    if (!(centre(k, axis) < middle)) continue;
    [numbers[k], numbers[second]] = [numbers[second], numbers[k]];
    second += 1;
  }
  return second === from || second === to ? (from + to) >> 1 : second;
}

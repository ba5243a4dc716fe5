import type { VdaPatches } from './vdaPatches.ts';

/** Which index runs fastest: among the coefficients of a patch, and among the patches of a surface. */
export interface VdaOrder {
  readonly coefficients: 's' | 't';
  readonly patches: 's' | 't';
}

/**
 * The first is the standard's, from memory: no copy of the text was at hand. The others are tried
 * where patches do not meet in it.
 */
const orders: readonly [VdaOrder, ...VdaOrder[]] = [
  { coefficients: 's', patches: 's' },
  { coefficients: 't', patches: 's' },
  { coefficients: 's', patches: 't' },
  { coefficients: 't', patches: 't' },
];

/** Neighbours meet where their corners do, within this share of the surface's size. */
const meeting = 1e-3;

/** The corners of a patch at (0, 0), (1, 0), (0, 1), (1, 1), three numbers each, from its powers. */
function corners(patches: VdaPatches, patch: number, { coefficients }: VdaOrder): Float64Array {
  const [m, n] = patches.orders.subarray(2 * patch, 2 * patch + 2);
  const values = patches.coefficients[patch];
  const found = new Float64Array(12);
  for (let axis = 0; axis < 3; axis++)
    for (let k = 0; k < m * n; k++) {
      const value = values[axis * m * n + k];
      const [i, j] = coefficients === 's' ? [k % m, Math.floor(k / m)] : [Math.floor(k / n), k % n];
      if (i + j === 0) found[axis] += value;
      if (j === 0) found[3 + axis] += value;
      if (i === 0) found[6 + axis] += value;
      found[9 + axis] += value;
    }
  return found;
}

const distanceOf = (a: Float64Array, from: number, b: Float64Array, to: number): number =>
  Math.hypot(a[from] - b[to], a[from + 1] - b[to + 1], a[from + 2] - b[to + 2]);

/** Whether the patches of a surface meet at their corners when read in this order. */
function areMeeting(patches: VdaPatches, order: VdaOrder): boolean {
  const [columns, rows] = patches.breakpoints.map((values) => values.length - 1);
  const all = patches.coefficients.map((_, patch) => corners(patches, patch, order));
  const at = (i: number, j: number): Float64Array =>
    all[order.patches === 's' ? j * columns + i : i * rows + j];
  let gap = 0;
  for (let j = 0; j < rows; j++)
    for (let i = 0; i < columns; i++) {
      const own = at(i, j);
      if (i + 1 < columns)
        for (const k of [0, 6]) gap = Math.max(gap, distanceOf(own, k + 3, at(i + 1, j), k));
      if (j + 1 < rows)
        for (const k of [0, 3]) gap = Math.max(gap, distanceOf(own, k + 6, at(i, j + 1), k));
    }
  const reach = (axis: number): number => {
    let [low, high] = [Infinity, -Infinity];
    for (const own of all)
      for (let k = axis; k < own.length; k += 3) {
        low = Math.min(low, own[k]);
        high = Math.max(high, own[k]);
      }
    return high - low;
  };
  return gap <= meeting * Math.hypot(reach(0), reach(1), reach(2));
}

/**
 * The order in which a file lists its coefficients and patches: the one in which most of the surfaces
 * that have several patches hold together; the standard's where none does better.
 */
export function vdaOrder(surfaces: readonly VdaPatches[]): VdaOrder {
  const several = surfaces.filter(({ coefficients }) => coefficients.length > 1);
  const counts = orders.map(() => 0);
  let best = 0;
  for (let k = 0; k < orders.length; k++) {
    counts[k] = several.filter((patches) => areMeeting(patches, orders[k])).length;
    if (counts[k] > counts[best]) best = k;
    if (counts[best] === several.length) break;
  }
  return orders[best];
}

/** Whether it is the order of the standard. */
export const isStandard = (order: VdaOrder): boolean => order === orders[0];

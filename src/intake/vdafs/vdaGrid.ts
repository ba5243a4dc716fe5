import { bezierValues } from '../../geometry/bezierValues.ts';
import type { PatchGrid } from '../../geometry/joinedPatches.ts';
import type { VdaOrder } from './vdaOrder.ts';
import type { VdaPatches } from './vdaPatches.ts';

/** The degree that holds every patch, at least 1 in both directions. */
export function patchDegree({ orders }: VdaPatches): readonly [number, number] {
  const most = [2, 2];
  orders.forEach((order, at) => {
    most[at % 2] = Math.max(most[at % 2], order);
  });
  return [most[0] - 1, most[1] - 1];
}

const knownShares = new Map<number, Float64Array>();

/**
 * Shares of the powers 0 to degree in the Bezier points over [0, 1]: point k, power i at
 * (degree + 1) k + i. Kept: a file has thousands of patches of a few degrees.
 */
function powerShares(degree: number): Float64Array {
  const known = knownShares.get(degree);
  if (known) return known;
  const shares = new Float64Array((degree + 1) ** 2);
  for (let i = 0; i <= degree; i++) {
    const power = Array.from({ length: degree + 1 }, (_, k) => (k === i ? 1 : 0));
    bezierValues(power, 1).forEach((share, k) => {
      shares[(degree + 1) * k + i] = share;
    });
  }
  knownShares.set(degree, shares);
  return shares;
}

/** The patches as Bezier points, all of the highest degree, in the order in which a grid wants them. */
export function bezierGrid(patches: VdaPatches, order: VdaOrder): PatchGrid {
  const degree = patchDegree(patches);
  const [p, q] = degree;
  const [along, across] = [powerShares(p), powerShares(q)];
  const [columns, rows] = patches.breakpoints.map((values) => values.length - 1);
  const half = new Float64Array((p + 1) * (q + 1));

  function fill(points: Float64Array, patch: number): void {
    const m = patches.orders[2 * patch];
    const n = patches.orders[2 * patch + 1];
    const values = patches.coefficients[patch];
    const isFirst = order.coefficients === 's';
    const stepS = isFirst ? 1 : n;
    const stepT = isFirst ? m : 1;
    for (let axis = 0; axis < 3; axis++) {
      const from = axis * m * n;
      // Bezier points in s of each power of t, then Bezier points in t of these
      for (let j = 0; j < n; j++)
        for (let k = 0; k <= p; k++) {
          let total = 0;
          for (let i = 0; i < m && i <= k; i++)
            total += along[(p + 1) * k + i] * values[from + i * stepS + j * stepT];
          half[j * (p + 1) + k] = total;
        }
      for (let l = 0; l <= q; l++)
        for (let k = 0; k <= p; k++) {
          let total = 0;
          for (let j = 0; j < n && j <= l; j++)
            total += across[(q + 1) * l + j] * half[j * (p + 1) + k];
          points[3 * (l * (p + 1) + k) + axis] = total;
        }
    }
  }

  const size = 3 * (p + 1) * (q + 1);
  const all = new Float64Array(size * columns * rows);
  const grid: Float64Array[] = [];
  for (let j = 0; j < rows; j++)
    for (let i = 0; i < columns; i++) {
      const points = all.subarray(size * grid.length, size * (grid.length + 1));
      fill(points, order.patches === 's' ? j * columns + i : i * rows + j);
      grid.push(points);
    }
  return { degree, breakpoints: patches.breakpoints, patches: grid };
}

import { pointAt, type ControlNet } from './controlNet.ts';
import type { Knots } from './knots.ts';
import { distance } from './vector.ts';

/** Bounds on |S_u| and |S_v| (mm per parameter unit) over a box of the parameter plane, never below them. */
export type TangentBounds = (
  u: readonly [number, number],
  v: readonly [number, number],
) => readonly [number, number];

/** Index of the first and last span with an extent that touches [from, to], as spans of the knots. */
function spansOf(knots: Knots, degree: number, [from, to]: readonly [number, number]): number[] {
  const last = knots.length - degree - 2;
  let low = degree;
  while (low < last && knots[low + 1] < from) low++;
  let high = last;
  while (high > low && knots[high] > to) high--;
  return [low, high];
}

/**
 * Bounds on the derivatives of a surface, from the control points of its derivative that bear on each
 * span (the convex hull property). On a rational surface w S_u is a mean, by the basis functions of
 * one degree less, of p / (u_{i+p+1} - u_{i+1}) times w_{i+1} (P_{i+1} - S) - w_i (P_i - S), whose
 * length is at most w_{i+1} |P_{i+1} - P_i| + |w_{i+1} - w_i| |P_i - S|; w is at least the least
 * weight of the span, and |P_i - S| at most the diagonal of its points' box.
 */
export function tangentBounds(net: ControlNet): TangentBounds {
  const { degree, knots, columns, rows, weights } = net;
  const spans = [columns - degree[0], rows - degree[1]];
  const found = [0, 1].map(() => new Float64Array(spans[0] * spans[1]));
  const made = new Uint8Array(spans[0] * spans[1]);
  const weightAt = (row: number, column: number): number =>
    weights ? weights[row * columns + column] : 1;
  /** Both bounds of one span, worked out when first asked for. */
  const ofSpan = (s: number, t: number): number => {
    const at = (t - degree[1]) * spans[0] + s - degree[0];
    if (made[at]) return at;
    made[at] = 1;
    const low = [Infinity, Infinity, Infinity];
    const high = [-Infinity, -Infinity, -Infinity];
    let least = Infinity;
    for (let row = t - degree[1]; row <= t; row++)
      for (let column = s - degree[0]; column <= s; column++) {
        pointAt(net, row, column).forEach((x, axis) => {
          low[axis] = Math.min(low[axis], x);
          high[axis] = Math.max(high[axis], x);
        });
        least = Math.min(least, weightAt(row, column));
      }
    const wide = Math.hypot(high[0] - low[0], high[1] - low[1], high[2] - low[2]);
    for (let row = t - degree[1]; row <= t; row++)
      for (let column = s - degree[0]; column <= s; column++)
        for (const side of [0, 1] as const) {
          const [nextRow, nextColumn] = side === 0 ? [row, column + 1] : [row + 1, column];
          if (nextColumn > s || nextRow > t) continue;
          const index = side === 0 ? column : row;
          const gap = knots[side][index + degree[side] + 1] - knots[side][index + 1];
          const [weight, next] = [weightAt(row, column), weightAt(nextRow, nextColumn)];
          const leg = distance(pointAt(net, row, column), pointAt(net, nextRow, nextColumn));
          const size = (next * leg + Math.abs(next - weight) * wide) / least;
          found[side][at] = Math.max(found[side][at], (degree[side] / gap) * size);
        }
    return at;
  };
  return (u, v) => {
    const [uLow, uHigh] = spansOf(knots[0], degree[0], u);
    const [vLow, vHigh] = spansOf(knots[1], degree[1], v);
    const most: [number, number] = [0, 0];
    for (let t = vLow; t <= vHigh; t++) {
      if (!(knots[1][t + 1] > knots[1][t])) continue;
      for (let s = uLow; s <= uHigh; s++) {
        if (!(knots[0][s + 1] > knots[0][s])) continue;
        const at = ofSpan(s, t);
        for (const side of [0, 1]) most[side] = Math.max(most[side], found[side][at]);
      }
    }
    return most;
  };
}

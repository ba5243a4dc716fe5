import type { ControlNet } from '../../../src/geometry/controlNet.ts';
import { grevilleAbscissae } from '../../../src/geometry/knots.ts';
import { pointScores, type PointScore } from './pointScores.ts';

interface Term {
  readonly at: number;
  readonly weight: number;
}

/**
 * Each point of a line minus the cubic through its four nearest others, as weights: a fourth divided
 * difference, so scaled that the point itself weighs 1. Fewer than five points: a lower degree.
 */
function lineResiduals(abscissae: Float64Array): Term[][] {
  const count = abscissae.length;
  return Array.from(abscissae, (x, own) => {
    const nearest = Array.from({ length: count }, (_, k) => k)
      .filter((k) => k !== own)
      .sort((k, l) => Math.abs(k - own) - Math.abs(l - own) || k - l)
      .slice(0, Math.min(4, count - 1));
    const others = nearest.map((at): Term => ({
      at,
      weight: -nearest.reduce(
        (product, k) =>
          k === at ? product : (product * (x - abscissae[k])) / (abscissae[at] - abscissae[k]),
        1,
      ),
    }));
    return [{ at: own, weight: 1 }, ...others];
  });
}

/** Yardstick A: the largest fourth-difference residual, row by row and column by column. */
export function fourthDifferences(net: ControlNet): PointScore[] {
  const [alongU, alongV] = [0, 1].map((side) =>
    lineResiduals(grevilleAbscissae(net.knots[side], net.degree[side])),
  );
  const { columns, points } = net;
  return pointScores(net, (point) => {
    const [row, column] = [Math.floor(point / columns), point % columns];
    const residual = (terms: readonly Term[], place: (at: number) => number) =>
      [0, 1, 2].map((axis) =>
        terms.reduce((total, { at, weight }) => total + weight * points[3 * place(at) + axis], 0),
      );
    const inRow = residual(alongU[column], (at) => row * columns + at);
    const inColumn = residual(alongV[row], (at) => at * columns + column);
    const half = (axis: number): number => (inRow[axis] + inColumn[axis]) / 2;
    return { size: Math.hypot(...inRow, ...inColumn), displacement: [half(0), half(1), half(2)] };
  });
}

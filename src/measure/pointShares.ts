import { basisRow } from '../geometry/basis.ts';
import type { ControlNet, Spot } from '../geometry/controlNet.ts';
import type { Coordinates } from '../geometry/splineCurve.ts';

/** A control point and its share of a place of the surface, 0 to 1: the value of its (rational) basis function there. */
export interface PointShare extends Spot {
  readonly share: number;
}

/** Of the control points that act on a place, row by row; the shares sum to 1. */
export function pointShares(net: ControlNet, [u, v]: Coordinates): PointShare[] {
  const bu = basisRow(net.knots[0], net.degree[0], u, 0);
  const bv = basisRow(net.knots[1], net.degree[1], v, 0);
  const shares = Array.from(bv.values[0], (b, j) =>
    Array.from(bu.values[0], (a, i): PointShare => {
      const [row, column] = [bv.first + j, bu.first + i];
      const weight = net.weights ? net.weights[row * net.columns + column] : 1;
      return { row, column, share: a * b * weight };
    }),
  ).flat();
  const total = shares.reduce((all, { share }) => all + share, 0);
  return shares.map((own) => ({ ...own, share: own.share / total }));
}

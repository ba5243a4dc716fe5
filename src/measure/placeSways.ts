import { basisRow } from '../geometry/basis.ts';
import type { ControlNet, Spot } from '../geometry/controlNet.ts';

/**
 * How far the surface moves at a parameter when a control point is moved by 1: its (rational) basis
 * function there. The points that move it at all.
 */
export function placeSways(
  net: ControlNet,
  u: number,
  v: number,
): (Spot & { readonly sway: number })[] {
  const bu = basisRow(net.knots[0], net.degree[0], u, 0);
  const bv = basisRow(net.knots[1], net.degree[1], v, 0);
  const shares = Array.from(bv.values[0], (nv, j) =>
    Array.from(bu.values[0], (nu, i) => {
      const [row, column] = [bv.first + j, bu.first + i];
      const weight = net.weights ? net.weights[row * net.columns + column] : 1;
      return { row, column, sway: nu * nv * weight };
    }),
  ).flat();
  const total = shares.reduce((all, { sway }) => all + sway, 0);
  return shares.map((one) => ({ ...one, sway: one.sway / total }));
}

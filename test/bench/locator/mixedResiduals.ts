import type { ControlNet } from '../../../src/geometry/controlNet.ts';
import { grevilleAbscissae } from '../../../src/geometry/knots.ts';
import type { Matrix } from 'ml-matrix';
import { discretePolynomials } from './discretePolynomials.ts';
import { pointScores, type PointScore } from './pointScores.ts';

/** I - H of one direction: what no polynomial of fewer than `degree` explains. */
function annihilator(knots: Float64Array, degree: number, below: number): Matrix {
  const basis = discretePolynomials(grevilleAbscissae(knots, degree));
  const high = basis.subMatrix(
    0,
    basis.rows - 1,
    Math.min(below, basis.rows - 2),
    basis.columns - 1,
  );
  return high.mmul(high.transpose());
}

/**
 * Yardstick C: the part of the net that no polynomial of low degree in u nor in v explains,
 * (I - H_u) Y (I - H_v), each point's residual studentised by the root of its own leverage in it
 * (a projection's largest studentised residual is the displaced point's, by Cauchy and Schwarz).
 */
export function mixedResiduals(net: ControlNet, below = 3): PointScore[] {
  const [mu, mv] = [0, 1].map((side) => annihilator(net.knots[side], net.degree[side], below));
  const residuals = new Float64Array(net.points.length);
  const { rows, columns } = net;
  const half = new Float64Array(net.points.length);
  for (let j = 0; j < rows; j++)
    for (let i = 0; i < columns; i++)
      for (let from = 0; from < columns; from++)
        for (let axis = 0; axis < 3; axis++)
          half[3 * (j * columns + i) + axis] +=
            mu.get(i, from) * net.points[3 * (j * columns + from) + axis];
  for (let j = 0; j < rows; j++)
    for (let from = 0; from < rows; from++)
      for (let k = 0; k < 3 * columns; k++)
        residuals[3 * j * columns + k] += mv.get(j, from) * half[3 * from * columns + k];
  return pointScores(net, (k) => {
    const own =
      mu.get(k % columns, k % columns) * mv.get(Math.floor(k / columns), Math.floor(k / columns));
    const [x, y, z] = residuals.subarray(3 * k, 3 * k + 3);
    return {
      size: Math.hypot(x, y, z) / Math.sqrt(own),
      displacement: [x / own, y / own, z / own],
    };
  });
}

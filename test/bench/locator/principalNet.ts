import { EigenvalueDecomposition, Matrix } from 'ml-matrix';
import type { ControlNet } from '../../../src/geometry/controlNet.ts';
import type { Vector } from '../../../src/geometry/vector.ts';

/** A net's points on its principal axes, and the axes. */
export interface PrincipalNet {
  /** Unit vectors by falling spread: two in the panel, then its normal. */
  readonly axes: readonly [Vector, Vector, Vector];
  /** One array an axis, mm from the mean point, row by row. */
  readonly values: readonly [Float64Array, Float64Array, Float64Array];
}

/** Eigenvectors of the scatter of the points about their mean. */
export function principalNet({ points }: ControlNet): PrincipalNet {
  const count = points.length / 3;
  const mean = [0, 0, 0];
  points.forEach((value, k) => {
    mean[k % 3] += value / count;
  });
  const scatter = Matrix.zeros(3, 3);
  for (let k = 0; k < points.length; k += 3)
    for (let a = 0; a < 3; a++)
      for (let b = 0; b < 3; b++)
        scatter.set(
          a,
          b,
          scatter.get(a, b) + (points[k + a] - mean[a]) * (points[k + b] - mean[b]),
        );
  const { eigenvectorMatrix, realEigenvalues } = new EigenvalueDecomposition(scatter, {
    assumeSymmetric: true,
  });
  const order = [0, 1, 2].sort((a, b) => realEigenvalues[b] - realEigenvalues[a]);
  const [first, second, third] = order.map((column): Vector => {
    const [x, y, z] = eigenvectorMatrix.getColumn(column);
    return [x, y, z];
  });
  const on = (axis: Vector): Float64Array =>
    Float64Array.from({ length: count }, (_, k) =>
      axis.reduce((total, part, a) => total + part * (points[3 * k + a] - mean[a]), 0),
    );
  return { axes: [first, second, third], values: [on(first), on(second), on(third)] };
}

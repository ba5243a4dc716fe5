import { basisRow } from './basis.ts';
import type { ControlNet } from './controlNet.ts';
import type { SplineCurve } from './splineCurve.ts';

/** The line of a surface on which parameter `side` has a value: a curve over the other parameter. */
export function parameterLine(net: ControlNet, side: 0 | 1, value: number): SplineCurve {
  const other = side === 0 ? 1 : 0;
  const { first, values } = basisRow(net.knots[side], net.degree[side], value, 0);
  const count = side === 0 ? net.rows : net.columns;
  const points = new Float64Array(3 * count);
  const weights = net.weights && new Float64Array(count);
  for (let k = 0; k < count; k++) {
    let weight = 0;
    const total = [0, 0, 0];
    values[0].forEach((share, i) => {
      const index = side === 0 ? k * net.columns + first + i : (first + i) * net.columns + k;
      const own = net.weights ? share * net.weights[index] : share;
      weight += own;
      for (let axis = 0; axis < 3; axis++) total[axis] += own * net.points[3 * index + axis];
    });
    points.set(net.weights ? total.map((x) => x / weight) : total, 3 * k);
    if (weights) weights[k] = weight;
  }
  return { dimension: 3, degree: net.degree[other], knots: net.knots[other], points, weights };
}

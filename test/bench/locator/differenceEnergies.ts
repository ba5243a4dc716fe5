import { Matrix } from 'ml-matrix';
import type { ControlNet } from '../../../src/geometry/controlNet.ts';
import { grevilleAbscissae } from '../../../src/geometry/knots.ts';
import { pointScores, type PointScore } from './pointScores.ts';

/** D^T D of the third differences of a line, divided by the mean Greville gaps they span. */
function lineEnergy(abscissae: Float64Array): Matrix {
  const gap = (abscissae[abscissae.length - 1] - abscissae[0]) / (abscissae.length - 1);
  let difference = Matrix.eye(abscissae.length);
  for (let order = 1; order <= Math.min(3, abscissae.length - 1); order++) {
    const next = Matrix.zeros(difference.rows - 1, abscissae.length);
    for (let i = 0; i < next.rows; i++) {
      const wide = (abscissae[i + order] - abscissae[i]) / (order * gap);
      for (let k = 0; k < next.columns; k++)
        next.set(i, k, (difference.get(i + 1, k) - difference.get(i, k)) / wide);
    }
    difference = next;
  }
  return difference.transpose().mmul(difference);
}

/**
 * Yardstick B: third-difference energy along rows and columns. Each point is freed in turn; the
 * score is the energy that goes, and the displacement where it then settles.
 */
export function differenceEnergies(net: ControlNet): PointScore[] {
  const [energyU, energyV] = [0, 1].map((side) =>
    lineEnergy(grevilleAbscissae(net.knots[side], net.degree[side])),
  );
  const { columns, rows, points } = net;
  return pointScores(net, (point) => {
    const [row, column] = [Math.floor(point / columns), point % columns];
    const stiffness = energyU.get(column, column) + energyV.get(row, row);
    const [x, y, z] = [0, 1, 2].map((axis) => {
      let pull = 0;
      for (let i = 0; i < columns; i++)
        pull += energyU.get(column, i) * points[3 * (row * columns + i) + axis];
      for (let j = 0; j < rows; j++)
        pull += energyV.get(row, j) * points[3 * (j * columns + column) + axis];
      return pull / stiffness;
    });
    return { size: Math.hypot(x, y, z) * Math.sqrt(stiffness), displacement: [x, y, z] };
  });
}

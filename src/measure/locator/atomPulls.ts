import type { Coefficients } from './faultSets.ts';
import type { PanelModel } from './panelModel.ts';

/** Sums over the degrees of one or both directions. */
interface Halves {
  /** points[i * m + j] = sum_ab U[i, a] x[a, b] V[j, b]. */
  readonly points: Float64Array;
  /** byRow[i * m + b] = sum_a U[i, a] x[a, b]. */
  readonly byRow: Float64Array;
  /** byColumn[a * m + j] = sum_b x[a, b] V[j, b]. */
  readonly byColumn: Float64Array;
}

/** From degrees to points, one way at a time. */
function halves(
  grid: Float64Array,
  u: Float64Array,
  v: Float64Array,
  [n, m]: readonly [number, number],
): Halves {
  const [byRow, byColumn, points] = [0, 1, 2].map(() => new Float64Array(n * m));
  for (let i = 0; i < n; i++)
    for (let a = 0; a < n; a++) {
      const factor = u[i * n + a];
      for (let b = 0; b < m; b++) byRow[i * m + b] += factor * grid[a * m + b];
    }
  for (let k = 0; k < n; k++)
    for (let j = 0; j < m; j++) {
      let [total, half] = [0, 0];
      for (let b = 0; b < m; b++) {
        total += byRow[k * m + b] * v[j * m + b];
        half += grid[k * m + b] * v[j * m + b];
      }
      points[k * m + j] = total;
      byColumn[k * m + j] = half;
    }
  return { points, byRow, byColumn };
}

/** Kept coefficients on the grid of all degrees, the others zero. */
function onGrid({ spectrum }: PanelModel, values: Float64Array): Float64Array {
  const [n, m] = spectrum.count;
  const { u, v } = spectrum.degrees;
  const grid = new Float64Array(n * m);
  for (let c = 0; c < values.length; c++) grid[u[c] * m + v[c]] = values[c];
  return grid;
}

/** Sum over the degrees along a line of its spectrum (or its square) times what crosses it there. */
function lineSum(
  { atoms, spectrum }: PanelModel,
  line: number,
  axis: number,
  { byRow, byColumn }: Halves,
  squared: boolean,
): number {
  const [, m] = spectrum.count;
  const { i, j } = atoms.list[atoms.directions.length * spectrum.pointCount + line];
  const along = atoms.lineSpectra[line][axis];
  let total = 0;
  for (let d = 0; d < along.length; d++) {
    const across = i === null ? byColumn[d * m + (j ?? 0)] : byRow[i * m + d];
    total += (squared ? along[d] * along[d] : along[d]) * across;
  }
  return total;
}

function sums(model: PanelModel, x: Coefficients, squared: boolean): Float64Array {
  const { atoms, spectrum } = model;
  const [u, v] = spectrum.fitted.map((map) => (squared ? map.squaredVectors : map.vectors));
  const made = new Float64Array(atoms.list.length);
  for (let axis = 0; axis < 3; axis++) {
    const own = halves(onGrid(model, x[axis]), u, v, spectrum.count);
    let atom = 0;
    for (const direction of atoms.directions)
      for (let k = 0; k < spectrum.pointCount; k++, atom++) {
        const part = direction[3 * k + axis];
        made[atom] += (squared ? part * part : part) * own.points[k];
      }
    for (let line = 0; atom < made.length; line++, atom++)
      made[atom] += lineSum(model, line, axis, own, squared);
  }
  return made;
}

/** For every atom the sum over axes and coefficients of its pattern times x. */
export const pulls = (model: PanelModel, x: Coefficients): Float64Array => sums(model, x, false);

/** For every atom the sum over axes and coefficients of its squared pattern times a weight. */
export const stiffnesses = (model: PanelModel, weights: Coefficients): Float64Array =>
  sums(model, weights, true);

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

/** What the points give, direction by direction: their own part of `made`. */
function addPoints(
  { directions }: PanelModel['atoms'],
  axis: number,
  points: Float64Array,
  squared: boolean,
  made: Float64Array,
): void {
  let atom = 0;
  for (const direction of directions)
    for (let k = 0; k < points.length; k++, atom++) {
      const part = direction[3 * k + axis];
      made[atom] += (squared ? part * part : part) * points[k];
    }
}

/** A line or run pulls as its points along their normals do together. */
function addLinePulls({ bundles }: PanelModel['atoms'], made: Float64Array): void {
  for (const { first, moves, members } of bundles) {
    if (first >= made.length) break;
    for (let k = 0; k < moves.length; k++) {
      const { start, strengths } = moves[k];
      let total = 0;
      for (let q = 0; q < strengths.length; q++) total += strengths[q] * made[members[start + q]];
      made[first + k] = total;
    }
  }
}

/** Its stiffness does not: the squares are of the sum. */
function addLineStiffnesses(
  { bundles }: PanelModel['atoms'],
  axis: number,
  { byRow, byColumn }: Halves,
  [, m]: readonly [number, number],
  made: Float64Array,
): void {
  for (const { first, i, j, moves, members, squared } of bundles) {
    if (first >= made.length) break;
    const count = members.length;
    const across = new Float64Array(count);
    for (let d = 0; d < count; d++)
      across[d] = i === null ? byColumn[d * m + (j ?? 0)] : byRow[i * m + d];
    const own = squared()[axis];
    for (let k = 0, at = 0; k < moves.length; k++) {
      let total = 0;
      for (let d = 0; d < count; d++, at++) total += own[at] * across[d];
      made[first + k] += total;
    }
  }
}

/** For the first `many` atoms the sum over axes and coefficients of its pattern times x. */
export function pulls(
  model: PanelModel,
  x: Coefficients,
  many = model.atoms.list.length,
): Float64Array {
  const { atoms, spectrum } = model;
  const made = new Float64Array(many);
  const [u, v] = spectrum.fitted.map(({ vectors }) => vectors);
  for (let axis = 0; axis < 3; axis++) {
    const { points } = halves(onGrid(model, x[axis]), u, v, spectrum.count);
    addPoints(atoms, axis, points, false, made);
  }
  addLinePulls(atoms, made);
  return made;
}

/** For the first `many` atoms the sum over axes and coefficients of its squared pattern times a weight. */
export function stiffnesses(
  model: PanelModel,
  weights: Coefficients,
  many = model.atoms.list.length,
): Float64Array {
  const { atoms, spectrum } = model;
  const made = new Float64Array(many);
  const [u, v] = spectrum.fitted.map(({ squaredVectors }) => squaredVectors);
  for (let axis = 0; axis < 3; axis++) {
    const own = halves(onGrid(model, weights[axis]), u, v, spectrum.count);
    addPoints(atoms, axis, own.points, true, made);
    addLineStiffnesses(atoms, axis, own, spectrum.count, made);
  }
  return made;
}

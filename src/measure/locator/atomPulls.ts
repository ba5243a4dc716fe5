import type { Coefficients } from './faultSets.ts';
import type { PanelModel } from './panelModel.ts';

/** made[i * m + j] = sum_ab U[i, a] x[a, b] V[j, b]: from degrees to points, one way at a time. */
function atPoints(
  grid: Float64Array,
  u: Float64Array,
  v: Float64Array,
  [n, m]: readonly [number, number],
): Float64Array {
  const half = new Float64Array(n * m);
  const made = new Float64Array(n * m);
  for (let i = 0; i < n; i++)
    for (let a = 0; a < n; a++) {
      const factor = u[i * n + a];
      for (let b = 0; b < m; b++) half[i * m + b] += factor * grid[a * m + b];
    }
  for (let i = 0; i < n; i++)
    for (let j = 0; j < m; j++) {
      let total = 0;
      for (let b = 0; b < m; b++) total += half[i * m + b] * v[j * m + b];
      made[i * m + j] = total;
    }
  return made;
}

/** Kept coefficients on the grid of all degrees, the others zero. */
function onGrid({ spectrum }: PanelModel, values: Float64Array): Float64Array {
  const [n, m] = spectrum.count;
  const { u, v } = spectrum.degrees;
  const grid = new Float64Array(n * m);
  for (let c = 0; c < values.length; c++) grid[u[c] * m + v[c]] = values[c];
  return grid;
}

/** For every atom the sum over axes and coefficients of its pattern times x. */
export function pulls(model: PanelModel, x: Coefficients): Float64Array {
  const { atoms, spectrum } = model;
  const { pointCount, fitted } = spectrum;
  const made = new Float64Array(atoms.list.length);
  for (let axis = 0; axis < 3; axis++) {
    const own = atPoints(
      onGrid(model, x[axis]),
      fitted[0].vectors,
      fitted[1].vectors,
      spectrum.count,
    );
    let atom = 0;
    for (const direction of atoms.directions)
      for (let k = 0; k < pointCount; k++, atom++) made[atom] += direction[3 * k + axis] * own[k];
    for (const { members } of atoms.lineMembers) {
      const moves = atoms.lineMoves[atom - atoms.directions.length * pointCount];
      for (const k of members) made[atom] += moves[3 * k + axis] * own[k];
      atom++;
    }
  }
  return made;
}

/** For every atom the sum over axes and coefficients of its squared pattern times a weight. */
export function stiffnesses(model: PanelModel, weights: Coefficients): Float64Array {
  const { atoms, spectrum } = model;
  const { pointCount, fitted } = spectrum;
  const count = spectrum.degrees.count;
  const made = new Float64Array(atoms.list.length);
  for (let axis = 0; axis < 3; axis++) {
    const own = atPoints(
      onGrid(model, weights[axis]),
      fitted[0].squaredVectors,
      fitted[1].squaredVectors,
      spectrum.count,
    );
    let atom = 0;
    for (const direction of atoms.directions)
      for (let k = 0; k < pointCount; k++, atom++) {
        const part = direction[3 * k + axis];
        made[atom] += part * part * own[k];
      }
    const pattern = atoms.patterns[axis];
    const weight = weights[axis];
    for (; atom < made.length; atom++) {
      let total = 0;
      for (let c = 0, at = atom * count; c < count; c++, at++)
        total += pattern[at] * pattern[at] * weight[c];
      made[atom] += total;
    }
  }
  return made;
}

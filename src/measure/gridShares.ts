import { basisTable } from '../geometry/basisTable.ts';
import type { ControlNet } from '../geometry/controlNet.ts';

/**
 * How far a place of a grid of parameters goes with a control point of row and column, 0 to 1: its
 * (rational) basis function there. Place (j, i), the j-th parameter in v and the i-th in u, is number
 * j * us.length + i.
 */
export function gridShares(
  { knots, degree, columns, weights }: ControlNet,
  us: Float64Array,
  vs: Float64Array,
): (row: number, column: number, place: number) => number {
  const [alongU, alongV] = [us, vs].map((at, side) => basisTable(knots[side], degree[side], at));
  const value = (table: typeof alongU, station: number, index: number): number => {
    const own = index - table.first[station];
    return own >= 0 && own <= table.degree ? table.values[station * (table.degree + 1) + own] : 0;
  };
  return (row, column, place) => {
    const [i, j] = [place % us.length, Math.floor(place / us.length)];
    const own = value(alongU, i, column) * value(alongV, j, row);
    if (!weights || own === 0) return own;
    let whole = 0;
    for (let b = 0; b <= alongV.degree; b++)
      for (let a = 0; a <= alongU.degree; a++)
        whole +=
          alongV.values[j * (alongV.degree + 1) + b] *
          alongU.values[i * (alongU.degree + 1) + a] *
          weights[(alongV.first[j] + b) * columns + alongU.first[i] + a];
    return (own * weights[row * columns + column]) / whole;
  };
}

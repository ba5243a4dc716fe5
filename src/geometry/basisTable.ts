import { writeBasis } from './basis.ts';
import type { Knots } from './knots.ts';

/** The basis functions of one direction at many stations, flat for hot loops. */
export interface BasisTable {
  readonly degree: number;
  readonly stations: number;
  /** Index of the first control point that counts at each station. */
  readonly first: Int32Array;
  /** The degree + 1 functions of station s start at s * (degree + 1). */
  readonly values: Float64Array;
}

export function basisTable(knots: Knots, degree: number, at: ArrayLike<number>): BasisTable {
  const first = new Int32Array(at.length);
  const values = new Float64Array(at.length * (degree + 1));
  for (let s = 0; s < at.length; s++)
    first[s] = writeBasis(knots, degree, at[s], values, s * (degree + 1));
  return { degree, stations: at.length, first, values };
}

/**
 * Splines at the stations of a table. Each control point has `width` numbers, one after the other (of
 * several splines, or several coordinates); so has each station of the result.
 */
export function tableValues(
  { degree, stations, first, values }: BasisTable,
  points: Float64Array,
  width: number,
): Float64Array {
  const found = new Float64Array(stations * width);
  for (let s = 0; s < stations; s++) {
    const to = s * width;
    for (let i = 0; i <= degree; i++) {
      const share = values[s * (degree + 1) + i];
      if (share === 0) continue;
      const from = (first[s] + i) * width;
      for (let k = 0; k < width; k++) found[to + k] += share * points[from + k];
    }
  }
  return found;
}

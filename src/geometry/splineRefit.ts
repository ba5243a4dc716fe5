import { basisRow } from './basis.ts';
import { basisTable, tableValues } from './basisTable.ts';
import { isClamped, type Knots } from './knots.ts';
import { spaceKnots, spaceSize, spanEnds, splineSpace, type SplineSpace } from './splineSpace.ts';

/**
 * Control points of splines -> those of the splines of another space that lie nearest. Each point has
 * `width` numbers, one after the other; the result has as many for each point of the new space. A rough
 * one is right to some 1e-10 of the points, else they are right to their last digits.
 */
export type SplineRefit = (points: Float64Array, width: number, rough?: 'rough') => Float64Array;

/** Where and how heavily a refit looks. */
interface Stations {
  readonly at: Float64Array;
  readonly weights: Float64Array;
}

/**
 * As many stations in each span as the old degree asks for, at the abscissae of Chebyshev: least squares
 * over them is near to the smallest largest deviation, which is what counts. No station is an end of a
 * span, so that it does not matter from which side a break is seen.
 */
function stationsOf(from: SplineSpace, to: SplineSpace): Stations {
  const cuts = [...spanEnds(from), ...spanEnds(to)].sort((a, b) => a - b);
  const close = 1e-9 * (from.ends[1] - from.ends[0]);
  const at: number[] = [];
  const weights: number[] = [];
  const ends = spanEnds(to);
  const count = from.degree + 2;
  let span = 0;
  for (let k = 0; k + 1 < cuts.length; k++) {
    const [low, high] = [cuts[k], cuts[k + 1]];
    if (high - low <= close) continue;
    const middle = (low + high) / 2;
    while (ends[span + 1] < middle) span++;
    const [start, end] = [ends[span], ends[span + 1]];
    for (let s = 0; s < count; s++) {
      const t = Math.cos(((count - s - 0.5) / count) * Math.PI);
      const u = middle + ((high - low) / 2) * t;
      // density of Chebyshev's abscissae over the new span, over that within this part of it
      const x = (2 * (u - start)) / (end - start) - 1;
      at.push(u);
      weights.push(
        Math.sqrt((1 - t * t) / Math.max(1 - x * x, 1e-6)) * ((high - low) / (end - start)),
      );
    }
  }
  return { at: Float64Array.from(at), weights: Float64Array.from(weights) };
}

/** A symmetric matrix of which only the diagonals up to `band` below the main one are kept, row by row. */
interface BandMatrix {
  readonly size: number;
  readonly band: number;
  readonly values: Float64Array;
}

/** The factor L of L L^T in place, or null where the matrix is not positive definite. */
function choleskyFactor({ size, band, values }: BandMatrix): BandMatrix | null {
  const at = (row: number, column: number): number => row * (band + 1) + (column - row + band);
  for (let row = 0; row < size; row++)
    for (let column = Math.max(0, row - band); column <= row; column++) {
      let rest = values[at(row, column)];
      for (let k = Math.max(0, row - band); k < column; k++)
        rest -= values[at(row, k)] * values[at(column, k)];
      if (row > column) values[at(row, column)] = rest / values[at(column, column)];
      else if (rest > 0) values[at(row, row)] = Math.sqrt(rest);
      else return null;
    }
  return { size, band, values };
}

/** Solves L L^T x = b in place; each of the `size` unknowns has `width` numbers. */
function solve({ size, band, values }: BandMatrix, b: Float64Array, width: number): void {
  const at = (row: number, column: number): number => row * (band + 1) + (column - row + band);
  const take = (row: number, other: number, share: number): void => {
    const [to, from] = [row * width, other * width];
    for (let k = 0; k < width; k++) b[to + k] -= share * b[from + k];
  };
  const divide = (row: number): void => {
    const [to, pivot] = [row * width, values[at(row, row)]];
    for (let k = 0; k < width; k++) b[to + k] /= pivot;
  };
  for (let row = 0; row < size; row++) {
    for (let column = Math.max(0, row - band); column < row; column++)
      take(row, column, values[at(row, column)]);
    divide(row);
  }
  for (let row = size - 1; row >= 0; row--) {
    for (let below = row + 1; below <= Math.min(size - 1, row + band); below++)
      take(row, below, values[at(below, row)]);
    divide(row);
  }
}

/**
 * The least-squares refit of splines to another space over the same domain: both ends of each spline stay
 * where they are, and a spline that the new space holds comes back as it is. Null where the new space has
 * knots too close together to be told apart. Normal equations over B-splines are banded and well
 * conditioned (de Boor, A Practical Guide to Splines, chapter XIV, from memory), which makes a refit of
 * many points as cheap by the point as one of few.
 */
export function splineRefit(knots: Knots, degree: number, to: SplineSpace): SplineRefit | null {
  const from = splineSpace(knots, degree);
  const { at, weights } = stationsOf(from, to);
  const size = spaceSize(to);
  const inner = size - 2;
  const before = basisTable(knots, degree, at);
  const after = basisTable(spaceKnots(to), to.degree, at);
  const band = Math.min(to.degree, Math.max(inner - 1, 0));
  const gram: BandMatrix = { size: inner, band, values: new Float64Array(inner * (band + 1)) };
  const order = to.degree + 1;
  // the first and the last point are known, and are no unknowns
  for (let s = 0; s < at.length; s++)
    for (let i = 0; i < order; i++) {
      const row = after.first[s] + i - 1;
      if (row < 0 || row >= inner) continue;
      for (let j = 0; j <= i; j++) {
        const column = after.first[s] + j - 1;
        if (column >= 0)
          gram.values[row * (band + 1) + (column - row + band)] +=
            weights[s] * after.values[s * order + i] * after.values[s * order + j];
      }
    }
  const factor = choleskyFactor(gram);
  if (factor === null) return null;
  const clamped = isClamped(knots, degree);
  const count = knots.length - degree - 1;
  const ends = from.ends.map((u) => basisRow(knots, degree, u, 0));

  return (points, width, rough) => {
    const found = new Float64Array(size * width);
    for (const side of [0, 1] as const) {
      const into = side === 0 ? 0 : (size - 1) * width;
      const { first, values } = ends[side];
      for (let k = 0; k < width; k++)
        found[into + k] = clamped
          ? points[side === 0 ? k : (count - 1) * width + k]
          : values[0].reduce(
              (total, share, i) => total + share * points[(first + i) * width + k],
              0,
            );
    }
    const wanted = tableValues(before, points, width);
    // the rounding of the normal equations is taken back by solving them once more for what is left
    for (let round = 0; round < (rough ? 1 : 2); round++) {
      const left = tableValues(after, found, width);
      for (let k = 0; k < left.length; k++) left[k] = wanted[k] - left[k];
      const right = new Float64Array(inner * width);
      for (let s = 0; s < at.length; s++)
        for (let i = 0; i < order; i++) {
          const row = after.first[s] + i - 1;
          if (row < 0 || row >= inner) continue;
          const share = weights[s] * after.values[s * order + i];
          const [to, seen] = [row * width, s * width];
          for (let k = 0; k < width; k++) right[to + k] += share * left[seen + k];
        }
      solve(factor, right, width);
      for (let k = 0; k < right.length; k++) found[width + k] += right[k];
    }
    return found;
  };
}

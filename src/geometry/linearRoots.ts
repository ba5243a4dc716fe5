import { bernsteinRoots } from './bernsteinPatch.ts';
import { bezierPieces, type SplineCurve } from './splineCurve.ts';

/** Parameters of a curve at which the weighted sum of its coordinates, less `at`, changes sign. */
export const linearRoots = (curve: SplineCurve, factors: readonly number[], at: number): number[] =>
  bezierPieces(curve).flatMap(({ from, to, points }) => {
    const w = curve.dimension;
    const heights = points.map((p) =>
      factors.reduce((total, factor, axis) => total + factor * p[axis], -at * p[w]),
    );
    return bernsteinRoots(Float64Array.from(heights)).map((t) => from + t * (to - from));
  });

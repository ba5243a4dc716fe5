import { breakpoints } from './knots.ts';
import { curveDomain, type SplineCurve } from './splineCurve.ts';

/** Farther from nought than any file means. */
const farthest = 1e15;
/** A weight under this share of the largest takes its point out of the curve. */
const leastWeight = 1e-12;

/** Whether degree, knots, points and weights make a curve that can be evaluated all along. */
export function isSoundCurve(curve: SplineCurve): boolean {
  const { degree, dimension, knots, points, weights } = curve;
  const count = points.length / dimension;
  if (!Number.isInteger(degree) || degree < 1 || !Number.isInteger(count) || count <= degree)
    return false;
  if (knots.length !== count + degree + 1) return false;
  if (!knots.every((knot, k) => Math.abs(knot) < farthest && (k === 0 || knot >= knots[k - 1])))
    return false;
  const [from, to] = curveDomain(curve);
  if (!(to > from)) return false;
  if (breakpoints(knots, 1e-12).some(({ multiplicity }) => multiplicity > degree + 1)) return false;
  if (!points.every((x) => Math.abs(x) < farthest)) return false;
  if (!weights) return true;
  const heaviest = weights.reduce((most, weight) => Math.max(most, weight), 0);
  return (
    weights.length === count &&
    weights.every((weight) => weight > leastWeight * heaviest && weight < farthest)
  );
}

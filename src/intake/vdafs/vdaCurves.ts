import { bezierValues } from '../../geometry/bezierValues.ts';
import {
  curveDomain,
  curvePart,
  reversedCurve,
  type SplineCurve,
} from '../../geometry/splineCurve.ts';
import { fault, type Fault, type Place } from '../fault.ts';
import type { VdaParameters } from './vdaParameters.ts';
import { breakpointFault, mostCoefficients } from './vdaPatches.ts';

/** Ends of segments that differ by at most this share of their size are one point, written twice. */
const samePoint = 1e-9;
/** Parameters that differ by at most this share of a segment's range are one. */
const sameParameter = 1e-9;

/** One segment as a Bezier curve over [from, to], from its powers for each axis. */
function bezierCurve(powers: readonly Float64Array[], from: number, to: number): SplineCurve {
  const dimension = powers.length as 2 | 3;
  const degree = Math.max(powers[0].length - 1, 1);
  const points = new Float64Array(dimension * (degree + 1));
  powers.forEach((own, axis) => {
    const padded = own.length > degree ? own : Float64Array.of(own[0], 0);
    bezierValues(padded, 1).forEach((value, k) => {
      points[dimension * k + axis] = value;
    });
  });
  const end = (value: number): number[] => Array.from({ length: degree + 1 }, () => value);
  const knots = Float64Array.from([...end(from), ...end(to)]);
  return { dimension, degree, knots, points, weights: null };
}

/** Puts the start of each curve where the one before it ends, if the two differ by rounding only. */
function meet(curves: readonly SplineCurve[]): void {
  for (let k = 1; k < curves.length; k++) {
    const { points, dimension } = curves[k];
    const last = curves[k - 1].points.subarray(-dimension);
    const size = points.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
    if (last.every((value, axis) => Math.abs(value - points[axis]) <= samePoint * size))
      points.set(last);
  }
}

/**
 * Reads n, the breakpoints 0 to n, and for each of the n segments iord and iord coefficients for each
 * axis: polynomials in a parameter that runs from 0 to 1 over each segment (DIN 66301, CURVE and CONS;
 * from memory). One curve a segment, parametrised as the file does.
 */
export function segmentCurves(
  parameters: VdaParameters,
  dimension: 2 | 3,
  place: Place,
): readonly SplineCurve[] | Fault {
  const count = parameters.count('segments', 1 + dimension);
  if (count === 0) return parameters.fault ?? [];
  const breakpoints = parameters.numbers(count + 1);
  if (parameters.fault) return parameters.fault;
  const wrong = breakpointFault(breakpoints, 'u', place);
  if (wrong) return wrong;
  const curves: SplineCurve[] = [];
  for (let segment = 0; segment < count; segment++) {
    const order = parameters.integer();
    if (parameters.fault) return parameters.fault;
    if (order < 1 || order > mostCoefficients)
      return fault('degree-range', place, {
        direction: 'u',
        found: order - 1,
        most: mostCoefficients - 1,
      });
    const powers = Array.from({ length: dimension }, () => parameters.numbers(order));
    if (parameters.fault) return parameters.fault;
    const curve = bezierCurve(powers, breakpoints[segment], breakpoints[segment + 1]);
    if (!curve.points.every((value) => Number.isFinite(value)))
      return fault('not-finite', place, { what: `a coefficient of segment ${segment + 1}` });
    curves.push(curve);
  }
  parameters.end();
  if (parameters.fault) return parameters.fault;
  meet(curves);
  return curves;
}

/**
 * What curves in a row give between two of their parameters, in the sense from `from` to `to`: run
 * backwards, the last curve first, where `from` is the larger.
 */
export function curvesBetween(
  curves: readonly SplineCurve[],
  from: number,
  to: number,
): SplineCurve[] {
  const [low, high] = from <= to ? [from, to] : [to, from];
  const parts = curves.flatMap((curve) => {
    const [start, end] = curveDomain(curve);
    const close = sameParameter * (end - start);
    const [begin, finish] = [Math.max(low, start), Math.min(high, end)];
    if (finish - begin <= close) return [];
    return begin <= start + close && finish >= end - close
      ? [curve]
      : [curvePart(curve, begin, finish)];
  });
  return from <= to ? parts : parts.map(reversedCurve).reverse();
}

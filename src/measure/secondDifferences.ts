import { spotOnLine, type Spot } from '../geometry/controlNet.ts';
import { grevilleAbscissae } from '../geometry/knots.ts';
import { length, type Vector } from '../geometry/vector.ts';
import { offRun } from './offRun.ts';
import type { Sight } from './sights.ts';

/**
 * The control points of the k-th derivative of a row or column, as divided differences over Greville
 * abscissae; mm per parameter unit^k. Source: Piegl & Tiller, The NURBS Book, eq. 3.4 (from memory);
 * checked against Marsden's identity in test/published.
 */
export function derivativePoints(
  points: readonly Vector[],
  knots: Float64Array,
  degree: number,
  order: number,
): Vector[] {
  let current = points.slice();
  for (let k = 0; k < order; k++) {
    const p = degree - k;
    current = current.slice(1).map((point, i) => {
      // Derivative k drops the first and last k knots, so point i sees knot i + 1 + k onwards.
      const gap = (knots[i + k + p + 1] - knots[i + k + 1]) / p;
      const before = current[i];
      const part = (axis: 0 | 1 | 2): number => (gap > 0 ? (point[axis] - before[axis]) / gap : 0);
      return [part(0), part(1), part(2)];
    });
  }
  return current;
}

/**
 * Where the control points of the k-th derivative stand: the Greville abscissae of degree p-k on the
 * knots without the first and last k. At degree 0 they are the middles of the spans.
 */
export function derivativeAbscissae(
  knots: Float64Array,
  degree: number,
  order: number,
): Float64Array {
  const inner = knots.subarray(order, knots.length - order);
  return degree > order
    ? grevilleAbscissae(inner, degree - order)
    : inner.subarray(1).map((knot, k) => (inner[k] + knot) / 2);
}

/** How far a second difference is off the even run of those beside it. */
export interface SecondDifferenceJump {
  readonly along: 'row' | 'column';
  readonly spot: Spot;
  /** Amount off the run over the mean of its neighbours and itself; no unit. */
  readonly share: number;
  /** How far the point would have to move to take the jump away, mm. */
  readonly displacement: number;
}

/**
 * Jumps of the second difference along each line. Moving a point by d changes its own second
 * difference by -2d/g^2 and both neighbours' by d/g^2 (g: Greville gap), so a jump of size j is what
 * a displacement of j g^2 / 3 would make: that gives the jump a size in millimetres.
 */
export function secondDifferenceJumps(
  sights: readonly Sight[],
  knots: readonly [Float64Array, Float64Array],
): SecondDifferenceJump[] {
  return sights.flatMap((sight) => {
    if (sight.degree < 2 || sight.points.length < 5) return [];
    const ownKnots = knots[sight.along === 'row' ? 0 : 1];
    const second = derivativePoints(sight.points, ownKnots, sight.degree, 2);
    const places = derivativeAbscissae(ownKnots, sight.degree, 2);
    const { abscissae } = sight;
    return second.slice(2).map((_, k) => {
      const at = k + 2; // the point in whose middle second[k + 1] stands
      const run = [places[k], places[k + 1], places[k + 2]] as const;
      const part = (axis: 0 | 1 | 2): number =>
        offRun(second[k][axis], second[k + 1][axis], second[k + 2][axis], run);
      const jump = length([part(0), part(1), part(2)]);
      const beside = (length(second[k]) + length(second[k + 1]) + length(second[k + 2])) / 3;
      const gap = (abscissae[at + 1] - abscissae[at - 1]) / 2;
      return {
        along: sight.along,
        spot: spotOnLine(sight, at),
        share: beside > 0 ? jump / beside : 0,
        displacement: (jump * gap * gap) / 3,
      };
    });
  });
}

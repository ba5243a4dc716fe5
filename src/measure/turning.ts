import { diagonal, type ControlNet } from '../geometry/controlNet.ts';
import {
  cross,
  difference,
  dot,
  length,
  squareTo,
  sum,
  unit,
  type Vector,
} from '../geometry/vector.ts';

/** The bend of a row or column at one control point, radians. */
export interface Turning {
  /** About the row's side axis: positive where the point lies out, along the normal. */
  readonly bulge: number;
  /** Within the surface: positive where the run bends towards normal x direction of travel. */
  readonly sway: number;
}

/** Angle from the first plane vector to the second, in the plane of axes a and b. */
function planeAngle(from: Vector, to: Vector, a: Vector, b: Vector): number {
  const [fx, fy] = [dot(from, a), dot(from, b)];
  const [tx, ty] = [dot(to, a), dot(to, b)];
  return Math.atan2(fx * ty - fy * tx, fx * tx + fy * ty);
}

/** Legs shorter than this, mm, have no direction but that of rounding: a collapsed edge in a file. */
export const leastLeg = (net: ControlNet): number => 1e-6 * diagonal(net);

/**
 * The turning angle between the legs before and after `at`, split about the surface normal there.
 * Null where a leg is not over `least` or the run goes straight along the normal.
 */
export function turning(
  before: Vector,
  at: Vector,
  after: Vector,
  normal: Vector,
  least = 0,
): Turning | null {
  const into = difference(at, before);
  const out = difference(after, at);
  if (!(length(into) > least && length(out) > least)) return null;
  const [a, b] = [unit(into), unit(out)];
  const travel = a && b && unit(squareTo(sum(a, b), normal));
  if (!a || !b || !travel) return null;
  const side = cross(normal, travel);
  return {
    bulge: -planeAngle(a, b, travel, normal),
    sway: planeAngle(squareTo(a, normal), squareTo(b, normal), travel, side),
  };
}

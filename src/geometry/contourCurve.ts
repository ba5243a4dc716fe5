import { surfaceJet } from './evaluation.ts';
import type { ControlNet } from './controlNet.ts';
import type { Plane } from './planeSections.ts';
import type { Coordinates, SplineCurve } from './splineCurve.ts';
import { distance, dot, length, scaled, sum, type Vector } from './vector.ts';

/** A direction of the contour at which the plane is met at less than this slant is taken from its legs. */
const leastSlant = 1e-6;

/**
 * The curve of the parameter plane through places at which a plane cuts a surface, in the direction of
 * the cut at each: cubics over the chord lengths in space, mm, which leave the plane far less than the
 * legs do. At least two places.
 */
export function contourCurve(
  net: ControlNet,
  { normal }: Plane,
  places: readonly Coordinates[],
): SplineCurve {
  const jets = places.map(([u, v]) => surfaceJet(net, u, v));
  const legs = places.slice(1).map((_, k) => distance(jets[k].point, jets[k + 1].point));
  const legOf = (k: number): readonly [number, number] => [
    (places[k + 1][0] - places[k][0]) / legs[k],
    (places[k + 1][1] - places[k][1]) / legs[k],
  ];
  /** du and dv a millimetre along the cut. */
  const directionAt = (k: number): readonly [number, number] => {
    const [before, after] = [Math.max(k - 1, 0), Math.min(k, legs.length - 1)];
    const [a, b] = [legOf(before), legOf(after)];
    const mean = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2] as const;
    const { u, v } = jets[k];
    const slope = [-dot(normal, v), dot(normal, u)] as const;
    const along: Vector = sum(scaled(u, slope[0]), scaled(v, slope[1]));
    const size = length(along);
    if (!(size > leastSlant * length(u) * length(v))) return mean;
    const way = sum(scaled(u, mean[0]), scaled(v, mean[1]));
    const sign = dot(along, way) < 0 ? -1 : 1;
    return [(sign * slope[0]) / size, (sign * slope[1]) / size];
  };
  const directions = places.map((_, k) => directionAt(k));
  const points: number[] = [...places[0]];
  const knots = [0, 0, 0, 0];
  let s = 0;
  legs.forEach((leg, k) => {
    const [p, q] = [places[k], places[k + 1]];
    const [d, e] = [directions[k], directions[k + 1]];
    points.push(p[0] + (leg / 3) * d[0], p[1] + (leg / 3) * d[1]);
    points.push(q[0] - (leg / 3) * e[0], q[1] - (leg / 3) * e[1], q[0], q[1]);
    s += leg;
    knots.push(s, s, s);
  });
  return {
    dimension: 2,
    degree: 3,
    knots: Float64Array.from([...knots, s]),
    points: Float64Array.from(points),
    weights: null,
  };
}

import { cross, difference, dot, squareTo, sum, unit, type Vector } from './vector.ts';

/**
 * A point of a triangle: the index of its feature (in `features`, closestPoints.ts), and the shares of
 * the ways from the triangle's corner 0 to its corners 1 and 2.
 */
type TrianglePoint = readonly [feature: number, first: number, second: number];

/**
 * The points of a triangle one of which is the nearest to the origin, also of one that is nearly a line
 * or a point, or is one: the nearest of each edge, and the foot on its plane if that lies inside. From
 * its corner 0, `a`, lead `ab` and `ac`.
 */
export function needleFeet(a: Vector, ab: Vector, ac: Vector): TrianglePoint[] {
  const bc = difference(ac, ab);
  const share = (from: Vector, along: Vector): number => {
    const wanted = -dot(from, along) / dot(along, along);
    // also of an edge without length
    return wanted > 0 ? Math.min(1, wanted) : 0;
  };
  const [onAb, onBc, onAc] = [share(a, ab), share(sum(a, ab), bc), share(a, ac)];
  const feet: TrianglePoint[] = [
    [onAb === 0 ? 4 : onAb === 1 ? 5 : 1, onAb, 0],
    [onBc === 0 ? 5 : onBc === 1 ? 6 : 2, 1 - onBc, onBc],
    [onAc === 0 ? 4 : onAc === 1 ? 6 : 3, 0, onAc],
  ];
  const double = cross(ab, ac);
  const normal = unit(double);
  if (!normal) return feet;
  const flat = squareTo(a, normal);
  const first = -dot(cross(flat, ac), normal) / dot(double, normal);
  const second = -dot(cross(ab, flat), normal) / dot(double, normal);
  if (first >= 0 && second >= 0 && first + second <= 1) feet.push([0, first, second]);
  return feet;
}

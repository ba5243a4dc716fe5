import { sheetPoint, type Sheet } from './sheet.ts';
import { curveDomain, curvePoint, type SplineCurve } from './splineCurve.ts';
import { distance, type Vector } from './vector.ts';

/** Places of a plane curve at which it is held against the curve in space. */
const looks = 12;
/** Points of the curve in space for each of its control points, among which the nearest is sought. */
const pointsPerPole = 4;
const mostPoints = 2000;
/** Thirds cut off, each time: the nearest point is found to about a billionth of a step. */
const cuts = 40;

/**
 * Whether a curve in the plane, put on the surface, keeps within the reach of a curve in space, and
 * their ends meet (in either sense). Looked at in thirteen places.
 */
export function agree(sheet: Sheet, plane: SplineCurve, space: SplineCurve): boolean {
  const [from, to] = curveDomain(plane);
  const [first, last] = curveDomain(space);
  const onSurface = (share: number): Vector =>
    sheetPoint(sheet, curvePoint(plane, share === 1 ? to : from + share * (to - from)));
  const inSpace = (t: number): Vector =>
    curvePoint(space, Math.min(Math.max(t, first), last)) as unknown as Vector;
  const within = (a: Vector, b: Vector): boolean => distance(a, b) <= sheet.reach;
  const [start, end] = [onSurface(0), onSurface(1)];
  const [begin, stop] = [inSpace(first), inSpace(last)];
  if (!(within(start, begin) && within(end, stop)) && !(within(start, stop) && within(end, begin)))
    return false;
  let steps: Vector[] | null = null;
  const count = Math.min(pointsPerPole * (space.points.length / 3), mostPoints);
  const at = (k: number): number => first + (k / count) * (last - first);
  const nearest = (p: Vector): number => {
    steps ??= Array.from({ length: count + 1 }, (_, k) => inSpace(at(k)));
    const k = steps.reduce(
      (best, q, i, all) => (distance(q, p) < distance(all[best], p) ? i : best),
      0,
    );
    let [low, high] = [at(k - 1), at(k + 1)];
    for (let cut = 0; cut < cuts; cut++) {
      const third = (high - low) / 3;
      if (distance(inSpace(low + third), p) < distance(inSpace(high - third), p)) high -= third;
      else low += third;
    }
    return distance(inSpace((low + high) / 2), p);
  };
  return Array.from({ length: looks - 1 }, (_, k) => (k + 1) / looks).every((share) => {
    const p = onSurface(share);
    return within(p, inSpace(first + share * (last - first))) || nearest(p) <= sheet.reach;
  });
}

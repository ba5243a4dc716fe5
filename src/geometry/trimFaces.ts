import { breakpoints } from './knots.ts';
import { curveDomain, curvePoint, reversedCurve, type SplineCurve } from './splineCurve.ts';
import type { TrimLoop, TrimRegion } from './trimRegion.ts';

/** One connected piece of a region: its outer loop runs counter-clockwise, the inner ones clockwise. */
export interface TrimFace {
  readonly outer: TrimLoop;
  readonly inner: readonly TrimLoop[];
}

type Corner = readonly [number, number];

/** Straight legs that stand for one polynomial piece of a curve when sides and senses are told. */
const legsEach = 16;
/** Corners of a loop that are asked whether they lie in another. */
const mostAsked = 31;

/** The corners of a curve, without its last. */
function curveCorners(curve: SplineCurve): Corner[] {
  const [from, to] = curveDomain(curve);
  const values = breakpoints(curve.knots, 1e-12).map(({ value }) => value);
  const ends = [from, ...values.filter((value) => value > from && value < to), to];
  const legs = curve.degree === 1 ? 1 : legsEach;
  return ends.slice(1).flatMap((end, k) =>
    Array.from({ length: legs }, (_, leg): Corner => {
      const [u, v] = curvePoint(curve, ends[k] + (leg / legs) * (end - ends[k]));
      return [u, v];
    }),
  );
}

const corners = ({ curves }: TrimLoop): readonly Corner[] => curves.flatMap(curveCorners);

/** Twice the area a polygon encloses, positive where it runs counter-clockwise. */
function twiceArea(polygon: readonly Corner[]): number {
  const [u0, v0] = polygon[0];
  return polygon.reduce((total, [u1, v1], k) => {
    const [u2, v2] = polygon[(k + 1) % polygon.length];
    return total + (u1 - u0) * (v2 - v0) - (u2 - u0) * (v1 - v0);
  }, 0);
}

const isInside = ([u, v]: Corner, polygon: readonly Corner[]): boolean =>
  polygon.reduce((inside, [u1, v1], k) => {
    const [u2, v2] = polygon[(k + 1) % polygon.length];
    return v1 > v !== v2 > v && u < u1 + ((v - v1) / (v2 - v1)) * (u2 - u1) ? !inside : inside;
  }, false);

/** Whether most corners of one polygon lie in another: loops may touch, and must not cross. */
function liesIn(inner: readonly Corner[], outer: readonly Corner[]): boolean {
  const step = Math.max(Math.floor(inner.length / mostAsked), 1);
  const asked = inner.filter((_, k) => k % step === 0);
  return 2 * asked.filter((corner) => isInside(corner, outer)).length > asked.length;
}

const reversedLoop = ({ curves }: TrimLoop): TrimLoop => ({
  curves: curves.map(reversedCurve).reverse(),
});

/**
 * The connected pieces of a region, in the order of their outer loops. A loop that lies in an even
 * number of others is an outer one; those that lie in it and in one loop more than it does are its
 * inner ones. Loops that already run the right way are kept as they are.
 */
export function trimFaces({ loops }: TrimRegion): TrimFace[] {
  const polygons = loops.map(corners);
  const around = polygons.map((inner, k) =>
    polygons.flatMap((outer, other) => (other !== k && liesIn(inner, outer) ? [other] : [])),
  );
  const turned = (k: number, sense: 1 | -1): TrimLoop =>
    sense * twiceArea(polygons[k]) < 0 ? reversedLoop(loops[k]) : loops[k];
  return loops.flatMap((_, k) => {
    if (around[k].length % 2 === 1) return [];
    const inner = around.flatMap((others, hole) =>
      others.includes(k) && others.length === around[k].length + 1 ? [turned(hole, -1)] : [],
    );
    return [{ outer: turned(k, 1), inner }];
  });
}

import { shiftedCurve } from './closedLoop.ts';
import { breakpoints } from './knots.ts';
import type { Sheet } from './sheet.ts';
import {
  curveDomain,
  curvePoint,
  polyline,
  reversedCurve,
  type Coordinates,
  type SplineCurve,
} from './splineCurve.ts';
import type { TrimLoop, TrimRegion } from './trimRegion.ts';

/** Curves that follow each other and end where they began. */
export interface PlaneLoop {
  readonly curves: readonly SplineCurve[];
}

/**
 * One connected piece of a region: its outer loop runs counter-clockwise, the inner ones clockwise. On a
 * surface that closes they may leave the domain, by less than its width.
 */
export interface TrimFace {
  readonly outer: PlaneLoop;
  readonly inner: readonly PlaneLoop[];
}

type Corner = readonly [number, number];

/** Straight legs that stand for one polynomial piece of a curve when sides and senses are told. */
const legsEach = 16;
/** Corners of a loop that are asked whether they lie in another. */
const mostAsked = 31;
/** Periods by which a loop may stand apart from the one it lies in. */
const turns = [0, 1, -1, 2, -2];

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

const corners = ({ curves }: PlaneLoop): readonly Corner[] => curves.flatMap(curveCorners);

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
function liesIn(inner: readonly Corner[], outer: readonly Corner[], [u, v]: Corner): boolean {
  const step = Math.max(Math.floor(inner.length / mostAsked), 1);
  const asked = inner.filter((_, k) => k % step === 0);
  const found = asked.filter((corner) => isInside([corner[0] + u, corner[1] + v], outer));
  return 2 * found.length > asked.length;
}

const shiftedLoop = ({ curves }: PlaneLoop, by: Coordinates): PlaneLoop => ({
  curves: curves.map((curve) => shiftedCurve(curve, by)),
});

const reversedLoop = ({ curves }: PlaneLoop): PlaneLoop => ({
  curves: curves.map(reversedCurve).reverse(),
});

const startOf = ({ curves }: PlaneLoop): number[] =>
  curvePoint(curves[0], curveDomain(curves[0])[0]);

function endOf({ curves }: PlaneLoop): number[] {
  const last = curves[curves.length - 1];
  return curvePoint(last, curveDomain(last)[1]);
}

/**
 * The loop around a band between two lines that run round a surface in direction `side`, or between one
 * and the edge of the domain at `edge`: along the lower line, across, back along the upper one, and
 * across again one period apart. Where `side` is 1 lower means lower u.
 */
function bandLoop(
  sheet: Sheet,
  side: 0 | 1,
  lower: TrimLoop | null,
  upper: TrimLoop | null,
): PlaneLoop {
  const period = sheet.period[side]!;
  const [from, to] = sheet.domain[1 - side];
  const place = (along: number, across: number): [number, number] =>
    side === 0 ? [along, across] : [across, along];
  // counter-clockwise: the lower line runs with u, or against v
  const forward = (side === 0 ? 1 : -1) * period;
  const run = (loop: TrimLoop, sense: number): PlaneLoop =>
    Math.sign(loop.winds[side]) === Math.sign(sense) ? loop : reversedLoop(loop);
  /** The edge from where the line opposite ends to where it starts. */
  const edge = (opposite: PlaneLoop, across: number): PlaneLoop => ({
    curves: [
      polyline([place(endOf(opposite)[side], across), place(startOf(opposite)[side], across)]),
    ],
  });
  const first = lower ? run(lower, forward) : edge(run(upper!, -forward), from);
  const opposite = upper ? run(upper, -forward) : edge(first, to);
  const apart = Math.round((endOf(first)[side] - startOf(opposite)[side]) / period) * period;
  const second = shiftedLoop(opposite, place(apart, 0));
  return {
    curves: [
      ...first.curves,
      polyline([endOf(first), startOf(second)]),
      ...second.curves,
      polyline([endOf(second), startOf(first)]),
    ],
  };
}

/** The bands that loops which run round the surface bound, as `trimTest` tells what is kept. */
function bands(sheet: Sheet, loops: readonly TrimLoop[]): PlaneLoop[] {
  const side = loops.some(({ winds }) => winds[0] !== 0) ? 0 : 1;
  const height = (loop: TrimLoop): number =>
    corners(loop).reduce((total, corner, _, all) => total + corner[1 - side] / all.length, 0);
  const sorted = [...loops].sort((a, b) => height(a) - height(b));
  const sum = loops.reduce((total, { winds }) => total + winds[side], 0);
  // beside a single one its left side is kept
  const isTopKept = loops.length % 2 === 1 && sum > 0 === (side === 0);
  const limits = [...(isTopKept ? [null] : []), ...sorted.reverse()];
  return Array.from({ length: Math.ceil(limits.length / 2) }, (_, k) =>
    bandLoop(sheet, side, limits[2 * k + 1] ?? null, limits[2 * k]),
  );
}

/**
 * The connected pieces of a region, in the order of their outer loops. A loop that lies in an even
 * number of others is an outer one; those that lie in it and in one loop more than it does are its
 * inner ones. Loops that already run the right way are kept as they are. Those that run round a surface
 * that closes are cut open, as it has to be where its seam is not known to run on.
 */
export function trimFaces(sheet: Sheet, region: TrimRegion): TrimFace[] {
  const rounds = region.loops.filter(({ winds }) =>
    winds.some((times, side) => times !== 0 && sheet.period[side] !== null),
  );
  const loops: readonly PlaneLoop[] = [
    ...(rounds.length > 0 ? bands(sheet, rounds) : []),
    ...region.loops.filter((loop) => !rounds.includes(loop)),
  ];
  const polygons = loops.map(corners);
  const shifts = (sheet.period[0] === null ? [0] : turns).flatMap((a) =>
    (sheet.period[1] === null ? [0] : turns).map((b): Corner => [
      a === 0 ? 0 : a * sheet.period[0]!,
      b === 0 ? 0 : b * sheet.period[1]!,
    ]),
  );
  /** By outer loop, how far the loop is to be moved to lie in it. */
  const around = polygons.map(
    (inner, k) =>
      new Map(
        polygons.flatMap((outer, other) => {
          const by = other === k ? null : shifts.find((shift) => liesIn(inner, outer, shift));
          return by ? [[other, by] as const] : [];
        }),
      ),
  );
  const turned = (k: number, sense: 1 | -1): PlaneLoop =>
    sense * twiceArea(polygons[k]) < 0 ? reversedLoop(loops[k]) : loops[k];
  return loops.flatMap((_, k) => {
    if (around[k].size % 2 === 1) return [];
    const inner = around.flatMap((others, hole) => {
      const by = others.get(k);
      if (!by || others.size !== around[k].size + 1) return [];
      const loop = turned(hole, -1);
      return [by.every((x) => x === 0) ? loop : shiftedLoop(loop, by)];
    });
    return [{ outer: turned(k, 1), inner }];
  });
}

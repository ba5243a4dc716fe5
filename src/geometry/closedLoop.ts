import { bezierPieces, curveDomain, curvePoint, polyline, reversedCurve } from './splineCurve.ts';
import type { Coordinates, SplineCurve } from './splineCurve.ts';
import { sheetPoint, type Sheet } from './sheet.ts';
import { distance, type Vector } from './vector.ts';

/** A piece of a border in the plane, and whether the plane itself was given or found from space. */
export interface PlanePiece {
  readonly curve: SplineCurve;
  readonly given: boolean;
}

/** A loop whose curves follow each other without a gap. */
export interface ClosedLoop {
  readonly curves: readonly SplineCurve[];
  /** How often it runs round a surface that closes, in u and in v, before it ends where it began. */
  readonly winds: readonly [number, number];
}

const startOf = (curve: SplineCurve): number[] => curvePoint(curve, curveDomain(curve)[0]);
const endOf = (curve: SplineCurve): number[] => curvePoint(curve, curveDomain(curve)[1]);

/** A plane curve moved. */
export function shiftedCurve(curve: SplineCurve, [u, v]: Coordinates): SplineCurve {
  return u === 0 && v === 0
    ? curve
    : { ...curve, points: curve.points.map((x, k) => x + (k % 2 === 0 ? u : v)) };
}

/** Places on a straight way between two ends that are looked at on the surface. */
const wayShares = [0.25, 0.5, 0.75, 1];

/** The farthest that a straight way in the plane leads from its start, on the surface, mm. */
function wayLength(sheet: Sheet, from: Coordinates, to: Coordinates): number {
  if (from[0] === to[0] && from[1] === to[1]) return 0;
  const start = sheetPoint(sheet, from);
  return Math.max(
    ...wayShares.map((share) =>
      distance(
        start,
        sheetPoint(sheet, [
          from[0] + share * (to[0] - from[0]),
          from[1] + share * (to[1] - from[1]),
        ]),
      ),
    ),
  );
}

interface Ends {
  readonly start: Vector;
  readonly end: Vector;
}

/** Which pieces are to be run backwards so that each begins where the one before it ends, if any are. */
function turns(sheet: Sheet, ends: readonly Ends[]): boolean[] {
  const tried = [false, true].map((first) => {
    const turned = [first];
    let worst = 0;
    const out = (k: number): Vector => (turned[k] ? ends[k].start : ends[k].end);
    const into = (k: number, turn: boolean): Vector => (turn ? ends[k].end : ends[k].start);
    for (let k = 1; k < ends.length; k++) {
      const [kept, other] = [false, true].map((turn) => distance(out(k - 1), into(k, turn)));
      const turn = kept > sheet.reach && other < kept;
      turned.push(turn);
      worst = Math.max(worst, turn ? other : kept);
    }
    worst = Math.max(worst, distance(out(ends.length - 1), into(0, first)));
    return { turned, worst };
  });
  const [kept, other] = tried;
  return kept.worst <= sheet.reach || kept.worst <= other.worst ? kept.turned : other.turned;
}

interface Attempt extends ClosedLoop {
  readonly gap: number;
  /** How far it leaves the domain, and its area, both as shares of the domain. */
  readonly beyond: number;
  readonly area: number;
}

/** Joins at which the place is open: a collapsed edge on a surface that closes the other way. */
function isOpenJoin(sheet: Sheet, at: Coordinates): 0 | 1 | null {
  for (const side of [0, 1] as const) {
    const other = (1 - side) as 0 | 1;
    if (sheet.period[other] === null) continue;
    const here = sheetPoint(sheet, at);
    const [from, to] = sheet.domain[side];
    for (const [k, edge] of [from, to].entries()) {
      if (!sheet.collapsed[side][k]) continue;
      const there = side === 0 ? [edge, at[1]] : [at[0], edge];
      if (distance(here, sheetPoint(sheet, there)) <= sheet.reach) return other;
    }
  }
  return null;
}

/** Lowest and highest u and v of curves, by their control points. */
export function planeBox(curves: readonly SplineCurve[]): readonly [Coordinates, Coordinates] {
  const low = [Infinity, Infinity];
  const high = [-Infinity, -Infinity];
  for (const { points } of curves)
    points.forEach((x, k) => {
      low[k % 2] = Math.min(low[k % 2], x);
      high[k % 2] = Math.max(high[k % 2], x);
    });
  return [low, high];
}

/** Twice nothing: the signed area of a closed line, positive where it runs against the clock. */
function signedArea(curves: readonly SplineCurve[]): number {
  let twice = 0;
  let [u, v] = startOf(curves[0]);
  for (const curve of curves) {
    const looks = curve.degree === 1 ? 1 : 8;
    for (const { from, to } of bezierPieces(curve))
      for (let k = 1; k <= looks; k++) {
        const [nextU, nextV] = curvePoint(curve, from + (k / looks) * (to - from));
        twice += u * nextV - nextU * v;
        [u, v] = [nextU, nextV];
      }
  }
  return twice / 2;
}

/** Whole periods by which a way is longer than need be. */
const periods = (sheet: Sheet, from: Coordinates, to: Coordinates): [number, number] => {
  const times = (side: 0 | 1): number => {
    const period = sheet.period[side];
    return period === null ? 0 : Math.round((to[side] - from[side]) / period);
  };
  return [times(0), times(1)];
};

/**
 * The pieces moved by whole periods so that each begins where the one before ends. `detours`: how many
 * periods farther to go at each join where the place is open.
 */
function attempt(sheet: Sheet, pieces: readonly PlanePiece[], detours: readonly number[]): Attempt {
  const length = (side: 0 | 1): number => sheet.period[side] ?? 0;
  const middleOf = (curves: readonly SplineCurve[]): number[] => {
    const [low, high] = planeBox(curves);
    return [(low[0] + high[0]) / 2, (low[1] + high[1]) / 2];
  };
  /** Towards the domain. */
  const home = (curves: readonly SplineCurve[]): number[] => {
    const middle = middleOf(curves);
    return ([0, 1] as const).map((side) => {
      const period = sheet.period[side];
      const [from] = sheet.domain[side];
      return period === null ? 0 : -period * Math.floor((middle[side] - from) / period);
    });
  };
  let shift = pieces[0].given ? [0, 0] : home([pieces[0].curve]);
  const curves = [shiftedCurve(pieces[0].curve, shift)];
  let gap = 0;
  let joins = 0;
  for (const { curve, given } of pieces.slice(1)) {
    const from = endOf(curves[curves.length - 1]);
    const plain = startOf(curve);
    const stayed = [plain[0] + shift[0], plain[1] + shift[1]];
    if (!(given && wayLength(sheet, from, stayed) <= sheet.reach)) {
      const [nu, nv] = periods(sheet, from, plain);
      shift = [-nu * length(0), -nv * length(1)];
    }
    const open = isOpenJoin(sheet, from);
    if (open !== null) shift[open] += (detours[joins++] ?? 0) * length(open);
    const next = shiftedCurve(curve, shift);
    const to = startOf(next);
    gap = Math.max(gap, wayLength(sheet, from, to));
    if (from[0] !== to[0] || from[1] !== to[1]) curves.push(polyline([from, to]));
    curves.push(next);
  }
  const begin = startOf(curves[0]);
  const last = endOf(curves[curves.length - 1]);
  let winds: [number, number] = [0, 0];
  if (wayLength(sheet, last, begin) > sheet.reach) winds = periods(sheet, begin, last);
  const to = [begin[0] + winds[0] * length(0), begin[1] + winds[1] * length(1)];
  gap = Math.max(gap, wayLength(sheet, last, to));
  if (last[0] !== to[0] || last[1] !== to[1]) curves.push(polyline([last, to]));
  const back = home(curves);
  const placed = pieces[0].given ? curves : curves.map((curve) => shiftedCurve(curve, back));
  const [low, high] = planeBox(placed);
  const widths = sheet.domain.map(([from, end]) => end - from);
  const beyond = ([0, 1] as const).reduce<number>((total, side) => {
    const [from, end] = sheet.domain[side];
    return total + (Math.max(from - low[side], 0) + Math.max(high[side] - end, 0)) / widths[side];
  }, 0);
  return { curves: placed, winds, gap, beyond, area: signedArea(placed) / (widths[0] * widths[1]) };
}

/** Every way to write `count` digits out of a few, the first digit first. */
function choices(count: number, digits: readonly number[]): number[][] {
  return count === 0
    ? [[]]
    : choices(count - 1, digits).flatMap((rest) => digits.map((digit) => [...rest, digit]));
}

/** An area under this share of the domain is none: two sides of a seam on one another. */
const noArea = 1e-9;
/** So many open joins, and closed pieces that may have been given backwards, are tried every way. */
const mostTried = 3;

/**
 * The loop that pieces make, or the largest gap between them in mm, where it is beyond the reach.
 * Pieces are run backwards where that closes the loop; on a surface that closes, pieces are moved by
 * whole periods, so that the two runs along a seam come to lie on its two sides; along a collapsed edge
 * the loop runs straight. Where several ways close it, that is taken which winds least, encloses
 * something, leaves the domain least, and runs against the clock, in this order.
 */
export function closedLoop(
  sheet: Sheet,
  pieces: readonly PlanePiece[],
): ClosedLoop | { readonly gap: number } {
  const ends = pieces.map(({ curve }) => ({
    start: sheetPoint(sheet, startOf(curve)),
    end: sheetPoint(sheet, endOf(curve)),
  }));
  const backwards = (piece: PlanePiece): PlanePiece => ({
    ...piece,
    curve: reversedCurve(piece.curve),
  });
  const turned = turns(sheet, ends);
  const ordered = pieces.map((piece, k) => (turned[k] ? backwards(piece) : piece));
  const rank = (one: Attempt): number[] => [
    Math.max(one.gap - sheet.reach, 0),
    Math.abs(one.winds[0]) + Math.abs(one.winds[1]),
    Number(Math.abs(one.area) < noArea),
    Math.round(one.beyond * 1e6),
    Number(one.area < 0),
  ];
  const better = (a: Attempt, b: Attempt): boolean => {
    const [ranksA, ranksB] = [rank(a), rank(b)];
    const k = ranksA.findIndex((value, at) => value !== ranksB[at]);
    return k >= 0 && ranksA[k] < ranksB[k];
  };
  const open = ordered.filter(({ curve }) => isOpenJoin(sheet, endOf(curve)) !== null).length;
  const detours = choices(Math.min(open, mostTried), [0, 1, -1]);
  const best = (tried: readonly (readonly PlanePiece[])[]): Attempt =>
    tried
      .flatMap((some) => detours.map((ways) => attempt(sheet, some, ways)))
      .reduce((a, b) => (better(b, a) ? b : a));
  let found = best([ordered]);
  const isSettled = found.gap <= sheet.reach && found.winds.every((times) => times === 0);
  const rings = [...ends.keys()].filter(
    (k) => distance(ends[k].start, ends[k].end) <= sheet.reach && ends.length > 1,
  );
  if (!isSettled && rings.length > 0)
    found = best(
      choices(Math.min(rings.length, mostTried), [0, 1]).map((flips) =>
        ordered.map((piece, k) => (flips[rings.indexOf(k)] === 1 ? backwards(piece) : piece)),
      ),
    );
  const { curves, winds, gap } = found;
  return gap <= sheet.reach ? { curves, winds } : { gap };
}

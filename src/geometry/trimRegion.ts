import { closedLoop, shiftedCurve, type ClosedLoop, type PlanePiece } from './closedLoop.ts';
import { diagonal, type ControlNet } from './controlNet.ts';
import { footFinder, type Foot } from './foot.ts';
import { agree } from './curveAgreement.ts';
import { projectedCurve } from './projectedCurve.ts';
import { sheetOf, type Sheet } from './sheet.ts';
import { isSoundCurve } from './soundCurve.ts';
import { curveDomain, curvePoint, polyline, type SplineCurve } from './splineCurve.ts';
import type { Vector } from './vector.ts';

/** One piece of a border as a file gives it: in the parameter plane, in space (mm), or both. */
export interface BorderPiece {
  readonly plane: SplineCurve | null;
  readonly space: SplineCurve | null;
}

/** A border in the order in which its pieces follow each other, each run in that sense. */
export type Border = readonly BorderPiece[];

/** A closed line in the parameter plane: each curve begins where the one before it ends. */
export interface TrimLoop {
  readonly curves: readonly SplineCurve[];
}

/** The part of a surface that is kept: where a ray to the outside crosses the loops an odd number of times. */
export interface TrimRegion {
  readonly loops: readonly TrimLoop[];
  /** Millimetres on the surface within which a border stands where the file means it. */
  readonly tolerance: number;
}

/**
 * Why borders give no region; loops count from 0. `open`: the ends of pieces do not meet, by `gap` at
 * most. `empty`: a loop without a piece that has a length. `off-surface`: a curve in space leaves the
 * surface by `gap`. `unsound`: a curve whose knots, points or weights make no curve.
 */
export type TrimTrouble =
  | { readonly trouble: 'open'; readonly loop: number; /** mm */ readonly gap: number }
  | { readonly trouble: 'empty'; readonly loop: number }
  | { readonly trouble: 'off-surface'; readonly loop: number; /** mm */ readonly gap: number }
  | { readonly trouble: 'unsound'; readonly loop: number };

/** Files carry 6 to 16 digits: nothing in them stands better than to this share of the net's diagonal. */
const finestReach = 1e-5;
/** A piece within this share of the reach has no length. */
const noLength = 1e-3;

/** Length of the diagonal of a curve's control points. */
function extent({ dimension, points }: SplineCurve): number {
  const sides = Array.from({ length: dimension }, (_, axis) => {
    let [low, high] = [Infinity, -Infinity];
    for (let at = axis; at < points.length; at += dimension) {
      low = Math.min(low, points[at]);
      high = Math.max(high, points[at]);
    }
    return high - low;
  });
  return Math.hypot(...sides);
}

type PieceTrouble = 'unsound' | { readonly gap: number };

/** A piece in the plane; null where it has no length. */
function planePiece(
  sheet: Sheet,
  { plane, space }: BorderPiece,
  find: (point: Vector) => Foot,
): PlanePiece | PieceTrouble | null {
  if ((plane && !isSoundCurve(plane)) || (space && !isSoundCurve(space))) return 'unsound';
  const asGiven = plane && extent(plane) > 0 ? { curve: plane, given: true } : null;
  if (!space || extent(space) <= noLength * sheet.reach) return asGiven;
  if (asGiven && agree(sheet, asGiven.curve, space)) return asGiven;
  const found = projectedCurve(sheet, space, find);
  if (!('gap' in found)) return { curve: found, given: false };
  // of two witnesses that contradict each other the one that keeps to the surface is believed
  if (asGiven) return asGiven;
  return Number.isFinite(found.gap) ? found : 'unsound';
}

/** A part of a period over which a loop may hang out of the domain without being told twice. */
const slack = 1e-5;

/** A loop that does not wind, and its copies a period away that lie in the domain as well. */
function copies(sheet: Sheet, { curves, box }: ClosedLoop): TrimLoop[] {
  const shifts = ([0, 1] as const).map((side) => {
    const period = sheet.period[side];
    if (period === null) return [0];
    const [from, to] = sheet.domain[side];
    return [
      0,
      ...(box[0][side] < from - slack * period ? [period] : []),
      ...(box[1][side] > to + slack * period ? [-period] : []),
    ];
  });
  return shifts[0].flatMap((u) =>
    shifts[1].map((v) => ({ curves: curves.map((curve) => shiftedCurve(curve, [u, v])) })),
  );
}

/**
 * A loop that winds once round a surface that closes in direction `side`: three turns of it, closed
 * beyond the domain's high edge of the other direction, or its low one. Null where it does not wind so.
 */
function band(sheet: Sheet, { curves, winds }: ClosedLoop, toLow: boolean): TrimLoop | null {
  const side = winds[0] === 0 ? 1 : 0;
  const period = sheet.period[side];
  if (period === null || Math.abs(winds[side]) !== 1 || winds[1 - side] !== 0) return null;
  const step = winds[side] * period;
  const along = (by: number): number[] => (side === 0 ? [by, 0] : [0, by]);
  // beginning in the domain, so that three turns reach over both of its ends
  const [begin] = [curvePoint(curves[0], curveDomain(curves[0])[0])];
  const [from] = sheet.domain[side];
  const home = -period * Math.floor((begin[side] - from) / period);
  const run = [-step, 0, step].flatMap((by) =>
    curves.map((curve) => shiftedCurve(curve, along(by + home))),
  );
  const start = curvePoint(run[0], curveDomain(run[0])[0]);
  const last = run[run.length - 1];
  const end = curvePoint(last, curveDomain(last)[1]);
  const [low, high] = sheet.domain[1 - side];
  const beyond = toLow ? 2 * low - high : 2 * high - low;
  const out = ([u, v]: readonly number[]): number[] => (side === 0 ? [u, beyond] : [beyond, v]);
  return { curves: [...run, polyline([end, out(end), out(start), start])] };
}

/** Whether what is kept beside a lone winding loop lies towards the low edge of the other direction. */
function keepsLow(sheet: Sheet, { winds }: ClosedLoop): boolean {
  const side = winds[0] === 0 ? 1 : 0;
  const [low, high] = sheet.collapsed[1 - side];
  if (low !== high) return low;
  // left of a run in u lies the high v; left of a run in v lies the low u
  return side === 0 ? winds[0] < 0 : winds[1] > 0;
}

/**
 * The region that borders cut from a surface. `tolerance` (mm) is what the file says of itself; the
 * reach is that or a 1e-5 of the net's diagonal, whichever is more, and the region's tolerance.
 *
 * A piece given in the plane is taken as it is. Given in space as well, it must keep within the reach
 * of that curve; where it does not, the curve in space is followed. One given in space alone is
 * followed on the surface by straight legs that keep within a quarter of the reach of it; farther off
 * the surface than the reach is trouble. Pieces are joined by straight lines in the plane where the way
 * on the surface is within the reach, and are run backwards where only that closes the loop.
 *
 * Loops may run either way round. On a surface that closes, a loop over the seam is given once for each
 * side of it, so loops may leave the domain. Loops that run round the surface bound what lies between
 * them; a lone one keeps what lies towards the edge that is collapsed, else what lies to its left.
 */
export function trimmedRegion(
  net: ControlNet,
  borders: readonly Border[],
  tolerance: number,
): TrimRegion | TrimTrouble {
  const reach = Math.max(tolerance > 0 ? tolerance : 0, finestReach * diagonal(net));
  const sheet = sheetOf(net, reach);
  const find = footFinder(sheet);
  const closed: ClosedLoop[] = [];
  for (const [loop, border] of borders.entries()) {
    const pieces: PlanePiece[] = [];
    for (const piece of border) {
      const found = planePiece(sheet, piece, find);
      if (found === 'unsound') return { trouble: 'unsound', loop };
      if (found === null) continue;
      if ('gap' in found) return { trouble: 'off-surface', loop, gap: found.gap };
      pieces.push(found);
    }
    if (pieces.length === 0) return { trouble: 'empty', loop };
    const made = closedLoop(sheet, pieces);
    if ('gap' in made) return { trouble: 'open', loop, gap: made.gap };
    closed.push(made);
  }
  const winding = closed.filter(({ winds }) => winds.some((times) => times !== 0));
  const loops: TrimLoop[] = [];
  for (const [loop, one] of closed.entries()) {
    if (!winding.includes(one)) loops.push(...copies(sheet, one));
    else {
      const toLow = one === winding[0] && winding.length % 2 === 1 && keepsLow(sheet, one);
      const made = band(sheet, one, toLow);
      // once round is all that a line can run without crossing itself
      if (!made)
        return { trouble: 'open', loop, gap: Math.max(...one.winds.map(Math.abs)) * reach };
      loops.push(made);
    }
  }
  return { loops, tolerance: reach };
}

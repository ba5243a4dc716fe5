import { closedLoop, type PlanePiece } from './closedLoop.ts';
import { diagonal, type ControlNet } from './controlNet.ts';
import { footFinder, type Foot } from './foot.ts';
import { projectedCurve } from './projectedCurve.ts';
import { sheetOf, sheetPoint, type Sheet } from './sheet.ts';
import { isSoundCurve } from './soundCurve.ts';
import { curveDomain, curvePoint, type SplineCurve } from './splineCurve.ts';
import { distance, type Vector } from './vector.ts';

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
  /** How often it runs round a surface that closes, in u and in v, before it ends where it began. */
  readonly winds: readonly [number, number];
}

/**
 * The part of a surface that is kept: where a ray to the outside crosses the loops an odd number of
 * times. Where loops run round a surface that closes, the side to their left counts, seen with u to
 * the right and v upwards.
 */
export interface TrimRegion {
  readonly loops: readonly TrimLoop[];
  /** Width of the domain in a direction in which the surface closes, else null. */
  readonly period: readonly [number | null, number | null];
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

/** Borders are held to no less than this share of the net's diagonal: files lie that far off. */
const finestReach = 1e-5;
/** Ends and middle of a curve, at these shares of its domain, are held against the other form of it. */
const heldShares = [0, 0.5, 1];
/** A file that gives both forms may have them this many times the reach apart. */
const formsApart = 10;

const placeAt = (curve: SplineCurve, share: number): number[] => {
  const [from, to] = curveDomain(curve);
  return curvePoint(curve, from + share * (to - from));
};

const spacePoint = ([x, y, z]: readonly number[]): Vector => [x, y, z];

/**
 * Whether both forms of a piece lie together: both ends, whichever way round, and what is nearest to
 * the middle of the one in the plane among points along the one in space.
 */
function formsAgree(sheet: Sheet, plane: SplineCurve, space: SplineCurve): boolean {
  const [start, , end] = heldShares.map((share) => sheetPoint(sheet, placeAt(plane, share)));
  const [from, , to] = heldShares.map((share) => spacePoint(placeAt(space, share)));
  const apart = Math.min(
    Math.max(distance(start, from), distance(end, to)),
    Math.max(distance(start, to), distance(end, from)),
  );
  return apart <= formsApart * sheet.reach;
}

/** Whether a curve in the plane is a point there, or one in space is one in space. */
function isPoint(curve: SplineCurve, close: readonly number[]): boolean {
  const { dimension, points } = curve;
  return points.every((x, k) => Math.abs(x - points[k % dimension]) <= close[k % dimension]);
}

/** Widths of the domain below which nothing in the plane has a length. */
const noWidth = 1e-12;

/** One border as pieces in the plane, or why it has none. */
function planePieces(
  sheet: Sheet,
  border: Border,
  find: (point: Vector) => Foot,
): PlanePiece[] | 'unsound' | { readonly gap: number } {
  const widths = sheet.domain.map(([from, to]) => noWidth * (to - from));
  const pieces: PlanePiece[] = [];
  for (const { plane, space } of border) {
    if ([plane, space].some((curve) => curve && !isSoundCurve(curve))) return 'unsound';
    if (plane && !(space && !isPoint(plane, widths) && !formsAgree(sheet, plane, space))) {
      if (!isPoint(plane, widths)) pieces.push({ curve: plane, given: true });
      continue;
    }
    if (!space || isPoint(space, [sheet.reach / 2, sheet.reach / 2, sheet.reach / 2])) continue;
    const projected = projectedCurve(sheet, space, find);
    if ('gap' in projected) {
      if (!plane) return projected;
      pieces.push({ curve: plane, given: true });
    } else pieces.push({ curve: projected, given: false });
  }
  return pieces;
}

/**
 * The region that borders cut from a surface. Pieces may be given in the plane, in space, or both: the
 * plane counts, unless its ends lie elsewhere than those in space. What is given in space alone is
 * projected. Neighbouring pieces whose ends lie within `tolerance` (mm, measured on the surface, but no less than
 * 1e-5 of the net's diagonal) are
 * joined by a straight line in the plane, which also runs along a collapsed edge. Pieces and loops may
 * run either way round.
 */
export function trimmedRegion(
  net: ControlNet,
  borders: readonly Border[],
  tolerance: number,
): TrimRegion | TrimTrouble {
  const reach = Math.max(tolerance > 0 ? tolerance : 0, finestReach * diagonal(net));
  const sheet = sheetOf(net, reach);
  const find = footFinder(sheet);
  const loops: TrimLoop[] = [];
  for (const [loop, border] of borders.entries()) {
    const pieces = planePieces(sheet, border, find);
    if (pieces === 'unsound') return { trouble: 'unsound', loop };
    if ('gap' in pieces) return { trouble: 'off-surface', loop, gap: pieces.gap };
    if (pieces.length === 0) return { trouble: 'empty', loop };
    const closed = closedLoop(sheet, pieces);
    if ('gap' in closed) return { trouble: 'open', loop, gap: closed.gap };
    loops.push(closed);
  }
  const rounds = [0, 1].map((side) => loops.some(({ winds }) => winds[side] !== 0));
  if (rounds[0] && rounds[1]) return { trouble: 'open', loop: 0, gap: diagonal(net) };
  return { loops, period: sheet.period, tolerance: reach };
}

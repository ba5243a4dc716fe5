import type { SplineCurve } from '../../geometry/splineCurve.ts';
import { distance, type Vector } from '../../geometry/vector.ts';
import { backwards, type FileCurve } from './fileCurve.ts';
import { nearestParameter } from './nearestParameter.ts';
import type { TrimSheet } from './trimSheet.ts';

/** The ends of an edge in millimetres; null where the file gives no point. */
export interface EdgeEnds {
  readonly start: Vector | null;
  readonly end: Vector | null;
  /** Both are one vertex: the edge is the whole of a closed curve. */
  readonly isOne: boolean;
  /** The curve runs from start to end: ISO 10303-42, edge_curve, same_sense. */
  readonly sameSense: boolean;
}

/** Less than this share of a curve is no part of it. */
const speck = 1e-12;

/**
 * Where a part lies on a curve, `from` below `to` (past the end of a period where it goes through the
 * seam), and whether it is run that way.
 */
interface Stretch {
  readonly from: number;
  readonly to: number;
  readonly forward: boolean;
}

/**
 * From `a` to `b` where `forward`, else from `a` back to `b`. On a curve that is not closed the order of
 * the two decides, whatever `forward` says. Null where nothing lies between.
 */
function stretchBetween(
  { range, period }: FileCurve,
  a: number,
  b: number,
  forward: boolean,
): Stretch | null {
  const inside = (t: number): number => {
    if (!range) return t;
    if (!period) return Math.min(Math.max(t, range[0]), range[1]);
    const past = (t - range[0]) % period;
    return range[0] + (past < 0 ? past + period : past);
  };
  const [from, to] = forward ? [inside(a), inside(b)] : [inside(b), inside(a)];
  const least = speck * (range ? range[1] - range[0] : Math.max(Math.abs(from), Math.abs(to), 1));
  if (to - from > least) return { from, to, forward };
  if (period) return { from, to: to + period, forward };
  return from - to > least ? { from: to, to: from, forward: !forward } : null;
}

const partOf = (curve: FileCurve, { from, to, forward }: Stretch): readonly SplineCurve[] => {
  const parts = curve.part(from, to);
  return forward ? parts : backwards(parts);
};

/** The part between two parameters as `stretchBetween` has it; empty where nothing lies between. */
export function curveBetween(
  curve: FileCurve,
  a: number,
  b: number,
  forward: boolean,
): readonly SplineCurve[] {
  const stretch = stretchBetween(curve, a, b, forward);
  return stretch ? partOf(curve, stretch) : [];
}

/** The whole of a curve that has ends, or null. */
export const wholeCurve = (curve: FileCurve, forward: boolean): readonly SplineCurve[] | null =>
  curve.range && partOf(curve, { from: curve.range[0], to: curve.range[1], forward });

/** What an edge takes of its curve in space; null where the curve is endless and the ends do not cut it. */
export function spaceStretch(curve: FileCurve, ends: EdgeEnds): Stretch | 'nothing' | null {
  const { start, end, isOne, sameSense } = ends;
  const { range, period, nearest } = curve;
  const whole = range && { from: range[0], to: range[1], forward: sameSense };
  if (!start || !end) return whole;
  if (!isOne) return stretchBetween(curve, nearest(start), nearest(end), sameSense) ?? 'nothing';
  const at = period ? nearest(start) : 0;
  return period ? stretchBetween(curve, at, at, sameSense) : whole;
}

/** Samples of a curve in the parameter plane, for finding where it passes a vertex. */
const planeSamples = 200;

/** Where a curve without ends passes through the domain of a surface, and a little beyond; or null. */
function passage(curve: FileCurve, { domain }: TrimSheet): readonly [number, number] | null {
  const [origin, ahead] = [curve.at(0), curve.at(1)];
  let [low, high] = [-Infinity, Infinity];
  domain.forEach(([from, to], axis) => {
    const slope = ahead[axis] - origin[axis];
    const margin = 1e-6 * (to - from);
    const cuts = [from - margin, to + margin].map((x) => (x - origin[axis]) / slope);
    if (slope === 0) {
      if (origin[axis] < from - margin || origin[axis] > to + margin) high = -Infinity;
    } else {
      low = Math.max(low, Math.min(...cuts));
      high = Math.min(high, Math.max(...cuts));
    }
  });
  return low < high && Number.isFinite(low) && Number.isFinite(high) ? [low, high] : null;
}

/**
 * What an edge takes of its curve in the parameter plane: the whole, where its ends lie on the vertices;
 * else the part over the same parameters as in space; else the part between the places that lie
 * nearest to the vertices. Null where none of them meets the vertices within `tolerance`. ISO 10303-42,
 * surface_curve, does not ask for one parametrisation, but writers use one.
 */
export function planeCut(
  curve: FileCurve,
  ends: EdgeEnds,
  sheet: TrimSheet,
  inSpace: Stretch | null,
  tolerance: number,
): readonly SplineCurve[] | null {
  const { start, end, isOne, sameSense } = ends;
  const { range, period } = curve;
  if (!start || !end) return wholeCurve(curve, sameSense);
  const gap = (t: number, to: Vector): number => distance(sheet.lifted(curve.at(t)), to);
  const meets = (stretch: Stretch): boolean => {
    const [first, last] = stretch.forward ? [start, end] : [end, start];
    return gap(stretch.from, first) <= tolerance && gap(stretch.to, last) <= tolerance;
  };
  const tried: Stretch[] = [];
  if (range)
    for (const forward of isOne ? [sameSense] : [sameSense, !sameSense])
      tried.push({ from: range[0], to: range[1], forward });
  if (inSpace && (!range || period || (inSpace.from >= range[0] && inSpace.to <= range[1])))
    tried.push(inSpace);
  const found = tried.find(meets);
  if (found) return partOf(curve, found);
  const [low, high] = range ?? passage(curve, sheet) ?? [0, 0];
  if (!(low < high) || (isOne && !period)) return null;
  const samples = Array.from(
    { length: planeSamples + 1 },
    (_, k) => low + ((high - low) * k) / planeSamples,
  );
  const a = nearestParameter((t) => gap(t, start), samples);
  const b = isOne ? a : nearestParameter((t) => gap(t, end), samples);
  return a.distance <= tolerance && b.distance <= tolerance
    ? curveBetween(curve, a.t, b.t, sameSense)
    : null;
}

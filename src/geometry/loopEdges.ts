import type { Sheet } from './sheet.ts';
import { spaceImage } from './spaceImage.ts';
import { bezierPieces, curvePart, type SplineCurve } from './splineCurve.ts';
import type { PlaneLoop } from './trimFaces.ts';
import { distance, type Vector } from './vector.ts';

/** A part of a loop without a corner, in the plane and in space over the same parameter. */
export interface LoopEdge {
  readonly plane: SplineCurve;
  /** Null where the part is a point of space: on a collapsed edge, or between ends that nearly meet. */
  readonly space: SplineCurve | null;
  /** mm by which the curve in space may leave the surface: 0 where it is exact up to rounding. */
  readonly departure: number;
}

/** Share of the tolerance below which a part of a loop is a point of space. */
const pointShare = 0.01;
/** Share of the tolerance within which a fitted curve in space follows the surface. */
const fitShare = 0.1;
/** Radians. A curve that turns by more at a break is cut there; polylines for curves turn by less. */
const smallestCorner = 0.1;

/** The directions in which a Bezier piece begins and ends; (0, 0) where its points coincide. */
function directions(points: readonly (readonly number[])[]): readonly [number, number][] {
  const at = ([u, v, w]: readonly number[]): [number, number] => [u / w, v / w];
  const last = points.length - 1;
  const step = (from: number, to: number): [number, number] => {
    const [a, b] = [at(points[from]), at(points[to])];
    return [b[0] - a[0], b[1] - a[1]];
  };
  return [step(0, 1), step(last - 1, last)];
}

/** The curve cut at its corners; itself where it has none. */
function smoothParts(curve: SplineCurve): SplineCurve[] {
  const pieces = bezierPieces(curve);
  if (pieces.length === 1) return [curve];
  const cuts = [pieces[0].from];
  pieces.slice(1).forEach((piece, k) => {
    const [, before] = directions(pieces[k].points);
    const [after] = directions(piece.points);
    const turn = Math.atan2(
      before[0] * after[1] - before[1] * after[0],
      before[0] * after[0] + before[1] * after[1],
    );
    const hasNone = Math.hypot(...before) === 0 || Math.hypot(...after) === 0;
    if (hasNone || Math.abs(turn) > smallestCorner) cuts.push(piece.from);
  });
  if (cuts.length === 1) return [curve];
  cuts.push(pieces[pieces.length - 1].to);
  return cuts.slice(1).map((to, k) => curvePart(curve, cuts[k], to));
}

/** The largest distance from the first control point, mm. */
function reach({ points }: SplineCurve): number {
  const at = (k: number): Vector => [points[k], points[k + 1], points[k + 2]];
  let most = 0;
  for (let k = 3; k < points.length; k += 3) most = Math.max(most, distance(at(0), at(k)));
  return most;
}

const isStraight = ({ degree, points }: SplineCurve): boolean =>
  degree === 1 && points.length === 4;

/** Share of a domain below which a straight part is the rounding between two ends that meet. */
const roundingShare = 1e-9;

/** Whether a straight part has no length in the plane to speak of; `widths` are those of the domain. */
const isNothing = (curve: SplineCurve, widths: readonly number[]): boolean =>
  isStraight(curve) &&
  widths.every(
    (width, axis) => Math.abs(curve.points[axis] - curve.points[2 + axis]) <= roundingShare * width,
  );

/**
 * The parts of a loop between its corners, in order. Readers join ends that lie within `tolerance` mm by
 * a straight leg; such a leg is no edge of its own, so it counts as a point. Two in a row do not: they
 * would be a border in many short legs. Legs that only bridge a rounding are left out.
 */
export function loopEdges(sheet: Sheet, { curves }: PlaneLoop, tolerance: number): LoopEdge[] {
  const widths = sheet.domain.map(([from, to]) => to - from);
  const edges: LoopEdge[] = [];
  let isJoint = false;
  for (const whole of curves)
    for (const plane of smoothParts(whole)) {
      if (isNothing(plane, widths)) continue;
      const { curve, departure } = spaceImage(sheet, plane, fitShare * tolerance);
      const size = reach(curve);
      isJoint = !isJoint && plane === whole && isStraight(plane) && size <= tolerance;
      const isPoint = isJoint || size <= pointShare * tolerance;
      edges.push({ plane, space: isPoint ? null : curve, departure });
    }
  return edges;
}

/** The loop around the whole domain of a surface, counter-clockwise from its lowest corner. */
export function domainLoop({ domain: [[u0, u1], [v0, v1]] }: Sheet): PlaneLoop {
  const leg = (t0: number, t1: number, from: readonly number[], to: readonly number[]) => ({
    dimension: 2 as const,
    degree: 1,
    knots: Float64Array.of(t0, t0, t1, t1),
    points: Float64Array.from([...from, ...to]),
    weights: null,
  });
  return {
    curves: [
      leg(u0, u1, [u0, v0], [u1, v0]),
      leg(v0, v1, [u1, v0], [u1, v1]),
      leg(u0, u1, [u1, v1], [u0, v1]),
      leg(v0, v1, [u0, v1], [u0, v0]),
    ],
  };
}

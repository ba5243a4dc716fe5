import { surfaceJet } from './evaluation.ts';
import { domain, type Knots } from './knots.ts';
import { parameterLine } from './parameterLine.ts';
import { inDomain, sheetPoint, type Sheet } from './sheet.ts';
import {
  bezierPieces,
  curveDomain,
  curvePart,
  reversedCurve,
  type BezierPiece,
  type SplineCurve,
} from './splineCurve.ts';
import { difference, distance, length, scaled, sum, type Vector } from './vector.ts';

/** A curve of the plane of parameters as it stands in space, over the same parameter. */
export interface SpaceImage {
  readonly curve: SplineCurve;
  /** mm by which it may leave the image: 0 where it is the image itself up to rounding. */
  readonly departure: number;
}

const clamped = (value: number, [low, high]: readonly [number, number]): number =>
  Math.min(Math.max(value, low), high);

/** The same curve over another domain of its parameter. */
function overDomain(curve: SplineCurve, [from, to]: readonly [number, number]): SplineCurve {
  const [low, high] = curveDomain(curve);
  if (low === from && high === to) return curve;
  const moved = (t: number): number =>
    t === high ? to : from + ((t - low) / (high - low)) * (to - from);
  return { ...curve, knots: curve.knots.map(moved) };
}

const isClampedAt = (knots: Knots, degree: number): boolean => {
  const [low, high] = domain(knots, degree);
  return knots[0] === low && knots[knots.length - 1] === high;
};

/**
 * The image of a straight leg along which one parameter stays; null for any other curve, and for one
 * that runs on across the seam of a surface that closes.
 */
function lineImage(sheet: Sheet, plane: SplineCurve): SplineCurve | null {
  const { net } = sheet;
  const { points, degree, weights } = plane;
  if (degree !== 1 || points.length !== 4 || weights) return null;
  const side = points[0] === points[2] ? 0 : points[1] === points[3] ? 1 : null;
  if (side === null) return null;
  const other = side === 0 ? 1 : 0;
  const range = sheet.domain[other];
  const ends = [points[other], points[2 + other]];
  if (sheet.period[other] !== null && ends.some((x) => x < range[0] || x > range[1])) return null;
  const [start, end] = ends.map((x) => clamped(x, range));
  if (start === end) return null;
  const line = parameterLine(net, side, inDomain(sheet, side, points[side]));
  const [from, to] = start < end ? [start, end] : [end, start];
  const isWhole = from === range[0] && to === range[1] && isClampedAt(line.knots, line.degree);
  const part = isWhole ? line : curvePart(line, from, to);
  return overDomain(start < end ? part : reversedCurve(part), curveDomain(plane));
}

/** Position and derivative by the curve's parameter, millimetres. */
interface SpaceJet {
  readonly point: Vector;
  readonly slope: Vector;
}

/** Value and first derivative of a Bezier piece of the plane at `t`. */
function planeJet(piece: BezierPiece, t: number): readonly [number, number, number, number] {
  const width = piece.to - piece.from;
  const s = (t - piece.from) / width;
  let points = piece.points.map((p) => [...p]);
  let steps: number[][] = [];
  while (points.length > 1) {
    const shorter = points
      .slice(1)
      .map((p, k) => p.map((x, axis) => (1 - s) * points[k][axis] + s * x));
    if (points.length === 2) steps = [points[1].map((x, axis) => x - points[0][axis])];
    points = shorter;
  }
  const [u, v, w] = points[0];
  const [du, dv, dw] = steps[0].map((x) => (x * (piece.points.length - 1)) / width);
  return [u / w, v / w, (du - (dw * u) / w) / w, (dv - (dw * v) / w) / w];
}

/** One cubic leg of a fitted curve. */
interface Leg {
  readonly from: number;
  readonly to: number;
  readonly start: SpaceJet;
  readonly end: SpaceJet;
}

/** Legs are halved at most so often, and a piece of the curve has at most so many. */
const deepest = 24;
const mostLegs = 4096;
/** Where on a leg its distance from the image is measured. */
const probes = [0.25, 0.5, 0.75];

/** The two inner points of the cubic with a leg's ends and slopes (Hermite). */
const innerPoints = ({ from, to, start, end }: Leg): readonly [Vector, Vector] => [
  sum(start.point, scaled(start.slope, (to - from) / 3)),
  difference(end.point, scaled(end.slope, (to - from) / 3)),
];

function legPoint(leg: Leg, s: number): Vector {
  const [b, c] = innerPoints(leg);
  const r = 1 - s;
  const shares = [r * r * r, 3 * r * r * s, 3 * r * s * s, s * s * s];
  return [leg.start.point, b, c, leg.end.point].reduce<Vector>(
    (total, point, k) => sum(total, scaled(point, shares[k])),
    [0, 0, 0],
  );
}

/** Slopes this near to each other, relative to their size, are one. */
const sameSlope = 1e-9;

/**
 * A chain of cubics through points of the image with its slopes, halved until no leg is farther than
 * `tolerance` mm from the image where it is measured.
 */
function fittedImage(sheet: Sheet, plane: SplineCurve, tolerance: number): SplineCurve {
  const jetAt = (piece: BezierPiece, t: number): SpaceJet => {
    const [u, v, du, dv] = planeJet(piece, t);
    const jet = surfaceJet(sheet.net, inDomain(sheet, 0, u), inDomain(sheet, 1, v));
    return { point: jet.point, slope: sum(scaled(jet.u, du), scaled(jet.v, dv)) };
  };
  const legs: Leg[] = [];
  for (const piece of bezierPieces(plane)) {
    let left = mostLegs;
    const add = (leg: Leg, depth: number): void => {
      const isNear = probes.every((s) => {
        const [u, v] = planeJet(piece, leg.from + s * (leg.to - leg.from));
        return distance(legPoint(leg, s), sheetPoint(sheet, [u, v])) <= tolerance;
      });
      if (isNear || depth >= deepest || left <= 0) {
        legs.push(leg);
        return;
      }
      left--;
      const middle = (leg.from + leg.to) / 2;
      const jet = jetAt(piece, middle);
      add({ ...leg, to: middle, end: jet }, depth + 1);
      add({ ...leg, from: middle, start: jet }, depth + 1);
    };
    const [start, end] = [jetAt(piece, piece.from), jetAt(piece, piece.to)];
    add({ from: piece.from, to: piece.to, start, end }, 0);
  }
  const points: Vector[] = [legs[0].start.point];
  const knots = Array.from({ length: 4 }, () => legs[0].from);
  legs.forEach((leg, k) => {
    points.push(...innerPoints(leg));
    const next = legs[k + 1];
    if (!next) return;
    const apart = length(difference(leg.end.slope, next.start.slope));
    // where the slopes are one the point between follows from its neighbours
    const isSmooth = apart <= sameSlope * Math.max(length(leg.end.slope), length(next.start.slope));
    if (!isSmooth) points.push(leg.end.point);
    knots.push(...Array.from({ length: isSmooth ? 2 : 3 }, () => leg.to));
  });
  const last = legs[legs.length - 1];
  points.push(last.end.point);
  knots.push(...Array.from({ length: 4 }, () => last.to));
  return {
    dimension: 3,
    degree: 3,
    knots: Float64Array.from(knots),
    points: Float64Array.from(points.flat()),
    weights: null,
  };
}

/**
 * A curve of the plane of parameters in space: exact along a parameter line, else cubics within
 * `tolerance` mm.
 */
export function spaceImage(sheet: Sheet, plane: SplineCurve, tolerance: number): SpaceImage {
  const line = lineImage(sheet, plane);
  return line
    ? { curve: line, departure: 0 }
    : { curve: fittedImage(sheet, plane, tolerance), departure: tolerance };
}

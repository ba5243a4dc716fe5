import { basisRow } from './basis.ts';
import { breakpoints, domain, type Knots } from './knots.ts';
import { placedPoint, type Placement } from './placement.ts';

/**
 * A B-spline curve in the parameter plane of a surface (dimension 2) or in space (3, millimetres).
 * Points are not multiplied by their weights: point i starts at dimension * i.
 */
export interface SplineCurve {
  readonly dimension: 2 | 3;
  readonly degree: number;
  readonly knots: Knots;
  readonly points: Float64Array;
  /** One weight a point, or null for a polynomial curve. */
  readonly weights: Float64Array | null;
}

/** A point of the plane or of space: as many numbers as the curve has dimensions. */
export type Coordinates = readonly number[];

export const curveDomain = (curve: SplineCurve): readonly [number, number] =>
  domain(curve.knots, curve.degree);

/** The point at parameter `t` of the curve's domain. */
export function curvePoint(curve: SplineCurve, t: number): number[] {
  const { dimension, points, weights } = curve;
  const { first, values } = basisRow(curve.knots, curve.degree, t, 0);
  const total = Array.from({ length: dimension }, () => 0);
  let weight = 0;
  values[0].forEach((value, k) => {
    const share = value * (weights ? weights[first + k] : 1);
    weight += share;
    for (let axis = 0; axis < dimension; axis++)
      total[axis] += share * points[dimension * (first + k) + axis];
  });
  return weights ? total.map((x) => x / weight) : total;
}

/**
 * Point, first and second derivative at `t`. Rational curves by the quotient rule: Piegl & Tiller, The
 * NURBS Book, eq. 4.8 (from memory). `span` chooses the side at a knot.
 */
export function curveJet(
  curve: SplineCurve,
  t: number,
  span?: number,
): readonly [Coordinates, Coordinates, Coordinates] {
  const { dimension, points, weights } = curve;
  const { first, values } = basisRow(curve.knots, curve.degree, t, 2, span);
  const [a, b, c] = values.map((row) => {
    const total = Array.from({ length: dimension + 1 }, () => 0);
    row.forEach((value, k) => {
      const share = value * (weights ? weights[first + k] : 1);
      for (let axis = 0; axis < dimension; axis++)
        total[axis] += share * points[dimension * (first + k) + axis];
      total[dimension] += share;
    });
    return total;
  });
  const axes = Array.from({ length: dimension }, (_, axis) => axis);
  if (!weights) return [a.slice(0, dimension), b.slice(0, dimension), c.slice(0, dimension)];
  const [w, dw, ddw] = [a[dimension], b[dimension], c[dimension]];
  const point = axes.map((axis) => a[axis] / w);
  const slope = axes.map((axis) => (b[axis] - dw * point[axis]) / w);
  const bend = axes.map((axis) => (c[axis] - 2 * dw * slope[axis] - ddw * point[axis]) / w);
  return [point, slope, bend];
}

/** Straight legs from point to point; parameter k at point k. At least two points. */
export function polyline(points: readonly Coordinates[]): SplineCurve {
  const dimension = points[0].length as 2 | 3;
  const last = points.length - 1;
  return {
    dimension,
    degree: 1,
    knots: Float64Array.from([0, ...points.map((_, k) => k), last]),
    points: Float64Array.from(points.flat()),
    weights: null,
  };
}

/** An arc is made of rational parabolas that span a quarter turn at most. */
const widestArc = Math.PI / 2;

/**
 * The arc centre + a cos t + b sin t for t from `from` to `to` (radians, to > from), as a rational
 * quadratic curve whose knots are the values of t where pieces meet. Exact as a set of points; between
 * knots the parameter is not the angle. Source: Piegl & Tiller, The NURBS Book, 7.3 (from memory).
 */
export function ellipseArc(
  centre: Coordinates,
  a: Coordinates,
  b: Coordinates,
  from: number,
  to: number,
): SplineCurve {
  const pieces = Math.max(Math.ceil((to - from) / widestArc - 1e-9), 1);
  const step = (to - from) / pieces;
  const middle = Math.cos(step / 2);
  const at = (t: number, stretch: number): number[] =>
    centre.map((c, axis) => c + (a[axis] * Math.cos(t) + b[axis] * Math.sin(t)) * stretch);
  const points: number[][] = [at(from, 1)];
  const weights = [1];
  const knots = [from, from, from];
  for (let k = 1; k <= pieces; k++) {
    const end = k === pieces ? to : from + k * step;
    points.push(at(from + (k - 0.5) * step, 1 / middle), at(end, 1));
    weights.push(middle, 1);
    knots.push(end, end);
  }
  return {
    dimension: centre.length as 2 | 3,
    degree: 2,
    knots: Float64Array.from([...knots, to]),
    points: Float64Array.from(points.flat()),
    weights: Float64Array.from(weights),
  };
}

/** The same curve run backwards, over the same domain. */
export function reversedCurve(curve: SplineCurve): SplineCurve {
  const { dimension, knots, points, weights } = curve;
  const last = knots.length - 1;
  const count = points.length / dimension;
  const turned = new Float64Array(points.length);
  for (let k = 0; k < count; k++)
    turned.set(points.subarray(dimension * k, dimension * (k + 1)), dimension * (count - 1 - k));
  return {
    ...curve,
    knots: knots.map((_, k) => knots[0] + (knots[last] - knots[last - k])),
    points: turned,
    weights: weights && weights.slice().reverse(),
  };
}

/** A space curve moved by a placement, then multiplied by `scale` (millimetres a file unit). */
export function placedCurve(curve: SplineCurve, placement: Placement, scale = 1): SplineCurve {
  const points = new Float64Array(curve.points.length);
  for (let at = 0; at < points.length; at += 3) {
    const { points: from } = curve;
    const p = placedPoint(placement, [from[at], from[at + 1], from[at + 2]]);
    points.set([p[0] * scale, p[1] * scale, p[2] * scale], at);
  }
  return { ...curve, points };
}

/** Homogeneous control points (weight last): dimension + 1 numbers a point. */
function homogeneous({ dimension, points, weights }: SplineCurve): number[][] {
  return Array.from({ length: points.length / dimension }, (_, k) => {
    const w = weights ? weights[k] : 1;
    const own = Array.from(points.subarray(dimension * k, dimension * (k + 1)), (x) => x * w);
    return [...own, w];
  });
}

/** How many of the knots, which do not decrease, come before the first that is not `isBefore`. */
function countBefore(knots: readonly number[], isBefore: (knot: number) => boolean): number {
  let [low, high] = [0, knots.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (isBefore(knots[middle])) low = middle + 1;
    else high = middle;
  }
  return low;
}

const countUpTo = (knots: readonly number[], t: number): number =>
  countBefore(knots, (knot) => knot <= t);

/**
 * The curve with one more knot at `t`. Source: Boehm's insertion; Piegl & Tiller, The NURBS Book,
 * eq. 5.15 (from memory; held against evaluation in test/geometry).
 */
function withKnot(degree: number, knots: number[], points: number[][], t: number): void {
  const span = Math.min(Math.max(countUpTo(knots, t) - 1, degree), knots.length - degree - 2);
  const moved: number[][] = [];
  for (let i = span - degree + 1; i <= span; i++) {
    const share = (t - knots[i]) / (knots[i + degree] - knots[i]);
    moved.push(points[i].map((x, axis) => (1 - share) * points[i - 1][axis] + share * x));
  }
  points.splice(span - degree + 1, degree - 1, ...moved);
  knots.splice(span + 1, 0, t);
}

/** One polynomial piece as homogeneous Bezier points, over [from, to] of the curve's parameter. */
export interface BezierPiece {
  readonly from: number;
  readonly to: number;
  /** degree + 1 points of dimension + 1 numbers, the weight last and already multiplied in. */
  readonly points: readonly (readonly number[])[];
}

/** The polynomial pieces of a curve in order, within its domain or the part [from, to] of it. */
export function bezierPieces(
  curve: SplineCurve,
  [from, to]: readonly [number, number] = curveDomain(curve),
): BezierPiece[] {
  const { degree } = curve;
  const knots = Array.from(curve.knots);
  const points = homogeneous(curve);
  const close = 1e-12 * (knots[knots.length - 1] - knots[0]);
  const inside = breakpoints(curve.knots, 1e-12)
    .map(({ value }) => value)
    .filter((value) => value > from + close && value < to - close);
  const ends = [from, ...inside, to];
  for (const end of ends) {
    const near = countBefore(knots, (knot) => knot < end - close);
    const value = knots[near] <= end + close ? knots[near] : end;
    let times =
      countUpTo(knots, value + close) - countBefore(knots, (knot) => knot < value - close);
    for (; times < degree; times++) withKnot(degree, knots, points, value);
  }
  const found: BezierPiece[] = [];
  for (let k = 0; k + 1 < ends.length; k++) {
    // the last point whose knots all lie at or before the piece's start is its first
    const middle = (ends[k] + ends[k + 1]) / 2;
    const span = countUpTo(knots, middle) - 1;
    found.push({
      from: ends[k],
      to: ends[k + 1],
      points: points.slice(span - degree, span + 1),
    });
  }
  return found;
}

/** The part of a curve over [from, to] of its domain, from < to, clamped at both ends. */
export function curvePart(curve: SplineCurve, from: number, to: number): SplineCurve {
  const { degree, dimension } = curve;
  const parts = bezierPieces(curve, [from, to]);
  const points = parts.flatMap((piece, k) => (k === 0 ? piece.points : piece.points.slice(1)));
  const inner = parts.slice(1).flatMap((piece) => Array.from({ length: degree }, () => piece.from));
  const end = (value: number): number[] => Array.from({ length: degree + 1 }, () => value);
  return {
    dimension,
    degree,
    knots: Float64Array.from([...end(from), ...inner, ...end(to)]),
    points: Float64Array.from(
      points.flatMap((p) => p.slice(0, dimension).map((x) => x / p[dimension])),
    ),
    weights: curve.weights && Float64Array.from(points, (p) => p[dimension]),
  };
}

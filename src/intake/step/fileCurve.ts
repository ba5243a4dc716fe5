import {
  curveDomain,
  curvePart,
  curvePoint,
  ellipseArc,
  polyline,
  reversedCurve,
  type Coordinates,
  type SplineCurve,
} from '../../geometry/splineCurve.ts';
import { nearestParameter } from './nearestParameter.ts';

/**
 * A curve over the parameter that ISO 10303-42 gives it, in millimetres in space, or in the parameters
 * of a surface.
 */
export interface FileCurve {
  /** Where it begins and ends; null where it has no ends (lines, parabolas, hyperbolas). */
  readonly range: readonly [number, number] | null;
  /** The length of its range where it ends as it begins, else null. */
  readonly period: number | null;
  /** Whether the parameter is an angle, in radians. */
  readonly isAngle: boolean;
  /** The point at any parameter, within the range where it has one. */
  readonly at: (t: number) => number[];
  /** The parameter nearest to a point. */
  readonly nearest: (point: Coordinates) => number;
  /** The part from one parameter to a larger one, which may go past the end of a period. */
  readonly part: (from: number, to: number) => readonly SplineCurve[];
}

const along = (a: Coordinates, b: Coordinates): number =>
  a.reduce((total, x, axis) => total + x * b[axis], 0);
/** How far two points of one dimension are apart. */
export const apart = (a: Coordinates, b: Coordinates): number =>
  Math.hypot(a[0] - b[0], a[1] - b[1], a.length === 3 ? a[2] - b[2] : 0);

/** point + t direction: ISO 10303-42, line. */
export function lineCurve(point: Coordinates, direction: Coordinates): FileCurve {
  const at = (t: number): number[] => point.map((x, axis) => x + t * direction[axis]);
  const square = along(direction, direction);
  return {
    range: null,
    period: null,
    isAngle: false,
    at,
    nearest: (p) =>
      along(
        p.map((x, axis) => x - point[axis]),
        direction,
      ) / square,
    part: (from, to) => [polyline([at(from), at(to)])],
  };
}

/** Where a conic lies: its centre (of a parabola: the apex) and two directions of length 1. */
export interface ConicFrame {
  readonly centre: Coordinates;
  readonly x: Coordinates;
  readonly y: Coordinates;
}

const stretched = (direction: Coordinates, factor: number): number[] =>
  direction.map((x) => x * factor);

/** How far a point lies along both directions of a frame. */
function inFrame({ centre, x, y }: ConicFrame, p: Coordinates): readonly [number, number] {
  const from = p.map((value, axis) => value - centre[axis]);
  return [along(from, x), along(from, y)];
}

const inSpace = ({ centre, x, y }: ConicFrame, a: number, b: number): number[] =>
  centre.map((c, axis) => c + a * x[axis] + b * y[axis]);

/** centre + a cos t x + b sin t y: ISO 10303-42, circle and ellipse. */
export function ellipseCurve(frame: ConicFrame, a: number, b: number): FileCurve {
  const round = 2 * Math.PI;
  return {
    range: [0, round],
    period: round,
    isAngle: true,
    at: (t) => inSpace(frame, a * Math.cos(t), b * Math.sin(t)),
    nearest: (p) => {
      const [along1, along2] = inFrame(frame, p);
      const angle = Math.atan2(along2 / b, along1 / a);
      return angle < 0 ? angle + round : angle;
    },
    part: (from, to) => [
      ellipseArc(frame.centre, stretched(frame.x, a), stretched(frame.y, b), from, to),
    ],
  };
}

/** A curve of degree 2 in one piece over [from, to]. */
function conicPiece(
  points: readonly Coordinates[],
  from: number,
  to: number,
  weights: readonly number[] | null,
): SplineCurve {
  return {
    dimension: points[0].length as 2 | 3,
    degree: 2,
    knots: Float64Array.of(from, from, from, to, to, to),
    points: Float64Array.from(points.flat()),
    weights: weights && Float64Array.from(weights),
  };
}

/** apex + focal (t^2 x + 2 t y): ISO 10303-42, parabola. */
export function parabolaCurve(frame: ConicFrame, focal: number): FileCurve {
  return {
    range: null,
    period: null,
    isAngle: false,
    at: (t) => inSpace(frame, focal * t * t, 2 * focal * t),
    nearest: (p) => inFrame(frame, p)[1] / (2 * focal),
    part: (from, to) => {
      // the polar form of t^2 and 2t at (from, from), (from, to), (to, to)
      const point = (s: number, t: number): number[] =>
        inSpace(frame, focal * s * t, focal * (s + t));
      return [conicPiece([point(from, from), point(from, to), point(to, to)], from, to, null)];
    },
  };
}

/** An arc of a hyperbola is made of pieces over this much of its parameter at most: weights up to 1.6. */
const widestHyperbola = 2;
/** Pieces of one arc at most; a parameter of 700 is past the end of a double in any case. */
const mostHyperbolas = 1000;

/** centre + a cosh t x + b sinh t y: ISO 10303-42, hyperbola. */
export function hyperbolaCurve(frame: ConicFrame, a: number, b: number): FileCurve {
  const at = (t: number, stretch = 1): number[] =>
    inSpace(frame, a * Math.cosh(t) * stretch, b * Math.sinh(t) * stretch);
  return {
    range: null,
    period: null,
    isAngle: false,
    at: (t) => at(t),
    nearest: (p) => Math.asinh(inFrame(frame, p)[1] / b),
    part: (from, to) => {
      const pieces = Math.ceil((to - from) / widestHyperbola);
      if (!(pieces <= mostHyperbolas)) return [];
      const step = (to - from) / pieces;
      const weight = Math.cosh(step / 2);
      return Array.from({ length: pieces }, (_, k) => {
        const [start, end] = [from + k * step, k === pieces - 1 ? to : from + (k + 1) * step];
        const middle = at((start + end) / 2, 1 / weight);
        return conicPiece([at(start), middle, at(end)], start, end, [1, weight, 1]);
      });
    },
  };
}

/** One polynomial piece of a chain of curves, and the box of the points that shape it. */
interface Span {
  /** Which curve of the chain. */
  readonly of: number;
  /** In that curve's parameter. */
  readonly from: number;
  readonly to: number;
  readonly low: readonly number[];
  readonly high: readonly number[];
}

function spansOf({ knots, degree, dimension, points }: SplineCurve, of: number): Span[] {
  const found: Span[] = [];
  for (let k = degree; k < knots.length - degree - 1; k++) {
    if (!(knots[k + 1] > knots[k])) continue;
    const low = Array.from({ length: dimension }, () => Infinity);
    const high = low.map(() => -Infinity);
    for (let at = dimension * (k - degree); at < dimension * (k + 1); at++) {
      const axis = at % dimension;
      low[axis] = Math.min(low[axis], points[at]);
      high[axis] = Math.max(high[axis], points[at]);
    }
    found.push({ of, from: knots[k], to: knots[k + 1], low, high });
  }
  return found;
}

/** How far a point is from a box at least: no point of the span is nearer. */
function fromBox({ low, high }: Span, p: Coordinates): number {
  let square = 0;
  for (let axis = 0; axis < low.length; axis++) {
    const off = Math.max(low[axis] - p[axis], p[axis] - high[axis], 0);
    square += off * off;
  }
  return Math.sqrt(square);
}

/** Samples of a span, enough to see every dip of a distance. */
function samples({ from, to }: Span, degree: number): number[] {
  const legs = degree === 1 ? 1 : 2 * degree + 2;
  return Array.from({ length: legs + 1 }, (_, k) =>
    k === legs ? to : from + ((to - from) * k) / legs,
  );
}

/** The place on curves nearest to a point: which curve, and its parameter. */
function nearestOn(
  pieces: readonly SplineCurve[],
  spans: readonly Span[],
  p: Coordinates,
): { readonly of: number; readonly t: number; readonly distance: number } {
  const bounds = spans.map((span) => fromBox(span, p));
  const likeliest = bounds.reduce((best, bound, k) => (bound < bounds[best] ? k : best), 0);
  let best = { of: 0, t: 0, distance: Infinity };
  const look = (k: number): void => {
    const span = spans[k];
    const piece = pieces[span.of];
    const found = nearestParameter(
      (t) => apart(curvePoint(piece, t), p),
      samples(span, piece.degree),
    );
    if (found.distance < best.distance) best = { of: span.of, ...found };
  };
  look(likeliest);
  // What lies farther off than the best found so far need not be looked at.
  for (const k of spans.keys()) if (k !== likeliest && bounds[k] < best.distance) look(k);
  return best;
}

/** Where a curve begins (end 0) or ends (1): on a clamped one that is a control point, and the same number. */
function tip(curve: SplineCurve, end: 0 | 1): number[] {
  const { knots, degree, dimension, points } = curve;
  const last = knots.length - 1;
  const isPoint = end === 0 ? knots[0] === knots[degree] : knots[last] === knots[last - degree];
  const at = end === 0 ? 0 : points.length - dimension;
  return isPoint
    ? Array.from(points.subarray(at, at + dimension))
    : curvePoint(curve, curveDomain(curve)[end]);
}

/**
 * Curves that follow each other, as one: the parameter runs through the domain of each in turn, from
 * the beginning of the first's (ISO 10303-42, composite_curve, has it run from 0: `from`). It is closed
 * where both ends lie within `close`.
 */
export function chainCurve(
  pieces: readonly SplineCurve[],
  close: number,
  from = curveDomain(pieces[0])[0],
): FileCurve {
  const starts = [from];
  for (const piece of pieces) {
    const [first, last] = curveDomain(piece);
    starts.push(starts[starts.length - 1] + (last - first));
  }
  const end = starts[starts.length - 1];
  const [first, last] = [tip(pieces[0], 0), tip(pieces[pieces.length - 1], 1)];
  const period = apart(first, last) <= close ? end - from : null;
  const holding = (t: number): number => {
    let [low, high] = [0, pieces.length - 1];
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (starts[middle] <= t) low = middle;
      else high = middle - 1;
    }
    return low;
  };
  const own = (k: number, t: number): number => {
    const [first, last] = curveDomain(pieces[k]);
    return Math.min(Math.max(first + (t - starts[k]), first), last);
  };
  let spans: readonly Span[] | null = null;
  const within = (low: number, high: number): SplineCurve[] => {
    const found: SplineCurve[] = [];
    const speck = 1e-12 * (end - from);
    for (let k = holding(low); k < pieces.length && starts[k] < high - speck; k++) {
      const [first, last] = curveDomain(pieces[k]);
      const [a, b] = [own(k, low), own(k, high)];
      if (a - first <= speck && last - b <= speck) found.push(pieces[k]);
      else if (b - a > speck) found.push(curvePart(pieces[k], a, b));
    }
    return found;
  };
  return {
    range: [from, end],
    period,
    isAngle: false,
    at: (t) => {
      const k = holding(t);
      return curvePoint(pieces[k], own(k, t));
    },
    nearest: (p) => {
      let best = { t: from, distance: apart(first, p) };
      const atEnd = apart(last, p);
      if (atEnd < best.distance) best = { t: end, distance: atEnd };
      // Nearly every edge begins and ends where its curve does.
      if (best.distance <= close / 100) return best.t;
      spans ??= pieces.flatMap(spansOf);
      const { of, t, distance } = nearestOn(pieces, spans, p);
      return distance < best.distance ? starts[of] + (t - curveDomain(pieces[of])[0]) : best.t;
    },
    part: (low, high) =>
      high <= end || period === null
        ? within(low, high)
        : [...within(low, end), ...within(from, high - period)],
  };
}

/** Curves that follow each other, run backwards. */
export const backwards = (curves: readonly SplineCurve[]): SplineCurve[] =>
  curves.toReversed().map(reversedCurve);

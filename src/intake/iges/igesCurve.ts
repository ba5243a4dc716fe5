import { bezierValues } from '../../geometry/bezierValues.ts';
import { circleArc, conicArc } from '../../geometry/conicArc.ts';
import { breakpoints } from '../../geometry/knots.ts';
import { curvePart, polyline, type SplineCurve } from '../../geometry/splineCurve.ts';
import type { Entity } from './igesDirectory.ts';
import { numbersInto, type Cursor } from './igesFields.ts';

/** Why an entity gives no curve: it is of a kind that is not read, or its numbers make none. */
export type CurveTrouble = 'kind' | 'data';

/** Highest degree of a curve read at all, as of a surface. */
const highestDegree = 30;
/** A range that ends short of the domain by less is the whole of it; files carry 6 digits at least. */
const sameParameter = 1e-6;

/** The next parameters as numbers; null where there are fewer, or some are no finite number. */
function numbers(cursor: Cursor, count: number): Float64Array | null {
  // Each parameter takes a byte at least, its delimiter.
  if (!Number.isInteger(count) || count < 0 || count > cursor.end - cursor.at) return null;
  const found = new Float64Array(count);
  return numbersInto(cursor, found) === null && found.every((x) => Number.isFinite(x))
    ? found
    : null;
}

/** ZT, then centre, start and end (IGES 5.3, 4.3). */
function circularArc(cursor: Cursor): SplineCurve | null {
  const read = numbers(cursor, 7);
  if (!read) return null;
  const [z, x1, y1, x2, y2, x3, y3] = read;
  return circleArc([x1, y1], [x2, y2], [x3, y3], z);
}

/** A to F, ZT, start and end (IGES 5.3, 4.5). What kind of conic it is follows from A to F. */
function conic(cursor: Cursor): SplineCurve | null {
  const read = numbers(cursor, 11);
  if (!read) return null;
  const [a, b, c, d, e, f, z, x1, y1, x2, y2] = read;
  return conicArc([a, b, c, d, e, f], [x1, y1], [x2, y2], z);
}

/** Numbers a point in copious data: pairs at one height, triples, triples with vectors (IGES 5.3, 4.6). */
const strides: Readonly<Record<number, number>> = { 1: 2, 2: 3, 3: 6 };
/** Forms of copious data that are points in a row: free, linear paths, a closed path. */
const paths: ReadonlySet<number> = new Set([1, 2, 3, 11, 12, 13, 63]);
const closedPath = 63;

/** IP, N, ZT where IP = 1, N points (IGES 5.3, 4.6). */
function path(cursor: Cursor, form: number): SplineCurve | null {
  const head = numbers(cursor, 2);
  const stride = head && strides[head[0]];
  if (!stride) return null;
  const height = head[0] === 1 ? numbers(cursor, 1) : [0];
  const read = numbers(cursor, stride * head[1]);
  if (!height || !read || head[1] < 2) return null;
  const points = Array.from({ length: head[1] }, (_, k) => {
    const at = stride * k;
    return [read[at], read[at + 1], stride === 2 ? height[0] : read[at + 2]];
  });
  const [first, last] = [points[0], points[points.length - 1]];
  const isOpen = first.some((x, axis) => x !== last[axis]);
  return polyline(form === closedPath && isOpen ? [...points, first] : points);
}

/** Start and end (IGES 5.3, 4.13). */
function line(cursor: Cursor): SplineCurve | null {
  const read = numbers(cursor, 6);
  return read && polyline([Array.from(read.subarray(0, 3)), Array.from(read.subarray(3))]);
}

/**
 * CTYPE, H, NDIM, N, the breakpoints T(1) to T(N + 1), and for each segment A B C D of X, Y and Z in
 * powers of T - T(i) (IGES 5.3, 4.14). What the curve does at its very end follows and tells no more.
 */
function powerSpline(cursor: Cursor): SplineCurve | null {
  const head = numbers(cursor, 4);
  const count = head ? head[3] : 0;
  const breaks = count >= 1 ? numbers(cursor, count + 1) : null;
  const read = breaks && numbers(cursor, 12 * count);
  if (!read || breaks.some((t, k) => k > 0 && !(t > breaks[k - 1]))) return null;
  const points = new Float64Array(3 * (3 * count + 1));
  for (let k = 0; k < count; k++)
    for (let axis = 0; axis < 3; axis++) {
      const at = 12 * k + 4 * axis;
      bezierValues(read.subarray(at, at + 4), breaks[k + 1] - breaks[k]).forEach((value, i) => {
        points[3 * (3 * k + i) + axis] = value;
      });
    }
  const end = breaks[count];
  const knots = [breaks[0], ...Array.from(breaks).flatMap((t) => [t, t, t]), end];
  return { dimension: 3, degree: 3, knots: Float64Array.from(knots), points, weights: null };
}

/** True where knots rise, have an extent, and leave the curve in one piece inside. */
function areSound(knots: Float64Array, degree: number): boolean {
  const [start, end] = [knots[degree], knots[knots.length - 1 - degree]];
  return (
    end > start &&
    knots.every((t, k) => k === 0 || t >= knots[k - 1]) &&
    breakpoints(knots).every(
      ({ value, multiplicity }) =>
        multiplicity <= (value > start && value < end ? degree : degree + 1),
    )
  );
}

/** K, M, PROP1 to PROP4, knots, weights, points, V(0), V(1), which keep a part (IGES 5.3, 4.23). */
function rationalSpline(cursor: Cursor): SplineCurve | null {
  const head = numbers(cursor, 6);
  if (!head) return null;
  const [last, degree] = head;
  if (!(degree >= 1 && degree <= highestDegree && last >= degree)) return null;
  const knots = numbers(cursor, last + degree + 2);
  const weights = knots && numbers(cursor, last + 1);
  const points = weights && numbers(cursor, 3 * (last + 1));
  if (!points || !areSound(knots, degree) || !weights.every((w) => w > 0)) return null;
  const curve: SplineCurve = {
    dimension: 3,
    degree,
    knots,
    points,
    weights: weights.every((w) => w === weights[0]) ? null : weights,
  };
  const range = numbers(cursor, 2);
  const [low, high] = [knots[degree], knots[knots.length - 1 - degree]];
  const close = sameParameter * (high - low);
  if (!range || !(range[1] > range[0])) return curve;
  const [from, to] = [Math.max(range[0], low), Math.min(range[1], high)];
  const isPart = from > low + close || to < high - close;
  return isPart && to - from > close ? curvePart(curve, from, to) : curve;
}

/**
 * The curve of one entity in its own frame and the file's unit: circular arc (100), conic arc (104),
 * points in a row (106), bounded line (110, form 0), parametric spline (112), rational B-spline (126).
 * The cursor stands behind the type number.
 */
export function igesCurve({ type, form }: Entity, cursor: Cursor): SplineCurve | CurveTrouble {
  switch (type) {
    case 100:
      return circularArc(cursor) ?? 'data';
    case 104:
      return conic(cursor) ?? 'data';
    case 106:
      return paths.has(form) ? (path(cursor, form) ?? 'data') : 'kind';
    case 110:
      // forms 1 and 2 have one end or none
      return form === 0 ? (line(cursor) ?? 'data') : 'kind';
    case 112:
      return powerSpline(cursor) ?? 'data';
    case 126:
      return rationalSpline(cursor) ?? 'data';
    default:
      return 'kind';
  }
}

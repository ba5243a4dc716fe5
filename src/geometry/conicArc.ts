import { ellipseArc, type SplineCurve } from './splineCurve.ts';

type Pair = readonly [number, number];

/** A x^2 + B x y + C y^2 + D x + E y + F = 0. */
export type Conic = readonly [a: number, b: number, c: number, d: number, e: number, f: number];

/** Points this near to each other, against the size of the arc, are one: the arc goes all round. */
const samePoint = 1e-9;
/** The discriminant over the squares of the coefficients under which a conic is handled as a parabola. */
const flat = 1e-9;

const twoPi = 2 * Math.PI;

/** Angle from `from` on to `to`, counterclockwise; all round where the points are one. */
const turnTo = (from: number, to: number, areOne: boolean): number =>
  from + (areOne ? twoPi : (to - from + twoPi) % twoPi || twoPi);

const isOne = (start: Pair, end: Pair, size: number): boolean =>
  Math.hypot(end[0] - start[0], end[1] - start[1]) <= samePoint * size;

/**
 * A circle's arc about `centre` in the plane at height `z`, counterclockwise from `start` to where the
 * ray to `end` meets it; null where it has no radius.
 */
export function circleArc(centre: Pair, start: Pair, end: Pair, z: number): SplineCurve | null {
  const [x, y] = [start[0] - centre[0], start[1] - centre[1]];
  const radius = Math.hypot(x, y);
  if (!(radius > 0)) return null;
  const from = Math.atan2(y, x);
  const to = Math.atan2(end[1] - centre[1], end[0] - centre[0]);
  return ellipseArc(
    [...centre, z],
    [radius, 0, 0],
    [0, radius, 0],
    from,
    turnTo(from, to, isOne(start, end, radius)),
  );
}

/** The ellipse's arc, counterclockwise; its axes are the eigenvectors of the quadratic form. */
function closedArc(
  [a, b, c, d, e, f]: Conic,
  start: Pair,
  end: Pair,
  z: number,
): SplineCurve | null {
  const determinant = 4 * a * c - b * b;
  const x = (b * e - 2 * c * d) / determinant;
  const y = (b * d - 2 * a * e) / determinant;
  const level = -(f + (d * x + e * y) / 2);
  const angle = Math.atan2(b, a - c) / 2;
  const [cos, sin] = [Math.cos(angle), Math.sin(angle)];
  const first = (a * cos * cos + b * cos * sin + c * sin * sin) / level;
  const second = (a * sin * sin - b * cos * sin + c * cos * cos) / level;
  if (!(first > 0 && second > 0)) return null;
  const [long, wide] = [1 / Math.sqrt(first), 1 / Math.sqrt(second)];
  const at = ([px, py]: Pair): number =>
    Math.atan2((-(px - x) * sin + (py - y) * cos) / wide, ((px - x) * cos + (py - y) * sin) / long);
  const from = at(start);
  return ellipseArc(
    [x, y, z],
    [long * cos, long * sin, 0],
    [-wide * sin, wide * cos, 0],
    from,
    turnTo(from, at(end), isOne(start, end, Math.max(long, wide))),
  );
}

/**
 * One rational parabola: the middle point is where the tangents at both ends meet, and its weight
 * follows from the middle of the arc lying on the conic: w^2 = -p0 S p2 / (2 p1 S p1) with S the conic's
 * symmetric matrix, since p0 S p0 = p2 S p2 = p0 S p1 = p2 S p1 = 0.
 */
function openArc([a, b, c, d, e, f]: Conic, start: Pair, end: Pair, z: number): SplineCurve | null {
  const tangent = ([x, y]: Pair): readonly [number, number, number] => [
    2 * a * x + b * y + d,
    b * x + 2 * c * y + e,
    d * x + e * y + 2 * f,
  ];
  const [s, t] = [tangent(start), tangent(end)];
  const determinant = s[0] * t[1] - s[1] * t[0];
  const x = (s[1] * t[2] - s[2] * t[1]) / determinant;
  const y = (s[2] * t[0] - s[0] * t[2]) / determinant;
  const across = s[0] * end[0] + s[1] * end[1] + s[2];
  const own = tangent([x, y]);
  const weight = Math.sqrt(-across / (2 * (own[0] * x + own[1] * y + own[2])));
  if (!(weight > 0 && Number.isFinite(weight) && Number.isFinite(x) && Number.isFinite(y)))
    return null;
  return {
    dimension: 3,
    degree: 2,
    knots: Float64Array.from([0, 0, 0, 1, 1, 1]),
    points: Float64Array.from([...start, z, x, y, z, ...end, z]),
    weights: Float64Array.from([1, weight, 1]),
  };
}

/**
 * The arc of a conic in the plane at height `z` from `start` to `end`: of an ellipse counterclockwise,
 * of a parabola or hyperbola along the branch. Exact as a set of points. Null where the coefficients
 * are of no curve, or the points of two branches.
 */
export function conicArc(conic: Conic, start: Pair, end: Pair, z: number): SplineCurve | null {
  const [a, b, c] = conic;
  const determinant = 4 * a * c - b * b;
  const isClosed = determinant > flat * (a * a + b * b + c * c);
  return (isClosed ? closedArc : openArc)(conic, start, end, z);
}

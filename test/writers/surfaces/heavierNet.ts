import type { ControlNet } from '../../../src/geometry/controlNet.ts';
import { transposed } from '../../../src/geometry/controlNet.ts';

/** Points of one direction as lists of coordinates. */
type Points = readonly (readonly number[])[];

const mixed = (a: readonly number[], b: readonly number[], share: number): number[] =>
  a.map((x, axis) => (1 - share) * x + share * b[axis]);

/** Boehm's insertion: Piegl & Tiller, The NURBS Book, eq. 5.11 and 5.15, for a knot value not yet there. */
export function insertedKnot(
  knots: readonly number[],
  degree: number,
  points: Points,
  t: number,
): { readonly knots: number[]; readonly points: number[][] } {
  const span = knots.findLastIndex((knot) => knot <= t);
  const moved = Array.from({ length: points.length + 1 }, (_, i) => {
    if (i <= span - degree) return [...points[i]];
    if (i > span) return [...points[i - 1]];
    return mixed(points[i - 1], points[i], (t - knots[i]) / (knots[i + degree] - knots[i]));
  });
  return { knots: [...knots.slice(0, span + 1), t, ...knots.slice(span + 1)], points: moved };
}

/** The net with knots put into u: the same surface from more points. */
export function withKnots(net: ControlNet, values: readonly number[]): ControlNet {
  const rows = Array.from({ length: net.rows }, (_, row) =>
    values.reduce(({ knots, points }, t) => insertedKnot(knots, net.degree[0], points, t), {
      knots: Array.from(net.knots[0]),
      points: Array.from({ length: net.columns }, (_p, column) =>
        Array.from(net.points.subarray(3 * (row * net.columns + column)).subarray(0, 3)),
      ),
    }),
  );
  return {
    ...net,
    knots: [Float64Array.from(rows[0].knots), net.knots[1]],
    columns: net.columns + values.length,
    points: Float64Array.from(rows.flatMap(({ points }) => points.flat())),
    weights: null,
  };
}

/** A net of one span in u with its degree raised by one: Piegl & Tiller, eq. 5.36. */
function raisedInU(net: ControlNet): ControlNet {
  const degree = net.degree[0] + 1;
  const rows = Array.from({ length: net.rows }, (_, row) => {
    const own = Array.from({ length: net.columns }, (_p, column) =>
      Array.from(net.points.subarray(3 * (row * net.columns + column)).subarray(0, 3)),
    );
    return Array.from({ length: degree + 1 }, (_p, i) =>
      mixed(own[Math.min(i, degree - 1)], own[Math.max(i - 1, 0)], i / degree),
    );
  });
  const knots = net.knots[0];
  return {
    ...net,
    degree: [degree, net.degree[1]],
    knots: [Float64Array.from([knots[0], ...knots, knots[knots.length - 1]]), net.knots[1]],
    columns: net.columns + 1,
    points: Float64Array.from(rows.flat(2)),
    weights: null,
  };
}

/** A net of one span each way with both degrees raised by so much. */
export function raised(net: ControlNet, by: number): ControlNet {
  let heavier = net;
  for (let step = 0; step < by; step++)
    heavier = transposed(raisedInU(transposed(raisedInU(heavier))));
  return heavier;
}

import type { Knots } from './knots.ts';
import type { Vector } from './vector.ts';

/**
 * The control net ("hull") of one B-spline surface. Points are in millimetres, not multiplied by
 * their weights, row by row: point (row j, column i) starts at 3 * (j * columns + i).
 */
export interface ControlNet {
  /** Degree in u (along a row) and in v (along a column). */
  readonly degree: readonly [number, number];
  readonly knots: readonly [Knots, Knots];
  /** Points along a row: the number of columns (u). */
  readonly columns: number;
  /** Points along a column: the number of rows (v). */
  readonly rows: number;
  readonly points: Float64Array;
  /** One weight a point in the same order, or null for a polynomial surface. */
  readonly weights: Float64Array | null;
}

/** A control point's place in the net, both counted from 0. */
export interface Spot {
  readonly row: number;
  readonly column: number;
}

export function pointAt(net: ControlNet, row: number, column: number): Vector {
  const at = 3 * (row * net.columns + column);
  return [net.points[at], net.points[at + 1], net.points[at + 2]];
}

/** One row (points in u) or column (points in v) of the net, in order. */
export interface Line {
  readonly along: 'row' | 'column';
  readonly index: number;
  readonly points: readonly Vector[];
}

/** Every row, then every column. */
export function lines(net: ControlNet): Line[] {
  const rows = Array.from({ length: net.rows }, (_, index): Line => ({
    along: 'row',
    index,
    points: Array.from({ length: net.columns }, (_p, column) => pointAt(net, index, column)),
  }));
  const columns = Array.from({ length: net.columns }, (_, index): Line => ({
    along: 'column',
    index,
    points: Array.from({ length: net.rows }, (_p, row) => pointAt(net, row, index)),
  }));
  return [...rows, ...columns];
}

/** The spot of point `at` of a line. */
export const spotOnLine = (line: Pick<Line, 'along' | 'index'>, at: number): Spot =>
  line.along === 'row' ? { row: line.index, column: at } : { row: at, column: line.index };

/** A copy with some points moved by a vector each, in millimetres. */
export function withMoves(
  net: ControlNet,
  moves: readonly { readonly spot: Spot; readonly by: Vector }[],
): ControlNet {
  const points = Float64Array.from(net.points);
  for (const { spot, by } of moves) {
    const at = 3 * (spot.row * net.columns + spot.column);
    for (let axis = 0; axis < 3; axis++) points[at + axis] += by[axis];
  }
  return { ...net, points };
}

/** Length of the diagonal of the net's bounding box, millimetres: the scale of its tolerances. */
export function diagonal({ points }: ControlNet): number {
  const extent = (axis: number): number => {
    let low = Infinity;
    let high = -Infinity;
    for (let at = axis; at < points.length; at += 3) {
      if (points[at] < low) low = points[at];
      if (points[at] > high) high = points[at];
    }
    return high - low;
  };
  return Math.hypot(extent(0), extent(1), extent(2));
}

/** The same surface with u and v changed over: rows become columns. */
export function transposed(net: ControlNet): ControlNet {
  const points = new Float64Array(net.points.length);
  const weights = net.weights && new Float64Array(net.weights.length);
  for (let row = 0; row < net.rows; row++) {
    for (let column = 0; column < net.columns; column++) {
      const from = row * net.columns + column;
      const to = column * net.rows + row;
      for (let axis = 0; axis < 3; axis++) points[3 * to + axis] = net.points[3 * from + axis];
      if (weights && net.weights) weights[to] = net.weights[from];
    }
  }
  return {
    degree: [net.degree[1], net.degree[0]],
    knots: [net.knots[1], net.knots[0]],
    columns: net.rows,
    rows: net.columns,
    points,
    weights,
  };
}

/** The same surface run backwards in u: each row in reverse order. */
export function reversed(net: ControlNet): ControlNet {
  const points = new Float64Array(net.points.length);
  const weights = net.weights && new Float64Array(net.weights.length);
  for (let row = 0; row < net.rows; row++) {
    for (let column = 0; column < net.columns; column++) {
      const from = row * net.columns + column;
      const to = row * net.columns + (net.columns - 1 - column);
      for (let axis = 0; axis < 3; axis++) points[3 * to + axis] = net.points[3 * from + axis];
      if (weights && net.weights) weights[to] = net.weights[from];
    }
  }
  const knots = net.knots[0];
  const last = knots.length - 1;
  const turned = knots.map((_, k) => knots[0] + (knots[last] - knots[last - k]));
  return { ...net, knots: [turned, net.knots[1]], points, weights };
}

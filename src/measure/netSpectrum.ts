import type { ControlNet } from '../geometry/controlNet.ts';
import {
  cross,
  difference,
  dot,
  length,
  scaled,
  squareTo,
  unit,
  type Vector,
} from '../geometry/vector.ts';
import { smoothBasis } from './smoothBasis.ts';

/**
 * A net turned to its own axes and written in smooth bases of both directions. Coefficients of
 * degree below 2 in u and in v are left out: nothing is asked of them.
 */
export interface NetSpectrum {
  /** Number of coefficients, of points. */
  readonly size: number;
  readonly pointCount: number;
  /** Degree in u and in v of each coefficient. */
  readonly a: Uint8Array;
  readonly b: Uint8Array;
  /** Product of both swings (smoothBasis), as a factor on the variance. */
  readonly swing: Float64Array;
  /** Coefficients on the three axes of `frame`, millimetres. */
  readonly axes: readonly [Float64Array, Float64Array, Float64Array];
  /** marks[k * size + c]: how far coefficient c moves when point k moves by 1. */
  readonly marks: Float64Array;
  /** Two axes in the panel and its normal; any three where it has no mean normal. */
  readonly frame: readonly [Vector, Vector, Vector];
  /** Axes that share one variance: [in-plane pair, normal], or all three. */
  readonly groups: readonly (readonly number[])[];
  /** Unit normal at each point in `frame`, or zeros where the net has none. */
  readonly normals: readonly Vector[];
}

/**
 * The mean normal of the net (the sum of its quads' area vectors, which turns and mirrors with the
 * net, as a principal axis of a square panel would not) and two axes square to it. Null where the
 * quads cancel: closed tubes, nets on a line.
 */
function ownFrame(points: Float64Array, columns: number, rows: number): readonly Vector[] | null {
  const at = (row: number, column: number): Vector => {
    const k = 3 * (row * columns + column);
    return [points[k], points[k + 1], points[k + 2]];
  };
  const total = [0, 0, 0];
  let area = 0;
  for (let row = 0; row + 1 < rows; row++)
    for (let column = 0; column + 1 < columns; column++) {
      const quad = cross(
        difference(at(row + 1, column + 1), at(row, column)),
        difference(at(row + 1, column), at(row, column + 1)),
      );
      area += length(quad);
      for (let axis = 0; axis < 3; axis++) total[axis] += quad[axis];
    }
  const sum: Vector = [total[0], total[1], total[2]];
  // 0.2: a panel that wraps past three quarters of a turn. Below 1e-9 mm^2 rounding is all there is.
  if (!(length(sum) > Math.max(0.2 * area, 1e-9))) return null;
  const normal = unit(sum);
  if (!normal) return null;
  const aside: Vector = Math.abs(normal[0]) < 0.6 ? [1, 0, 0] : [0, 1, 0];
  const along = unit(squareTo(aside, normal));
  return along && [along, cross(normal, along), normal];
}

/** Normal at each point from its neighbours along the row and the column; zeros if they are in line. */
function pointNormals(points: Float64Array, columns: number, rows: number): Vector[] {
  const at = (row: number, column: number): Vector => {
    const k = 3 * (row * columns + column);
    return [points[k], points[k + 1], points[k + 2]];
  };
  return Array.from({ length: rows * columns }, (_, k): Vector => {
    const row = Math.floor(k / columns);
    const column = k % columns;
    const along = difference(
      at(row, Math.min(column + 1, columns - 1)),
      at(row, Math.max(column - 1, 0)),
    );
    const across = difference(
      at(Math.min(row + 1, rows - 1), column),
      at(Math.max(row - 1, 0), column),
    );
    const normal = cross(along, across);
    const bound = 1e-6 * length(along) * length(across);
    return (length(normal) > bound && unit(normal)) || [0, 0, 0];
  });
}

/** The spectrum of a net whose points have been divided by `scale`. */
export function netSpectrum(net: ControlNet, scale: number): NetSpectrum {
  const { columns, rows } = net;
  const pointCount = columns * rows;
  const points = new Float64Array(3 * pointCount);
  for (let axis = 0; axis < 3; axis++) {
    let mean = 0;
    for (let k = 0; k < pointCount; k++) mean += net.points[3 * k + axis] / pointCount;
    for (let k = 0; k < pointCount; k++)
      points[3 * k + axis] = (net.points[3 * k + axis] - mean) / scale;
  }
  const own = ownFrame(points, columns, rows);
  const frame: NetSpectrum['frame'] = own
    ? [own[0], own[1], own[2]]
    : [
        [1, 0, 0],
        [0, 1, 0],
        [0, 0, 1],
      ];
  const along = smoothBasis(net.knots[0], net.degree[0]);
  const across = smoothBasis(net.knots[1], net.degree[1]);
  const size = pointCount - 4;
  const a = new Uint8Array(size);
  const b = new Uint8Array(size);
  const swing = new Float64Array(size);
  let next = 0;
  for (let j = 0; j < rows; j++)
    for (let i = 0; i < columns; i++)
      if (i >= 2 || j >= 2) {
        a[next] = i;
        b[next] = j;
        swing[next] = Math.exp(along.swing[i] + across.swing[j]);
        next += 1;
      }
  const axes = [new Float64Array(size), new Float64Array(size), new Float64Array(size)] as const;
  const marks = new Float64Array(pointCount * size);
  const turned: Vector[] = [];
  for (let k = 0; k < pointCount; k++) {
    const p: Vector = [points[3 * k], points[3 * k + 1], points[3 * k + 2]];
    turned.push([dot(frame[0], p), dot(frame[1], p), dot(frame[2], p)]);
  }
  for (let k = 0; k < pointCount; k++) {
    const row = Math.floor(k / columns);
    const column = k % columns;
    const [x, y, z] = turned[k];
    for (let c = 0; c < size; c++) {
      const mark = along.vectors[column * columns + a[c]] * across.vectors[row * rows + b[c]];
      marks[k * size + c] = mark;
      axes[0][c] += mark * x;
      axes[1][c] += mark * y;
      axes[2][c] += mark * z;
    }
  }
  const normals = pointNormals(points, columns, rows).map((n): Vector => [
    dot(frame[0], n),
    dot(frame[1], n),
    dot(frame[2], n),
  ]);
  return {
    size,
    pointCount,
    a,
    b,
    swing,
    axes,
    marks,
    frame,
    groups: own ? [[0, 1], [2]] : [[0, 1, 2]],
    normals,
  };
}

/** A vector of the frame in the axes of the model. */
export const inModel = (frame: NetSpectrum['frame'], v: Vector): Vector => {
  const [x, y, z] = frame.map((axis, k) => scaled(axis, v[k]));
  return [x[0] + y[0] + z[0], x[1] + y[1] + z[1], x[2] + y[2] + z[2]];
};

import { EigenvalueDecomposition, Matrix } from 'ml-matrix';
import type { ControlNet } from '../../geometry/controlNet.ts';
import { transposed } from '../../geometry/controlNet.ts';
import { cross, unit, type Vector } from '../../geometry/vector.ts';
import { lineMap, type LineMap } from './lineMap.ts';
import { keptDegrees, type Degrees, type LineMaps } from './spectrumMixture.ts';
import { profileTerms } from './spectrumTables.ts';

/**
 * A net turned to its principal axes, divided by its size, and written in discrete polynomials of
 * both directions. Points are numbered i * count[1] + j, i along the longer side.
 */
export interface PanelSpectrum {
  /** Points along the longer and the shorter side. */
  readonly count: readonly [number, number];
  readonly pointCount: number;
  /** True where the longer side runs along the net's columns. */
  readonly swapped: boolean;
  /** sqrt(12 * mean square distance along the first principal axis), mm: a bar's length. */
  readonly size: number;
  /** Two principal axes in the panel, then its normal; right-handed. */
  readonly frame: readonly [Vector, Vector, Vector];
  readonly fitted: LineMaps;
  readonly sampled: LineMaps;
  readonly degrees: Degrees;
  /** Kept coefficients on each axis, per mille of the size. */
  readonly coefficients: readonly Float64Array[];
  /** marks[k * degrees.count + c]: how far coefficient c moves when point k moves by 1. */
  readonly marks: Float64Array;
  /** Unit vectors at each point in the frame, [3 * k + axis]; zeros where there is no direction. */
  readonly normals: Float64Array;
  readonly alongU: Float64Array;
  readonly alongV: Float64Array;
}

/** Mean distance between the first and last points of the columns (`side` 0) or rows (1). */
function reach(net: ControlNet): number {
  let total = 0;
  for (let row = 0; row < net.rows; row++) {
    const from = 3 * row * net.columns;
    const to = from + 3 * (net.columns - 1);
    total += Math.hypot(
      ...[0, 1, 2].map((axis) => net.points[to + axis] - net.points[from + axis]),
    );
  }
  return total / net.rows;
}

/** Points about their mean, [3 * (i * rows + j) + axis]: u slowest. */
function centred(net: ControlNet): Float64Array {
  const mean = [0, 0, 0];
  const pointCount = net.columns * net.rows;
  net.points.forEach((value, at) => (mean[at % 3] += value / pointCount));
  const made = new Float64Array(net.points.length);
  for (let i = 0; i < net.columns; i++)
    for (let j = 0; j < net.rows; j++)
      for (let axis = 0; axis < 3; axis++)
        made[3 * (i * net.rows + j) + axis] =
          net.points[3 * (j * net.columns + i) + axis] - mean[axis];
  return made;
}

/** The axis with its largest part made positive, so that the frame does not hang on rounding. */
function upright(axis: readonly number[]): Vector {
  const most = axis.reduce((best, value) => (Math.abs(value) > Math.abs(best) ? value : best), 0);
  const sign = most < 0 ? -1 : 1;
  return [sign * axis[0], sign * axis[1], sign * axis[2]];
}

function principalFrame(points: Float64Array): {
  readonly frame: readonly [Vector, Vector, Vector];
  readonly spread: number;
} {
  const scatter = Matrix.zeros(3, 3);
  for (let k = 0; k < points.length; k += 3)
    for (let a = 0; a < 3; a++)
      for (let b = 0; b < 3; b++)
        scatter.set(a, b, scatter.get(a, b) + points[k + a] * points[k + b]);
  const { realEigenvalues, eigenvectorMatrix } = new EigenvalueDecomposition(scatter, {
    assumeSymmetric: true,
  });
  const order = [0, 1, 2].sort((a, b) => realEigenvalues[b] - realEigenvalues[a]);
  const [first, second] = order.map((at) => upright(eigenvectorMatrix.getColumn(at)));
  return { frame: [first, second, cross(first, second)], spread: realEigenvalues[order[0]] };
}

/** Differences from point to point along u and v at each point: central, one-sided at the ends. */
function slopes(points: Float64Array, count: readonly [number, number], side: 0 | 1): Float64Array {
  const made = new Float64Array(points.length);
  const step = side === 0 ? count[1] : 1;
  for (let k = 0; k < count[0] * count[1]; k++) {
    const place = side === 0 ? Math.floor(k / count[1]) : k % count[1];
    const before = place > 0 ? k - step : k;
    const after = place < count[side] - 1 ? k + step : k;
    const steps = (after - before) / step;
    for (let axis = 0; axis < 3; axis++)
      made[3 * k + axis] = (points[3 * after + axis] - points[3 * before + axis]) / steps;
  }
  return made;
}

/** Each triple made 1 long; zeros where it has no direction. */
function directions(triples: Float64Array): Float64Array {
  const made = new Float64Array(triples.length);
  for (let k = 0; k < triples.length; k += 3)
    made.set(unit([triples[k], triples[k + 1], triples[k + 2]]) ?? [0, 0, 0], k);
  return made;
}

function crosses(a: Float64Array, b: Float64Array): Float64Array {
  const made = new Float64Array(a.length);
  for (let k = 0; k < a.length; k += 3)
    made.set(cross([a[k], a[k + 1], a[k + 2]], [b[k], b[k + 1], b[k + 2]]), k);
  return made;
}

/**
 * The spectrum of a net with an extent and at least 4 x 4 points; `isWindow` where its points are
 * part of a larger net.
 */
export function panelSpectrum(given: ControlNet, isWindow: boolean): PanelSpectrum {
  const swapped = reach(transposed(given)) > reach(given);
  const net = swapped ? transposed(given) : given;
  const count = [net.columns, net.rows] as const;
  const pointCount = count[0] * count[1];
  const own = centred(net);
  const { frame, spread } = principalFrame(own);
  const size = Math.sqrt((12 * spread) / pointCount);
  const points = new Float64Array(own.length);
  for (let k = 0; k < own.length; k += 3)
    for (let axis = 0; axis < 3; axis++) {
      const [x, y, z] = frame[axis];
      points[k + axis] = (x * own[k] + y * own[k + 1] + z * own[k + 2]) * (1000 / size);
    }
  const maps = (kind: 'fitted' | 'sampled'): LineMap[] =>
    [0, 1].map((side) => lineMap(kind, net.knots[side], net.degree[side], profileTerms[side]));
  const sampled = maps('sampled');
  const fitted = isWindow ? sampled : maps('fitted');
  const degrees = keptDegrees(count);
  const marks = new Float64Array(pointCount * degrees.count);
  const coefficients = [0, 1, 2].map(() => new Float64Array(degrees.count));
  for (let k = 0; k < pointCount; k++) {
    const i = Math.floor(k / count[1]);
    const j = k % count[1];
    for (let c = 0; c < degrees.count; c++) {
      const mark =
        fitted[0].vectors[i * count[0] + degrees.u[c]] *
        fitted[1].vectors[j * count[1] + degrees.v[c]];
      marks[k * degrees.count + c] = mark;
      for (let axis = 0; axis < 3; axis++) coefficients[axis][c] += mark * points[3 * k + axis];
    }
  }
  const [alongU, alongV] = [slopes(points, count, 0), slopes(points, count, 1)];
  return {
    count,
    pointCount,
    swapped,
    size,
    frame,
    fitted: [fitted[0], fitted[1]],
    sampled: [sampled[0], sampled[1]],
    degrees,
    coefficients,
    marks,
    normals: directions(crosses(alongU, alongV)),
    alongU: directions(alongU),
    alongV: directions(alongV),
  };
}

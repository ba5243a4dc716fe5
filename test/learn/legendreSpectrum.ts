import { EigenvalueDecomposition, Matrix } from 'ml-matrix';
import { gaussRule } from '../../src/measure/gaussRule.ts';
import { profileTerms } from '../../src/measure/locator/spectrumTables.ts';
import type { Shape } from './recipes.ts';

/** What a shape's coordinates are made of, by degrees along its longer and its shorter side. */
export interface ShapeSpectrum {
  /**
   * Coefficients of the orthonormal Legendre polynomials on the three principal axes, two in the
   * panel and the normal one, per mille of the panel's size; [c * 14 + d] for degree c along the
   * longer side and d along the other.
   */
  readonly axes: readonly Float64Array[];
  /** sqrt(12 * mean square distance along the first principal axis), mm: a bar's length. */
  readonly size: number;
}

/** Gauss nodes a side: creases as narrow as 2.5 % of a side are still seen by several. */
const nodeCounts = [64, 56] as const;

/** polynomials[c * nodes + k] times the node's weight: a row of sums is a row of coefficients. */
interface Projection {
  readonly places: Float64Array;
  readonly weights: Float64Array;
  readonly rows: readonly Float64Array[];
}

/** Legendre polynomials of degree 0 to count-1 at t in [0, 1], orthonormal there. */
export function legendreValues(t: number, count: number): number[] {
  const x = 2 * t - 1;
  const values = [1, x];
  for (let n = 2; n < count; n++)
    values.push(((2 * n - 1) * x * values[n - 1] - (n - 1) * values[n - 2]) / n);
  return values.slice(0, count).map((value, n) => value * Math.sqrt(2 * n + 1));
}

function projection(nodes: number, terms: number): Projection {
  const rule = gaussRule(nodes);
  const places = rule.nodes.map((x) => (1 + x) / 2);
  const weights = rule.weights.map((w) => w / 2);
  const values = Array.from(places, (t) => legendreValues(t, terms));
  const rows = Array.from({ length: terms }, (_, c) => weights.map((w, k) => w * values[k][c]));
  return { places, weights, rows };
}

const projections = [0, 1].map((side) => projection(nodeCounts[side], profileTerms[side]));

/** The shape's points on the grid, [axis][k * nodes along v + l], about their mean; mm. */
function samples(shape: Shape): Float64Array[] {
  const [alongU, alongV] = projections;
  const [countU, countV] = nodeCounts;
  const values = [0, 1, 2].map(() => new Float64Array(countU * countV));
  const mean = [0, 0, 0];
  for (let k = 0; k < countU; k++)
    for (let l = 0; l < countV; l++) {
      const point = shape(alongU.places[k], alongV.places[l]);
      for (let axis = 0; axis < 3; axis++) {
        values[axis][k * countV + l] = point[axis];
        mean[axis] += alongU.weights[k] * alongV.weights[l] * point[axis];
      }
    }
  return values.map((own, axis) => own.map((value) => value - mean[axis]));
}

/** Principal axes of the samples, the longest first, and the mean square along it, mm^2. */
function principalAxes(values: readonly Float64Array[]): {
  readonly axes: readonly number[][];
  readonly spread: number;
} {
  const [alongU, alongV] = projections;
  const countV = nodeCounts[1];
  const scatter = Matrix.zeros(3, 3);
  for (let a = 0; a < 3; a++)
    for (let b = 0; b < 3; b++)
      scatter.set(
        a,
        b,
        values[a].reduce((total, value, at) => {
          const weight = alongU.weights[Math.floor(at / countV)] * alongV.weights[at % countV];
          return total + weight * value * values[b][at];
        }, 0),
      );
  const { realEigenvalues, eigenvectorMatrix } = new EigenvalueDecomposition(scatter, {
    assumeSymmetric: true,
  });
  const order = [0, 1, 2].sort((a, b) => realEigenvalues[b] - realEigenvalues[a]);
  return {
    axes: order.map((at) => eigenvectorMatrix.getColumn(at)),
    spread: realEigenvalues[order[0]],
  };
}

function coefficients(values: Float64Array): Float64Array {
  const [alongU, alongV] = projections;
  const [countU, countV] = nodeCounts;
  const [termsU, termsV] = profileTerms;
  const made = new Float64Array(termsU * termsV);
  for (let k = 0; k < countU; k++)
    for (let d = 0; d < termsV; d++) {
      let part = 0;
      for (let l = 0; l < countV; l++) part += alongV.rows[d][l] * values[k * countV + l];
      for (let c = 0; c < termsU; c++) made[c * termsV + d] += alongU.rows[c][k] * part;
    }
  return made;
}

/** Mean distance between the ends of the lines along u (side 0) or v (side 1), mm. */
function reach(shape: Shape, side: 0 | 1): number {
  const stations = [0, 0.25, 0.5, 0.75, 1];
  return stations.reduce((total, s) => {
    const [from, to] = side === 0 ? [shape(0, s), shape(1, s)] : [shape(s, 0), shape(s, 1)];
    return total + Math.hypot(to[0] - from[0], to[1] - from[1], to[2] - from[2]);
  }, 0);
}

/**
 * The Legendre spectrum of a shape turned to its principal axes and divided by its size, by Gauss
 * quadrature on 64 x 56 nodes.
 */
export function legendreSpectrum(given: Shape): ShapeSpectrum {
  const isTall = reach(given, 1) > reach(given, 0);
  const values = samples(isTall ? (u, v) => given(v, u) : given);
  const { axes, spread } = principalAxes(values);
  const size = Math.sqrt(12 * spread);
  const own = values.map(coefficients);
  return {
    size,
    axes: axes.map(([x, y, z]) =>
      own[0].map((value, at) => (x * value + y * own[1][at] + z * own[2][at]) * (1000 / size)),
    ),
  };
}

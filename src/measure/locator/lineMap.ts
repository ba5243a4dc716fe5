import { Matrix, QrDecomposition, solve } from 'ml-matrix';
import { basisRow } from '../../geometry/basis.ts';
import { breakpoints, domain, grevilleAbscissae, type Knots } from '../../geometry/knots.ts';
import { gaussRule } from '../gaussRule.ts';

/** How one direction of a net turns smooth curves into control points. */
export interface LineMap {
  /** The same for the same map. */
  readonly name: string;
  readonly count: number;
  /** vectors[i * count + a]: orthonormal discrete polynomial of degree a at control point i. */
  readonly vectors: Float64Array;
  readonly squaredVectors: Float64Array;
  /**
   * squares[a * terms + c]: square of what the net of the orthonormal Legendre polynomial of degree
   * c has of degree a. Maps the variances of a curve's spectrum to those of its net's.
   */
  readonly squares: Float64Array;
  /** Largest value of each control point's basis function. */
  readonly peaks: Float64Array;
}

/** T_0(x) to T_{count-1}(x). */
function chebyshev(x: number, count: number): number[] {
  const values: number[] = [];
  for (let a = 0; a < count; a++)
    values.push(a === 0 ? 1 : a === 1 ? x : 2 * x * values[a - 1] - values[a - 2]);
  return values;
}

/** Legendre polynomials of degree 0 to count-1 at x in [-1, 1], orthonormal on the unit interval. */
function legendre(x: number, count: number): number[] {
  const values: number[] = [];
  for (let n = 0; n < count; n++)
    values.push(
      n === 0 ? 1 : n === 1 ? x : ((2 * n - 1) * x * values[n - 1] - (n - 1) * values[n - 2]) / n,
    );
  return values.map((value, n) => value * Math.sqrt(2 * n + 1));
}

/** Greville abscissae carried to [-1, 1]. */
function stations(knots: Knots, degree: number): number[] {
  const abscissae = grevilleAbscissae(knots, degree);
  const first = abscissae[0];
  const width = abscissae[abscissae.length - 1] - first;
  return Array.from(abscissae, (g) => (2 * (g - first)) / width - 1);
}

/** Discrete Chebyshev polynomials on the stations, made orthonormal; each rises at the end. */
function discretePolynomials(at: readonly number[]): Matrix {
  const decomposition = new QrDecomposition(new Matrix(at.map((x) => chebyshev(x, at.length))));
  const [vectors, upper] = [decomposition.orthogonalMatrix, decomposition.upperTriangularMatrix];
  for (let a = 0; a < at.length; a++) if (upper.get(a, a) < 0) vectors.mulColumn(a, -1);
  return vectors;
}

function squaredMap(vectors: Matrix, nets: Matrix): Float64Array {
  return Float64Array.from(vectors.transpose().mmul(nets).to1DArray(), (value) => value * value);
}

/**
 * The map of nets that are least-squares fits: the net of each Legendre polynomial is its exact L2
 * fit, M^-1 (integral of N_i P_c) with M the Gram matrix; Gauss quadrature with 24 nodes a span.
 */
function fitted(knots: Knots, degree: number, terms: number): Omit<LineMap, 'name'> {
  const at = stations(knots, degree);
  const count = at.length;
  const [start, end] = domain(knots, degree);
  const ends = breakpoints(knots)
    .map(({ value }) => value)
    .filter((value) => value >= start && value <= end);
  const gram = Matrix.zeros(count, count);
  const moments = Matrix.zeros(count, terms);
  const peaks = new Float64Array(count);
  const rule = gaussRule(24);
  for (let span = 0; span + 1 < ends.length; span++) {
    const half = (ends[span + 1] - ends[span]) / 2;
    rule.nodes.forEach((node, k) => {
      const u = ends[span] + half * (1 + node);
      const weight = (rule.weights[k] * half) / (end - start);
      const { first, values } = basisRow(knots, degree, u, 0);
      const polynomials = legendre((2 * (u - start)) / (end - start) - 1, terms);
      values[0].forEach((left, i) => {
        peaks[first + i] = Math.max(peaks[first + i], left);
        values[0].forEach((right, j) => {
          const sofar = gram.get(first + i, first + j);
          gram.set(first + i, first + j, sofar + weight * left * right);
        });
        polynomials.forEach((value, c) => {
          moments.set(first + i, c, moments.get(first + i, c) + weight * left * value);
        });
      });
    });
  }
  peaks[0] = 1;
  peaks[count - 1] = 1;
  const vectors = discretePolynomials(at);
  return {
    count,
    vectors: Float64Array.from(vectors.to1DArray()),
    squaredVectors: Float64Array.from(vectors.to1DArray(), (value) => value * value),
    squares: squaredMap(vectors, solve(gram, moments)),
    peaks,
  };
}

/**
 * The map of nets whose points are samples at their Greville abscissae: windows of larger nets, and
 * nets that nobody fitted.
 */
function sampled(knots: Knots, degree: number, terms: number): Omit<LineMap, 'name'> {
  const at = stations(knots, degree);
  const vectors = discretePolynomials(at);
  return {
    count: at.length,
    vectors: Float64Array.from(vectors.to1DArray()),
    squaredVectors: Float64Array.from(vectors.to1DArray(), (value) => value * value),
    squares: squaredMap(vectors, new Matrix(at.map((x) => legendre(x, terms)))),
    peaks: new Float64Array(at.length).fill(1),
  };
}

type Kind = 'fitted' | 'sampled';

/** Thousands of nets share a few knot vectors; the oldest entry leaves when the list is full. */
const kept = new Map<string, LineMap>();
const keptMost = 128;

/** The map of a knot vector; `terms` is the number of Legendre polynomials. */
export function lineMap(kind: Kind, knots: Knots, degree: number, terms: number): LineMap {
  const name = `${kind}:${terms}:${degree}:${knots.join()}`;
  const known = kept.get(name);
  if (known) return known;
  const made = { name, ...(kind === 'fitted' ? fitted : sampled)(knots, degree, terms) };
  if (kept.size >= keptMost) kept.delete(kept.keys().next().value ?? name);
  kept.set(name, made);
  return made;
}

import { Matrix, QrDecomposition } from 'ml-matrix';
import { basisRow } from '../geometry/basis.ts';
import { breakpoints, domain, grevilleAbscissae, type Knots } from '../geometry/knots.ts';
import { gaussRule } from './gaussRule.ts';

/** Rows of points by smoothness: an orthonormal basis of R^count, from constant to most rugged. */
export interface SmoothBasis {
  readonly count: number;
  /** vectors[i * count + a]: what the basis vector of degree a has at point i. */
  readonly vectors: Float64Array;
  /**
   * By how much more the net swings than the curve does, against degree 0, as a logarithm of
   * squares: smoothness of the surface says little about a net whose swing the curve hardly shows.
   */
  readonly swing: Float64Array;
}

/** Gram matrix of the basis functions over the domain, count x count: Gauss quadrature by spans. */
function gram(knots: Knots, degree: number): Float64Array {
  const count = knots.length - degree - 1;
  const made = new Float64Array(count * count);
  const [start, end] = domain(knots, degree);
  const rule = gaussRule(degree + 1);
  const ends = breakpoints(knots)
    .map((b) => b.value)
    .filter((value) => value >= start && value <= end);
  for (let span = 0; span + 1 < ends.length; span++) {
    const half = (ends[span + 1] - ends[span]) / 2;
    rule.nodes.forEach((node, k) => {
      const { first, values } = basisRow(knots, degree, ends[span] + half * (1 + node), 0);
      const weight = (rule.weights[k] * half) / (end - start);
      values[0].forEach((left, i) => {
        values[0].forEach((right, j) => {
          made[(first + i) * count + first + j] += weight * left * right;
        });
      });
    });
  }
  return made;
}

/** T_0(x) to T_{count-1}(x). */
function chebyshev(x: number, count: number): Float64Array {
  const values = new Float64Array(count);
  for (let a = 0; a < count; a++)
    values[a] = a === 0 ? 1 : a === 1 ? x : 2 * x * values[a - 1] - values[a - 2];
  return values;
}

/**
 * Discrete polynomials on the Greville abscissae: Chebyshev polynomials there, made orthonormal by QR. On a
 * single span these are the nets of the polynomials themselves.
 */
function built(knots: Knots, degree: number): SmoothBasis {
  const greville = grevilleAbscissae(knots, degree);
  const count = greville.length;
  const width = greville[count - 1] - greville[0];
  const table = Array.from(greville, (g) => chebyshev((2 * (g - greville[0])) / width - 1, count));
  const orthonormal = new QrDecomposition(new Matrix(table)).orthogonalMatrix;
  const columns = Array.from({ length: count }, (_, a) => orthonormal.getColumn(a));
  const own = gram(knots, degree);
  const vectors = new Float64Array(count * count);
  const swing = new Float64Array(count);
  columns.forEach((column, a) => {
    let seen = 0;
    for (let i = 0; i < count; i++) {
      vectors[i * count + a] = column[i];
      for (let j = 0; j < count; j++) seen += column[i] * own[i * count + j] * column[j];
    }
    swing[a] = -Math.log(seen);
  });
  return { count, vectors, swing: swing.map((value) => value - swing[0]) };
}

/** Thousands of nets share a few knot vectors; the oldest entry leaves when the list is full. */
const kept = new Map<string, SmoothBasis>();
const keptMost = 64;

/** The smooth basis of a knot vector; unchanged by shift and scale of the parameter. */
export function smoothBasis(knots: Knots, degree: number): SmoothBasis {
  const key = `${degree}:${knots.join(',')}`;
  const known = kept.get(key);
  if (known) return known;
  const basis = built(knots, degree);
  if (kept.size >= keptMost) kept.delete(kept.keys().next().value ?? key);
  kept.set(key, basis);
  return basis;
}

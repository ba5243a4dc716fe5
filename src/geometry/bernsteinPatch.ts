import type { ControlNet } from './controlNet.ts';
import { domain, interiorBreakpoints, spanIndex, type Knots } from './knots.ts';

/**
 * A polynomial of two parameters over a rectangle, in Bernstein form: coefficients[j (p + 1) + i]
 * belongs to B_i^p(s) B_j^q(t), s and t running from 0 to 1 over `u` and `v`.
 */
export interface BernsteinPatch {
  readonly degree: readonly [number, number];
  readonly coefficients: Float64Array;
  readonly u: readonly [number, number];
  readonly v: readonly [number, number];
}

/** One polynomial piece of a surface: its coordinates, each times the weight, and the weight. */
export interface SurfacePatch extends Omit<BernsteinPatch, 'coefficients'> {
  /** x w, y w, z w and w, as BernsteinPatch.coefficients. */
  readonly coordinates: readonly [Float64Array, Float64Array, Float64Array, Float64Array];
}

/**
 * Bezier points of one span from the p + 1 control points that act on it: matrix[j (p + 1) + i] is the
 * share of control point span - p + i in Bezier point j. Bezier point j is the polar form at p - j
 * times the span's start and j times its end. Source: Ramshaw, Blossoming (from memory); held against
 * evaluation in test/geometry.
 */
function extraction(knots: Knots, degree: number, span: number): Float64Array {
  const [from, to] = [knots[span], knots[span + 1]];
  const size = degree + 1;
  const matrix = new Float64Array(size * size);
  for (let j = 0; j < size; j++) {
    // rows of the triangle as shares of the control points
    const rows = Array.from({ length: size }, (_, i) => {
      const row = new Float64Array(size);
      row[i] = 1;
      return row;
    });
    for (let r = 1; r <= degree; r++) {
      const at = r <= degree - j ? from : to;
      for (let i = degree; i >= r; i--) {
        const low = knots[span - degree + i];
        const share = (at - low) / (knots[span + 1 + i - r] - low);
        for (let k = 0; k < size; k++)
          rows[i][k] = (1 - share) * rows[i - 1][k] + share * rows[i][k];
      }
    }
    matrix.set(rows[degree], j * size);
  }
  return matrix;
}

interface Span {
  readonly first: number;
  readonly ends: readonly [number, number];
  readonly matrix: Float64Array;
}

/** The spans of a direction that have an extent. */
function spansOf(knots: Knots, degree: number): Span[] {
  const [from, to] = domain(knots, degree);
  const ends = [from, ...interiorBreakpoints(knots, degree).map(({ value }) => value), to];
  return ends.slice(1).map((end, k): Span => {
    const span = spanIndex(knots, degree, (ends[k] + end) / 2);
    return {
      first: span - degree,
      ends: [knots[span], knots[span + 1]],
      matrix: extraction(knots, degree, span),
    };
  });
}

/** The polynomial pieces of a surface, row of pieces by row of pieces. */
export function surfacePatches(net: ControlNet): SurfacePatch[] {
  const [p, q] = net.degree;
  const [spansU, spansV] = ([0, 1] as const).map((side) =>
    spansOf(net.knots[side], net.degree[side]),
  );
  return spansV.flatMap((sv) =>
    spansU.map((su): SurfacePatch => {
      const coordinates = [0, 1, 2, 3].map((axis) => {
        const across = new Float64Array((q + 1) * (p + 1));
        for (let j = 0; j <= q; j++)
          for (let i = 0; i <= p; i++) {
            const at = (sv.first + j) * net.columns + su.first + i;
            const w = net.weights ? net.weights[at] : 1;
            const value = axis === 3 ? w : net.points[3 * at + axis] * w;
            for (let k = 0; k <= q; k++)
              across[k * (p + 1) + i] += sv.matrix[k * (q + 1) + j] * value;
          }
        const whole = new Float64Array((q + 1) * (p + 1));
        for (let k = 0; k <= q; k++)
          for (let l = 0; l <= p; l++) {
            let total = 0;
            for (let i = 0; i <= p; i++)
              total += su.matrix[l * (p + 1) + i] * across[k * (p + 1) + i];
            whole[k * (p + 1) + l] = total;
          }
        return whole;
      });
      return {
        degree: net.degree,
        u: su.ends,
        v: sv.ends,
        coordinates: coordinates as unknown as SurfacePatch['coordinates'],
      };
    }),
  );
}

/** Both halves of coefficients at 1/2 along u (0) or v (1), by de Casteljau's construction. */
export function patchHalves(
  { degree: [p, q], coefficients, u, v, degree }: BernsteinPatch,
  side: 0 | 1,
): [BernsteinPatch, BernsteinPatch] {
  const low = coefficients.slice();
  const high = new Float64Array(coefficients.length);
  const [steps, lines] = side === 0 ? [p, q] : [q, p];
  const [step, line] = side === 0 ? [1, p + 1] : [p + 1, 1];
  for (let k = 0; k <= lines; k++) {
    const start = k * line;
    for (let r = 0; r <= steps; r++) {
      high[start + (steps - r) * step] = low[start + steps * step];
      for (let i = steps; i > r; i--)
        low[start + i * step] = (low[start + (i - 1) * step] + low[start + i * step]) / 2;
    }
  }
  const [from, to] = side === 0 ? u : v;
  const middle = (from + to) / 2;
  return side === 0
    ? [
        { degree, coefficients: low, u: [from, middle], v },
        { degree, coefficients: high, u: [middle, to], v },
      ]
    : [
        { degree, coefficients: low, u, v: [from, middle] },
        { degree, coefficients: high, u, v: [middle, to] },
      ];
}

/**
 * The polynomial of one parameter that is left where the other is held: side 0 holds u at the share
 * `at` of the patch and leaves q + 1 coefficients in v, side 1 holds v.
 */
export function heldCoefficients(
  { degree: [p, q], coefficients }: BernsteinPatch,
  side: 0 | 1,
  at: number,
): Float64Array {
  const [steps, lines] = side === 0 ? [p, q] : [q, p];
  const [step, line] = side === 0 ? [1, p + 1] : [p + 1, 1];
  const left = new Float64Array(lines + 1);
  const shares = bernsteinShares(steps, at);
  for (let k = 0; k <= lines; k++) {
    let total = 0;
    for (let i = 0; i <= steps; i++) total += shares[i] * coefficients[k * line + i * step];
    left[k] = total;
  }
  return left;
}

/** The Bernstein polynomials of a degree at t. */
function bernsteinShares(degree: number, t: number): Float64Array {
  const shares = new Float64Array(degree + 1);
  shares[0] = 1;
  for (let j = 1; j <= degree; j++) {
    let saved = 0;
    for (let i = 0; i < j; i++) {
      const own = shares[i];
      shares[i] = saved + (1 - t) * own;
      saved = t * own;
    }
    shares[j] = saved;
  }
  return shares;
}

/** Value at t of the polynomial with these Bernstein coefficients, which are used up. */
function casteljau(level: Float64Array, t: number): number {
  for (let r = level.length - 1; r > 0; r--)
    for (let i = 0; i < r; i++) level[i] += t * (level[i + 1] - level[i]);
  return level[0];
}

/** Rounding of a value of a polynomial, as a share of its largest coefficient. */
const rounding = 4 * Number.EPSILON;

export const bernsteinValue = (coefficients: Float64Array, t: number): number =>
  casteljau(coefficients.slice(), t);

/** Changes of sign along coefficients, 0 counted as positive. */
export function signChanges(coefficients: ArrayLike<number>): number {
  let changes = 0;
  for (let k = 1; k < coefficients.length; k++)
    if (coefficients[k] < 0 !== coefficients[k - 1] < 0) changes += 1;
  return changes;
}

/**
 * The root between 0 and 1 of a polynomial that changes sign once there, to the rounding of its value:
 * regula falsi as Illinois has it, the end that stays twice counted half.
 */
export function bracketedRoot(coefficients: Float64Array): number {
  let [a, b] = [0, 1];
  let [fa, fb] = [coefficients[0], coefficients[coefficients.length - 1]];
  if (fa === 0) return 0;
  if (fb === 0) return 1;
  let best = Math.abs(fa) < Math.abs(fb) ? 0 : 1;
  let least = Math.min(Math.abs(fa), Math.abs(fb));
  let largest = 0;
  for (const c of coefficients) largest = Math.max(largest, Math.abs(c));
  const level = new Float64Array(coefficients.length);
  let stayed = 0;
  for (let step = 0; step < 200; step++) {
    // each eighth step halves, for polynomials that lie flat at one end
    const t = step % 8 === 7 ? (a + b) / 2 : b - (fb * (b - a)) / (fb - fa);
    if (!(t > a && t < b)) break;
    level.set(coefficients);
    const f = casteljau(level, t);
    if (Math.abs(f) < least) [best, least] = [t, Math.abs(f)];
    if (Math.abs(f) <= rounding * largest || b - a <= 1e-16) break;
    if (f < 0 === fb < 0) {
      [b, fb] = [t, f];
      if (stayed < 0) fa /= 2;
      stayed = -1;
    } else {
      [a, fa] = [t, f];
      if (stayed > 0) fb /= 2;
      stayed = 1;
    }
  }
  return best;
}

/** Halvings after which two roots are one. */
const deepest = 40;

/**
 * The places between 0 and 1 where a polynomial in Bernstein form changes sign, in order; 0 counts as
 * positive, so that a touch from above is none. By halving until a part changes sign once or not at
 * all: Descartes' rule holds for Bernstein coefficients.
 */
export function bernsteinRoots(coefficients: Float64Array, depth = 0): number[] {
  const changes = signChanges(coefficients);
  if (changes === 0) return [];
  if (changes === 1) return [bracketedRoot(coefficients)];
  if (depth >= deepest) {
    const last = coefficients[coefficients.length - 1];
    return coefficients[0] < 0 !== last < 0 ? [0.5] : [];
  }
  const low = coefficients.slice();
  const high = new Float64Array(low.length);
  for (let r = 0; r < low.length; r++) {
    high[low.length - 1 - r] = low[low.length - 1];
    for (let i = low.length - 1; i > r; i--) low[i] = (low[i - 1] + low[i]) / 2;
  }
  return [
    ...bernsteinRoots(low, depth + 1).map((t) => t / 2),
    ...bernsteinRoots(high, depth + 1).map((t) => (1 + t) / 2),
  ];
}

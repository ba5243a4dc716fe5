import { bernsteinRoots } from './bernsteinPatch.ts';
import { derivativeForm, factor, productSum, type BernsteinForm } from './bernsteinProduct.ts';
import { binomials } from './binomials.ts';

/** A polynomial between 0 and 1 by its Bernstein coefficients. */
type Bernstein = Float64Array;

const form = (coefficients: Bernstein): BernsteinForm => ({
  degree: [coefficients.length - 1, 0],
  coefficients,
});

const product = (a: Bernstein, b: Bernstein): Bernstein =>
  productSum([[factor(form(a)), factor(form(b)), 1]]).coefficients;

/** Derivative over the parameter from 0 to 1; of a constant: 0. */
const derivative = (a: Bernstein): Bernstein =>
  a.length === 1 ? new Float64Array(1) : derivativeForm(form(a), 0).coefficients;

/** The same polynomial with one coefficient more. */
function raised(a: Bernstein): Bernstein {
  const n = a.length;
  return Float64Array.from({ length: n + 1 }, (_, i) =>
    i === 0 ? a[0] : i === n ? a[n - 1] : (i / n) * a[i - 1] + (1 - i / n) * a[i],
  );
}

function combined(a: Bernstein, b: Bernstein, factor: number): Bernstein {
  let [p, q] = [a, b];
  while (p.length < q.length) p = raised(p);
  while (q.length < p.length) q = raised(q);
  return p.map((value, k) => value + factor * q[k]);
}

/** What is left of terms that cancel, as a share of the largest coefficient. */
const rounding = 1e-12;

/**
 * The polynomial in the lowest degree that holds it, by Forrest's recursion from the left (from
 * memory): 1.5 of the method's notes counts extrema by that degree.
 */
function reduced(a: Bernstein): Bernstein {
  const n = a.length - 1;
  const largest = a.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
  if (n === 0 || largest === 0) return a.slice(0, 1);
  const row = binomials(n);
  const leading = a.reduce(
    (sum, value, i) => sum + ((n - i) % 2 === 0 ? 1 : -1) * row[i] * value,
    0,
  );
  if (Math.abs(leading) > rounding * largest * 2 ** n) return a;
  const lower = new Float64Array(n);
  for (let i = 0; i < n; i++) lower[i] = (n * a[i] - (i === 0 ? 0 : i * lower[i - 1])) / (n - i);
  return reduced(lower);
}

const sumOf = (terms: readonly Bernstein[]): Bernstein =>
  terms.reduce((total, term) => combined(total, term, 1));

const dotOf = (a: readonly Bernstein[], b: readonly Bernstein[]): Bernstein =>
  sumOf(a.map((own, k) => product(own, b[k])));

const crossOf = (a: readonly Bernstein[], b: readonly Bernstein[]): Bernstein[] => {
  const part = (i: number, j: number): Bernstein =>
    combined(product(a[i], b[j]), product(a[j], b[i]), -1);
  return a.length === 2 ? [part(0, 1)] : [part(1, 2), part(2, 0), part(0, 1)];
};

/**
 * The rate of a polynomial curve's curvature in Bernstein form, but for a positive factor. `axes`:
 * Bezier coefficients of each coordinate, two (the curvature is signed) or three (it is not).
 *
 * In the plane f = |x'|^2 (x' x x''') - 3 (x'.x'') (x' x x''), with kappa' = f / |x'|^5; in space, with
 * W = x' x x'', the numerator |x'|^2 (W.W') - 3 |W|^2 (x'.x'') of (kappa^2)'. All coefficients of one
 * sign: the curvature is monotone. Source: the quotient rule on |x' x x''| / |x'|^3.
 */
export function curvatureRate(axes: readonly ArrayLike<number>[]): Bernstein {
  const first = axes.map((axis) => derivative(Float64Array.from(axis)));
  const second = first.map(derivative);
  const third = second.map(derivative);
  const speed = dotOf(first, first);
  const along = dotOf(first, second);
  const turn = crossOf(first, second);
  const change = crossOf(first, third);
  const [gain, loss] =
    axes.length === 2
      ? [product(speed, change[0]), product(along, turn[0])]
      : [product(speed, dotOf(turn, change)), product(dotOf(turn, turn), along)];
  return reduced(combined(gain, loss, -3));
}

/**
 * Where within 0 and 1 the curvature of a polynomial curve has its extrema, exactly and all of them;
 * see curvatureRate. An end is none.
 */
export const curvatureExtrema = (axes: readonly ArrayLike<number>[]): number[] =>
  bernsteinRoots(curvatureRate(axes)).filter((t) => t > 0 && t < 1);

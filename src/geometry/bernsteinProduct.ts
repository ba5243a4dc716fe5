import type { BernsteinPatch } from './bernsteinPatch.ts';
import { binomials } from './binomials.ts';

/** Degree and coefficients of a polynomial of two parameters, as in a BernsteinPatch. */
export type BernsteinForm = Pick<BernsteinPatch, 'degree' | 'coefficients'>;

/** Coefficients times their binomials, or over them: between Bernstein's form and one that multiplies as sums do. */
function weighted({ degree: [p, q], coefficients }: BernsteinForm, by: 1 | -1): Float64Array {
  const [alongU, alongV] = [binomials(p), binomials(q)];
  return coefficients.map((value, at) => {
    const size = alongU[at % (p + 1)] * alongV[Math.floor(at / (p + 1))];
    return by === 1 ? value * size : value / size;
  });
}

/** A polynomial made ready to be multiplied often. */
export interface Factor {
  readonly degree: readonly [number, number];
  readonly weighted: Float64Array;
}

export const factor = (form: BernsteinForm): Factor => ({
  degree: form.degree,
  weighted: weighted(form, 1),
});

/**
 * The sum of products a b of polynomials, each pair of the same degree as every other, with a sign.
 * From B_i^p B_j^q = C(p,i) C(q,j) / C(p+q,i+j) B_{i+j}^{p+q}: coefficients times their binomials
 * multiply as those of powers do. Source: Farouki & Rajan, Algorithms for polynomials in Bernstein
 * form, CAGD 5 (1988) (from memory).
 */
export function productSum(
  terms: readonly (readonly [a: Factor, b: Factor, sign: 1 | -1])[],
): BernsteinForm {
  const [[first, second]] = terms;
  const [p, q] = first.degree;
  const [r, s] = second.degree;
  const degree: [number, number] = [p + r, q + s];
  const width = p + r + 1;
  const total = new Float64Array(width * (q + s + 1));
  for (const [a, b, sign] of terms)
    for (let j = 0; j <= q; j++)
      for (let i = 0; i <= p; i++) {
        const own = sign * a.weighted[j * (p + 1) + i];
        if (own === 0) continue;
        for (let l = 0; l <= s; l++) {
          const to = (j + l) * width + i;
          const from = l * (r + 1);
          for (let k = 0; k <= r; k++) total[to + k] += own * b.weighted[from + k];
        }
      }
  return { degree, coefficients: weighted({ degree, coefficients: total }, -1) };
}

/** The derivative along u (0) or v (1), per unit of the patch's share s or t. */
export function derivativeForm(
  { degree: [p, q], coefficients }: BernsteinForm,
  side: 0 | 1,
): BernsteinForm {
  const [width, height] = side === 0 ? [p, q + 1] : [p + 1, q];
  const [step, times] = side === 0 ? [1, p] : [p + 1, q];
  const slopes = new Float64Array(width * height);
  for (let j = 0; j < height; j++)
    for (let i = 0; i < width; i++) {
      const at = j * (p + 1) + i;
      slopes[j * width + i] = times * (coefficients[at + step] - coefficients[at]);
    }
  return { degree: side === 0 ? [p - 1, q] : [p, q - 1], coefficients: slopes };
}

import { binomials } from './binomials.ts';

/**
 * The Bezier values over [0, length] of the polynomial powers[0] + powers[1] s + powers[2] s^2 + ...
 * Source: b_k = sum over i <= k of C(k, i) / C(degree, i) * a_i length^i; Farin, Curves and Surfaces
 * for CAGD, 5.8 (from memory; held against evaluation in test/geometry).
 */
export function bezierValues(powers: ArrayLike<number>, length: number): number[] {
  const degree = powers.length - 1;
  const all = binomials(degree);
  let scale = 1;
  const scaled = Array.from(powers, (a, i) => {
    const own = (a * scale) / all[i];
    scale *= length;
    return own;
  });
  return scaled.map((_, k) => {
    const row = binomials(k);
    return row.reduce((total, times, i) => total + times * scaled[i], 0);
  });
}

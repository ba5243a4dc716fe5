import { describe, expect, it, test } from 'vitest';
import { basisPeak, basisRow } from '../../src/geometry/basis.ts';
import { grevilleAbscissae, spanIndex } from '../../src/geometry/knots.ts';
import { derivativeAbscissae, derivativePoints } from '../../src/measure/secondDifferences.ts';
import type { Vector } from '../../src/geometry/vector.ts';

const near = (actual: number, expected: number, scale = 1): void =>
  expect(Math.abs(actual - expected)).toBeLessThanOrEqual(1e-12 * scale);

const knots = (...values: number[]): Float64Array => Float64Array.from(values);

describe('Piegl & Tiller, The NURBS Book, examples 2.3 and 2.4 (values from memory)', () => {
  const u = knots(0, 0, 0, 1, 2, 3, 4, 4, 5, 5, 5);

  test.each([
    [2.5, 4],
    [1, 3],
    [5, 7],
    [0, 2],
  ])('the span of u = %d is %d', (at, span) => {
    expect(spanIndex(u, 2, at)).toBe(span);
  });

  test.each([
    [0, [1 / 8, 6 / 8, 1 / 8]],
    [1, [-1 / 2, 0, 1 / 2]],
    [2, [1, -2, 1]],
  ])('derivative %d of N_2, N_3, N_4 at 5/2', (order, expected) => {
    const row = basisRow(u, 2, 2.5, 2);
    expect(row.first).toBe(2);
    expected.forEach((value, i) => near(row.values[order][i], value));
  });
});

describe('uniform cubic basis (textbook values, from memory)', () => {
  const u = Float64Array.from({ length: 11 }, (_, k) => k);
  test.each([
    [4, 0, [1 / 6, 2 / 3, 1 / 6, 0]],
    [4, 1, [-1 / 2, 0, 1 / 2, 0]],
    [4.5, 0, [1 / 48, 23 / 48, 23 / 48, 1 / 48]],
  ])('at %d, derivative %d', (at, order, expected) => {
    const row = basisRow(u, 3, at, 1);
    expected.forEach((value, i) => near(row.values[order][i], value));
  });
});

test('clamped cubic at 1.5 (derived by Cox and de Boor, checked with numpy)', () => {
  const row = basisRow(knots(0, 0, 0, 0, 1, 2, 3, 4, 4, 4, 4), 3, 1.5, 0);
  expect(row.first).toBe(1);
  [0.03125, 0.46875, 0.479166666667, 0.020833333333].forEach((value, i) =>
    near(row.values[0][i], value, 10),
  );
});

describe("Marsden's identity on U = 0 0 0 0 1 2 4 5 5 5 5 (Marsden 1970, from memory)", () => {
  const u = knots(0, 0, 0, 0, 1, 2, 4, 5, 5, 5, 5);
  const line = (values: number[]): Vector[] => values.map((x) => [x, 0, 0]);
  const xs = (points: Vector[]): number[] => points.map(([x]) => x);
  const close = (actual: number[], expected: number[]): void => {
    expect(actual).toHaveLength(expected.length);
    actual.forEach((x, i) => near(x, expected[i], 100));
  };

  it('t has the Greville abscissae as coefficients', () => {
    close(Array.from(grevilleAbscissae(u, 3)), [0, 1 / 3, 1, 7 / 3, 11 / 3, 14 / 3, 5]);
  });
  it('t^2 has a second derivative of 2 throughout', () => {
    const squared = line([0, 0, 2 / 3, 14 / 3, 38 / 3, 65 / 3, 25]);
    close(xs(derivativePoints(squared, u, 3, 1)), [0, 1, 3, 6, 9, 10]);
    close(xs(derivativePoints(squared, u, 3, 2)), [2, 2, 2, 2, 2]);
  });
  it('t^3 has 6t as second and 6 as third derivative', () => {
    const cubed = line([0, 0, 0, 8, 40, 100, 125]);
    close(xs(derivativePoints(cubed, u, 3, 1)), [0, 0, 6, 24, 60, 75]);
    const second = xs(derivativePoints(cubed, u, 3, 2));
    close(second, [0, 6, 12, 24, 30]);
    close(
      second,
      Array.from(derivativeAbscissae(u, 3, 2), (xi) => 6 * xi),
    );
    close(xs(derivativePoints(cubed, u, 3, 3)), [6, 6, 6, 6]);
  });
});

describe('largest value of a Bernstein polynomial: C(n,i) (i/n)^i (1-i/n)^(n-i)', () => {
  // Exact maximum of t^i (1-t)^(n-i); any analysis textbook.
  test.each([
    [2, 1, 0.5],
    [3, 1, 0.444444444],
    [4, 1, 0.421875],
    [4, 2, 0.375],
    [5, 1, 0.4096],
    [5, 2, 0.3456],
    [6, 3, 0.3125],
  ])('degree %d, i = %d', (degree, index, expected) => {
    const u = Float64Array.from({ length: 2 * degree + 2 }, (_, k) => (k <= degree ? 0 : 1));
    expect(basisPeak(u, degree, index)).toBeCloseTo(expected, 8);
  });
});

import { Matrix, QrDecomposition } from 'ml-matrix';
import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import {
  taper,
  templateFit,
  templateValue,
  type Template,
  type WindowPoints,
} from '../../src/measure/templateFit.ts';

const none = new Float64Array(0);
const shape = { reach: 1.7, degree: 5 };
const lengths = [120, 90] as const;
const own: Template = { at: [0, 0], turn: [1, 0], lengths };
const other: Template = { at: [70, 40], turn: [Math.cos(0.4), Math.sin(0.4)], lengths: [100, 140] };

/** Points all over a window and beyond, with a surface and a gap of any shape. */
function scattered(
  count: number,
  height: (x: number, y: number) => number,
  gap: (x: number, y: number) => number,
): WindowPoints {
  const random = seededRandom(7);
  const x = Float64Array.from({ length: count }, () => random.between(-220, 220));
  const y = Float64Array.from({ length: count }, () => random.between(-170, 170));
  return {
    x,
    y,
    height: x.map((value, k) => height(value, y[k])),
    gap: x.map((value, k) => gap(value, y[k])),
  };
}

/** The coefficients of the templates beside plain powers, by QR of the weighted rows of all of them. */
function leastSquares(points: WindowPoints, values: Float64Array, templates: readonly Template[]) {
  const inside = [...points.x.keys()].filter(
    (k) => taper(lengths, shape, points.x[k], points.y[k]) > 0,
  );
  const rows = inside.map((k) => {
    const [x, y] = [points.x[k], points.y[k]];
    const powers = Array.from({ length: 6 }, (_, p) =>
      Array.from({ length: 6 - p }, (_q, q) => (x / 200) ** p * (y / 150) ** q),
    ).flat();
    const weight = Math.sqrt(taper(lengths, shape, x, y));
    return [...templates.map((one) => templateValue(one, x, y)), ...powers].map((v) => v * weight);
  });
  const right = inside.map((k) => [
    values[k] * Math.sqrt(taper(lengths, shape, points.x[k], points.y[k])),
  ]);
  const found = new QrDecomposition(new Matrix(rows)).solve(new Matrix(right));
  return templates.map((_, k) => found.get(k, 0));
}

/** Even noise between bounds: by Huber's rule none of it is an outlier. */
const evenNoise = (size: number): (() => number) => {
  const random = seededRandom(3);
  return () => random.between(-size, size);
};

describe('the fit of a template', () => {
  const noise = evenNoise(0.02);
  const rough = evenNoise(0.01);
  const points = scattered(
    4000,
    (x, y) => 0.3 * templateValue(own, x, y) + x * x * 1e-3 - y ** 3 * 1e-6 + rough(),
    (x, y) => -0.2 * templateValue(own, x, y) + 0.1 * templateValue(other, x, y) + 0.4 + noise(),
  );

  test('is that of weighted least squares on all columns at once', () => {
    const alone = scattered(
      4000,
      (x, y) => 0.3 * templateValue(own, x, y) + x * x * 1e-3 - y ** 3 * 1e-6 + rough(),
      (x, y) => -0.2 * templateValue(own, x, y) + 0.4 + noise(),
    );
    const fit = templateFit(alone, lengths, [], 5, shape, none)!;
    expect(fit.surface).toBeCloseTo(leastSquares(alone, alone.height, [own])[0], 9);
    expect(fit.gap).toBeCloseTo(leastSquares(alone, alone.gap, [own])[0], 9);
  });

  test('with another beside it is that of both at once', () => {
    const fit = templateFit(points, lengths, [other], 5, shape, none)!;
    expect(fit.gap).toBeCloseTo(leastSquares(points, points.gap, [own, other])[0], 9);
    expect(fit.gap).toBeCloseTo(-0.2, 2);
    const alone = templateFit(points, lengths, [], 5, shape, none)!;
    expect(Math.abs(alone.gap + 0.2)).toBeGreaterThan(0.02);
  });

  test('takes no notice of polynomials, and gives them back at the places asked', () => {
    const swell = (x: number, y: number): number => 3 + 0.02 * x - 1e-4 * x * y + 1e-9 * y ** 5;
    const exact = scattered(
      3000,
      (x, y) => 0.3 * templateValue(own, x, y) + 20 * swell(x, y),
      (x, y) => 0.1 * templateValue(own, x, y) + 0.05 * templateValue(other, x, y) - swell(x, y),
    );
    const fit = templateFit(
      exact,
      lengths,
      [other],
      5,
      shape,
      Float64Array.of(0, 0, 60, -45, -120, 0),
    )!;
    expect(fit.surface).toBeCloseTo(0.3, 9);
    expect(fit.gap).toBeCloseTo(0.1, 9);
    expect(fit.likeness).toBeCloseTo(1, 6);
    const wanted = [swell(0, 0), swell(60, -45), swell(-120, 0)];
    wanted.forEach((value, k) => {
      expect(fit.levels.surface[k]).toBeCloseTo(20 * value, 7);
      expect(fit.levels.gap[k]).toBeCloseTo(-value, 8);
    });
  });

  test('is not drawn by outliers', () => {
    const stray = { ...points, gap: points.gap.map((gap, k) => (k % 25 === 0 ? gap + 4 : gap)) };
    const fit = templateFit(stray, lengths, [other], 5, shape, none)!;
    expect(fit.gap).toBeCloseTo(-0.2, 2);
  });

  test('has no error where scan and surface are one', () => {
    const one = { ...points, gap: new Float64Array(points.gap.length) };
    const fit = templateFit(one, lengths, [], 5, shape, none)!;
    expect([fit.gap, fit.gapError]).toEqual([0, 0]);
  });

  test('hardly changes where only some of very many points are used', () => {
    const many = scattered(
      60_000,
      (x, y) => 0.3 * templateValue(own, x, y) + x * 0.1,
      (x, y) => -0.2 * templateValue(own, x, y) + noise(),
    );
    const fit = templateFit(many, lengths, [], 1, shape, none)!;
    expect(fit.surface).toBeCloseTo(0.3, 9);
    expect(Math.abs(fit.gap + 0.2)).toBeLessThan(4 * fit.gapError);
    expect(fit.gapError).toBeLessThan(0.003);
  });

  test('is none where there are too few points, or all on one line', () => {
    expect(
      templateFit(
        scattered(
          50,
          () => 0,
          () => 0,
        ),
        lengths,
        [],
        5,
        shape,
        none,
      ),
    ).toBeNull();
    const line = { ...points, y: points.x.map(() => 0) };
    const fit = templateFit(line, lengths, [], 5, shape, none);
    expect(fit === null || Number.isFinite(fit.gapError)).toBe(true);
  });

  test('says how sure it is: white noise and noise alike over several triangles', () => {
    // 120 draws each: the error must cover what it says within the draw of the draws
    for (const alike of [1, 25]) {
      const random = seededRandom(alike);
      let within = 0;
      for (let draw = 0; draw < 120; draw++) {
        const step = 8;
        const cells = new Map<string, number>();
        const cell = (x: number, y: number): number => {
          const key = `${Math.floor(x / alike)} ${Math.floor(y / alike)}`;
          if (!cells.has(key)) cells.set(key, 0.05 * random.normal());
          return cells.get(key)!;
        };
        const places = Array.from({ length: 45 * 35 }, (_, k) => [
          ((k % 45) - 22) * step,
          (Math.floor(k / 45) - 17) * step,
        ]);
        const x = Float64Array.from(places, ([value]) => value);
        const y = Float64Array.from(places, ([, value]) => value);
        const gap = x.map((value, k) => cell(value, y[k]));
        const fit = templateFit(
          { x, y, height: x.map(() => 0), gap },
          [110, 85],
          [],
          step,
          shape,
          none,
        )!;
        if (Math.abs(fit.gap) < 1.96 * fit.gapError) within += 1;
      }
      expect(within).toBeGreaterThanOrEqual(105);
    }
  });
});

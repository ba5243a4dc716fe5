// Monotone curvature from the control polygon. Conditions: Mineur, Lichah, Castelain, Giaume, "A shape
// controlled fitting method for Bezier curves", CAGD 15 (1998); Sapidis and Frey, "Controlling the
// curvature of a quadratic Bezier curve", CAGD 9 (1992). Values worked out apart from this program with
// a general-purpose algebra system.
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { curvatureExtrema, curvatureRate } from '../../src/geometry/curvatureExtrema.ts';
import { sweepUnevenness } from '../../src/measure/sweepUnevenness.ts';
import type { ControlNet } from '../../src/geometry/controlNet.ts';
import { clampedKnots } from '../../fixtures/fittedNet.ts';
import { lineCombs } from '../../src/measure/sectionCombs.ts';
import { judgement } from '../rules/ruleTable.ts';

type Plane = readonly (readonly [number, number])[];

const axes = (points: Plane): number[][] => [points.map(([x]) => x), points.map(([, y]) => y)];

/** Signed curvature at t, by de Casteljau's construction on the points alone. */
function curvature(points: Plane, t: number): number {
  const n = points.length - 1;
  const value = (p: Plane): readonly [number, number] =>
    p.length === 1
      ? p[0]
      : value(
          p.slice(1).map(([x, y], k) => [p[k][0] + t * (x - p[k][0]), p[k][1] + t * (y - p[k][1])]),
        );
  const legs = (p: Plane): Plane => p.slice(1).map(([x, y], k) => [x - p[k][0], y - p[k][1]]);
  const [dx, dy] = value(legs(points)).map((c) => n * c);
  const [ddx, ddy] = value(legs(legs(points))).map((c) => n * (n - 1) * c);
  return (dx * ddy - dy * ddx) / Math.hypot(dx, dy) ** 3;
}

/** A curve each of whose legs is the one before it, turned and scaled. */
function typicalCurve(n: number, s: number, degrees: number): Plane {
  const turn = (degrees * Math.PI) / 180;
  const points: [number, number][] = [[0, 0]];
  for (let k = 0; k < n; k++) {
    const [x, y] = points[k];
    points.push([x + s ** k * Math.cos(k * turn), y + s ** k * Math.sin(k * turn)]);
  }
  return points;
}

describe('legs each turned and scaled by the same: monotone if and only if s cos(th) >= 1 or s <= cos(th)', () => {
  test.each([
    [2, 1.25, 30, [], [0.3125, 0.243211413, 0.16]],
    [3, 1.25, 30, [], [0.416666667, 0.298286774, 0.170666667]],
    [3, 0.8, 30, [], [0.266666667, 0.466073084, 0.651041667]],
    [3, 1, 30, [0.5], [0.333333333, 0.382916105, 0.333333333]],
    [3, 1.1, 30, [0.155449], [0.366666667, 0.346415825, 0.250438267]],
    [3, 2, 60, [], [1.154700538, 0.377045074, 0.072168784]],
    [3, 0.5, 60, [], [0.288675135, 1.508180295, 4.618802154]],
    [4, 1.2, 20, [], [0.307818129, 0.206202785, 0.123705202]],
    [5, 1.1, 15, [], [0.22776076, 0.178928906, 0.128565011]],
    [5, 1, 10, [0.5], [0.138918542, 0.14213298, 0.138918542]],
  ] as const)('degree %d, scale %d, turn %d degrees', (n, s, turn, extrema, values) => {
    const points = typicalCurve(n, s, turn);
    const found = curvatureExtrema(axes(points)).filter((t) => t > 1e-6 && t < 1 - 1e-6);
    expect(found.length).toBe(extrema.length);
    extrema.forEach((t, k) => expect(found[k]).toBeCloseTo(t, 6));
    values.forEach((k, at) => expect(curvature(points, at / 2)).toBeCloseTo(k, 8));
  });
});

describe('quadratics: an extremum at -D0.(D1 - D0) / |D1 - D0|^2, of |P1 m|^3 / A^2', () => {
  test.each([
    [
      [
        [0, 0],
        [1, 0],
        [2, 1],
      ],
      null,
      0.5,
    ],
    [
      [
        [0, 0],
        [1, 0],
        [3, 1],
      ],
      null,
      0.5,
    ],
    [
      [
        [0, 0],
        [1, 1],
        [4, 0],
      ],
      null,
      Math.SQRT1_2,
    ],
    [
      [
        [0, 0],
        [1, 0],
        [1, 1],
      ],
      0.5,
      Math.SQRT2,
    ],
    [
      [
        [0, 0],
        [2, 1],
        [4, 0],
      ],
      0.5,
      0.25,
    ],
    [
      [
        [0, 0],
        [1, 2],
        [4, 0],
      ],
      0.3,
      0.698771243,
    ],
    [
      [
        [0, 0],
        [3, 1.2],
        [4, 0],
      ],
      0.909836,
      0.661701709,
    ],
  ] as const)('%j', (points, extremum, largest) => {
    const found = curvatureExtrema(axes(points)).filter((t) => t > 1e-9 && t < 1 - 1e-9);
    expect(found.length).toBe(extremum === null ? 0 : 1);
    if (extremum !== null) expect(found[0]).toBeCloseTo(extremum, 6);
    const at = [0, 1, ...found].map((t) => Math.abs(curvature(points, t)));
    expect(Math.max(...at)).toBeCloseTo(largest, 8);
  });
});

describe('any degree: the rate of curvature in Bernstein form', () => {
  test.each([
    [
      [
        [0, 0],
        [1, 0],
        [2, 1],
        [3, 3],
      ],
      [0, -1944],
      [],
    ],
    [
      [
        [0, 0],
        [10, 0],
        [21, 2],
        [33, 7],
      ],
      [-32400, -71280, -127980, -209304, -324324, -485028],
      [],
    ],
    [
      [
        [0, 0],
        [3, 0],
        [5, 1],
        [6, 3],
      ],
      [8748, -2916],
      [0.75],
    ],
    [
      [
        [0, 0],
        [1, 1],
        [2, 1],
        [3, 0],
      ],
      [-972, 972],
      [0.5],
    ],
    [
      [
        [0, 0],
        [1, 0],
        [2, 0.5],
        [3, 0],
      ],
      [-243, -303.75, -101.25, -546.75, 182.25],
      [0.924899],
    ],
    [
      [
        [0, 0],
        [10, 0],
        [20, 2],
        [30, 6],
        [40, 12],
      ],
      [0, -1658880],
      [],
    ],
    [
      [
        [0, 0],
        [10, 0],
        [20, 2.6],
        [30, 6],
        [40, 12],
      ],
      null,
      [0.623696],
    ],
  ] as const)('%j', (points, coefficients, extrema) => {
    const rate = Array.from(curvatureRate(axes(points)));
    if (coefficients) {
      expect(rate.length).toBe(coefficients.length);
      coefficients.forEach((c, k) => expect(Math.abs(rate[k] - c)).toBeLessThan(1e-9 * 5e5));
    }
    const found = curvatureExtrema(axes(points));
    expect(found.length).toBe(extrema.length);
    extrema.forEach((t, k) => expect(found[k]).toBeCloseTo(t, 6));
  });

  test('a curve in space has the extrema of its plane curve, and as many as dense looks find', () => {
    const point = fc.tuple(fc.integer({ min: -50, max: 50 }), fc.integer({ min: -50, max: 50 }));
    fc.assert(
      fc.property(fc.array(point, { minLength: 3, maxLength: 6 }), (own) => {
        const points = own.map(([x, y], k): [number, number] => [100 * k + x, y]);
        const found = curvatureExtrema(axes(points));
        // between two found extrema |kappa|' keeps its sign: looks at a fine grid never turn there
        const looks = 400;
        const rate = Array.from({ length: looks }, (_, k) => (k + 0.5) / looks).map(
          (t) => [t, curvature(points, t + 1e-5) - curvature(points, t - 1e-5)] as const,
        );
        const largest = Math.max(...rate.map(([, change]) => Math.abs(change)));
        rate.forEach(([t, change], k) => {
          if (k === 0) return;
          const [before, previous] = rate[k - 1];
          if (Math.min(Math.abs(change), Math.abs(previous)) < 1e-6 * largest) return;
          const between = found.filter((f) => f > before && f <= t).length;
          expect(between % 2 === 1).toBe(change < 0 !== previous < 0);
        });
        const flat = curvatureExtrema([...axes(points), points.map(() => 7)]);
        // where the curve is straight for a moment its unsigned curvature has a minimum of its own
        for (const t of found)
          expect(Math.min(1, ...flat.map((f) => Math.abs(f - t)))).toBeLessThan(1e-5);
      }),
      { numRuns: 200 },
    );
  });
});

/** A panel all of whose rows are the quintic (200 i, y_i), 600 mm wide. */
function quinticPanel(heights: readonly number[]): ControlNet {
  const rows = [0, 200, 400, 600];
  return {
    degree: [5, 3],
    knots: [clampedKnots(5, 1), clampedKnots(3, 1)],
    columns: 6,
    rows: 4,
    points: Float64Array.from(rows.flatMap((y) => heights.flatMap((z, i) => [200 * i, y, z]))),
    weights: null,
  };
}

describe('the quintic (200 i, 166.667 i (i - 1) / 20), a parabola, with P2 moved by 1 mm', () => {
  const even = [0, 1, 2, 3, 4, 5].map((i) => (166.667 * i * (i - 1)) / 20);
  const moved = even.map((z, i) => (i === 2 ? z + 1 : z));
  const row = (heights: readonly number[]) => heights.map((z, i): [number, number] => [200 * i, z]);

  test('its curvature times 3000 has the values of the table, and falls from end to end in both', () => {
    const values = [
      [even, [1, 0.99337, 0.973914, 0.942866, 0.902087, 0.853815]],
      [moved, [1.06, 0.983581, 0.952877, 0.938859, 0.913348, 0.853815]],
    ] as const;
    for (const [heights, expected] of values) {
      expected.forEach((k, at) => expect(3000 * curvature(row(heights), at / 5)).toBeCloseTo(k, 5));
      expect(curvatureExtrema(axes(row(heights))).filter((t) => t > 1e-3)).toEqual([]);
    }
  });

  test('is reported by section-sweep, and the parabola is not', () => {
    expect(judgement('section-sweep', quinticPanel(even))).toEqual({ outcome: 'met' });
    const found = judgement('section-sweep', quinticPanel(moved));
    if (found.outcome !== 'missed') throw new Error(found.outcome);
    expect(found.misses[0].value).toBeGreaterThan(0.012);
    expect(found.misses[0].evidence!.turnsBack).toBe(0);
    const [comb] = lineCombs(quinticPanel(moved), 1, null);
    expect(sweepUnevenness(comb)!.kind).toBe('hesitation');
  });
});

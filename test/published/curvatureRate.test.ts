// The rate of the mean curvature against closed forms (do Carmo, Differential Geometry of Curves and
// Surfaces, sections 3.3 and 4.1, from memory; derivatives of the graphs' forms by hand) and differences.
import { describe, expect, test } from 'vitest';
import { randomNet } from '../../fixtures/randomNet.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { transposed, type ControlNet } from '../../src/geometry/controlNet.ts';
import { meanCurvatureRate } from '../../src/geometry/curvatureRate.ts';
import { thirdJet } from '../../src/geometry/evaluation.ts';
import { parameterDirection, surfaceCurvature } from '../../src/geometry/surfaceCurvature.ts';
import { ellipseArc } from '../../src/geometry/splineCurve.ts';
import { scaled, sum, unit, type Vector } from '../../src/geometry/vector.ts';
import { bendScale } from '../geometry/bendScale.ts';
import { revolvedNet, sphere } from '../geometry/revolvedNet.ts';

const spread = (degree: number): Float64Array =>
  Float64Array.from({ length: 2 * degree + 2 }, (_, k) => (k <= degree ? -1 : 1));

/** z_ij over evenly spaced x_i and y_j from -1 to 1. */
function graph(degree: readonly [number, number], z: (i: number, j: number) => number): ControlNet {
  const [columns, rows] = [degree[0] + 1, degree[1] + 1];
  const points: number[] = [];
  for (let j = 0; j < rows; j++)
    for (let i = 0; i < columns; i++)
      points.push((2 * i) / degree[0] - 1, (2 * j) / degree[1] - 1, z(i, j));
  return {
    degree,
    knots: [spread(degree[0]), spread(degree[1])],
    columns,
    rows,
    points: Float64Array.from(points),
    weights: null,
  };
}

const square = [1, -1, 1];
/** z = (x^2 + y^2) / 2 on [-1, 1]^2. */
const paraboloid = graph([2, 2], (i, j) => (square[i] + square[j]) / 2);
/** z = x^3 - 3 x y^2: x^3 has -1, 1, -1, 1 and x has the columns' places. */
const monkeySaddle = graph([3, 2], (i, j) => [-1, 1, -1, 1][i] - 3 * ((2 * i) / 3 - 1) * square[j]);

/** H of the graph z = f, normal upwards, by the textbook's form. */
const meanOf = (fx: number, fy: number, fxx: number, fxy: number, fyy: number): number =>
  ((1 + fy * fy) * fxx - 2 * fx * fy * fxy + (1 + fx * fx) * fyy) /
  (2 * (1 + fx * fx + fy * fy) ** 1.5);

/** The rate along the direction in which parameters go by (p, q). */
function ratesAt(net: ControlNet, u: number, v: number, p: number, q: number) {
  const jet = thirdJet(net, u, v);
  const along = sum(scaled(jet.u, p), scaled(jet.v, q));
  const direction = unit(along)!;
  return { jet, direction, rate: meanCurvatureRate(jet, direction)!, speed: Math.hypot(...along) };
}

describe('the rate of the mean curvature', () => {
  test('on the paraboloid z = (x^2 + y^2) / 2: H = (2 + r^2) / (2 (1 + r^2)^1.5)', () => {
    for (const [x, y] of [
      [0, 0],
      [0.5, 0],
      [0.3, -0.7],
      [1, 1],
    ]) {
      const r2 = x * x + y * y;
      // dH / d(r^2)
      const slope = 1 / (2 * (1 + r2) ** 1.5) - (3 * (2 + r2)) / (4 * (1 + r2) ** 2.5);
      for (const [p, q] of [
        [1, 0],
        [0, 1],
        [0.6, -0.8],
      ]) {
        const { rate, speed } = ratesAt(paraboloid, x, y, p, q);
        expect(rate).toBeCloseTo((slope * (2 * x * p + 2 * y * q)) / speed, 13);
      }
    }
  });

  test('on the monkey saddle z = x^3 - 3 x y^2, by differences of its closed form', () => {
    const closed = (x: number, y: number): number =>
      meanOf(3 * x * x - 3 * y * y, -6 * x * y, 6 * x, -6 * y, -6 * x);
    const random = seededRandom(7);
    for (let k = 0; k < 50; k++) {
      const [x, y] = [random.between(-0.9, 0.9), random.between(-0.9, 0.9)];
      const [p, q] = [random.normal(), random.normal()];
      const { rate, speed } = ratesAt(monkeySaddle, x, y, p, q);
      const h = 1e-4;
      const at = (s: number): number => closed(x + s * h * p, y + s * h * q);
      const difference = (8 * (at(1) - at(-1)) - (at(2) - at(-2))) / (12 * h);
      expect(Math.abs(rate * speed - difference)).toBeLessThan(1e-8 * (1 + Math.abs(difference)));
    }
  });

  test('on a torus: H = (R + 2 r cos t) / (2 r (R + r cos t)), so dH/ds = -R sin t / (2 r (R + r cos t)^2)', () => {
    const [R, r] = [700, 200];
    const net = revolvedNet(ellipseArc([R, 0], [r, 0], [0, r], 0, 2 * Math.PI));
    for (let k = 1; k < 40; k++) {
      const v = (k / 40) * 2 * Math.PI;
      const { jet, direction } = ratesAt(net, 1, v, 0, 1);
      const t = Math.atan2(jet.point[2], Math.hypot(jet.point[0], jet.point[1]) - R);
      const sign = Math.sign(surfaceCurvature(jet)!.mean);
      const expected = (R * -Math.sin(t)) / (2 * r * (R + r * Math.cos(t)) ** 2);
      expect(meanCurvatureRate(jet, direction)! * sign).toBeCloseTo(expected, 15);
      // round the axis nothing changes
      expect(Math.abs(meanCurvatureRate(jet, unit(jet.u)!)!)).toBeLessThan(1e-17);
    }
  });

  test('on a sphere it is 0 in every direction', () => {
    const net = sphere(500);
    const random = seededRandom(8);
    for (let k = 0; k < 50; k++) {
      const { rate } = ratesAt(
        net,
        random.between(0, 2 * Math.PI),
        random.between(0.2, Math.PI - 0.2),
        random.normal(),
        random.normal(),
      );
      expect(Math.abs(rate)).toBeLessThan(1e-12 / 500 ** 2);
    }
  });

  test('on random surfaces, by differences of H along parameters', () => {
    const random = seededRandom(9);
    let compared = 0;
    for (let round = 0; round < 120; round++) {
      const net = randomNet(random, round % 2 === 0);
      const [u, v] = [random.uniform(), random.uniform()];
      const direction: Vector = [random.normal(), random.normal(), random.normal()];
      const jet = thirdJet(net, u, v);
      const rate = meanCurvatureRate(jet, direction);
      const way = parameterDirection(jet, direction);
      const h = 2e-4 / Math.hypot(...way!);
      // both sides of a knot have rates of their own
      const near = (side: 0 | 1, value: number): boolean =>
        net.knots[side].some((knot) => Math.abs(knot - value) < 1e-3);
      if (near(0, u) || near(1, v)) continue;
      const at = (s: number): number =>
        surfaceCurvature(thirdJet(net, u + s * h * way![0], v + s * h * way![1]))!.mean;
      const difference = (8 * (at(1) - at(-1)) - (at(2) - at(-2))) / (12 * h);
      const scale = bendScale(jet);
      expect(Math.abs(rate! - difference)).toBeLessThan(1e-5 * (Math.abs(rate!) + scale * scale));
      compared += 1;
    }
    expect(compared).toBeGreaterThan(100);
  });

  test('does not change when u and v change over, but for the side of the normal', () => {
    const random = seededRandom(10);
    for (let round = 0; round < 40; round++) {
      const net = randomNet(random, round % 2 === 0);
      const [u, v] = [random.uniform(), random.uniform()];
      const direction: Vector = [random.normal(), random.normal(), random.normal()];
      const rate = meanCurvatureRate(thirdJet(net, u, v), direction)!;
      const other = meanCurvatureRate(thirdJet(transposed(net), v, u), direction)!;
      const scale = bendScale(thirdJet(net, u, v)) ** 2 + Math.abs(rate);
      expect(Math.abs(rate + other)).toBeLessThan(1e-11 * scale);
    }
  });
});

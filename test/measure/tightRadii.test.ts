import { describe, expect, test } from 'vitest';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { randomNet } from '../../fixtures/randomNet.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { basisRow } from '../../src/geometry/basis.ts';
import { reversed, transposed, type ControlNet } from '../../src/geometry/controlNet.ts';
import { curvatureGrid } from '../../src/geometry/curvatureGrid.ts';
import { keptBox } from '../../src/geometry/keptPart.ts';
import { pieces } from '../../src/geometry/pieces.ts';
import { ellipseArc, polyline } from '../../src/geometry/splineCurve.ts';
import { distance } from '../../src/geometry/vector.ts';
import { surfaceLook } from '../../src/measure/surfaceLook.ts';
import { tightRadii, type TightRadius } from '../../src/measure/tightRadii.ts';
import { tightTurn } from '../../src/measure/tightTurn.ts';
import { revolvedNet, sphere } from '../geometry/revolvedNet.ts';

const radiiOf = (net: ControlNet): TightRadius[] =>
  tightRadii(surfaceLook(net, keptBox(net, null), null), null);
const leastOf = (net: ControlNet): TightRadius => radiiOf(net)[0];

/** z = x^2 / (2 p) over [from, to], exact; its radius of curvature is p at x = 0, any textbook. */
function trough(p: number, from: number, to: number): ControlNet {
  const shape = (u: number, v: number) => {
    const x = from + u * (to - from);
    return [x, 200 * v, (x * x) / (2 * p)] as const;
  };
  return fittedNet([4, 2], [clampedKnots(4), clampedKnots(2)], shape, 9);
}

describe('the least radius by closed form, to 1 %', () => {
  test.each([
    [1, -50, 30],
    [2.5, -7, 90],
    [40, -120, 300],
    [700, -500, 900],
  ])('a parabola with %d at its bottom, from %d to %d', (p, from, to) => {
    const { radius, position, side } = leastOf(trough(p, from, to));
    expect(Math.abs(radius / p - 1)).toBeLessThan(0.01);
    expect(Math.abs(position[0])).toBeLessThan(0.1 * p);
    // S_u x S_v is upwards there, and so is the centre of curvature
    expect(side).toBe(1);
  });

  test.each([
    [100, 10],
    [60, 15],
    [500, 40],
  ])('half an ellipse with semi-axes %d and %d, turned about its long axis: b^2 / a', (a, b) => {
    // from the tip to the tip, along z
    const net = revolvedNet(ellipseArc([0, 0], [0, -a], [b, 0], 0.2, Math.PI - 0.1));
    const least = Math.min(...pieces(net).map((piece) => leastOf(piece.net).radius));
    // the tighter of meridian and parallel near the end that comes closer to the tip, t = pi - 0.1
    const t = 0.1;
    const stretch = Math.hypot(a * Math.sin(t), b * Math.cos(t));
    const meridian = stretch ** 3 / (a * b);
    const parallel = (b * stretch) / a;
    expect(Math.abs(least / Math.min(meridian, parallel) - 1)).toBeLessThan(0.01);
  });

  test('a torus has that of its tube, on the side of its inside', () => {
    const net = revolvedNet(ellipseArc([50, 0], [8, 0], [0, 8], 0, 2 * Math.PI));
    for (const piece of pieces(net)) {
      const { radius, side } = leastOf(piece.net);
      expect(radius).toBeCloseTo(8, 9);
      expect(side).toBe(-1);
    }
  });

  test('a sphere keeps its radius up to the poles; a plane bends to no side', () => {
    for (const piece of pieces(sphere(120)))
      for (const { radius } of radiiOf(piece.net)) expect(radius).toBeCloseTo(120, 6);
    const flat = fittedNet([3, 3], [clampedKnots(3, 3), clampedKnots(3, 2)], (u, v) => [
      900 * u,
      400 * v,
      100 * u + 30 * v,
    ]);
    expect(radiiOf(flat)).toEqual([]);
  });

  test('a saddle bends to both sides, each with its own radius', () => {
    // (x^2 / 100 - y^2 / 40) / 2 at the middle: 100 above, 40 below
    const net = fittedNet([2, 2], [clampedKnots(2), clampedKnots(2)], (u, v) => {
      const [x, y] = [60 * u - 25, 50 * v - 30];
      return [x, y, (x * x) / 200 - (y * y) / 80];
    });
    const radii = radiiOf(net);
    for (const [side, expected] of [
      [1, 100],
      [-1, 40],
    ])
      expect(
        Math.abs(
          Math.min(...radii.filter((r) => r.side === side).map((r) => r.radius)) / expected - 1,
        ),
      ).toBeLessThan(0.01);
  });
});

test('on panels with a ridge anywhere, of any sharpness, as tight as a grid of 401 by 401 finds it', () => {
  const random = seededRandom(31);
  for (let k = 0; k < 12; k++) {
    const [at, width, height] = [
      random.between(0.2, 0.8),
      random.between(0.1, 0.3),
      random.between(5, 90),
    ];
    const slant = random.between(-0.3, 0.3);
    const degree = [3, 5][k % 2];
    const knots = clampedKnots(degree, [8, 3][k % 2]);
    const net = fittedNet([degree, degree], [knots, knots], (u, v) => [
      600 * u,
      300 * v,
      height * Math.exp(-(((u - at - slant * (v - 0.5)) / width) ** 2)) * (1 - (v - 0.4) ** 2),
    ]);
    const rows = Array.from({ length: 401 }, (_, i) => basisRow(knots, degree, i / 400, 2));
    const { k1, k2 } = curvatureGrid(net, rows, rows);
    const sharpest = k1.reduce((most, k, at) => Math.max(most, k, -k2[at]), 0);
    const { radius } = leastOf(net);
    expect(radius * sharpest).toBeLessThan(1.01);
    // nor tighter than the surface is anywhere: the looks come within 2 % of that
    expect(radius * sharpest).toBeGreaterThan(0.98);
    for (const other of [transposed(net), reversed(net)]) {
      const again = leastOf(other);
      expect(again.radius / radius).toBeCloseTo(1, 6);
      expect(distance(again.position, leastOf(net).position)).toBeLessThan(1e-6);
      expect(again.side).toBe(leastOf(net).side === 1 ? -1 : 1);
    }
  }
});

test('only what is kept is looked at, and small trims as closely as large ones', () => {
  const net = trough(2, -300, 500);
  // x = 0 lies at u = 0.375; kept is x from 60 on: the radius of the parabola grows as (1 + x^2 / p^2)^1.5
  const kept = (u: number) => (u >= 0.45 ? 'inside' : 'outside');
  const { radius, u } = tightRadii(surfaceLook(net, keptBox(net, null), kept), kept)[0];
  expect(Math.abs(radius / (2 * (1 + 900) ** 1.5) - 1)).toBeLessThan(0.01);
  expect(u).toBeCloseTo(0.45, 3);
  const none = () => 'outside' as const;
  expect(tightRadii(surfaceLook(net, keptBox(net, null), none), none)).toEqual([]);
});

test('a cusp has a radius of 0, and nothing is ever no number', () => {
  const cusp = fittedNet([3, 1], [clampedKnots(3), clampedKnots(1)], (u, v) => [
    900 * (u - 0.37) ** 3,
    400 * v,
    300 * (u - 0.37) ** 2,
  ]);
  expect(leastOf(cusp).radius).toBe(0);
  expect(leastOf(cusp).u).toBeCloseTo(0.37, 3);
  const random = seededRandom(8);
  for (let k = 0; k < 100; k++) {
    const net = randomNet(random, k % 2 === 0);
    const points = net.points.map((x, at) =>
      k % 5 === 0 && at < 3 * net.columns ? net.points[at % 3] : x,
    );
    for (const piece of pieces({ ...net, points }))
      for (const place of radiiOf(piece.net)) {
        expect([place.radius, place.u, place.v, ...place.position].every(Number.isFinite)).toBe(
          true,
        );
        expect(Number.isFinite(tightTurn(piece.net, place, 3, null))).toBe(true);
      }
  }
});

describe('how much the surface turns where it is tight', () => {
  /** Two flats joined by an arc of radius r through `angle`, exact, drawn out 100 mm. */
  const edge = (r: number, angle: number): ControlNet => {
    const arc = ellipseArc([0, 0], [r, 0], [0, r], 0, angle);
    const points = [0, 100].flatMap((y) =>
      Array.from({ length: 3 }, (_, k) => [arc.points[2 * k], y, arc.points[2 * k + 1]]).flat(),
    );
    return {
      degree: [2, 1],
      knots: [arc.knots, Float64Array.of(0, 0, 1, 1)],
      columns: 3,
      rows: 2,
      points: Float64Array.from(points),
      weights: Float64Array.from([...arc.weights!, ...arc.weights!]),
    };
  };
  test.each([
    [1, 1.5],
    [0.02, 1],
    [2.5, 0.3],
    [0.5, 0.05],
  ])('an edge of radius %d turns by its angle, %d', (r, angle) => {
    const net = edge(r, angle);
    const place = leastOf(net);
    expect(place.radius).toBeCloseTo(r, 9);
    expect(tightTurn(net, place, 3, null) / angle).toBeGreaterThan(0.8);
    expect(tightTurn(net, place, 3, null) / angle).toBeLessThan(1 + 1e-6);
    // not tight at all by a limit below its radius
    expect(tightTurn(net, place, r / 2, null)).toBe(0);
  });

  test('the tip of a cone by twice its slope, however small the radius is there', () => {
    for (const [height, slope] of [
      [3, 0.01],
      [300, Math.PI / 4],
    ]) {
      const net = revolvedNet(
        polyline([
          [0, 0],
          [300, height],
        ]),
      );
      const part = pieces(net)[0].net;
      const place = leastOf(part);
      expect(place.radius).toBeLessThan(2);
      // a quarter of it: normals on a cone, a right angle apart about its axis
      const quarter = 2 * Math.asin(Math.sin(slope) * Math.SQRT1_2);
      expect(tightTurn(part, place, 3, null)).toBeLessThan(1.01 * quarter);
      expect(tightTurn(part, place, 3, null)).toBeGreaterThan(0.6 * quarter);
    }
  });
});

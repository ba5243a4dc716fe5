import { describe, expect, test } from 'vitest';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { ruleFixtures } from '../../fixtures/rules/makeRuleFixtures.ts';
import { pointAt, withMoves, type ControlNet, type Spot } from '../../src/geometry/controlNet.ts';
import { normalTurn, surfaceJet, surfaceNormal } from '../../src/geometry/evaluation.ts';
import { inPlace, placedNet } from '../../src/geometry/placement.ts';
import {
  angleBetween,
  difference,
  dot,
  length,
  scaled,
  type Vector,
} from '../../src/geometry/vector.ts';
import { highlightShift, visibleEffect } from '../../src/measure/visibleEffect.ts';
import { changes } from '../rules/ruleTable.ts';

const radians = (degrees: number): number => (degrees * Math.PI) / 180;

/** Degree 4, two spans a side, `wide` by `long` mm in the parameters x and y from -0.5 to 0.5. */
const patch = (shape: (x: number, y: number) => Vector): ControlNet =>
  fittedNet(
    [4, 4],
    [clampedKnots(4, 2), clampedKnots(4, 2)],
    (u, v) => shape(u - 0.5, v - 0.5),
    61,
  );

const middle: Spot = { row: 3, column: 2 };

const cylinder = (radius: number, wide: number, long: number): ControlNet =>
  patch((x, y) => {
    const angle = (wide * x) / radius;
    return [radius * Math.sin(angle), long * y, radius * Math.cos(angle)];
  });

const sphere = (radius: number, size: number): ControlNet =>
  patch((x, y) => {
    const [a, b] = [(size * x) / radius, (size * y) / radius];
    return [
      radius * Math.sin(a) * Math.cos(b),
      radius * Math.sin(b),
      radius * Math.cos(a) * Math.cos(b),
    ];
  });

const flat = (size: number): ControlNet => patch((x, y) => [size * x, size * y, 0]);

/**
 * A quarter of an exact cylinder about the y axis: degree 2 by 2, rational; x and z along a row. The
 * weights run unevenly along y as well, which leaves the shape as it is.
 */
function rationalCylinder(radius: number, height: number): ControlNet {
  const corner = Math.SQRT1_2;
  const ring: readonly (readonly [number, number, number])[] = [
    [0, radius, 1],
    [radius, radius, corner],
    [radius, 0, 1],
  ];
  const stations = [
    [0, 1],
    [0.5, 1.6],
    [1, 0.8],
  ] as const;
  return {
    degree: [2, 2],
    knots: [Float64Array.of(0, 0, 0, 1, 1, 1), Float64Array.of(0, 0, 0, 1, 1, 1)],
    columns: 3,
    rows: 3,
    points: Float64Array.from(
      stations.flatMap(([y]) => ring.flatMap(([x, z]) => [x, height * y, z])),
    ),
    weights: Float64Array.from(stations.flatMap(([, own]) => ring.map(([, , w]) => own * w))),
  };
}

/**
 * What a moved point does to a cylinder about the y axis, off a fine grid of the moved surface
 * itself: how far its points leave the radius, and its normals the direction from the axis.
 */
function bruteEffect(
  net: ControlNet,
  radius: number,
  spot: Spot,
  by: Vector,
): { readonly peak: number; readonly tilt: number } {
  const moved = withMoves(net, [{ spot, by }]);
  let [peak, tilt] = [0, 0];
  for (let j = 0; j <= 120; j++)
    for (let i = 0; i <= 120; i++) {
      const jet = surfaceJet(moved, i / 120, j / 120);
      const out: Vector = [jet.point[0], 0, jet.point[2]];
      const normal = surfaceNormal(jet)!;
      peak = Math.max(peak, Math.abs(length(out) - radius));
      const facing = dot(normal, out) < 0 ? scaled(normal, -1) : normal;
      tilt = Math.max(tilt, angleBetween(facing, out));
    }
  return { peak, tilt };
}

describe('the shift of a highlight by a tilt', () => {
  // The figures of the formula's source: 0.1 degrees at three radii.
  test.each([
    [500, 0.87],
    [2000, 3.49],
    [10_000, 17.5],
  ])('of 0.1 degrees at a radius of %d mm is %d mm', (radius, shift) => {
    expect(highlightShift(radians(0.1), 1 / radius)).toBeCloseTo(shift, 1);
    expect(highlightShift(radians(0.1), 1 / radius)).toBeCloseTo(radians(0.1) * radius, 9);
  });

  test('is finite on a flat panel, and no flatter radius than 10 m counts', () => {
    expect(highlightShift(radians(0.1), 0)).toBeCloseTo(17.45, 2);
    expect(highlightShift(radians(0.1), 1 / 50_000)).toBe(highlightShift(radians(0.1), 0));
  });
});

describe('the turn of the normal', () => {
  test('is 1/R around a rational cylinder and nothing along it', () => {
    const net = rationalCylinder(500, 300);
    for (const [u, v] of [
      [0.1, 0.2],
      [0.5, 0.5],
      [0.93, 0.71],
    ]) {
      const jet = surfaceJet(net, u, v);
      const turn = normalTurn(jet)!;
      expect(length(turn.u) / length(jet.u)).toBeCloseTo(1 / 500, 12);
      expect(length(turn.v)).toBeLessThan(1e-12);
    }
  });
});

describe('a bump is seen by a shift of its tilt times the radius', () => {
  test.each([500, 2000, 8000])('across a cylinder of %d mm', (radius) => {
    // So long that the slopes along it, where it is flat, are too small to count.
    const wide = 150;
    const net = cylinder(radius, wide, (100 * wide * 10_000) / radius);
    const { tilt, shift } = visibleEffect(net, [{ spot: middle, by: [0, 0, 0.02] }]);
    expect(shift / (tilt * radius)).toBeCloseTo(1, 2);
  });

  test.each([500, 2000, 8000])('any way on a sphere of %d mm', (radius) => {
    const { tilt, shift } = visibleEffect(sphere(radius, 300), [{ spot: middle, by: [0, 0, 0.1] }]);
    expect(shift / (tilt * radius)).toBeCloseTo(1, 3);
  });

  test.each([500, 2000])('any way on a saddle of %d mm, straight lines and all', (radius) => {
    const size = 100;
    const net = patch((x, y) => [
      size * x,
      size * y,
      (size * size * (x * x - y * y)) / (2 * radius),
    ]);
    const { tilt, shift } = visibleEffect(net, [{ spot: middle, by: [0, 0, 0.02] }]);
    expect(shift / (tilt * radius)).toBeCloseTo(1, 1);
  });

  test('on a flat panel by that of a radius of 10 m, and never farther than the bump is long', () => {
    const small = visibleEffect(flat(300), [{ spot: middle, by: [0, 0, 0.01] }]);
    expect(small.shift / small.tilt).toBeCloseTo(10_000, 6);
    expect(small.shift).toBeLessThan(300);
    // Points 2 and 3 of six reach over both spans.
    expect(visibleEffect(flat(300), [{ spot: middle, by: [0, 0, 20] }]).shift).toBeCloseTo(300, 9);
  });

  test('the flatter, the farther, for one and the same bump', () => {
    const shifts = [300, 1000, 3000, 9000].map(
      (radius) => visibleEffect(sphere(radius, 200), [{ spot: middle, by: [0, 0, 0.05] }]).shift,
    );
    expect(shifts).toEqual(shifts.toSorted((a, b) => a - b));
    expect(shifts[3] / shifts[0]).toBeGreaterThan(25);
  });
});

describe('peak and tilt are those of the moved surface itself', () => {
  const radius = 400;
  // So narrow that the fit is off the cylinder by a thousandth of what is tested.
  const smooth = cylinder(radius, 250, 600);
  const rational = rationalCylinder(radius, 300);
  test.each<[string, ControlNet, Spot, Vector]>([
    ['out', smooth, { row: 2, column: 3 }, [0, 0, 0.4]],
    ['around the cylinder', smooth, { row: 2, column: 3 }, [0.5, 0, 0]],
    ['askew', smooth, { row: 3, column: 1 }, [0.8, -0.6, 0.3]],
    ['out, rational', rational, { row: 1, column: 1 }, [0.3, 0, 0.3]],
    ['around, rational', rational, { row: 1, column: 1 }, [0.9, 0, -0.9]],
    ['at an edge, rational', rational, { row: 1, column: 2 }, [0.4, 0, 0.7]],
  ])('moved %s', (_, net, spot, by) => {
    const seen = visibleEffect(net, [{ spot: spot, by: by }]);
    const brute = bruteEffect(net, radius, spot, by);
    expect(seen.peak / brute.peak).toBeGreaterThan(0.96);
    expect(seen.peak / brute.peak).toBeLessThan(1.01);
    expect(seen.tilt / brute.tilt).toBeGreaterThan(0.96);
    expect(seen.tilt / brute.tilt).toBeLessThan(1.01);
  });

  test('a slide along a cylinder is not seen', () => {
    const { peak, tilt, shift } = visibleEffect(smooth, [{ spot: middle, by: [0, 3, 0] }]);
    for (const measure of [peak, tilt, shift]) expect(measure).toBeLessThan(1e-4);
  });
});

describe('what is seen', () => {
  const net = ruleFixtures['point-jut'].met;
  const spot: Spot = { row: 2, column: 3 };
  const by: Vector = [0.4, -0.7, 1.1];
  const before = visibleEffect(net, [{ spot: spot, by: by }]);

  test('grows with the size of the panel, and its tilt does not', () => {
    // Smaller only: a larger panel would be flatter than any.
    const third = visibleEffect(placedNet(net, inPlace, 1 / 3), [
      { spot: spot, by: scaled(by, 1 / 3) },
    ]);
    expect(third.peak).toBeCloseTo(before.peak / 3, 12);
    expect(third.tilt).toBeCloseTo(before.tilt, 12);
    expect(third.shift).toBeCloseTo(before.shift / 3, 9);
  });

  test('grows with the displacement', () => {
    const half = visibleEffect(net, [{ spot: spot, by: scaled(by, 0.5) }]);
    expect(half.peak).toBeCloseTo(before.peak / 2, 12);
    expect(half.tilt / before.tilt).toBeCloseTo(0.5, 4);
    expect(half.shift / before.shift).toBeCloseTo(0.5, 4);
  });

  test.each(changes)('is the same where the net is $name', ({ net: changed, site }) => {
    const own = site({ kind: 'point', ...spot }, net);
    if (own.kind !== 'point') throw new Error('a point stays a point');
    const [still, moved] = [net, withMoves(net, [{ spot, by }])].map((from) =>
      pointAt(changed(from), own.row, own.column),
    );
    const after = visibleEffect(changed(net), [{ spot: own, by: difference(moved, still) }]);
    expect(after.peak).toBeCloseTo(before.peak, 9);
    expect(after.tilt).toBeCloseTo(before.tilt, 11);
    expect(after.shift).toBeCloseTo(before.shift, 7);
  });
});

import { describe, expect, test } from 'vitest';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { families } from '../../fixtures/panelFamilies.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { pointAt, withMoves, type ControlNet, type Spot } from '../../src/geometry/controlNet.ts';
import { outwardNormal } from '../../src/measure/outwardSide.ts';
import { scaled, length, distance } from '../../src/geometry/vector.ts';
import { seamProfile } from '../../src/measure/seamProfile.ts';
import type { SeamSide } from '../../src/measure/seamCrossings.ts';
import { seamStations } from '../../src/measure/seamStations.ts';
import { seamNudges, type SeamNudge } from '../../src/suggest/seamNudges.ts';
import {
  reversedSide,
  rimSide,
  splitPair,
  transposedSide,
  trimmedSide,
  turnedSide,
  type SeamPair,
} from '../measure/seamPairs.ts';

const flatRadius = 1e6;

/** A bicubic panel z(x) from x = `from` to `to`, y = 0 to 500. */
const graph = (from: number, to: number, z: (x: number) => number): ControlNet =>
  fittedNet([3, 3], [clampedKnots(3), clampedKnots(3)], (u, v) => {
    const x = from + u * (to - from);
    return [x, 500 * v, z(x)];
  });

const seam = (low: ControlNet, high: ControlNet): SeamPair => ({
  a: rimSide(low, 0, 1),
  b: rimSide(high, 0, 0),
});

const moved = (net: ControlNet, { moves }: SeamNudge): ControlNet =>
  withMoves(
    net,
    moves.map(({ by, ...spot }) => ({ spot, by })),
  );

const profileOf = ({ a, b }: SeamPair) => seamProfile(seamStations(a, b, flatRadius).stations);

const peaks = ({ a, b }: SeamPair) => {
  const { gap, angle, mismatch } = profileOf({ a, b });
  return [gap, angle, mismatch].map(({ peak }) => Math.abs(peak!.value));
};

test('planes at 0.1 degrees: the second row goes up by its distance times the tangent', () => {
  const tangent = Math.tan((0.1 * Math.PI) / 180);
  const { a, b } = seam(
    graph(-600, 0, () => 0),
    graph(0, 300, (x) => -tangent * x),
  );
  const { nudge } = seamNudges(a, b, 'angle', flatRadius).b;
  expect(nudge!.moves.map(({ row, column }) => [row, column])).toEqual([
    [0, 1],
    [1, 1],
    [2, 1],
    [3, 1],
  ]);
  for (const { by } of nudge!.moves) {
    expect(by[0]).toBeCloseTo(0, 9);
    expect(by[1]).toBeCloseTo(0, 9);
    expect(by[2]).toBeCloseTo(100 * tangent, 9);
  }
  expect(nudge!.largest).toBeCloseTo(100 * tangent, 9);
  expect(Math.abs(nudge!.leaves.angle.peak!.value)).toBeLessThan(1e-10);
  // the other panel could be moved instead: twice as far from the edge, twice as much, the other way
  const other = seamNudges(a, b, 'angle', flatRadius).a.nudge!;
  for (const { column, by } of other.moves) {
    expect(column).toBe(2);
    expect(length(by)).toBeCloseTo(200 * Math.sin((0.1 * Math.PI) / 180), 5);
    expect(by[2]).toBeGreaterThan(0);
  }
  expect(Math.abs(other.leaves.angle.peak!.value)).toBeLessThan(1e-10);
});

test('parabolas of radius 1000 and 1100: the third row moves as the end curvature asks', () => {
  // Bezier row of degree n with first leg a and third point h off it: k = ((n - 1) / n) h / a^2 (Farin,
  // Curves and Surfaces for CAGD, from memory)
  const { a, b } = seam(
    graph(-300, 0, (x) => -(x * x) / 2000),
    graph(0, 300, (x) => -(x * x) / 2200),
  );
  expect(profileOf({ a, b }).mismatch.peak!.value).toBeCloseTo(2 / 21, 6);
  const { nudge } = seamNudges(a, b, 'bend', flatRadius).b;
  const off = (1 / 1000 - 1 / 1100) * 100 ** 2 * (3 / 2);
  for (const { column, by } of nudge!.moves) {
    expect(column).toBe(2);
    expect(by[2]).toBeCloseTo(-off, 7);
  }
  expect(Math.abs(nudge!.leaves.mismatch.peak!.value)).toBeLessThan(1e-8);
  expect(Math.abs(nudge!.leaves.angle.peak!.value)).toBeLessThan(1e-10);
});

/** The same pair with the edge on another side of panel b's net. */
const positions: Record<string, (side: SeamSide) => SeamSide> = {
  'at the low end of u': (side) => side,
  'at the high end of u': reversedSide,
  'at the low end of v': transposedSide,
  'at the high end of v': (side) => transposedSide(reversedSide(side)),
  'run the other way': turnedSide,
};

describe.each([
  ['angle', 1],
  ['bend', 2],
] as const)('a row pushed off along its normals comes back: %s', (aim, order) => {
  test.each(Object.entries(positions))('%s', (_name, position) => {
    const random = seededRandom(31);
    let tried = 0;
    for (const name of Object.keys(families)) {
      const { a, b: plain } = splitPair(families[name](random), 0, random.between(0.3, 0.7));
      const b = position(plain);
      const { side, end } = b.edge.rim!;
      const count = side === 0 ? b.net.columns : b.net.rows;
      if (count < order + 2) continue;
      const index = end === 0 ? order : count - 1 - order;
      const spotOf = (along: number): Spot =>
        side === 0 ? { row: along, column: index } : { row: index, column: along };
      const pushes = Array.from({ length: side === 0 ? b.net.rows : b.net.columns }, (_, along) => {
        const normal = outwardNormal(b.net, spotOf(along), { sign: 1, from: 'unknown' })!;
        return { spot: spotOf(along), by: scaled(normal, random.normal()) };
      });
      const pushed = { ...b, net: withMoves(b.net, pushes) };
      const before = peaks({ a, b: pushed })[order];
      const { nudge } = seamNudges(a, pushed, aim, flatRadius).b;
      const mended = { ...pushed, net: moved(pushed.net, nudge!) };
      const after = peaks({ a, b: mended });
      expect(before).toBeGreaterThan(1e-4);
      expect(after[0]).toBeLessThan(1e-9);
      // the row goes along the normals of the edge, not along its own by which it was pushed: what that
      // leaves is far below any limit of the trade (0.006 degrees, 0.2 %)
      expect(after[order], name).toBeLessThan(order === 1 ? 1e-4 : 2e-3);
      expect(after[order], name).toBeLessThan(0.02 * before);
      // what is told is what is there: the seam is measured along b
      const told = nudge!.leaves[aim === 'angle' ? 'angle' : 'mismatch'].peak!.value;
      expect(Math.abs(told)).toBe(peaks({ a: mended, b: a })[order]);
      // nothing but the row moves
      for (let row = 0; row < b.net.rows; row++)
        for (let column = 0; column < b.net.columns; column++) {
          if ((side === 0 ? column : row) === index) continue;
          expect(pointAt(mended.net, row, column)).toEqual(pointAt(pushed.net, row, column));
        }
      tried += 1;
    }
    expect(tried).toBeGreaterThan(8);
  });
});

test('one point of the row pushed off: its own move is by far the largest, and takes it back', () => {
  const random = seededRandom(4);
  const { a, b } = splitPair(families['clothoid-sweep'](random), 0, 0.4);
  const spot = { row: 2, column: 1 };
  const normal = outwardNormal(b.net, spot, { sign: 1, from: 'unknown' })!;
  const pushed = { ...b, net: withMoves(b.net, [{ spot, by: scaled(normal, 0.5) }]) };
  const { nudge } = seamNudges(a, pushed, 'angle', flatRadius).b;
  for (const { row, by } of nudge!.moves) {
    if (row === 2) expect(distance(by, scaled(normal, -0.5))).toBeLessThan(0.05);
    else expect(length(by)).toBeLessThan(0.01);
  }
});

test('first the angle, then the curvature: both are mended on the nudged copy', () => {
  const random = seededRandom(6);
  const { a, b } = splitPair(families.torus(random), 0, 0.5);
  const pushes = [1, 2].flatMap((column) =>
    Array.from({ length: b.net.rows }, (_, row) => ({
      spot: { row, column },
      by: [0, 0, random.normal()] as const,
    })),
  );
  const pushed = { ...b, net: withMoves(b.net, pushes) };
  const first = seamNudges(a, pushed, 'angle', flatRadius).b.nudge!;
  const smooth = { ...pushed, net: moved(pushed.net, first) };
  const second = seamNudges(a, smooth, 'bend', flatRadius).b.nudge!;
  expect(Math.abs(second.leaves.gap.peak!.value)).toBeLessThan(1e-9);
  expect(Math.abs(second.leaves.angle.peak!.value)).toBeLessThan(1e-4);
  expect(Math.abs(second.leaves.mismatch.peak!.value)).toBeLessThan(2e-3);
  // the third row does not touch the angle
  expect(second.leaves.angle.peak!.value).toBeCloseTo(first.leaves.angle.peak!.value, 6);
});

test('a neighbour that the row cannot follow: most of the angle goes, and the rest is told', () => {
  const low = fittedNet([3, 5], [clampedKnots(3), clampedKnots(5)], (u, v) => [
    -300 + 300 * u,
    500 * v,
    20 * (u - 1) * Math.sin(3 * v),
  ]);
  const { a, b } = seam(
    low,
    graph(0, 300, () => 0),
  );
  const before = Math.abs(profileOf({ a, b }).angle.peak!.value);
  const { nudge } = seamNudges(a, b, 'angle', flatRadius).b;
  const left = Math.abs(nudge!.leaves.angle.peak!.value);
  expect(left).toBeGreaterThan(1e-6);
  expect(left).toBeLessThan(0.05 * before);
});

test('a stretch of a rim: points that have no say in it stay, the others mend it', () => {
  const knots = clampedKnots(3, [0.2, 0.4, 0.6, 0.8]);
  const long = fittedNet([3, 3], [clampedKnots(3), knots], (u, v) => [
    300 * u,
    1000 * v,
    -0.002 * 300 * u,
  ]);
  const low = fittedNet([3, 3], [clampedKnots(3), clampedKnots(3)], (u, v) => [
    -300 + 300 * u,
    400 * v,
    0,
  ]);
  const b = { ...rimSide(long, 0, 0), to: 0.4 };
  const { nudge } = seamNudges(rimSide(low, 0, 1), b, 'angle', flatRadius).b;
  expect(nudge!.moves.map(({ row }) => row)).toEqual([0, 1, 2, 3, 4]);
  expect(Math.abs(nudge!.leaves.angle.peak!.value)).toBeLessThan(1e-8);
});

describe('no nudge, with the reason', () => {
  const a = rimSide(
    graph(-300, 0, () => 0),
    0,
    1,
  );
  const b = rimSide(
    graph(0, 300, (x) => x / 100),
    0,
    0,
  );
  const reason = (side: SeamSide, aim: 'angle' | 'bend') => seamNudges(a, side, aim, flatRadius).b;

  test('a trimmed side; its neighbour can still be nudged', () => {
    const found = seamNudges(a, trimmedSide(b), 'angle', flatRadius);
    expect(found.b).toEqual({ nudge: null, none: 'trimmed' });
    expect(found.a.nudge!.leaves.angle.peak!.value).toBeCloseTo(0, 9);
  });

  test('a net whose border row is not its border', () => {
    const knots = Float64Array.from([-3, -2, -1, 0, 1, 2, 3, 4]);
    const net = { ...b.net, knots: [knots, b.net.knots[1]] as const };
    expect(reason(rimSide(net, 0, 0), 'angle')).toEqual({ nudge: null, none: 'unclamped' });
  });

  test('a net without a row between its borders', () => {
    const net = fittedNet([2, 3], [clampedKnots(2), clampedKnots(3)], (u, v) => [
      300 * u,
      500 * v,
      3 * u,
    ]);
    expect(reason(rimSide(net, 0, 0), 'angle').none).toBeNull();
    expect(reason(rimSide(net, 0, 0), 'bend')).toEqual({ nudge: null, none: 'no-inner-row' });
    const ruled = fittedNet([1, 3], [clampedKnots(1, [0.3, 0.6]), clampedKnots(3)], (u, v) => [
      300 * u,
      500 * v,
      3 * u,
    ]);
    expect(reason(rimSide(ruled, 0, 0), 'angle').none).toBeNull();
    expect(reason(rimSide(ruled, 0, 0), 'bend')).toEqual({ nudge: null, none: 'no-inner-row' });
  });

  test('an edge that is a point', () => {
    const net = fittedNet([3, 3], [clampedKnots(3), clampedKnots(3)], (u, v) => [
      300 * u,
      500 * u * v,
      0,
    ]);
    expect(reason(rimSide(net, 0, 0), 'angle')).toEqual({ nudge: null, none: 'blind' });
  });
});

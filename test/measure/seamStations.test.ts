import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { families } from '../../fixtures/panelFamilies.ts';
import { randomNet } from '../../fixtures/randomNet.ts';
import { seededRandom, type SeededRandom } from '../../fixtures/seededRandom.ts';
import { diagonal, withMoves, type ControlNet } from '../../src/geometry/controlNet.ts';
import { surfaceJet, surfaceNormal, thirdJet } from '../../src/geometry/evaluation.ts';
import { domain, interiorBreakpoints } from '../../src/geometry/knots.ts';
import { axisPlacement, inPlace, placedVector } from '../../src/geometry/placement.ts';
import { ellipseArc, polyline, type SplineCurve } from '../../src/geometry/splineCurve.ts';
import { normalCurvature } from '../../src/geometry/surfaceCurvature.ts';
import { angleBetween, cross, dot, length, unit, type Vector } from '../../src/geometry/vector.ts';
import { seamMeasures, seamProfile, stretchesOver } from '../../src/measure/seamProfile.ts';
import { mismatch, type Crossing, type SeamSide } from '../../src/measure/seamCrossings.ts';
import { seamStations, type SeamStation } from '../../src/measure/seamStations.ts';
import { revolvedNet, sphere } from '../geometry/revolvedNet.ts';
import { clothoidRow } from './clothoidRow.ts';
import {
  partOf,
  placedSide,
  reversedSide,
  rimSide,
  splitPair,
  transposedSide,
  trimmedSide,
  turnedSide,
  type SeamPair,
} from './seamPairs.ts';

/** Radii beyond a kilometre count as flat. */
const flatRadius = 1e6;

const degrees = (value: number): number => (value * Math.PI) / 180;

/** A row of points in the plane (x, z), its weights, and its degree, as a panel from y = 0 to `depth`. */
function swept(
  row: readonly (readonly [number, number])[],
  weights: readonly number[] | null = null,
  depth = 500,
): ControlNet {
  const degree = row.length - 1;
  return {
    degree: [degree, 1],
    knots: [clampedKnots(degree), clampedKnots(1)],
    columns: row.length,
    rows: 2,
    points: Float64Array.from([0, depth].flatMap((y) => row.flatMap(([x, z]) => [x, y, z]))),
    weights: weights && Float64Array.from([...weights, ...weights]),
  };
}

/** An arc of a cylinder whose top is the y axis, between two angles from there. */
function cylinder(radius: number, from: number, to: number): ControlNet {
  const half = (to - from) / 2;
  const at = (angle: number, stretch: number): readonly [number, number] => [
    radius * Math.sin(angle) * stretch,
    radius * (Math.cos(angle) * stretch - 1),
  ];
  const w = Math.cos(half);
  return swept([at(from, 1), at((from + to) / 2, 1 / w), at(to, 1)], [1, w, 1]);
}

const seam = (low: ControlNet, high: ControlNet): SeamPair => ({
  a: rimSide(low, 0, 1),
  b: rimSide(high, 0, 0),
});

const plane = (from: number, to: number, rise: number): ControlNet =>
  swept([
    [from, from * rise],
    [to, to * rise],
  ]);

/** What is expected all along a seam, mm, normals upwards, on the way from a to b. */
interface Expected {
  readonly angle: number;
  readonly bends: readonly [number, number];
  readonly rateJump: number;
}

const [k0, c1, c2] = [1 / 800, 2e-6, 5e-6];

/** Closed forms; cylinders and clothoids by their definition, k = 1 / R and k = k0 + c s. */
const analytic: Record<string, { readonly pair: SeamPair; readonly expected: Expected }> = {
  'two planes that fall off by 0.1 degrees': {
    pair: seam(plane(-400, 0, 0), plane(0, 300, -Math.tan(degrees(0.1)))),
    expected: { angle: degrees(0.1), bends: [0, 0], rateJump: 0 },
  },
  'two planes that rise by 0.1 degrees': {
    pair: seam(plane(-400, 0, 0), plane(0, 300, Math.tan(degrees(0.1)))),
    expected: { angle: -degrees(0.1), bends: [0, 0], rateJump: 0 },
  },
  'cylinders of radius 1000 and 1100 along a line in which they touch': {
    pair: seam(cylinder(1000, -0.3, 0), cylinder(1100, 0, 0.3)),
    expected: { angle: 0, bends: [-1 / 1000, -1 / 1100], rateJump: 0 },
  },
  'a cylinder and the plane that touches it': {
    pair: seam(plane(-400, 0, 0), cylinder(1000, 0, 0.3)),
    expected: { angle: 0, bends: [0, -1 / 1000], rateJump: 0 },
  },
  'two clothoids that share their curvature and not its rate': {
    pair: seam(swept(clothoidRow(k0, c1, -300)), swept(clothoidRow(k0, c2, 300))),
    expected: { angle: 0, bends: [k0, k0], rateJump: c2 - c1 },
  },
  'one clothoid in two parts': {
    pair: seam(swept(clothoidRow(k0, c1, -300)), swept(clothoidRow(k0, c1, 200))),
    expected: { angle: 0, bends: [k0, k0], rateJump: 0 },
  },
};

const placement = axisPlacement([300, -800, 120], [0.3, -0.4, 0.8], [1, 0.2, 0])!;
const same = (side: SeamSide): SeamSide => side;

/** Ways to write the same pair down; `order`: -1 where the panels change places. */
interface Guise {
  readonly a: (side: SeamSide) => SeamSide;
  readonly b: (side: SeamSide) => SeamSide;
  readonly isSwapped?: boolean;
  readonly scale?: number;
  readonly isMoved?: boolean;
}

const guises: Record<string, Guise> = {
  'as it is': { a: same, b: same },
  'a trimmed': { a: trimmedSide, b: same },
  'both trimmed': { a: trimmedSide, b: trimmedSide },
  'a reversed': { a: reversedSide, b: same },
  'b reversed': { a: same, b: reversedSide },
  'a transposed': { a: transposedSide, b: same },
  'b transposed and reversed': { a: same, b: (side) => reversedSide(transposedSide(side)) },
  'edges run against each other': { a: same, b: turnedSide },
  'run from the other end': {
    a: (side) => ({ ...side, from: side.to, to: side.from }),
    b: (side) => ({ ...side, from: side.to, to: side.from }),
  },
  swapped: { a: same, b: same, isSwapped: true },
  moved: { a: same, b: same, isMoved: true },
  'in inches': { a: same, b: same, scale: 25.4 },
  'all at once': {
    a: (side) => turnedSide(transposedSide(trimmedSide(side))),
    b: (side) => reversedSide(trimmedSide(side)),
    isSwapped: true,
    isMoved: true,
    scale: 25.4,
  },
};

/** A pair in a guise, and which way is up there. */
function disguised({ a, b }: SeamPair, guise: Guise): SeamPair & { readonly up: Vector } {
  const frame = guise.isMoved ? placement : inPlace;
  const put = (side: SeamSide): SeamSide => placedSide(side, frame, guise.scale ?? 1);
  const [first, second] = [put(guise.a(a)), put(guise.b(b))];
  const up = placedVector(frame, [0, 0, 1]);
  return guise.isSwapped ? { a: second, b: first, up } : { a: first, b: second, up };
}

const expectNear = (actual: number, expected: number, within: number): void =>
  expect(Math.abs(actual - expected), `${actual} for ${expected}`).toBeLessThanOrEqual(within);

describe.each(Object.entries(analytic))('%s', (_name, { pair, expected }) => {
  test.each(Object.entries(guises))('%s', (_guise, guise) => {
    const { a, b, up } = disguised(pair, guise);
    const scale = guise.scale ?? 1;
    const { stations, isSettled } = seamStations(a, b, flatRadius);
    expect(isSettled).toBe(true);
    const [first, last] = [stations[0], stations[stations.length - 1]];
    expect(first.at).toEqual([a.from, b.from]);
    expect(last.at).toEqual([a.to, b.to]);
    expectNear(last.run, 500 * scale, 1e-9 * scale);
    for (const { gap, crossing } of stations) {
      expect(gap).toBeLessThan(1e-9 * scale);
      const side = Math.sign(dot(crossing!.a.normal, up));
      const bends = [side * crossing!.a.bend * scale, side * crossing!.b.bend * scale];
      const [low, high] = guise.isSwapped ? bends.toReversed() : bends;
      expectNear(side * crossing!.angle, expected.angle, 1e-12);
      expectNear(low, expected.bends[0], 1e-12);
      expectNear(high, expected.bends[1], 1e-12);
      const order = guise.isSwapped ? -1 : 1;
      const jump = expected.bends[1] - expected.bends[0];
      expectNear(side * order * crossing!.bendJump * scale, jump, 1e-12);
      expectNear(side * crossing!.rateJump * scale ** 2, expected.rateJump, 1e-13);
      const [p, q] = expected.bends;
      const flat = scale / flatRadius;
      expectNear(side * order * crossing!.mismatch, Math.sign(q - p) * mismatch(p, q, flat), 1e-6);
      const most = Math.max(Math.abs(p), Math.abs(q), flat);
      expectNear(side * crossing!.flow * scale, expected.rateJump / most, 1e-6 / 1000);
    }
  });
});

test('cylinders of 1000 and 1100: a mismatch of 2 / 21, all along', () => {
  const { pair } = analytic['cylinders of radius 1000 and 1100 along a line in which they touch'];
  const { stations } = seamStations(pair.a, pair.b, flatRadius);
  const profile = seamProfile(stations);
  expectNear(profile.mismatch.peak!.value, 2 / 21, 1e-9);
  expectNear(profile.mismatch.mean!, 2 / 21, 1e-9);
  expect(stretchesOver(stations, seamMeasures.mismatch, 0.095)).toMatchObject([
    { length: 500, from: { run: 0 }, to: { run: 500 } },
  ]);
  expect(stretchesOver(stations, seamMeasures.mismatch, 0.096)).toEqual([]);
});

// The common form, with the flat_curvature_radius_tolerance of ISO 10303-59 as its floor.
test.each([
  [0.001, 0.0011, 1e-9, 0.095238],
  [0.001, 0.002, 1e-9, 0.666667],
  [1, -1, 1e-9, 2],
  [0.00009, -0.00009, 1e-4, 0],
  [0.0001, 0, 1e-4, 0],
  [0, 0, 0, 0],
  [0.0003, 0, 1e-4, 1],
  [0.0003, 0.00005, 1e-4, 1],
])('curvatures %f and %f, flat below %f, have a mismatch of %f', (p, q, flat, value) => {
  expectNear(mismatch(p, q, flat), value, 1e-6);
  expectNear(mismatch(q, p, flat), value, 1e-6);
  expectNear(mismatch(-p, -q, flat), value, 1e-6);
});

describe('a curved seam between graphs z = f(x, y) and f + c g(y) x^n / n!', () => {
  // A surface that leaves another by w(x) along z has left it by w n_z along the normal, and x grows by
  // s_x a mm on the way across: the n-th derivative jumps by c g n_z s_x^n (by hand).
  const f = (x: number, y: number): number =>
    1e-4 * x * x + 2e-4 * y * y + 3e-4 * x * y + 1e-7 * x * x * y - 2e-7 * y ** 3 + 0.1 * x;
  const slopes = (y: number): readonly [number, number] => [
    3e-4 * y + 0.1,
    4e-4 * y - 6e-7 * y * y,
  ];
  const g = (y: number): number => 1 + y / 400 - (y * y) / 5e5;
  const net = (from: number, to: number, extra: (x: number) => number): ControlNet =>
    fittedNet([3, 4], [clampedKnots(3), clampedKnots(4, [0.3])], (u, v) => {
      const [x, y] = [from + u * (to - from), v * 500];
      return [x, y, f(x, y) + extra(x) * g(y)];
    });

  test.each([
    [2, 2e-5],
    [3, 1e-7],
  ] as const)('n = %i', (n, c) => {
    const power = (x: number): number => (c * x ** n) / (n === 2 ? 2 : 6);
    const { a, b } = seam(
      net(-200, 0, () => 0),
      net(0, 250, power),
    );
    const { stations, isSettled } = seamStations(a, b, flatRadius);
    expect(isSettled).toBe(true);
    for (const { points, gap, crossing } of stations) {
      const y = points[0][1];
      const [fx, fy] = slopes(y);
      const normal = unit([-fx, -fy, 1])!;
      const across = unit(cross([0, 1, fy], normal))!;
      const jump = c * g(y) * normal[2] * across[0] ** n;
      expect(gap).toBeLessThan(1e-9);
      expectNear(crossing!.angle, 0, 1e-10);
      expectNear(crossing!.b.bend - crossing!.a.bend, n === 2 ? jump : 0, 1e-6 * 2e-5);
      expectNear(crossing!.bendJump, n === 2 ? jump : 0, 1e-6 * 2e-5);
      if (n === 3) expectNear(crossing!.rateJump, jump, 1e-5 * 1e-7);
    }
  });
});

describe('halves of a sphere', () => {
  const net = sphere(500);

  test('along the equator, all round: nothing but the sphere itself', () => {
    const { a, b } = splitPair(net, 1, Math.PI / 2);
    const { stations } = seamStations(a, b, flatRadius);
    const profile = seamProfile(stations);
    expectNear(profile.length, 2 * Math.PI * 500, 0.02);
    expect(profile.blind).toBe(0);
    for (const { gap, crossing } of stations) {
      expect(gap).toBeLessThan(1e-10);
      expectNear(crossing!.angle, 0, 1e-12);
      expectNear(Math.abs(crossing!.a.bend), 1 / 500, 1e-14);
      expectNear(crossing!.mismatch, 0, 1e-11);
      expectNear(crossing!.rateJump, 0, 1e-15);
    }
  });

  test('along a meridian, where both poles are blind', () => {
    const { a, b } = splitPair(net, 0, Math.PI);
    const { stations } = seamStations(a, b, flatRadius);
    expect(stations[0].crossing).toBeNull();
    expect(stations[stations.length - 1].crossing).toBeNull();
    const sighted = stations.flatMap(({ crossing }) => crossing ?? []);
    expect(sighted.length).toBeGreaterThan(stations.length / 2);
    for (const crossing of sighted) {
      expectNear(crossing.angle, 0, 1e-11);
      expectNear(crossing.mismatch, 0, 1e-8);
    }
    const { blind, length: whole } = seamProfile(stations);
    expect(blind).toBeGreaterThan(0);
    expect(blind).toBeLessThan(whole / 2);
  });
});

test('a panel that folds back over its neighbour stands at 180 degrees', () => {
  const { a, b } = seam(plane(-400, 0, 0), plane(0, -300, 0));
  for (const { crossing } of seamStations(a, b, flatRadius).stations)
    expectNear(Math.abs(crossing!.angle), Math.PI, 1e-12);
});

describe('gaps', () => {
  const low = plane(-400, 0, 0);

  test('that open evenly: maximum at the end, mean and stretch over the limit by half', () => {
    const open = withMoves(plane(0, 300, 0), [
      { spot: { row: 1, column: 0 }, by: [0, 0, 0.2] },
      { spot: { row: 1, column: 1 }, by: [0, 0, 0.2] },
    ]);
    const { a, b } = seam(low, open);
    const { stations } = seamStations(a, b, flatRadius);
    const { gap } = seamProfile(stations);
    expectNear(gap.peak!.value, 0.2, 1e-6);
    expect(gap.peak!.station.at[0]).toBe(1);
    expectNear(gap.mean!, 0.1, 1e-6);
    const [over, ...more] = stretchesOver(stations, seamMeasures.gap, 0.05);
    expect(more).toEqual([]);
    expectNear(over.length, 375, 0.01);
    expectNear(over.from.run, 125, 0.01);
    expectNear(over.from.at[0], 0.25, 1e-4);
    expectNear(over.from.at[1], 0.25, 1e-4);
    expectNear(over.from.point[1], 125, 0.01);
    expect(over.to.at[0]).toBe(1);
  });

  test('beside the neighbour count from foot to foot', () => {
    const { a, b } = seam(low, plane(0.03, 300, 0));
    for (const { gap } of seamStations(a, b, flatRadius).stations) expectNear(gap, 0.03, 1e-12);
  });

  test('against an edge that ends sooner count to its end', () => {
    const { a, b } = seam(
      low,
      swept(
        [
          [0, 0],
          [300, 0],
        ],
        null,
        499.9,
      ),
    );
    const { stations } = seamStations(a, b, flatRadius);
    expectNear(seamProfile(stations).gap.peak!.value, 0.1, 1e-9);
  });
});

describe('maxima are right to 1 %, against a sweep of 1601 even places', () => {
  /** Angle and normal curvatures across at the parameter that both sides share, by nothing of the seam. */
  function crossingAt(low: ControlNet, high: ControlNet, v: number) {
    const [p, q] = [
      surfaceJet(low, domain(low.knots[0], low.degree[0])[1], v),
      surfaceJet(high, domain(high.knots[0], high.degree[0])[0], v),
    ];
    const [n, m] = [surfaceNormal(p)!, surfaceNormal(q)!];
    const bends = [normalCurvature(p, cross(p.v, n))!, normalCurvature(q, cross(q.v, m))!] as const;
    return {
      angle: angleBetween(n, m),
      mismatch: mismatch(...bends, 1 / flatRadius),
    };
  }

  test.each(Object.keys(families))('%s', (name) => {
    const random = seededRandom(5);
    for (let round = 0; round < 4; round++) {
      const net = families[name](random);
      const { a, b } = splitPair(net, 0, random.between(0.3, 0.7));
      // rows beside the edge are pushed out of line
      const moves = [1, 2].flatMap((column) =>
        Array.from({ length: net.rows }, (_, row) => ({
          spot: { row, column },
          by: [0, 0, random.normal()] as const,
        })),
      );
      const pushed = { ...b, net: withMoves(b.net, moves) };
      const { stations, isSettled } = seamStations(a, pushed, flatRadius);
      expect(isSettled).toBe(true);
      const profile = seamProfile(stations);
      let [angle, relative] = [0, 0];
      for (let k = 0; k <= 1600; k++) {
        const there = crossingAt(a.net, pushed.net, k / 1600);
        angle = Math.max(angle, there.angle);
        relative = Math.max(relative, there.mismatch);
      }
      expectNear(Math.abs(profile.angle.peak!.value), angle, 0.01 * angle);
      expectNear(Math.abs(profile.mismatch.peak!.value), relative, 0.01 * relative);
      // seen from the other panel it is the same seam
      const other = seamProfile(seamStations(pushed, a, flatRadius).stations);
      for (const of of ['angle', 'mismatch', 'flow'] as const) {
        const peak = Math.abs(profile[of].peak!.value);
        expectNear(Math.abs(other[of].peak!.value), peak, 0.01 * peak);
        expectNear(other[of].mean!, profile[of].mean!, 0.02 * profile[of].mean!);
      }
    }
  });
});

describe('edges that are no rims', () => {
  const wave: SplineCurve = {
    dimension: 2,
    degree: 3,
    knots: clampedKnots(3, [0.4]),
    points: Float64Array.from([0.05, 0.3, 0.3, 0.9, 0.5, 0.1, 0.7, 0.8, 0.95, 0.4]),
    weights: Float64Array.from([1, 0.7, 1.4, 0.9, 1]),
  };

  test('a surface cut along a curve goes on as it was', () => {
    const random = seededRandom(3);
    for (const name of Object.keys(families)) {
      const net = families[name](random);
      const cut = (keptOnLeft: boolean): SeamSide => ({
        net,
        edge: { curve: wave, keptOnLeft, rim: null },
        from: 0,
        to: 1,
      });
      const pairs = [
        [cut(true), cut(false)],
        [cut(true), turnedSide(reversedSide(transposedSide(cut(false))))],
      ];
      for (const [a, b] of pairs) {
        const { stations } = seamStations(a, b, flatRadius);
        expect(stations.length).toBeGreaterThan(10);
        for (const { gap, crossing } of stations) {
          expect(gap).toBeLessThan(1e-9);
          expectNear(crossing!.angle, 0, 1e-9);
          expectNear(crossing!.bendJump, 0, 1e-9);
          expectNear(crossing!.rateJump, 0, 1e-9);
        }
      }
    }
  });

  test('across the seam of a surface that closes', () => {
    const net = revolvedNet(ellipseArc([700, 0], [200, 0], [0, 200], 0, 2 * Math.PI));
    const line = polyline([
      [5.9, 1],
      [6.9, 1.4],
    ]);
    const cut = (keptOnLeft: boolean): SeamSide => ({
      net,
      edge: { curve: line, keptOnLeft, rim: null },
      from: 0,
      to: 1,
    });
    const { stations } = seamStations(cut(true), cut(false), flatRadius);
    // about one radian round a circle of 800 mm
    const { run } = stations[stations.length - 1];
    expect(run).toBeGreaterThan(600);
    expect(run).toBeLessThan(1200);
    for (const { gap, crossing } of stations) {
      expect(gap).toBeLessThan(1e-9);
      expectNear(crossing!.angle, 0, 1e-11);
      expectNear(crossing!.rateJump, 0, 1e-12);
    }
  });

  test('along a line of knots each side has its own curvature', () => {
    // a cubic with a double knot: tangents go on, curvatures do not
    const random = seededRandom(12);
    const knots = clampedKnots(3, [0.5, 0.5]);
    const net = fittedNet([3, 3], [knots, clampedKnots(3)], (u, v) => [
      600 * u,
      400 * v,
      20 * u * u + 10 * v * v,
    ]);
    const bumped = withMoves(
      net,
      [0, 1, 2, 3].map((row) => ({
        spot: { row, column: 1 },
        by: [0, 0, 2 + random.uniform()] as const,
      })),
    );
    const cut = (keptOnLeft: boolean): SeamSide => ({
      net: bumped,
      edge: {
        curve: polyline([
          [0.5, 0],
          [0.5, 1],
        ]),
        keptOnLeft,
        rim: null,
      },
      from: 0,
      to: 1,
    });
    const { stations } = seamStations(cut(true), cut(false), flatRadius);
    for (const { at, crossing } of stations) {
      const [low, high] = [3, 5].map((span) => {
        const jet = surfaceJet(bumped, 0.5, at[0], [span, undefined]);
        return normalCurvature(jet, cross(jet.v, surfaceNormal(jet)!))!;
      });
      expect(Math.abs(high - low)).toBeGreaterThan(1e-5);
      expectNear(crossing!.angle, 0, 1e-12);
      expectNear(crossing!.a.bend, low, 1e-12);
      expectNear(crossing!.b.bend, high, 1e-12);
    }
  });
});

describe('any panel split at any parameter', () => {
  /** Measures as shares of what derivatives as long as this net's spans make possible could have. */
  function sharesOf(side: SeamSide, { at, gap, crossing }: SeamStation): Record<string, number> {
    const { net } = side;
    const [across, fixed] = [side.edge.rim!.side, side.edge.curve.points[side.edge.rim!.side]];
    const place = across === 0 ? ([fixed, at[0]] as const) : ([at[0], fixed] as const);
    const jet = thirdJet(net, ...place);
    const size = diagonal(net);
    // one span's width of a parameter, mm
    const [lu, lv] = ([0, 1] as const).map((k) => {
      const ends = domain(net.knots[k], net.degree[k]);
      const values = [
        ends[0],
        ...interiorBreakpoints(net.knots[k], net.degree[k]).map(({ value }) => value),
        ends[1],
      ];
      const narrowest = Math.min(...values.slice(1).map((value, i) => value - values[i]));
      return (length(k === 0 ? jet.u : jet.v) * narrowest) / Math.max(net.degree[k], 1);
    });
    const sine = length(cross(jet.u, jet.v)) / (length(jet.u) * length(jet.v));
    const step = Math.min(lu, lv) * sine;
    return {
      gap: gap / size,
      angle: Math.abs(crossing!.angle) / (size / step),
      bend: Math.abs(crossing!.a.bend - crossing!.b.bend) / (size / step ** 2),
      bendJump: Math.abs(crossing!.bendJump) / (size / step ** 2),
      rateJump: Math.abs(crossing!.rateJump) / (size / step ** 3 + (size / step ** 2) ** 2),
    };
  }

  test('has nothing between its parts, to 1e-9 relative', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 1e6 }),
        fc.boolean(),
        fc.constantFrom(0 as const, 1 as const),
        fc.double({ min: 0.02, max: 0.98, noNaN: true }),
        (seed, isRational, side, at) => {
          const net = randomNet(seededRandom(seed), isRational);
          // at a knot of a rough net there may be a break
          fc.pre(net.knots[side].every((knot) => Math.abs(knot - at) > 0.005));
          const { a, b } = splitPair(net, side, at);
          const { stations } = seamStations(a, b, flatRadius);
          for (const station of stations) {
            if (!station.crossing) continue;
            expect(Math.abs(station.at[0] - station.at[1])).toBeLessThan(1e-9);
            for (const [name, share] of Object.entries(sharesOf(b, station)))
              expect(share, name).toBeLessThan(1e-9);
          }
        },
      ),
      { numRuns: 150 },
    );
  });

  test.each(Object.entries(families))('%s: in its own measures', (_name, family) => {
    const random: SeededRandom = seededRandom(21);
    for (let round = 0; round < 5; round++) {
      const side = random.index(2) as 0 | 1;
      const { a, b } = splitPair(family(random), side, random.between(0.1, 0.9));
      const { stations } = seamStations(a, b, flatRadius);
      for (const { gap, crossing } of stations) {
        expect(gap).toBeLessThan(1e-9);
        const { a: low, b: high, angle, bendJump, rateJump } = crossing as Crossing;
        const bend = Math.max(Math.abs(low.bend), Math.abs(low.mean), 1e-5);
        expectNear(angle, 0, 1e-10);
        expectNear(high.bend, low.bend, 1e-9 * bend);
        expectNear(bendJump, 0, 1e-9 * bend);
        expectNear(rateJump, 0, 1e-9 * Math.max(Math.abs(low.rate), 1e-3 * bend));
      }
    }
  });
});

test('whatever two panels are given, no measure is NaN, and the same comes again', () => {
  fc.assert(
    fc.property(fc.integer({ min: 1, max: 1e6 }), (seed) => {
      const random = seededRandom(seed);
      const [p, q] = [randomNet(random, seed % 2 === 0), randomNet(random, seed % 3 === 0)];
      const ends = (): 0 | 1 => random.index(2) as 0 | 1;
      const a = rimSide(p, ends(), ends());
      const b = turnedSide(rimSide(q, ends(), ends()));
      const { stations } = seamStations(a, b, 1e5);
      for (const { gap, run, crossing } of stations) {
        const values = crossing
          ? [crossing.angle, crossing.bendJump, crossing.mismatch, crossing.rateJump, crossing.flow]
          : [];
        expect([gap, run, ...values].every(Number.isFinite)).toBe(true);
      }
      expect(stations.every(({ run }, k) => k === 0 || run >= stations[k - 1].run)).toBe(true);
      expect(seamStations(a, b, 1e5).stations).toEqual(stations);
    }),
    { numRuns: 40 },
  );
});

test('a stretch without a length has one place and no mean but its own', () => {
  const { pair } = analytic['two planes that fall off by 0.1 degrees'];
  const { stations } = seamStations(
    { ...pair.a, from: 0.5, to: 0.5 },
    { ...pair.b, from: 0.5, to: 0.5 },
    flatRadius,
  );
  const { length: whole, angle } = seamProfile(stations);
  expect(whole).toBe(0);
  expectNear(angle.peak!.value, degrees(0.1), 1e-12);
  expectNear(angle.mean!, degrees(0.1), 1e-12);
  expect(stretchesOver(stations, seamMeasures.angle, 0)).toEqual([]);
});

test('a part of a rim is measured from one end of the stretch to the other', () => {
  const { pair } = analytic['two planes that fall off by 0.1 degrees'];
  const b = { ...pair.b, net: partOf(pair.b.net, 1, 0.2, 0.7) };
  const { stations } = seamStations(
    { ...pair.a, from: 0.2, to: 0.7 },
    rimSide(b.net, 0, 0),
    flatRadius,
  );
  expectNear(stations[stations.length - 1].run, 250, 1e-9);
  expect(seamProfile(stations).gap.peak!.value).toBeLessThan(1e-9);
});

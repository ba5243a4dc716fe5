import { describe, expect, test } from 'vitest';
import { randomNet } from '../../fixtures/randomNet.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { transposed, type ControlNet } from '../../src/geometry/controlNet.ts';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import { domain } from '../../src/geometry/knots.ts';
import {
  curvePart,
  ellipseArc,
  polyline,
  reversedCurve,
  type SplineCurve,
} from '../../src/geometry/splineCurve.ts';
import { trimmedRegion, type BorderPiece, type TrimRegion } from '../../src/geometry/trimRegion.ts';
import { trimTest } from '../../src/geometry/trimTest.ts';
import { dot, unit, type Vector } from '../../src/geometry/vector.ts';
import { revolvedNet, sphere } from './revolvedNet.ts';

const inSpace = (...curves: SplineCurve[]): BorderPiece[] =>
  curves.map((space) => ({ plane: null, space }));
const inPlane = (...curves: SplineCurve[]): BorderPiece[] =>
  curves.map((plane) => ({ plane, space: null }));

function regionOf(net: ControlNet, borders: readonly BorderPiece[][], tolerance = 0): TrimRegion {
  const region = trimmedRegion(net, borders, tolerance);
  if ('trouble' in region) throw new Error(JSON.stringify(region));
  return region;
}

/**
 * Holds a region against what is kept of space: `kept` is positive there, and as a distance in mm no
 * more than that to the border. Returns how many of 3000 places are inside.
 */
function held(net: ControlNet, region: TrimRegion, kept: (p: Vector) => number): number {
  const side = trimTest(net, region);
  const random = seededRandom(7);
  const [us, vs] = [0, 1].map((k) => domain(net.knots[k], net.degree[k]));
  let inside = 0;
  for (let k = 0; k < 3000; k++) {
    const [u, v] = [random.between(...us), random.between(...vs)];
    const found = side(u, v);
    const depth = kept(surfacePoint(net, u, v));
    if (found === 'border') expect(Math.abs(depth)).toBeLessThan(2 * region.tolerance);
    // off the surface by the reach, and from its legs by a quarter of that
    else if (Math.abs(depth) > 2 * region.tolerance)
      expect([u, v, depth, found]).toEqual([u, v, depth, depth > 0 ? 'inside' : 'outside']);
    if (found === 'inside') inside += 1;
  }
  return inside;
}

const radius = 100;
const ball = sphere(radius);
/** The circle that a plane square to `axis`, `height` from the middle, cuts from the sphere. */
function circleAbout(axis: Vector, height: number, from = 0, to = 2 * Math.PI): SplineCurve {
  const n = unit(axis)!;
  const side: Vector = Math.abs(n[2]) < 0.9 ? [0, 0, 1] : [1, 0, 0];
  const a = unit([
    n[1] * side[2] - n[2] * side[1],
    n[2] * side[0] - n[0] * side[2],
    n[0] * side[1] - n[1] * side[0],
  ])!;
  const b: Vector = [
    n[1] * a[2] - n[2] * a[1],
    n[2] * a[0] - n[0] * a[2],
    n[0] * a[1] - n[1] * a[0],
  ];
  const r = Math.sqrt(radius * radius - height * height);
  return ellipseArc(
    n.map((x) => x * height),
    a.map((x) => x * r),
    b.map((x) => x * r),
    from,
    to,
  );
}
/** Positive where a point of the sphere lies beyond that plane: its depth under the border is more. */
const beyond =
  (axis: Vector, height: number) =>
  (p: Vector): number => {
    const angle = Math.acos(Math.min(Math.max(dot(unit(axis)!, p) / radius, -1), 1));
    return (Math.acos(height / radius) - angle) * radius;
  };

describe('circles on a sphere, given in space', () => {
  test.each<[string, Vector, number]>([
    ['away from seam and poles', [-1, 1, 0.3], 80],
    ['over the seam', [1, 0, 0.2], 90],
    ['touching nothing, small', [0, -1, -0.5], 99.5],
    ['of more than half the sphere', [-1, -0.2, 0.1], 30],
  ])('%s', (_, axis, height) => {
    const circle = circleAbout(axis, height);
    for (const one of [circle, reversedCurve(circle)]) {
      const region = regionOf(ball, [inSpace(one)]);
      expect(held(ball, region, beyond(axis, height))).toBeGreaterThan(0);
    }
  });
});

/** The part of a great circle from the south to the north pole, at an angle about z. */
const meridian = (angle: number, from = 0, to = Math.PI): SplineCurve =>
  ellipseArc(
    [0, 0, 0],
    [0, 0, -radius],
    [radius * Math.cos(angle), radius * Math.sin(angle), 0],
    from,
    to,
  );
const latitude = (height: number, from = 0, to = 2 * Math.PI): SplineCurve => {
  const r = Math.sqrt(radius * radius - height * height);
  return ellipseArc([0, 0, height], [r, 0, 0], [0, r, 0], from, to);
};
const point = (x: number, y: number, z: number): SplineCurve =>
  polyline([
    [x, y, z],
    [x, y, z],
  ]);
/** Depth below the plane z = height on the sphere, along it. */
const above = (height: number) => beyond([0, 0, 1], height);

describe('seams and collapsed edges of a sphere, given in space', () => {
  test('a seam run up and down is the whole sphere', () => {
    const region = regionOf(ball, [inSpace(meridian(0), reversedCurve(meridian(0)))]);
    expect(held(ball, region, () => Infinity)).toBeGreaterThan(2990);
  });
  test('a piece along a collapsed edge has no length, and the loop runs straight there', () => {
    const border = inSpace(
      meridian(0),
      point(0, 0, radius),
      reversedCurve(meridian(0)),
      point(0, 0, -radius),
    );
    expect(held(ball, regionOf(ball, [border]), () => Infinity)).toBeGreaterThan(2990);
  });
  test('a wedge between two meridians', () => {
    const border = inSpace(meridian(2), reversedCurve(meridian(1)));
    const wedge = (p: Vector): number => {
      const r = Math.hypot(p[0], p[1]);
      const angle = Math.atan2(p[1], p[0]);
      return Math.min(Math.sin(angle - 1), Math.sin(2 - angle)) * r;
    };
    for (const one of [border, border.toReversed(), inSpace(meridian(2), meridian(1))])
      expect(held(ball, regionOf(ball, [one]), wedge)).toBeGreaterThan(300);
  });
  test('an octant: three quarter circles, one corner a pole', () => {
    const border = inSpace(
      latitude(0, 0, Math.PI / 2),
      meridian(Math.PI / 2, Math.PI / 2, Math.PI),
      reversedCurve(meridian(0, Math.PI / 2, Math.PI)),
    );
    const octant = (p: Vector): number => Math.min(...p);
    expect(held(ball, regionOf(ball, [border]), octant)).toBeGreaterThan(300);
  });
  test('a circle through both poles keeps half', () => {
    const border = inSpace(meridian(1), reversedCurve(meridian(1 + Math.PI)));
    const region = regionOf(ball, [border]);
    const side = (p: Vector): number =>
      Math.sin(Math.atan2(p[1], p[0]) - 1) * Math.hypot(p[0], p[1]);
    // either half has that border: the one in the domain is told
    expect(held(ball, region, side)).toBeGreaterThan(1200);
  });
  test('two circles of latitude keep what lies between them, however they run', () => {
    const between = (p: Vector): number => Math.min(above(-30)(p), -above(60)(p));
    for (const low of [latitude(-30), reversedCurve(latitude(-30))])
      for (const high of [latitude(60), reversedCurve(latitude(60))])
        for (const borders of [
          [inSpace(low), inSpace(high)],
          [inSpace(high), inSpace(low)],
        ])
          expect(held(ball, regionOf(ball, borders), between)).toBeGreaterThan(300);
  });
  test('a lone circle of latitude keeps what lies to its left', () => {
    expect(held(ball, regionOf(ball, [inSpace(latitude(40))]), above(40))).toBeGreaterThan(300);
    const rest = (p: Vector): number => -above(40)(p);
    const turned = regionOf(ball, [inSpace(reversedCurve(latitude(40)))]);
    expect(held(ball, turned, rest)).toBeGreaterThan(300);
  });
  test('with the seam, by one loop: circle, seam, circle, seam', () => {
    const low = Math.asin(-0.3) + Math.PI / 2;
    const high = Math.asin(0.6) + Math.PI / 2;
    const seam = meridian(0, low, high);
    const between = (p: Vector): number => Math.min(above(-30)(p), -above(60)(p));
    const border = [latitude(-30), seam, reversedCurve(latitude(60)), reversedCurve(seam)];
    expect(held(ball, regionOf(ball, [inSpace(...border)]), between)).toBeGreaterThan(300);
    // any piece of it may have been given backwards, a closed one too
    border.forEach((_, k) => {
      const wrong = border.map((curve, at) => (at === k ? reversedCurve(curve) : curve));
      expect(held(ball, regionOf(ball, [inSpace(...wrong)]), between)).toBeGreaterThan(300);
    });
  });
});

describe('a tube that closes in one direction', () => {
  const tube = revolvedNet(
    polyline([
      [50, 0],
      [50, 200],
    ]),
  );
  const ring = (z: number): SplineCurve =>
    ellipseArc([0, 0, z], [50, 0, 0], [0, 50, 0], 0, 2 * Math.PI);
  const seam = polyline([
    [50, 0, 0],
    [50, 0, 200],
  ]);
  const whole = [ring(0), seam, reversedCurve(ring(200)), reversedCurve(seam)];
  const slant = ellipseArc([0, 0, 100], [50, 0, 40], [0, 50, 0], 0, 2 * Math.PI);
  /** Below the plane z = 100 + 0.8 x; a mm across it is at most so much along the tube. */
  const under = ([x, , z]: Vector): number => (100 + 0.8 * x - z) / Math.hypot(1, 0.8);
  for (const [name, net] of [
    ['in u', tube],
    ['in v', transposed(tube)],
  ] as const) {
    test(`${name}: its own edges and its seam are all of it`, () => {
      for (const border of [whole, whole.map(reversedCurve).toReversed()])
        expect(held(net, regionOf(net, [inSpace(...border)]), () => Infinity)).toBeGreaterThan(
          2990,
        );
    });
    test(`${name}: cut slantwise`, () => {
      const region = regionOf(net, [inSpace(ring(0)), inSpace(slant)]);
      expect(held(net, region, under)).toBeGreaterThan(1400);
    });
    test(`${name}: a window over the seam, in the plane and in space`, () => {
      const corner = (y: number, z: number): number[] => [Math.sqrt(2500 - y * y), y, z];
      const arc = (z: number): SplineCurve => {
        const angle = Math.asin(20 / 50);
        return ellipseArc([0, 0, z], [50, 0, 0], [0, 50, 0], -angle, angle);
      };
      const window = [
        arc(60),
        polyline([corner(20, 60), corner(20, 90)]),
        reversedCurve(arc(90)),
        polyline([corner(-20, 90), corner(-20, 60)]),
      ];
      const outOf = ([x, y, z]: Vector): number =>
        x < 0 ? 50 : Math.max(60 - z, z - 90, (Math.abs(y) - 20) * 0.9);
      const region = regionOf(net, [inSpace(...whole), inSpace(...window)]);
      expect(held(net, region, outOf)).toBeGreaterThan(2500);
    });
  }
  test('what is closed in space and not in the plane is taken round by a period', () => {
    const z = [0.2, 0.4];
    const quarter = Math.PI / 2;
    const window = inPlane(
      polyline([
        [4 * quarter - 0.3, z[0]],
        [4 * quarter, z[0]],
      ]),
      polyline([
        [0, z[0]],
        [0.3, z[0]],
        [0.3, z[1]],
        [0, z[1]],
      ]),
      polyline([
        [4 * quarter, z[1]],
        [4 * quarter - 0.3, z[1]],
        [4 * quarter - 0.3, z[0]],
      ]),
    );
    const knots = tube.knots[1];
    const scaledWindow = window.map(({ plane, space }) => ({
      space,
      plane: { ...plane!, points: plane!.points.map((x, k) => (k % 2 ? x * knots[2] : x)) },
    }));
    const side = trimTest(tube, regionOf(tube, [scaledWindow]));
    const at = (u: number, share: number): string => side(u, share * knots[2]);
    expect([at(0.1, 0.3), at(4 * quarter - 0.1, 0.3), at(1, 0.3), at(0.1, 0.5)]).toEqual([
      'inside',
      'inside',
      'outside',
      'outside',
    ]);
  });
});

describe('what both plane and space say', () => {
  const size = 100;
  const flat: ControlNet = {
    degree: [1, 1],
    knots: [Float64Array.from([0, 0, 1, 1]), Float64Array.from([0, 0, 1, 1])],
    columns: 2,
    rows: 2,
    points: Float64Array.from([0, 0, 0, size, 0, 0, 0, size, 0, size, size, 0]),
    weights: null,
  };
  const whole = 2 * Math.PI;
  const plane = ellipseArc([0.5, 0.5], [0.3, 0], [0, 0.3], 0, whole);
  const wrong = ellipseArc([0.4, 0.5], [0.3, 0], [0, 0.3], 0, whole);
  const space = ellipseArc([50, 50, 0], [30, 0, 0], [0, 30, 0], 0, whole);
  const off = ellipseArc([50, 50, 2], [30, 0, 0], [0, 30, 0], 0, whole);
  const disc = ([x, y]: Vector): number => 30 - Math.hypot(x - 50, y - 50);

  test('the plane is believed where both agree, whatever the parameters', () => {
    const region = regionOf(flat, [[{ plane, space: reversedCurve(space) }]]);
    expect(region.loops[0].curves[0]).toBe(plane);
    held(flat, region, disc);
  });
  test('space is believed where the plane is wrong', () => {
    const region = regionOf(flat, [[{ plane: wrong, space }]]);
    expect(held(flat, region, disc)).toBeGreaterThan(700);
  });
  test('the plane is believed where space is off the surface', () => {
    expect(regionOf(flat, [[{ plane, space: off }]]).loops[0].curves[0]).toBe(plane);
  });
  test('off the surface is told with the gap', () => {
    const found = trimmedRegion(flat, [[{ plane: null, space: off }]], 0.1);
    expect(found).toEqual({ trouble: 'off-surface', loop: 0, gap: 2 });
    expect(trimmedRegion(flat, [[{ plane: null, space: off }]], 2.5)).toHaveProperty('loops');
  });
  test('beyond its edge is off the surface too', () => {
    const past = ellipseArc([80, 50, 0], [30, 0, 0], [0, 30, 0], 0, whole);
    const found = trimmedRegion(flat, [inSpace(past)], 0.1);
    expect(found).toMatchObject({ trouble: 'off-surface', gap: 10 });
  });

  const corners = [
    [10, 10, 0],
    [90, 10, 0],
    [90, 90, 0],
    [10, 90, 0],
  ];
  const sides = corners.map((from, k) => polyline([from, corners[(k + 1) % 4]]));
  const square = ([x, y]: Vector): number => Math.min(x - 10, 90 - x, y - 10, 90 - y);
  test('every piece may have been given backwards', () => {
    for (let wrongs = 0; wrongs < 16; wrongs++) {
      const some = sides.map((side, k) => ((wrongs >> k) & 1 ? reversedCurve(side) : side));
      expect(held(flat, regionOf(flat, [inSpace(...some)]), square)).toBeGreaterThan(1500);
    }
  });
  test('the ends may miss by the tolerance, no more', () => {
    const shorter = curvePart(sides[3], 0, 0.99);
    const border = inSpace(...sides.slice(0, 3), shorter);
    const found = trimmedRegion(flat, [border], 0.5);
    if (!('trouble' in found) || found.trouble !== 'open') throw new Error('closed');
    expect(found.gap).toBeCloseTo(0.8, 9);
    expect(trimmedRegion(flat, [border], 0.9)).toHaveProperty('loops');
  });
  test('pieces without a length are dropped, and a loop of them is empty', () => {
    const border = inSpace(sides[0], point(90, 10, 0), ...sides.slice(1));
    expect(held(flat, regionOf(flat, [border]), square)).toBeGreaterThan(1500);
    const none = [inSpace(...sides), inSpace(point(1, 1, 0)), []];
    expect(trimmedRegion(flat, none, 0.1)).toEqual({ trouble: 'empty', loop: 1 });
    expect(trimmedRegion(flat, [[]], 0.1)).toEqual({ trouble: 'empty', loop: 0 });
  });
  test.each<[string, Partial<SplineCurve>]>([
    ['a point that is no number', { points: Float64Array.from([0, 0, NaN, 1, 1, 0]) }],
    ['a point at infinity', { points: Float64Array.from([0, 0, Infinity, 1, 1, 0]) }],
    ['a knot that is no number', { knots: Float64Array.from([0, 0, NaN, 2, 2]) }],
    ['knots that decrease', { knots: Float64Array.from([0, 0, 3, 2, 2]) }],
    ['knots without extent', { knots: Float64Array.from([1, 1, 1, 1, 1]) }],
    ['too few knots', { knots: Float64Array.from([0, 2, 2]) }],
    ['a degree that is none', { degree: 0 }],
    ['too many weights', { weights: Float64Array.from([1, 1, 1, 1]) }],
    ['a weight of nought', { weights: Float64Array.from([1, 0, 1]) }],
  ])('%s is no curve', (_, change) => {
    const line = polyline([
      [0, 0],
      [1, 1],
      [0, 0],
    ]);
    const curve = { ...line, ...change };
    expect(trimmedRegion(flat, [inPlane(curve)], 0.1)).toEqual({ trouble: 'unsound', loop: 0 });
    const space = { ...curve, dimension: 3 as const };
    expect(trimmedRegion(flat, [inPlane(line), inSpace(space)], 0.1)).toEqual({
      trouble: 'unsound',
      loop: 1,
    });
  });
});

describe('the edges of a patch, given in space, keep all of it', () => {
  /** The four edges one after the other: exact, as the net is clamped. */
  function edges(net: ControlNet): SplineCurve[] {
    const row = (one: ControlNet, at: number): SplineCurve => ({
      dimension: 3,
      degree: one.degree[0],
      knots: one.knots[0],
      points: one.points.slice(3 * at * one.columns, 3 * (at + 1) * one.columns),
      weights: one.weights && one.weights.slice(at * one.columns, (at + 1) * one.columns),
    });
    const other = transposed(net);
    return [
      row(net, 0),
      row(other, net.columns - 1),
      reversedCurve(row(net, net.rows - 1)),
      reversedCurve(row(other, 0)),
    ];
  }
  test.each([1, 2, 3, 4, 5, 6, 7, 8])('a patch of any shape, %d', (seed) => {
    const net = randomNet(seededRandom(seed), seed % 2 === 1);
    const region = regionOf(net, [inSpace(...edges(net))]);
    expect(held(net, region, () => Infinity)).toBeGreaterThan(2990);
  });
  const sector: ControlNet = {
    ...revolvedNet(
      polyline([
        [80, 0],
        [0, 120],
      ]),
    ),
    knots: [Float64Array.from([0, 0, 0, 1, 1, 1]), Float64Array.from([0, 0, 1, 1])],
    columns: 3,
    points: Float64Array.from([80, 0, 0, 80, 80, 0, 0, 80, 0, 0, 0, 120, 0, 0, 120, 0, 0, 120]),
    weights: Float64Array.from([1, Math.SQRT1_2, 1, 1, Math.SQRT1_2, 1]),
  };
  test('a cone sector whose edge at the tip is a point', () => {
    const border = edges(sector);
    for (const some of [border, border.toSpliced(2, 1)])
      for (const [net, curves] of [
        [sector, some],
        [transposed(sector), some],
      ] as const)
        expect(held(net, regionOf(net, [inSpace(...curves)]), () => Infinity)).toBeGreaterThan(
          2990,
        );
  });
  test('a line through the tip cuts it in two', () => {
    const [x, y] = [80 * Math.cos(0.6), 80 * Math.sin(0.6)];
    const border = [
      ellipseArc([0, 0, 0], [80, 0, 0], [0, 80, 0], 0, 0.6),
      polyline([
        [x, y, 0],
        [0, 0, 120],
      ]),
      polyline([
        [0, 0, 120],
        [80, 0, 0],
      ]),
    ];
    const below = ([px, py]: Vector): number => px * Math.sin(0.6) - py * Math.cos(0.6);
    const inside = held(sector, regionOf(sector, [inSpace(...border)]), below);
    expect(inside).toBeGreaterThan(1000);
  });
});

test('a long curve far off the surface is told without searching it all', () => {
  const zigzag = polyline(
    Array.from({ length: 20_000 }, (_, k) => [k, k % 2, k === 0 ? 0 : 500 + (k % 7)]),
  );
  const start = performance.now();
  expect(trimmedRegion(ball, [inSpace(zigzag)], 0.1)).toMatchObject({ trouble: 'off-surface' });
  expect(performance.now() - start).toBeLessThan(5000);
});

import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { randomNet } from '../../fixtures/randomNet.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { transposed, type ControlNet } from '../../src/geometry/controlNet.ts';
import { surfaceJet, surfacePoint } from '../../src/geometry/evaluation.ts';
import {
  curvePart,
  curvePoint,
  ellipseArc,
  polyline,
  reversedCurve,
  type Coordinates,
  type SplineCurve,
} from '../../src/geometry/splineCurve.ts';
import { tangentBounds } from '../../src/geometry/tangentBounds.ts';
import { trimmedRegion, type TrimRegion } from '../../src/geometry/trimRegion.ts';
import { trimTest, type Side } from '../../src/geometry/trimTest.ts';
import { distance, length } from '../../src/geometry/vector.ts';

const bilinear = (points: readonly number[]): ControlNet => ({
  degree: [1, 1],
  knots: [Float64Array.from([0, 0, 1, 1]), Float64Array.from([0, 0, 1, 1])],
  columns: 2,
  rows: 2,
  points: Float64Array.from(points),
  weights: null,
});
/** A plane square of 100 mm, 100 mm a parameter unit. */
const flat = bilinear([0, 0, 0, 100, 0, 0, 0, 100, 0, 100, 100, 0]);

function regionOf(net: ControlNet, loops: readonly SplineCurve[][]): TrimRegion {
  const borders = loops.map((curves) => curves.map((plane) => ({ plane, space: null })));
  const region = trimmedRegion(net, borders, 0);
  if ('trouble' in region) throw new Error(JSON.stringify(region));
  return region;
}
const testOf = (net: ControlNet, loops: readonly SplineCurve[][]) =>
  trimTest(net, regionOf(net, loops));

const closedLine = (points: readonly Coordinates[]): SplineCurve =>
  polyline([...points, points[0]]);
const box = (low: number, high: number): SplineCurve =>
  closedLine([
    [low, low],
    [high, low],
    [high, high],
    [low, high],
  ]);

describe('facts', () => {
  test('a disc holds pi r^2 of the places (Archimedes)', () => {
    const side = testOf(flat, [[ellipseArc([0.5, 0.5], [0.3, 0], [0, 0.3], 0, 2 * Math.PI)]]);
    const random = seededRandom(3);
    const count = 100_000;
    let inside = 0;
    for (let k = 0; k < count; k++)
      if (side(random.uniform(), random.uniform()) === 'inside') inside += 1;
    const share = Math.PI * 0.09;
    // five standard deviations of a binomial count, and what is called border
    const bound = 5 * Math.sqrt(count * share * (1 - share)) + count * 2 * Math.PI * 0.3 * 2e-5;
    expect(Math.abs(inside - count * share)).toBeLessThan(bound);
  });
  test('a square with a square hole, and a square in that', () => {
    const side = testOf(flat, [[box(0.1, 0.9)], [box(0.3, 0.7)], [box(0.45, 0.55)]]);
    const random = seededRandom(4);
    for (let k = 0; k < 20_000; k++) {
      const [u, v] = [random.uniform(), random.uniform()];
      const ring = Math.max(Math.abs(u - 0.5), Math.abs(v - 0.5));
      if ([0.05, 0.2, 0.4].some((edge) => Math.abs(ring - edge) < 1e-5 + 1e-12)) continue;
      const kept = ring < 0.05 || (ring > 0.2 && ring < 0.4);
      expect([u, v, side(u, v)]).toEqual([u, v, kept ? 'inside' : 'outside']);
    }
  });
  test('half a plane, to the tolerance', () => {
    const triangle = closedLine([
      [0, 0],
      [1, 0],
      [1, 1],
    ]);
    const region = regionOf(flat, [[triangle]]);
    const side = trimTest(flat, region);
    const random = seededRandom(5);
    for (let k = 0; k < 20_000; k++) {
      const u = random.between(0.05, 0.95);
      // (u - v) / sqrt(2) is the distance to the diagonal
      const away = region.tolerance * random.between(1.001, 20);
      const v = (sign: 1 | -1): number => u - (sign * away * Math.SQRT2) / 100;
      expect([side(u, v(1)), side(u, v(-1))]).toEqual(['inside', 'outside']);
      const near = region.tolerance * random.between(0, 0.7);
      expect(side(u, u + (near * Math.SQRT2) / 100)).toBe('border');
    }
  });
  test('level edges, corners at the ray and points of corners', () => {
    const side = testOf(flat, [
      [
        closedLine([
          [0.1, 0.2],
          [0.3, 0.2],
          [0.3, 0.5],
          [0.5, 0.5],
          [0.6, 0.2],
          [0.7, 0.5],
          [0.8, 0.8],
          [0.9, 0.5],
          [0.95, 0.9],
          [0.2, 0.9],
          [0.2, 0.5],
          [0.1, 0.5],
        ]),
      ],
    ]);
    const row = (v: number, us: readonly number[]): Side[] => us.map((u) => side(u, v));
    expect(row(0.5, [0.05, 0.15, 0.25, 0.4, 0.6, 0.8, 0.97])).toEqual([
      'outside',
      'border',
      'inside',
      'border',
      'inside',
      'outside',
      'outside',
    ]);
    expect(row(0.2, [0.05, 0.2, 0.4, 0.6, 0.8])).toEqual([
      'outside',
      'border',
      'outside',
      'border',
      'outside',
    ]);
    expect(row(0.8, [0.1, 0.5, 0.8, 0.85, 0.97])).toEqual([
      'outside',
      'inside',
      'border',
      'inside',
      'outside',
    ]);
    expect(row(0.9, [0.1, 0.5, 0.97])).toEqual(['outside', 'border', 'outside']);
  });
  test('a curve that is level where the ray meets it', () => {
    const side = testOf(flat, [[ellipseArc([0.5, 0.5], [0.3, 0], [0, 0.3], 0, 2 * Math.PI)]]);
    expect([side(0.1, 0.8), side(0.9, 0.8), side(0.5, 0.8), side(0.1, 0.2)]).toEqual([
      'outside',
      'outside',
      'border',
      'outside',
    ]);
    expect([side(0.1, 0.5), side(0.5, 0.5), side(0.9, 0.5)]).toEqual([
      'outside',
      'inside',
      'outside',
    ]);
  });
  test('outside the domain, and what is no number, is outside', () => {
    const side = testOf(flat, [[box(-1, 2)]]);
    expect([side(0.5, 0.5), side(0, 1), side(-0.1, 0.5), side(0.5, 1.5), side(NaN, 0.5)]).toEqual([
      'inside',
      'inside',
      'outside',
      'outside',
      'outside',
    ]);
  });
  test('without a loop nothing is kept', () => {
    expect(trimTest(flat, { loops: [], tolerance: 0.01 })(0.5, 0.5)).toBe('outside');
  });
});

describe('derivatives', () => {
  test.each([false, true])('keep below their bounds (rational: %s)', (rational) => {
    const random = seededRandom(11);
    for (let k = 0; k < 40; k++) {
      const net = randomNet(random, rational);
      const bounds = tangentBounds(net);
      for (let look = 0; look < 50; look++) {
        const [u, v] = [random.uniform(), random.uniform()];
        const jet = surfaceJet(net, u, v);
        const most = bounds([u, u], [v, v]);
        expect(length(jet.u)).toBeLessThanOrEqual(most[0] * (1 + 1e-12));
        expect(length(jet.v)).toBeLessThanOrEqual(most[1] * (1 + 1e-12));
        const wide = bounds([u - 0.1, u + 0.1], [v - 0.1, v + 0.1]);
        expect(wide[0]).toBeGreaterThanOrEqual(most[0]);
      }
    }
  });
  test('are met by a flat patch', () => {
    expect(tangentBounds(flat)([0.2, 0.3], [0.2, 0.3])).toEqual([100, 100]);
  });
});

/** A closed curve about the middle, of degree 1 to 4, in one to four pieces of it. */
const loops: fc.Arbitrary<SplineCurve[]> = fc
  .record({
    degree: fc.integer({ min: 1, max: 4 }),
    radii: fc.array(fc.double({ min: 0.05, max: 0.45, noNaN: true }), {
      minLength: 6,
      maxLength: 9,
    }),
    weights: fc.array(fc.double({ min: 0.3, max: 3, noNaN: true }), {
      minLength: 14,
      maxLength: 14,
    }),
    rational: fc.boolean(),
    middle: fc.tuple(
      fc.double({ min: 0.4, max: 0.6, noNaN: true }),
      fc.double({ min: 0.4, max: 0.6, noNaN: true }),
    ),
  })
  .map(({ degree, radii, weights, rational, middle }) => {
    const poles = radii.map((r, k) => {
      const angle = (2 * Math.PI * k) / radii.length;
      return [middle[0] + r * Math.cos(angle), middle[1] + r * Math.sin(angle)];
    });
    // unclamped, the first poles once more at the end: closed, and smooth there
    const all = [...poles, ...poles.slice(0, degree)];
    const share = radii.map((_, k) => weights[k]);
    return [
      {
        dimension: 2,
        degree,
        knots: Float64Array.from({ length: all.length + degree + 1 }, (_, k) => k),
        points: Float64Array.from(all.flat()),
        weights: rational ? Float64Array.from([...share, ...share.slice(0, degree)]) : null,
      },
    ];
  });

const places = (seed: number, count = 60): [number, number][] => {
  const random = seededRandom(seed);
  return Array.from({ length: count }, () => [random.uniform(), random.uniform()]);
};

/** Points along a loop, close together. */
function fineLine(curves: readonly SplineCurve[], steps = 600): number[][] {
  return curves.flatMap((curve) => {
    const [from, to] = [curve.knots[curve.degree], curve.knots.at(-1 - curve.degree)!];
    return Array.from({ length: steps }, (_, k) =>
      curvePoint(curve, from + (k / steps) * (to - from)),
    );
  });
}

/** Winding number, odd or not, by the angles under which each leg of a line is seen; null too near it. */
function oddTurns(line: readonly number[][], [u, v]: readonly number[]): boolean | null {
  let total = 0;
  for (const [k, a] of line.entries()) {
    const b = line[(k + 1) % line.length];
    const [ax, ay, bx, by] = [a[0] - u, a[1] - v, b[0] - u, b[1] - v];
    if (Math.hypot(ax, ay) < 5e-3) return null;
    total += Math.atan2(ax * by - ay * bx, ax * bx + ay * by);
  }
  return Math.round(total / (2 * Math.PI)) % 2 !== 0;
}

const inUnit = (x: number): boolean => x >= 0 && x <= 1;

const kept = (odd: boolean): Side => (odd ? 'inside' : 'outside');

describe('any loops', () => {
  test('agree with the turns of a fine line, hole or no hole, on any surface', () => {
    fc.assert(
      fc.property(fc.array(loops, { minLength: 1, maxLength: 3 }), fc.nat(1000), (some, seed) => {
        const net = randomNet(seededRandom(seed), seed % 2 === 1);
        const side = testOf(net, some);
        const lines = some.map((curves) => fineLine(curves));
        for (const place of places(seed)) {
          const odd = lines.map((line) => oddTurns(line, place));
          if (odd.includes(null)) continue;
          const found = side(...place);
          // lines that are 5e-3 away are no border; this net's tolerance is 1e-5 of it
          expect([place, found]).toEqual([
            place,
            kept(odd.filter((one) => one === true).length % 2 === 1),
          ]);
        }
      }),
      { numRuns: 60 },
    );
  });

  test('have borders as wide as the tolerance, on the surface', () => {
    let borders = 0;
    fc.assert(
      fc.property(loops, fc.nat(1000), ([curve], seed) => {
        const random = seededRandom(seed);
        const net = randomNet(random, seed % 2 === 1);
        const region = regionOf(net, [[curve]]);
        const side = trimTest(net, region);
        const bounds = tangentBounds(net)([0, 1], [0, 1]);
        const [from, to] = [curve.knots[curve.degree], curve.knots.at(-1 - curve.degree)!];
        for (let k = 0; k < 30; k++) {
          const t = random.between(from, to);
          const [u, v] = curvePoint(curve, t);
          if (!inUnit(u) || !inUnit(v)) continue;
          const jet = surfaceJet(net, u, v);
          const angle = random.between(0, 2 * Math.PI);
          const size = random.between(0, 3) * region.tolerance;
          const off = [
            (size * Math.cos(angle)) / length(jet.u),
            (size * Math.sin(angle)) / length(jet.v),
          ];
          if (!inUnit(u + off[0]) || !inUnit(v + off[1])) continue;
          const found = side(u + off[0], v + off[1]);
          if (Math.hypot(off[0] * bounds[0], off[1] * bounds[1]) < region.tolerance / Math.SQRT2)
            expect(found).toBe('border');
          if (found !== 'border') continue;
          borders += 1;
          const place = surfacePoint(net, u + off[0], v + off[1]);
          const away = (other: number): number => {
            const [a, b] = curvePoint(curve, Math.min(Math.max(other, from), to));
            return distance(place, surfacePoint(net, a, b));
          };
          // the nearest point, by finer and finer looks around the best one
          let nearest = t;
          for (let step = (to - from) / 2e3; step > (to - from) * 1e-9; step /= 8)
            for (let i = -20; i <= 20; i++)
              if (away(nearest + i * step) < away(nearest)) nearest += i * step;
          expect(away(nearest)).toBeLessThan(1.01 * region.tolerance);
        }
      }),
      { numRuns: 60 },
    );
    expect(borders).toBeGreaterThan(100);
  });

  test('turned about, cut in two, or with u and v changed over are the same', () => {
    fc.assert(
      fc.property(
        loops,
        fc.double({ min: 0.01, max: 0.99, noNaN: true }),
        fc.nat(1000),
        ([curve], share, seed) => {
          const [from, to] = [curve.knots[curve.degree], curve.knots.at(-1 - curve.degree)!];
          const cut = from + share * (to - from);
          const side = testOf(flat, [[curve]]);
          const cutSide = testOf(flat, [[curvePart(curve, from, cut), curvePart(curve, cut, to)]]);
          const turnedSide = testOf(flat, [[reversedCurve(curve)]]);
          const swapped: SplineCurve = {
            ...curve,
            points: curve.points.map((_, k) => curve.points[k % 2 === 0 ? k + 1 : k - 1]),
          };
          const swappedSide = testOf(transposed(flat), [[swapped]]);
          for (const [u, v] of places(seed)) {
            const found = side(u, v);
            if (found === 'border') continue;
            const others = [cutSide(u, v), turnedSide(u, v), swappedSide(v, u)];
            for (const other of others) if (other !== 'border') expect(other).toBe(found);
          }
          // on the border they agree as well
          for (const [u, v] of fineLine([curve], 20).filter((place) => place.every(inUnit)))
            expect([side(u, v), cutSide(u, v), turnedSide(u, v), swappedSide(v, u)]).toEqual(
              Array.from({ length: 4 }, () => 'border'),
            );
        },
      ),
      { numRuns: 60 },
    );
  });

  test('moved and scaled with the net they are the same', () => {
    fc.assert(
      fc.property(
        loops,
        fc.double({ min: 1e-3, max: 1e4, noNaN: true }),
        fc.double({ min: -1e3, max: 1e3, noNaN: true }),
        fc.nat(1000),
        (curves, scale, shift, seed) => {
          const net = randomNet(seededRandom(seed), false);
          const moved = { ...net, points: net.points.map((x) => (x + shift) * scale) };
          const [side, movedSide] = [testOf(net, [curves]), testOf(moved, [curves])];
          const near = fineLine(curves, 20);
          for (const [u, v] of [...places(seed), ...near]) expect(movedSide(u, v)).toBe(side(u, v));
        },
      ),
      { numRuns: 60 },
    );
  });
});

test('100,000 places take well under a few seconds, however many pieces there are', () => {
  const many = fineLine([ellipseArc([0.5, 0.5], [0.4, 0], [0, 0.4], 0, 2 * Math.PI)], 20_000);
  const side = testOf(flat, [[closedLine(many)]]);
  const start = performance.now();
  let inside = 0;
  for (let k = 0; k < 100_000; k++)
    if (side((k % 317) / 317, (k % 331) / 331) === 'inside') inside += 1;
  expect(inside / 100_000).toBeCloseTo(Math.PI * 0.16, 2);
  expect(performance.now() - start).toBeLessThan(5000);
});

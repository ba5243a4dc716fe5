import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { transposed, type ControlNet } from '../../src/geometry/controlNet.ts';
import { axisPlacement, placedNet } from '../../src/geometry/placement.ts';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import {
  curveDomain,
  curvePart,
  curvePoint,
  ellipseArc,
  polyline,
  reversedCurve,
  type SplineCurve,
} from '../../src/geometry/splineCurve.ts';
import { trimTest, type Standing } from '../../src/geometry/trimTest.ts';
import { trimmedRegion, type Border, type TrimRegion } from '../../src/geometry/trimRegion.ts';
import type { Vector } from '../../src/geometry/vector.ts';

/** A plane square of 1000 mm over the unit square of parameters. */
const square: ControlNet = {
  degree: [1, 1],
  knots: [Float64Array.of(0, 0, 1, 1), Float64Array.of(0, 0, 1, 1)],
  columns: 2,
  rows: 2,
  points: Float64Array.of(0, 0, 0, 1000, 0, 0, 0, 1000, 0, 1000, 1000, 0),
  weights: null,
};
/** A crowned panel. */
const crown = fittedNet([3, 3], [clampedKnots(3, 3), clampedKnots(3, 2)], (u, v): Vector => [
  1200 * u,
  600 * v,
  -90 * u * u - 40 * v * v + 25 * u * u * v,
]);

const inPlane = (...curves: SplineCurve[]): Border =>
  curves.map((plane) => ({ plane, space: null }));
const ring = (...points: [number, number][]): SplineCurve => polyline([...points, points[0]]);
const circle = (u: number, v: number, r: number): SplineCurve =>
  ellipseArc([u, v], [r, 0], [0, r], 0, 2 * Math.PI);

function region(net: ControlNet, borders: readonly Border[], tolerance = 1e-3): TrimRegion {
  const made = trimmedRegion(net, borders, tolerance);
  if ('trouble' in made) throw new Error(JSON.stringify(made));
  return made;
}

/** Share of random parameters that stand so. */
function shares(net: ControlNet, made: TrimRegion, count: number): Record<Standing, number> {
  const told = trimTest(net, made);
  const random = seededRandom(5);
  const found = { inside: 0, outside: 0, border: 0 };
  for (let k = 0; k < count; k++) found[told(random.uniform(), random.uniform())] += 1 / count;
  return found;
}

describe('inside and outside', () => {
  test('a disc has the area pi r^2 (Archimedes), within three deviations of a count', () => {
    const { inside, border } = shares(
      square,
      region(square, [inPlane(circle(0.5, 0.5, 0.4))]),
      1e5,
    );
    const area = Math.PI * 0.16;
    expect(Math.abs(inside - area)).toBeLessThan(3 * Math.sqrt((area * (1 - area)) / 1e5));
    expect(border).toBeLessThan(1e-4);
  });

  test('the circle itself divides, to a hundredth of a millimetre', () => {
    const told = trimTest(square, region(square, [inPlane(circle(0.5, 0.5, 0.4))], 1e-4));
    for (let k = 0; k < 1000; k++) {
      const [c, s] = [Math.cos(k), Math.sin(k)];
      expect(told(0.5 + 0.39999 * c, 0.5 + 0.39999 * s)).toBe('inside');
      expect(told(0.5 + 0.40001 * c, 0.5 + 0.40001 * s)).toBe('outside');
      expect(told(0.5 + 0.4 * c, 0.5 + 0.4 * s)).toBe('border');
    }
  });

  test.each([
    ['both against the clock', false, false],
    ['the hole with it', false, true],
    ['the outer with it', true, false],
    ['both with it', true, true],
  ])('a square with a square hole, and an island in it: %s', (_, outer, inner) => {
    const turned = (curve: SplineCurve, turn: boolean) => (turn ? reversedCurve(curve) : curve);
    const made = region(square, [
      inPlane(turned(ring([0.1, 0.1], [0.9, 0.1], [0.9, 0.9], [0.1, 0.9]), outer)),
      inPlane(turned(ring([0.3, 0.3], [0.7, 0.3], [0.7, 0.7], [0.3, 0.7]), inner)),
      inPlane(circle(0.5, 0.5, 0.05)),
    ]);
    const told = trimTest(square, made);
    const expected: [number, number, Standing][] = [
      [0.05, 0.5, 'outside'],
      [0.2, 0.5, 'inside'],
      // on a level with corners and edges
      [0.2, 0.3, 'inside'],
      [0.2, 0.7, 'inside'],
      [0.05, 0.1, 'outside'],
      [0.05, 0.9, 'outside'],
      [0.95, 0.9, 'outside'],
      [0.4, 0.5, 'outside'],
      [0.4, 0.45, 'outside'],
      [0.5, 0.5, 'inside'],
      [0.5, 0.46, 'inside'],
      [0.3, 0.5, 'border'],
      [0.7, 0.7, 'border'],
      [1.5, 0.5, 'outside'],
      [0.5, -0.1, 'outside'],
    ];
    for (const [u, v, standing] of expected) expect([u, v, told(u, v)]).toEqual([u, v, standing]);
  });

  /** Even-odd on a very fine polyline: the naive way. */
  function naive(curves: readonly SplineCurve[], u: number, v: number): [boolean, number] {
    let odd = false;
    let nearest = Infinity;
    for (const curve of curves) {
      const [from, to] = curveDomain(curve);
      const points = Array.from({ length: 1501 }, (_, k) =>
        curvePoint(curve, from + (k / 1500) * (to - from)),
      );
      for (let k = 1; k < points.length; k++) {
        const [[a, b], [c, d]] = [points[k - 1], points[k]];
        nearest = Math.min(nearest, Math.hypot(a - u, b - v));
        if (b > v !== d > v && u < a + ((v - b) / (d - b)) * (c - a)) odd = !odd;
      }
    }
    return [odd, nearest];
  }

  const blobs = fc
    .array(fc.tuple(fc.double({ min: 0.05, max: 0.95 }), fc.double({ min: 0.05, max: 0.95 })), {
      minLength: 4,
      maxLength: 9,
    })
    .filter((points) => points.flat().every(Number.isFinite))
    .map((points): SplineCurve => {
      const all = [...points, points[0]];
      const degree = 3;
      return {
        dimension: 2,
        degree,
        knots: clampedKnots(degree, all.length - degree),
        points: Float64Array.from(all.flat()),
        weights: Float64Array.from(all, (_, k) => 1 + (k % 3) / 2),
      };
    });

  test('agree with a naive count, and with themselves when loops are cut or turned', () => {
    fc.assert(
      fc.property(blobs, fc.double({ min: 0.2, max: 0.8, noNaN: true }), (blob, at) => {
        const [from, to] = curveDomain(blob);
        const cut = from + at * (to - from);
        const forms = [
          [blob],
          [reversedCurve(blob)],
          [curvePart(blob, from, cut), curvePart(blob, cut, to)],
        ].map((curves) => trimTest(crown, region(crown, [inPlane(...curves)])));
        const random = seededRandom(9);
        for (let k = 0; k < 60; k++) {
          const [u, v] = [random.uniform(), random.uniform()];
          const [odd, nearest] = naive([blob], u, v);
          if (nearest < 3e-3) continue;
          for (const told of forms) expect(told(u, v)).toBe(odd ? 'inside' : 'outside');
        }
      }),
      { seed: 4, numRuns: 15 },
    );
  });

  test('nothing changes when the net is moved, scaled or has u and v changed over', () => {
    const border = inPlane(circle(0.4, 0.6, 0.3));
    const swapped = inPlane({
      ...border[0].plane!,
      points: border[0].plane!.points.map((_, k, all) => all[k % 2 === 0 ? k + 1 : k - 1]),
    });
    const plain = trimTest(crown, region(crown, [border]));
    const placement = axisPlacement([5e3, 200, -70], [0.3, -0.5, 0.8], [1, 1, -0.2])!;
    const moved = placedNet(crown, placement, 25.4);
    const other = trimTest(moved, region(moved, [border], 25.4e-3));
    const over = transposed(crown);
    const turned = trimTest(over, region(over, [swapped]));
    const random = seededRandom(3);
    for (let k = 0; k < 2000; k++) {
      const [u, v] = [random.uniform(), random.uniform()];
      expect(other(u, v)).toBe(plain(u, v));
      expect(turned(v, u)).toBe(plain(u, v));
    }
  });
});

describe('borders in space', () => {
  const image = (net: ControlNet, plane: SplineCurve, count = 400): SplineCurve => {
    const [from, to] = curveDomain(plane);
    return polyline(
      Array.from({ length: count + 1 }, (_, k) => {
        const [u, v] = curvePoint(plane, from + (k / count) * (to - from));
        return surfacePoint(net, u, v);
      }),
    );
  };
  const inSpace = (...curves: SplineCurve[]): Border =>
    curves.map((space) => ({ plane: null, space }));

  test('give the same region as in the plane', () => {
    const plane = circle(0.45, 0.55, 0.3);
    const given = trimTest(crown, region(crown, [inPlane(plane)], 0.05));
    const found = trimTest(crown, region(crown, [inSpace(image(crown, plane))], 0.05));
    const random = seededRandom(8);
    for (let k = 0; k < 2000; k++) {
      const [u, v] = [random.uniform(), random.uniform()];
      if (Math.abs(Math.hypot(u - 0.45, v - 0.55) - 0.3) < 1e-3) continue;
      expect(found(u, v)).toBe(given(u, v));
    }
  });

  test('pieces that run the wrong way are turned, ends that do not meet are told', () => {
    const arcs = [0, 1, 2].map((k) => {
      const arc = ellipseArc(
        [0.5, 0.5],
        [0.3, 0],
        [0, 0.3],
        2 * k,
        k === 2 ? 2 * Math.PI : 2 * k + 2,
      );
      return image(crown, arc);
    });
    const turned = region(crown, [inSpace(arcs[0], reversedCurve(arcs[1]), arcs[2])], 0.05);
    expect(trimTest(crown, turned)(0.5, 0.5)).toBe('inside');
    const open = trimmedRegion(crown, [inSpace(arcs[0], arcs[1])], 0.05);
    expect(open).toMatchObject({ trouble: 'open', loop: 0 });
    const off = trimmedRegion(
      crown,
      [inSpace({ ...arcs[0], points: arcs[0].points.map((x, k) => (k % 3 === 2 ? x + 5 : x)) })],
      0.05,
    );
    expect(off).toMatchObject({ trouble: 'off-surface', loop: 0 });
    expect('gap' in off && off.gap).toBeGreaterThan(4.9);
  });

  test('that are unsound or empty are told', () => {
    const bad = { ...circle(0.5, 0.5, 0.2), knots: Float64Array.of(0, NaN) };
    expect(trimmedRegion(crown, [inPlane(bad)], 0.05)).toEqual({ trouble: 'unsound', loop: 0 });
    expect(trimmedRegion(crown, [inPlane(circle(0.5, 0.5, 0.2)), []], 0.05)).toEqual({
      trouble: 'empty',
      loop: 1,
    });
  });

  /** A tube of radius 100 round z, 300 high, closed in u. */
  const tube: ControlNet = fittedNet(
    [3, 1],
    [clampedKnots(3, 12), clampedKnots(1)],
    (u, v): Vector => [100 * Math.cos(2 * Math.PI * u), 100 * Math.sin(2 * Math.PI * u), 300 * v],
    200,
  );

  test('a tube with a seam: edge, seam, edge, seam back', () => {
    const edge = (v: number) =>
      image(
        tube,
        polyline([
          [0, v],
          [1, v],
        ]),
      );
    const seam = image(
      tube,
      polyline([
        [0, 0.2],
        [0, 0.8],
      ]),
      4,
    );
    const made = region(
      tube,
      [inSpace(edge(0.2), seam, reversedCurve(edge(0.8)), reversedCurve(seam))],
      0.05,
    );
    const told = trimTest(tube, made);
    for (const u of [0.01, 0.3, 0.5, 0.99]) {
      expect(told(u, 0.5)).toBe('inside');
      expect(told(u, 0.1)).toBe('outside');
      expect(told(u, 0.9)).toBe('outside');
    }
  });

  test('a tube with two rings and no seam: what lies between', () => {
    const rings = [0.2, 0.8].map((v) =>
      image(
        tube,
        polyline([
          [0, v],
          [1, v],
        ]),
      ),
    );
    const told = trimTest(
      tube,
      region(
        tube,
        rings.map((one) => inSpace(one)),
        0.05,
      ),
    );
    for (const u of [0.01, 0.3, 0.5, 0.99]) {
      expect(told(u, 0.5)).toBe('inside');
      expect(told(u, 0.1)).toBe('outside');
      expect(told(u, 0.9)).toBe('outside');
    }
  });

  test('a hole across the seam', () => {
    const hole = image(tube, ellipseArc([0, 0.5], [0.1, 0], [0, 0.2], 0, Math.PI / 2));
    const round = polyline(
      Array.from({ length: 201 }, (_, k) => {
        const t = (2 * Math.PI * k) / 200;
        const u = (0.1 * Math.cos(t) + 1) % 1;
        return surfacePoint(tube, u, 0.5 + 0.2 * Math.sin(t));
      }),
    );
    expect(hole.dimension).toBe(3);
    const told = trimTest(tube, region(tube, [inSpace(round)], 0.05));
    for (const [u, v, standing] of [
      [0.02, 0.5, 'inside'],
      [0.98, 0.5, 'inside'],
      [0.5, 0.5, 'outside'],
      [0.98, 0.75, 'outside'],
    ] as const)
      expect([u, v, told(u, v)]).toEqual([u, v, standing]);
  });
});

import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  bezierPieces,
  curveDomain,
  curvePart,
  curvePoint,
  ellipseArc,
  polyline,
  reversedCurve,
  type SplineCurve,
} from '../../src/geometry/splineCurve.ts';

/** Curves of degree 1 to 5 with knots of any multiplicity up to the degree, clamped or not. */
const curves: fc.Arbitrary<SplineCurve> = fc
  .record({
    degree: fc.integer({ min: 1, max: 5 }),
    gaps: fc.array(fc.integer({ min: 1, max: 4 }), { minLength: 1, maxLength: 4 }),
    times: fc.array(fc.integer({ min: 1, max: 5 }), { minLength: 3, maxLength: 3 }),
    clamped: fc.boolean(),
    rational: fc.boolean(),
    values: fc.array(fc.double({ min: -100, max: 100, noNaN: true }), {
      minLength: 200,
      maxLength: 200,
    }),
    dimension: fc.constantFrom(2 as const, 3 as const),
  })
  .map(({ degree, gaps, times, clamped, rational, values, dimension }) => {
    let at = 0;
    const inner = gaps.slice(1).flatMap((gap, k) => {
      at += gap;
      return Array.from({ length: Math.min(times[k], degree) }, () => at);
    });
    const end = at + gaps[0];
    const ends = (value: number, step: number): number[] =>
      Array.from({ length: degree + 1 }, (_, k) => (clamped ? value : value + step * k));
    const knots = [...ends(0, -0.7).reverse(), ...inner, ...ends(end, 0.6)];
    const count = knots.length - degree - 1;
    return {
      dimension,
      degree,
      knots: Float64Array.from(knots),
      points: Float64Array.from(values.slice(0, dimension * count)),
      weights: rational
        ? Float64Array.from(values.slice(-count), (x) => 0.5 + Math.abs(x) / 50)
        : null,
    };
  });

/** de Casteljau, the naive way. */
function bezierPoint(points: readonly (readonly number[])[], s: number): number[] {
  let level = points.map((p) => [...p]);
  while (level.length > 1)
    level = level.slice(1).map((p, k) => p.map((x, axis) => (1 - s) * level[k][axis] + s * x));
  const w = level[0][level[0].length - 1];
  return level[0].slice(0, -1).map((x) => x / w);
}

const shares = [0, 0.2, 0.5, 0.77, 1];

describe('a spline curve', () => {
  test('is the sum of its Bezier pieces', () => {
    fc.assert(
      fc.property(curves, (curve) => {
        for (const { from, to, points } of bezierPieces(curve))
          for (const s of shares) {
            const one = bezierPoint(points, s);
            curvePoint(curve, from + s * (to - from)).forEach((x, axis) =>
              expect(one[axis]).toBeCloseTo(x, 8),
            );
          }
      }),
    );
  });
  test('keeps its points in a part of it, clamped at both ends', () => {
    fc.assert(
      fc.property(curves, fc.double({ min: 0, max: 0.6, noNaN: true }), (curve, start) => {
        const [low, high] = curveDomain(curve);
        const [from, to] = [low + start * (high - low), low + (start + 0.3) * (high - low)];
        const part = curvePart(curve, from, to);
        expect(curveDomain(part)).toEqual([from, to]);
        for (const s of shares)
          curvePoint(part, from + s * (to - from)).forEach((x, axis) =>
            expect(x).toBeCloseTo(curvePoint(curve, from + s * (to - from))[axis], 8),
          );
      }),
    );
  });
  test('runs backwards over the same domain', () => {
    fc.assert(
      fc.property(curves, (curve) => {
        const [low, high] = curveDomain(curve);
        const back = reversedCurve(curve);
        const [backLow, backHigh] = curveDomain(back);
        for (const s of shares)
          curvePoint(back, backHigh - s * (backHigh - backLow)).forEach((x, axis) =>
            expect(x).toBeCloseTo(curvePoint(curve, low + s * (high - low))[axis], 8),
          );
      }),
    );
  });
  test('is a circle exactly: x^2 + y^2 = r^2 (Euclid)', () => {
    const arc = ellipseArc([1, 2], [3, 0], [0, 3], 0.3, 0.3 + 2 * Math.PI);
    for (let t = 0.3; t < 0.3 + 2 * Math.PI; t += 0.01) {
      const [x, y] = curvePoint(arc, t);
      expect(Math.hypot(x - 1, y - 2)).toBeCloseTo(3, 12);
    }
    expect(curvePoint(arc, 0.3 + Math.PI / 2)[0]).toBeCloseTo(
      1 + 3 * Math.cos(0.3 + Math.PI / 2),
      12,
    );
  });
  test('goes from point to point as a polyline', () => {
    const line = polyline([
      [0, 0],
      [2, 0],
      [2, 4],
    ]);
    expect(curvePoint(line, 1.25)).toEqual([2, 1]);
    expect(curveDomain(line)).toEqual([0, 2]);
  });
});

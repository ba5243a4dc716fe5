import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { diagonal, type ControlNet } from '../../src/geometry/controlNet.ts';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import { domain } from '../../src/geometry/knots.ts';
import { domainLoop, loopEdges } from '../../src/geometry/loopEdges.ts';
import { sheetOf } from '../../src/geometry/sheet.ts';
import { spaceImage } from '../../src/geometry/spaceImage.ts';
import {
  curveDomain,
  curvePoint,
  polyline,
  type SplineCurve,
} from '../../src/geometry/splineCurve.ts';
import { trimFaces } from '../../src/geometry/trimFaces.ts';
import { distance, type Vector } from '../../src/geometry/vector.ts';
import { anyNet, madeRegion } from '../writers/surfaces/madePanels.ts';

/** Largest distance between a curve in space and the surface under its curve in the plane, mm. */
function departure(net: ControlNet, plane: SplineCurve, space: SplineCurve): number {
  const [from, to] = curveDomain(plane);
  expect(curveDomain(space)).toEqual([from, to]);
  const ranges = [0, 1].map((side) => domain(net.knots[side], net.degree[side]));
  let most = 0;
  for (let k = 0; k <= 200; k++) {
    const t = k === 200 ? to : from + (k / 200) * (to - from);
    const [u, v] = curvePoint(plane, t).map((x, side) =>
      Math.min(Math.max(x, ranges[side][0]), ranges[side][1]),
    );
    const [x, y, z] = curvePoint(space, t);
    const at: Vector = [x, y, z];
    most = Math.max(most, distance(surfacePoint(net, u, v), at));
  }
  return most;
}

describe('curves of the parameter plane in space', () => {
  test('along parameter lines they are exact, whichever way and however far they run', () => {
    const random = seededRandom(20);
    for (let round = 0; round < 60; round++) {
      const net = anyNet(random);
      const ranges = [0, 1].map((side) => domain(net.knots[side], net.degree[side]));
      const value = (side: number): number => {
        const [from, to] = ranges[side];
        return [from, to, random.between(from, to)][random.index(3)];
      };
      const side = random.index(2);
      const fixed = value(side);
      const ends = [value(1 - side), value(1 - side)];
      if (ends[0] === ends[1]) continue;
      const plane = polyline(ends.map((t) => (side === 0 ? [fixed, t] : [t, fixed])));
      const image = spaceImage(sheetOf(net, 1e-3), plane, 1);
      expect(image.departure).toBe(0);
      expect(image.curve.degree).toBe(net.degree[1 - side]);
      expect(departure(net, plane, image.curve)).toBeLessThan(1e-12 * diagonal(net));
    }
  });

  test.each([1e-1, 1e-3, 1e-5])(
    'else they lie within %d mm where the surface is smooth',
    (tolerance) => {
      const random = seededRandom(21);
      for (let round = 0; round < 20; round++) {
        const net = anyNet(random);
        for (const { curves } of madeRegion(net, random).loops)
          for (const plane of curves) {
            const image = spaceImage(sheetOf(net, 1e-3), plane, tolerance);
            // measured at more places than the fit was
            expect(departure(net, plane, image.curve)).toBeLessThan(1.5 * tolerance);
          }
      }
    },
  );
});

describe('edges of loops', () => {
  test('a polyline is cut at its corners, a smooth curve is not', () => {
    const random = seededRandom(3);
    const net = anyNet(random);
    const square = domainLoop(sheetOf(net, 1e-3));
    expect(loopEdges(sheetOf(net, 1e-3), square, 1e-3)).toHaveLength(4);
    const [[u0, u1], [v0, v1]] = [0, 1].map((side) => domain(net.knots[side], net.degree[side]));
    const one = {
      curves: [
        polyline([
          [u0, v0],
          [u1, v0],
          [u1, v1],
          [u0, v1],
          [u0, v0],
        ]),
      ],
    };
    const edges = loopEdges(sheetOf(net, 1e-3), one, 1e-3);
    expect(edges.map(({ departure: off }) => off)).toEqual([0, 0, 0, 0]);
    // 400 legs that turn by under a degree are a curve
    const many = Array.from({ length: 401 }, (_, k) => {
      const t = (2 * Math.PI * (k % 400)) / 400;
      return [
        (u0 + u1) / 2 + 0.3 * (u1 - u0) * Math.cos(t),
        (v0 + v1) / 2 + 0.3 * (u1 - u0) * Math.sin(t),
      ];
    });
    expect(loopEdges(sheetOf(net, 1e-3), { curves: [polyline(many)] }, 1e-3)).toHaveLength(1);
  });

  test('a collapsed edge and the joint between ends that nearly meet are points of space', () => {
    const net: ControlNet = {
      degree: [1, 1],
      knots: [Float64Array.of(0, 0, 1, 1), Float64Array.of(0, 0, 1, 1)],
      columns: 2,
      rows: 2,
      points: Float64Array.of(0, 0, 0, 100, 0, 0, 50, 80, 0, 50, 80, 0),
      weights: null,
    };
    expect(
      loopEdges(sheetOf(net, 1e-3), domainLoop(sheetOf(net, 1e-3)), 1e-3).map(
        ({ space }) => space === null,
      ),
    ).toEqual([false, false, true, false]);
    const [bottom, right, top, left] = domainLoop(sheetOf(net, 1e-3)).curves;
    const joint = polyline([
      [1, 0],
      [1, 1e-6],
    ]);
    const loop = { curves: [bottom, joint, right, top, left] };
    expect(loopEdges(sheetOf(net, 1e-3), loop, 1e-3).map(({ space }) => space === null)).toEqual([
      false,
      true,
      false,
      true,
      false,
    ]);
    expect(loopEdges(sheetOf(net, 1e-3), loop, 1e-5).map(({ space }) => space === null)).toEqual([
      false,
      false,
      false,
      true,
      false,
    ]);
  });
});

describe('faces of a region', () => {
  test('outer loops counter-clockwise, holes clockwise, an island in a hole apart; what runs so is kept', () => {
    const random = seededRandom(31);
    const area = (curves: readonly SplineCurve[]): number =>
      curves.reduce((total, curve) => {
        const [from, to] = curveDomain(curve);
        const corners = Array.from({ length: 101 }, (_, k) =>
          curvePoint(curve, k === 100 ? to : from + (k / 100) * (to - from)),
        );
        return corners
          .slice(1)
          .reduce((sum, [u, v], k) => sum + corners[k][0] * v - u * corners[k][1], total);
      }, 0);
    for (let round = 0; round < 20; round++) {
      const net = anyNet(random);
      const region = madeRegion(net, random);
      const faces = trimFaces(sheetOf(net, 1e-3), region);
      expect(faces.map(({ inner }) => inner.length)).toEqual([2, 0]);
      for (const { outer, inner } of faces) {
        expect(area(outer.curves)).toBeGreaterThan(0);
        for (const { curves } of inner) expect(area(curves)).toBeLessThan(0);
      }
      const again = trimFaces(sheetOf(net, 1e-3), {
        ...region,
        loops: [faces[0].outer, ...faces[0].inner].map((loop) => ({ ...loop, winds: [0, 0] })),
      });
      expect(again[0].outer.curves).toBe(faces[0].outer.curves);
      expect(again[0].inner[1].curves).toBe(faces[0].inner[1].curves);
    }
  });
});

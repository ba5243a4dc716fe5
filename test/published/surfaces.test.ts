import { describe, expect, test } from 'vitest';
import type { ControlNet } from '../../src/geometry/controlNet.ts';
import { surfaceJet, surfacePoint } from '../../src/geometry/evaluation.ts';
import type { Vector } from '../../src/geometry/vector.ts';
import { readNetJson } from '../../src/intake/netJson/readNetJson.ts';
import { corpusBytes, corpusFolder } from '../corpus.ts';

const ends = (degree: number): number[] => [
  ...Array<number>(degree + 1).fill(0),
  ...Array<number>(degree + 1).fill(1),
];

/** A curve's control polygon as a surface: the same row at z = 0 and z = 1. */
function ribbon(
  degree: number,
  knots: number[],
  points: [number, number][],
  weights?: number[],
): ControlNet {
  return {
    degree: [degree, 1],
    knots: [Float64Array.from(knots), Float64Array.from(ends(1))],
    columns: points.length,
    rows: 2,
    points: Float64Array.from([0, 1].flatMap((z) => points.flatMap(([x, y]) => [x, y, z]))),
    weights: weights ? Float64Array.from([...weights, ...weights]) : null,
  };
}

const expectVector = (actual: Vector, expected: readonly number[]): void =>
  expected.forEach((value, axis) => expect(actual[axis]).toBeCloseTo(value, 12));

describe('Piegl & Tiller, The NURBS Book (values from memory)', () => {
  test('example 4.1: C(1) = (7/5, 6/5)', () => {
    const curve = ribbon(
      2,
      [0, 0, 0, 1, 2, 3, 3, 3],
      [
        [0, 0],
        [1, 1],
        [3, 2],
        [4, 1],
        [5, -1],
      ],
      [1, 4, 1, 1, 1],
    );
    expectVector(surfacePoint(curve, 1, 0), [7 / 5, 6 / 5]);
  });

  test('example 4.2: derivatives of a rational quarter circle at both ends', () => {
    const curve = ribbon(
      2,
      ends(2),
      [
        [1, 0],
        [1, 1],
        [0, 1],
      ],
      [1, 1, 2],
    );
    expectVector(surfaceJet(curve, 0, 0).u, [0, 2]);
    expectVector(surfaceJet(curve, 0, 0).uu, [-4, 0]);
    expectVector(surfaceJet(curve, 1, 0).u, [-1, 0]);
    expectVector(surfaceJet(curve, 1, 0).uu, [1, -1]);
    for (let t = 0; t <= 1; t += 0.125)
      expect(Math.hypot(...surfacePoint(curve, t, 0))).toBeCloseTo(1, 14);
  });
});

test('de Casteljau, (0,0)(0,2)(8,2)(4,0) at 1/2 (Farin, Curves and Surfaces for CAGD, from memory)', () => {
  const curve = ribbon(3, ends(3), [
    [0, 0],
    [0, 2],
    [8, 2],
    [4, 0],
  ]);
  const jet = surfaceJet(curve, 0.5, 0);
  expectVector(jet.point, [3.5, 1.5]);
  expectVector(jet.u, [9, 0]);
  expectVector(jet.uu, [-12, -12]);
});

describe.skipIf(!corpusFolder)(
  'published points of the king, 60 biquintic patches (gismo, MPL-2.0)',
  () => {
    test('every (u, v) gives its (x, y, z) to 1e-11 of the size', () => {
      const { panels } = readNetJson(corpusBytes('nets/king-biquintic.net.json'));
      const published = JSON.parse(
        Buffer.from(corpusBytes('nets/king-biquintic.points.json')).toString(),
      ) as { panels: { name: string; uv: [number, number][]; xyz: Vector[] }[] };
      expect(panels).toHaveLength(60);
      let worst = 0;
      let compared = 0;
      for (const { name, uv, xyz } of published.panels) {
        const { net } = panels.find((panel) => panel.name === name)!;
        const size = Math.max(...net.points.map(Math.abs));
        uv.forEach(([u, v], k) => {
          const point = surfacePoint(net, u, v);
          compared += 1;
          for (const axis of [0, 1, 2] as const)
            worst = Math.max(worst, Math.abs(point[axis] - xyz[k][axis]) / size);
        });
      }
      expect(compared).toBe(960);
      expect(worst).toBeLessThanOrEqual(1e-11);
    });
  },
);

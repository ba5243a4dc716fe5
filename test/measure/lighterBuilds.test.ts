import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { families, unevenNet, wideFamilies } from '../../fixtures/panelFamilies.ts';
import { randomNet } from '../../fixtures/randomNet.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import {
  diagonal,
  reversed,
  transposed,
  withMoves,
  type ControlNet,
} from '../../src/geometry/controlNet.ts';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import { domain } from '../../src/geometry/knots.ts';
import { placedNet } from '../../src/geometry/placement.ts';
import { distance } from '../../src/geometry/vector.ts';
import { lightening, type NetBuild } from '../../src/measure/lighterBuilds.ts';

const limit = 0.1;

/** The largest distance over `steps` by `steps` even places, which no fit looked at. */
function densely(one: ControlNet, other: ControlNet, steps: number): number {
  const [u, v] = [0, 1].map((side) => domain(one.knots[side], one.degree[side]));
  let most = 0;
  for (let i = 0; i <= steps; i++)
    for (let j = 0; j <= steps; j++) {
      const at = [u[0] + (i / steps) * (u[1] - u[0]), v[0] + (j / steps) * (v[1] - v[0])] as const;
      most = Math.max(most, distance(surfacePoint(one, ...at), surfacePoint(other, ...at)));
    }
  return most;
}

const cornersOf = ({ points, columns, rows }: ControlNet): number[] =>
  [0, columns - 1, (rows - 1) * columns, rows * columns - 1].flatMap((k) =>
    Array.from(points.subarray(3 * k, 3 * k + 3)),
  );

const buildOf = ({ net, spans }: NetBuild): unknown => [net.degree, spans, net.columns, net.rows];

const familyNets = (count: number, seed: number, hand: number): ControlNet[] => {
  const random = seededRandom(seed);
  const makers = [...Object.values(families), ...wideFamilies.map(({ net }) => net)];
  return makers.flatMap((make) =>
    Array.from({ length: count }, () => unevenNet(make(random), random, hand)),
  );
};

test('every price is the largest deviation, looked for more densely elsewhere; each lighter build costs more', () => {
  for (const net of familyNets(1, 3, 0.02)) {
    const { prices, fewer, lightest } = lightening(net, limit);
    expect(prices[0].net).toBe(net);
    prices.slice(1).forEach((build, k) => {
      const before = prices[k];
      expect(build.net.columns * build.net.rows).toBeLessThan(before.net.columns * before.net.rows);
      expect(build.deviation).toBeGreaterThan(before.deviation);
      const seen = densely(net, build.net, 60);
      expect(seen).toBeLessThanOrEqual(1.001 * build.deviation + 1e-10);
      expect(seen).toBeGreaterThan(0.9 * build.deviation - 1e-10);
    });
    for (const build of [fewer, lightest]) expect(build.deviation).toBeLessThanOrEqual(limit);
  }
});

test('over nets of any shape the limit holds, corners stay to the bit and the domain is the same', () => {
  fc.assert(
    fc.property(
      fc.integer(),
      fc.boolean(),
      fc.double({ min: 0.01, max: 30, noNaN: true }),
      (seed, rational, own) => {
        const net = randomNet(seededRandom(seed), rational);
        const { fewer, lightest } = lightening(net, own);
        for (const build of [fewer, lightest]) {
          expect(densely(net, build.net, 25)).toBeLessThanOrEqual(1.002 * own);
          expect(cornersOf(build.net)).toEqual(cornersOf(net));
          for (const side of [0, 1])
            expect(domain(build.net.knots[side], build.net.degree[side])).toEqual(
              domain(net.knots[side], net.degree[side]),
            );
        }
      },
    ),
    { numRuns: 150, seed: 4 },
  );
});

test('the same build is told wherever the panel lies and however it is run through', () => {
  const turned = {
    rotation: [
      [0.36, 0.48, -0.8],
      [-0.8, 0.6, 0],
      [0.48, 0.64, 0.6],
    ],
    shift: [3000, -1000, 400],
  } as const;
  for (const net of familyNets(1, 9, 0.02)) {
    const first = lightening(net, limit);
    const told = buildOf(first.fewer);
    for (const other of [reversed(net), placedNet(net, turned)]) {
      const { fewer } = lightening(other, limit);
      expect(fewer.net.columns * fewer.net.rows).toBe(
        first.fewer.net.columns * first.fewer.net.rows,
      );
      expect(Math.abs(fewer.deviation - first.fewer.deviation)).toBeLessThan(limit);
    }
    const across = lightening(transposed(net), limit).fewer;
    expect(
      buildOf({
        ...across,
        net: transposed(across.net),
        spans: [across.spans[1], across.spans[0]],
      }),
    ).toEqual(told);
  }
});

describe('what is left alone', () => {
  test('single spans up to 6x6 points that a hand has laid, of whatever family', () => {
    const own = familyNets(12, 21, 0.015).filter(
      ({ columns, rows, degree }) =>
        columns <= 6 && rows <= 6 && columns === degree[0] + 1 && rows === degree[1] + 1,
    );
    expect(own.length).toBeGreaterThan(100);
    for (const net of own) expect(lightening(net, limit).fewer.net).toBe(net);
  });

  test('a corner inside, and the gap of a knot that cuts the panel', () => {
    const flat = fittedNet([3, 3], [clampedKnots(3, [0.5, 0.5, 0.5]), clampedKnots(3)], (u, v) => [
      800 * u,
      500 * v,
      -60 * (v - 0.5) ** 2 - 40 * Math.abs(u - 0.5),
    ]);
    const bent = lightening(flat, 1000);
    expect(bent.lightest.net).toBe(flat);
    const smooth = fittedNet(
      [3, 3],
      [clampedKnots(3, [0.5, 0.5, 0.5]), clampedKnots(3)],
      (u, v) => [800 * u, 500 * v, -60 * (v - 0.5) ** 2 - 40 * (u - 0.5) ** 2],
    );
    const { fewer, idleKnots } = lightening(smooth, limit);
    expect([fewer.net.columns, fewer.net.rows, idleKnots]).toEqual([4, 4, true]);
    const cut: ControlNet = {
      ...smooth,
      columns: 8,
      knots: [clampedKnots(3, [0.5, 0.5, 0.5, 0.5]), smooth.knots[1]],
      points: Float64Array.from(
        Array.from({ length: 4 }, (_, row) =>
          [0, 1, 2, 3, 3, 4, 5, 6].flatMap((column, k) => {
            const at = 3 * (row * 7 + column);
            const [x, y, z] = smooth.points.subarray(at, at + 3);
            return [x, y, k > 3 ? z + 0.5 : z];
          }),
        ).flat(),
      ),
    };
    expect(lightening(cut, 0.1).fewer.net).toBe(cut);
  });

  test('a cubic of one span, whatever the limit', () => {
    const net = fittedNet([3, 3], [clampedKnots(3), clampedKnots(3)], (u, v) => [u, v, 0]);
    expect(lightening(net, 1000).prices).toHaveLength(1);
  });
});

test('one knot more costs nothing and is idle; a hand on one point makes it count', () => {
  const shape = (u: number, v: number): [number, number, number] => [
    900 * u,
    500 * v,
    -70 * (u - 0.4) ** 3 - 50 * (v - 0.5) ** 2,
  ];
  const net = fittedNet([3, 3], [clampedKnots(3, [0.5]), clampedKnots(3)], shape);
  expect(lightening(net, limit).idleKnots).toBe(true);
  const moved = withMoves(net, [{ spot: { row: 1, column: 2 }, by: [0, 0, 0.01] }]);
  const { idleKnots, fewer } = lightening(moved, limit);
  expect(idleKnots).toBe(false);
  expect(fewer.deviation).toBeGreaterThan(1e-4);
  expect(fewer.net.columns).toBe(4);
});

test('many knots: a net of 40 x 30 points that a cubic would hold goes back to it', () => {
  const shape = (u: number, v: number): [number, number, number] => [
    900 * u,
    500 * v,
    -70 * (u - 0.4) ** 3 - 50 * v * (v - 0.5) ** 2,
  ];
  const net = fittedNet([3, 3], [clampedKnots(3, 37), clampedKnots(3, 27)], shape, 121);
  const { same } = lightening(net, limit);
  expect([same.net.columns, same.net.rows]).toEqual([4, 4]);
  expect(same.deviation).toBeLessThan(1e-9 * diagonal(net));
});

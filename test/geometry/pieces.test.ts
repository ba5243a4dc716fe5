import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { ControlNet } from '../../src/geometry/controlNet.ts';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import { domain } from '../../src/geometry/knots.ts';
import { pieces } from '../../src/geometry/pieces.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';

/** A net over given knots with seeded points. */
function netOn(
  degree: readonly [number, number],
  u: readonly number[],
  v: readonly number[],
  seed = 1,
): ControlNet {
  const random = seededRandom(seed);
  const columns = u.length - degree[0] - 1;
  const rows = v.length - degree[1] - 1;
  return {
    degree,
    knots: [Float64Array.from(u), Float64Array.from(v)],
    columns,
    rows,
    points: Float64Array.from({ length: 3 * rows * columns }, () => random.between(-100, 100)),
    weights: Float64Array.from({ length: rows * columns }, () => random.between(0.5, 2)),
  };
}

const cubic = (...inner: number[]): number[] => [0, 0, 0, 0, ...inner, 3, 3, 3, 3];

describe('where a net is cut', () => {
  test.each([
    ['no interior knots', cubic(), [[0, 4]]],
    ['simple knots', cubic(1, 2), [[0, 6]]],
    ['a double knot keeps the run', cubic(1, 1), [[0, 6]]],
    [
      'a triple knot shares a point',
      cubic(1, 1, 1),
      [
        [0, 4],
        [3, 4],
      ],
    ],
    [
      'a fourfold knot shares none',
      cubic(1, 1, 1, 1),
      [
        [0, 4],
        [4, 4],
      ],
    ],
    [
      'cut twice',
      cubic(1, 1, 1, 2, 2, 2),
      [
        [0, 4],
        [3, 4],
        [6, 4],
      ],
    ],
    [
      'cut between simple knots',
      cubic(0.5, 1, 1, 1, 2),
      [
        [0, 5],
        [4, 5],
      ],
    ],
  ])('%s', (_, knots, expected) => {
    const found = pieces(netOn([3, 3], knots, cubic()));
    expect(found.map(({ net, column }) => [column, net.columns])).toEqual(expected);
    const other = pieces(netOn([3, 3], cubic(), knots));
    expect(other.map(({ net, row }) => [row, net.rows])).toEqual(expected);
  });
});

test('each piece is the surface itself over its own domain', () => {
  fc.assert(
    fc.property(fc.integer(), fc.double({ min: 0, max: 1, noNaN: true }), (seed, t) => {
      const net = netOn([3, 2], cubic(0.5, 1, 1, 1, 2), [0, 0, 0, 1, 1, 2, 2, 2], seed);
      for (const piece of pieces(net)) {
        const [u0, u1] = domain(piece.net.knots[0], 3);
        const [v0, v1] = domain(piece.net.knots[1], 2);
        // Just inside, so that the whole net is evaluated on the same side of the cut.
        const u = u0 + (u1 - u0) * (0.001 + 0.998 * t);
        const v = v0 + (v1 - v0) * (0.999 - 0.998 * t);
        const a = surfacePoint(net, u, v);
        const b = surfacePoint(piece.net, u, v);
        for (const axis of [0, 1, 2] as const) expect(b[axis]).toBeCloseTo(a[axis], 9);
      }
    }),
    { numRuns: 50 },
  );
});

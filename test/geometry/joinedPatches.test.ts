import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { bezierValues } from '../../src/geometry/bezierValues.ts';
import type { ControlNet } from '../../src/geometry/controlNet.ts';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import { joinedPatches, type PatchGrid } from '../../src/geometry/joinedPatches.ts';
import { bezierPieces } from '../../src/geometry/splineCurve.ts';
import { distance, type Vector } from '../../src/geometry/vector.ts';

interface Made {
  readonly grid: PatchGrid;
  /** The net that the patches are pieces of, u and v with knots of their own multiplicities. */
  readonly net: ControlNet;
}

const knotsOf = (degree: number, gaps: readonly number[], times: readonly number[]): number[] => {
  let at = 0;
  const inner = gaps.slice(1).flatMap((gap, k) => {
    at += gap;
    return Array.from({ length: Math.min(times[k], degree) }, () => at);
  });
  const end = at + gaps[0];
  const ends = (value: number): number[] => Array.from({ length: degree + 1 }, () => value);
  return [...ends(0), ...inner, ...ends(end)];
};

/** Bezier pieces of lines of points: [piece][line][point of the piece]. */
function pieceLines(lines: readonly (readonly Vector[])[], degree: number, knots: Float64Array) {
  const cut = lines.map((line) =>
    bezierPieces({
      dimension: 3,
      degree,
      knots,
      points: Float64Array.from(line.flat()),
      weights: null,
    }).map(({ points }) => points.map(([x, y, z]): Vector => [x, y, z])),
  );
  return cut[0].map((_, piece) => cut.map((line) => line[piece]));
}

const flipped = <T>(rows: readonly (readonly T[])[]): T[][] =>
  rows[0].map((_, k) => rows.map((row) => row[k]));

function cutNet(net: ControlNet): PatchGrid {
  const rows = Array.from({ length: net.rows }, (_, row) =>
    Array.from({ length: net.columns }, (_c, column): Vector => {
      const at = 3 * (row * net.columns + column);
      return [net.points[at], net.points[at + 1], net.points[at + 2]];
    }),
  );
  const strips = pieceLines(rows, net.degree[0], net.knots[0]);
  const byStrip = strips.map((strip) =>
    pieceLines(flipped(strip), net.degree[1], net.knots[1]).map((patch) =>
      Float64Array.from(flipped(patch).flat(2)),
    ),
  );
  return {
    degree: net.degree,
    breakpoints: [0, 1].map((side) => Float64Array.from(new Set(net.knots[side]))) as [
      Float64Array,
      Float64Array,
    ],
    patches: flipped(byStrip).flat(),
  };
}

const sides = fc.record({
  degree: fc.integer({ min: 1, max: 5 }),
  gaps: fc.array(fc.integer({ min: 1, max: 5 }), { minLength: 1, maxLength: 4 }),
  times: fc.array(fc.integer({ min: 1, max: 5 }), { minLength: 3, maxLength: 3 }),
});
const made: fc.Arbitrary<Made> = fc
  .tuple(
    sides,
    sides,
    fc.array(fc.double({ min: -500, max: 500, noNaN: true }), { minLength: 97, maxLength: 97 }),
  )
  .map(([u, v, values]) => {
    const knots = [u, v].map(({ degree, gaps, times }) =>
      Float64Array.from(knotsOf(degree, gaps, times)),
    );
    const [columns, rows] = [u, v].map(({ degree }, side) => knots[side].length - degree - 1);
    // no two alike, so that no join is smoother than its knots say
    const net: ControlNet = {
      degree: [u.degree, v.degree],
      knots: [knots[0], knots[1]],
      columns,
      rows,
      points: Float64Array.from(
        { length: 3 * columns * rows },
        (_, k) => values[k % 97] + 100 * Math.sin(k * k),
      ),
      weights: null,
    };
    return { net, grid: cutNet(net) };
  });

/** The Bezier patch, as its definition has it: de Casteljau in u, then in v. */
function patchPoint({ degree, patches }: PatchGrid, index: number, s: number, t: number): Vector {
  const mix = (points: Vector[], at: number): Vector => {
    let level = points;
    while (level.length > 1)
      level = level.slice(1).map((p, k) => {
        const from = level[k];
        return [0, 1, 2].map((axis) => (1 - at) * from[axis] + at * p[axis]) as unknown as Vector;
      });
    return level[0];
  };
  const row = (j: number): Vector[] =>
    Array.from({ length: degree[0] + 1 }, (_, i) => {
      const at = 3 * (j * (degree[0] + 1) + i);
      return Array.from(patches[index].subarray(at, at + 3)) as unknown as Vector;
    });
  return mix(
    Array.from({ length: degree[1] + 1 }, (_, j) => mix(row(j), s)),
    t,
  );
}

const shares = [0, 0.3, 0.5, 0.9, 1];

/** Every patch against the net over its own parameters; ends are left to the patch inside. */
function expectSame(net: ControlNet, grid: PatchGrid, apart = 1e-8): void {
  const [us, vs] = grid.breakpoints;
  for (let j = 0; j + 1 < vs.length; j++)
    for (let i = 0; i + 1 < us.length; i++)
      for (const s of shares)
        for (const t of shares) {
          const own = patchPoint(grid, j * (us.length - 1) + i, s, t);
          const u = us[i] + s * (us[i + 1] - us[i]);
          const v = vs[j] + t * (vs[j + 1] - vs[j]);
          expect(distance(surfacePoint(net, u, v), own)).toBeLessThan(apart);
        }
}

describe('patches joined', () => {
  test('are the net they were cut from, to the knot and the point', () => {
    fc.assert(
      fc.property(made, ({ net, grid }) => {
        const { nets, gap } = joinedPatches(grid, 1e-6);
        expect(nets).toHaveLength(1);
        expect(gap).toBe(0);
        expect(nets[0].knots).toEqual(net.knots);
        expect([nets[0].columns, nets[0].rows]).toEqual([net.columns, net.rows]);
        net.points.forEach((x, k) => expect(nets[0].points[k]).toBeCloseTo(x, 6));
        expectSame(nets[0], grid);
      }),
    );
  });

  const flat = (x: number, z: (s: number) => number): Float64Array =>
    Float64Array.from(
      [0, 1].flatMap((y) => [0, 1, 2].flatMap((k) => [x + k * 50, y * 80, z(k / 2)])),
    );
  const pair = (second: Float64Array, at = 1): PatchGrid => ({
    degree: [2, 1],
    breakpoints: [Float64Array.from([0, 1, 1 + at]), Float64Array.from([0, 1])],
    patches: [flat(0, (s) => s), second],
  });

  test.each<[string, PatchGrid, number[]]>([
    ['one slope: a knot once', pair(flat(100, (s) => 1 + s + (s === 1 ? 4 : 0))), [1]],
    ['the same polynomial: the breakpoint stays, once', pair(flat(100, (s) => 1 + s)), [1]],
    ['a corner: as often as the degree', pair(flat(100, (s) => 1 - s)), [1, 1]],
    [
      'one slope, but not in the parameter',
      pair(
        flat(100, (s) => 1 + s),
        2,
      ),
      [1, 1],
    ],
    ['a slope off by a millionth', pair(flat(100, (s) => 1 + s * (1 + 1e-5))), [1, 1]],
    ['a gap within the tolerance', pair(flat(100.0005, (s) => 1 + s)), [1, 1]],
  ])('%s', (_, grid, inner) => {
    const { nets } = joinedPatches(grid, 0.001);
    expect(nets).toHaveLength(1);
    expect(Array.from(nets[0].knots[0].slice(3, -3))).toEqual(inner);
    expectSame(nets[0], grid, 0.001);
  });

  test('edges that do not meet are left apart along the whole line, and the widest gap is told', () => {
    const three: PatchGrid = {
      degree: [2, 1],
      breakpoints: [Float64Array.from([0, 1, 2]), Float64Array.from([0, 1, 2])],
      patches: [
        flat(0, () => 0),
        flat(100, () => 0),
        flat(0, () => 0).map((x, k) => (k % 3 === 1 ? x + 80 : x)),
        flat(100, () => 0).map((x, k) => (k % 3 === 1 ? x + 80 : k % 3 === 2 && k > 8 ? 7 : x)),
      ],
    };
    const { nets, gap } = joinedPatches(three, 0.001);
    expect(gap).toBe(7);
    expect(nets.map(({ knots }) => knots.map((k) => [k[0], k[k.length - 1]]))).toEqual([
      [
        [0, 1],
        [0, 2],
      ],
      [
        [1, 2],
        [0, 2],
      ],
    ]);
  });
});

test('Bezier values of a polynomial are its values by de Casteljau', () => {
  fc.assert(
    fc.property(
      fc.array(fc.double({ min: -10, max: 10, noNaN: true }), { minLength: 1, maxLength: 8 }),
      fc.double({ min: 0.1, max: 5, noNaN: true }),
      fc.double({ min: 0, max: 1, noNaN: true }),
      (powers, length, s) => {
        const value = powers.reduceRight((total, a) => total * s * length + a, 0);
        let level = bezierValues(powers, length);
        while (level.length > 1) level = level.slice(1).map((x, k) => (1 - s) * level[k] + s * x);
        const size = powers.reduce((total, a, k) => total + Math.abs(a) * length ** k, 0);
        expect(Math.abs(level[0] - value)).toBeLessThanOrEqual(1e-13 * size);
      },
    ),
  );
});

import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { randomNet } from '../../fixtures/randomNet.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { basisRow, type BasisRow } from '../../src/geometry/basis.ts';
import { diagonal, type ControlNet } from '../../src/geometry/controlNet.ts';
import { curvatureGrid, type CurvatureGrid } from '../../src/geometry/curvatureGrid.ts';
import { jetFromRows } from '../../src/geometry/evaluation.ts';
import { domain, interiorBreakpoints } from '../../src/geometry/knots.ts';
import { isSound, surfaceCurvature } from '../../src/geometry/surfaceCurvature.ts';
import { distance, type Vector } from '../../src/geometry/vector.ts';
import { bendScale } from './bendScale.ts';
import { sphere } from './revolvedNet.ts';

/** Basis rows at both ends, `count` places between, and both sides of every breakpoint. */
function stations(net: ControlNet, side: 0 | 1, count: number): BasisRow[] {
  const [knots, degree] = [net.knots[side], net.degree[side]];
  const [from, to] = domain(knots, degree);
  const even = Array.from({ length: count }, (_, k) => from + ((to - from) * k) / (count - 1));
  return [
    ...even.map((w) => basisRow(knots, degree, w, 2)),
    ...interiorBreakpoints(knots, degree).flatMap(({ value, first, multiplicity }) =>
      [first - 1, first + multiplicity - 1].map((span) => basisRow(knots, degree, value, 2, span)),
    ),
  ];
}

const vectorAt = (all: Float64Array, at: number): Vector => [
  all[3 * at],
  all[3 * at + 1],
  all[3 * at + 2],
];

/** Holds every place of a grid against the curvature of its jet, and returns how many have a normal. */
function expectAsOneByOne(
  net: ControlNet,
  grid: CurvatureGrid,
  rowsU: readonly BasisRow[],
  rowsV: readonly BasisRow[],
): number {
  const size = diagonal(net);
  let told = 0;
  rowsV.forEach((bv, row) =>
    rowsU.forEach((bu, column) => {
      const at = row * grid.columns + column;
      const jet = jetFromRows(net, bu, bv);
      const own = isSound(net, jet, size) ? surfaceCurvature(jet) : null;
      expect(distance(vectorAt(grid.points, at), jet.point)).toBeLessThan(1e-12 * size);
      if (!own) {
        expect(grid.isBlind[at]).toBe(1);
        return;
      }
      told += 1;
      const scale = bendScale(jet);
      expect(grid.isBlind[at]).toBe(0);
      expect(distance(vectorAt(grid.normals, at), own.normal)).toBeLessThan(1e-12 * scale * size);
      expect(Math.abs(grid.k1[at] - own.principal[0])).toBeLessThan(1e-12 * scale);
      expect(Math.abs(grid.k2[at] - own.principal[1])).toBeLessThan(1e-12 * scale);
      expect(Math.abs(grid.mean[at] - own.mean)).toBeLessThan(1e-12 * scale);
      expect(Math.abs(grid.gaussian[at] - own.gaussian)).toBeLessThan(1e-12 * scale * scale);
    }),
  );
  return told;
}

describe('the grid tells what the jets tell one by one', () => {
  test.each([
    ['polynomial', false],
    ['rational', true],
  ])(
    '%s nets of any degree and knots, to 1e-12 of what the derivatives could bend',
    (_, rational) => {
      const random = seededRandom(77);
      let told = 0;
      for (let k = 0; k < 60; k++) {
        const net = randomNet(random, rational);
        const [rowsU, rowsV] = [stations(net, 0, 9), stations(net, 1, 7)];
        const grid = curvatureGrid(net, rowsU, rowsV);
        expect([grid.columns, grid.rows]).toEqual([rowsU.length, rowsV.length]);
        told += expectAsOneByOne(net, grid, rowsU, rowsV);
      }
      expect(told).toBeGreaterThan(60 * 63);
    },
  );
});

test('a sphere has one curvature all over, and none where an edge has collapsed', () => {
  const net = sphere(40);
  const rows = ([0, 1] as const).map((side) => {
    const [from, to] = domain(net.knots[side], 2);
    return [0, 0.2, 0.4, 0.7, 1].map((share) =>
      basisRow(net.knots[side], 2, from + share * (to - from), 2),
    );
  });
  const grid = curvatureGrid(net, rows[0], rows[1]);
  for (let row = 0; row < 5; row++)
    for (let column = 0; column < 5; column++) {
      const at = 5 * row + column;
      const isPole = row === 0 || row === 4;
      expect(grid.isBlind[at]).toBe(isPole ? 1 : 0);
      expect(distance(vectorAt(grid.points, at), [0, 0, 0])).toBeCloseTo(40, 9);
      if (isPole)
        expect([grid.k1[at], grid.mean[at], grid.normals[3 * at]]).toEqual([NaN, NaN, NaN]);
      else {
        expect(grid.k1[at]).toBeCloseTo(-1 / 40, 12);
        expect(grid.k2[at]).toBeCloseTo(-1 / 40, 12);
        expect(grid.gaussian[at]).toBeCloseTo(1 / 1600, 12);
      }
    }
});

test('no number is NaN but where the grid says that there is no normal, and none is infinite', () => {
  fc.assert(
    fc.property(
      fc.integer({ min: 0, max: 1e6 }),
      fc.boolean(),
      fc.constantFrom(1e-6, 1, 1e3, 1e9),
      fc.constantFrom('as it is', 'edge', 'line', 'point'),
      (seed, rational, size, drawn) => {
        const net = randomNet(seededRandom(seed), rational, size);
        const points = net.points.map((x, k) => {
          if (drawn === 'edge') return k < 3 * net.columns ? net.points[k % 3] : x;
          if (drawn === 'line') return k % 3 === 0 ? x : 0;
          return drawn === 'point' ? 7 : x;
        });
        const degenerate = { ...net, points };
        const grid = curvatureGrid(degenerate, stations(net, 0, 4), stations(net, 1, 4));
        grid.isBlind.forEach((blind, at) => {
          expect(vectorAt(grid.points, at).every(Number.isFinite)).toBe(true);
          const numbers = [
            ...vectorAt(grid.normals, at),
            ...[grid.gaussian, grid.mean, grid.k1, grid.k2].map((all) => all[at]),
          ];
          if (blind) expect(numbers.every(Number.isNaN)).toBe(true);
          else expect(numbers.every(Number.isFinite)).toBe(true);
        });
        if (drawn === 'line' || drawn === 'point') expect(Math.min(...grid.isBlind)).toBe(1);
      },
    ),
  );
});

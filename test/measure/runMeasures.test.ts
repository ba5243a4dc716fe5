import { describe, expect, test } from 'vitest';
import { ruleFixtures } from '../../fixtures/rules/makeRuleFixtures.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import {
  pointAt,
  reversed,
  withMoves,
  type ControlNet,
  type Spot,
} from '../../src/geometry/controlNet.ts';
import { difference, type Vector } from '../../src/geometry/vector.ts';
import { knotGaps } from '../../src/measure/knotGaps.ts';
import { outwardSide } from '../../src/measure/outwardSide.ts';
import { quadFolds } from '../../src/measure/quadFolds.ts';
import { visibleEffect } from '../../src/measure/visibleEffect.ts';
import { catalogue } from '../../src/rules/catalogue.ts';
import { thresholdsOf } from '../../src/rules/rule.ts';
import { subjectOf } from '../../src/rules/subject.ts';

const even = ruleFixtures['spacing-ratio'].met;
const flat: ControlNet = { ...even, points: even.points.map((x, k) => (k % 3 === 2 ? 0 : x)) };

const missedRules = (net: ControlNet): string[] =>
  catalogue
    .filter(
      ({ data, judge }) => judge(subjectOf(net), thresholdsOf(data, 'A')).outcome === 'missed',
    )
    .map(({ data }) => data.id);

describe('two neighbouring points that changed places', () => {
  const [a, b]: Spot[] = [
    { row: 2, column: 2 },
    { row: 2, column: 3 },
  ];
  const from = (spot: Spot): Vector => pointAt(even, spot.row, spot.column);
  const crossed = withMoves(even, [
    { spot: a, by: difference(from(b), from(a)) },
    { spot: b, by: difference(from(a), from(b)) },
  ]);
  test('are a fold, though the corner normals of a crossed quad cancel', () => {
    expect(Math.max(...quadFolds(crossed).map(({ angle }) => angle))).toBeGreaterThan(Math.PI / 2);
    expect(missedRules(crossed)).toContain('quad-fold');
  });
});

describe('an edge collapsed to a point, as files with few digits write it', () => {
  // Row 0 at one place; the rest of the net an even dome about it.
  const pole = withMoves(
    even,
    Array.from({ length: even.columns }, (_, column) => {
      const spot = { row: 0, column };
      return { spot, by: difference([500, 0, 0], pointAt(even, 0, column)) };
    }),
  );
  const noisy = (size: number): ControlNet => {
    const random = seededRandom(5);
    return withMoves(
      pole,
      Array.from({ length: even.columns }, (_, column) => ({
        spot: { row: 0, column },
        by: [size * random.normal(), size * random.normal(), size * random.normal()] as const,
      })),
    );
  };
  test.each([1e-12, 1e-9, 1e-6, 1e-5])('is judged alike with %d mm of rounding', (size) => {
    expect(missedRules(noisy(size))).toEqual(missedRules(pole));
    expect(outwardSide(noisy(size), null)).toEqual(outwardSide(pole, null));
  });
});

describe('the shortest span', () => {
  const withKnots = (...u: number[]): ControlNet => ({
    ...even,
    degree: [2, even.degree[1]],
    knots: [Float64Array.from(u), even.knots[1]],
    columns: u.length - 3,
  });
  test.each([
    ['one span, end knots off by rounding', withKnots(0, 0, 0, 1e-12, 1, 1, 1, 1), 1, 1],
    [
      'a crowded first span behind such knots',
      withKnots(0, 0, 0, 1e-12, 0.001, 1, 1, 1, 1),
      2,
      0.002,
    ],
    ['even spans', withKnots(0, 0, 0, 1, 2, 3, 3, 3), 3, 1],
    ['one short of three', withKnots(0, 0, 0, 1, 1.5, 3, 3, 3), 3, 0.5],
  ])('%s', (_, net, spans, share) => {
    const [own] = knotGaps(net);
    expect(own.spans).toBe(spans);
    expect(own.share).toBeCloseTo(share, 9);
  });
});

test('where two neighbours miss alike, both directions name the same points', () => {
  // Points 2 and 3 of every row moved towards each other: the two ratios beside are the same.
  const net = withMoves(
    flat,
    Array.from({ length: even.rows }, (_, row) => [
      { spot: { row, column: 2 }, by: [60, 0, 0] as const },
      { spot: { row, column: 3 }, by: [-60, 0, 0] as const },
    ]).flat(),
  );
  const columns = (from: ControlNet): number[] => {
    const { data, judge } = catalogue.find((rule) => rule.data.id === 'spacing-ratio')!;
    const result = judge(subjectOf(from), thresholdsOf(data, 'A'));
    if (result.outcome !== 'missed') return [];
    return result.misses
      .map(({ site }) => (site.kind === 'column' ? site.column : -1))
      .sort((a, b) => a - b);
  };
  expect(columns(net)).toEqual([2, 3]);
  expect(
    columns(reversed(net))
      .map((column) => even.columns - 1 - column)
      .sort((a, b) => a - b),
  ).toEqual([2, 3]);
});

describe('what a moved point does to the surface', () => {
  // Peak of B_i^n B_j^m: C(n,i) (i/n)^i (1-i/n)^(n-i) and likewise for j (any analysis textbook).
  test('a move along the normal of a flat panel peaks at |d| max N_i max M_j', () => {
    const { peak } = visibleEffect(flat, [{ spot: { row: 2, column: 2 }, by: [0, 0, 3] }]);
    expect(peak).toBeGreaterThan(3 * 0.3456 * 0.375 * 0.98);
    expect(peak).toBeLessThanOrEqual(3 * 0.3456 * 0.375 + 1e-12);
  });
  test('a move within a flat panel is not seen', () => {
    expect(visibleEffect(flat, [{ spot: { row: 2, column: 2 }, by: [9, 4, 0] }])).toEqual({
      peak: 0,
      tilt: 0,
      shift: 0,
    });
  });
});

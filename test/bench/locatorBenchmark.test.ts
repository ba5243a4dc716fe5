import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { anySpot, juttingNet, unevenNet, wideFamilies } from '../../fixtures/panelFamilies.ts';
import { seededRandom, type SeededRandom } from '../../fixtures/seededRandom.ts';
import { withMoves, type ControlNet } from '../../src/geometry/controlNet.ts';
import { scaled, type Vector } from '../../src/geometry/vector.ts';
import type { Answer } from './locator/answer.ts';
import { differenceEnergies } from './locator/differenceEnergies.ts';
import { alarmsOver, foundOver, thresholdFor } from './locator/equalAlarms.ts';
import { fourthDifferences } from './locator/fourthDifferences.ts';
import { isClear } from './locator/isClear.ts';
import { mixedResiduals } from './locator/mixedResiduals.ts';
import { leaveOneOutError, ownSpectrum } from './locator/ownSpectrum.ts';
import { panelCase, type PanelCase } from './locator/panelCase.ts';
import type { PointScore } from './locator/pointScores.ts';
import { pointTally } from './locator/pointTally.ts';
import { sizedNet } from './locator/sizedNet.ts';
import { sameSpot, type Trial } from './locator/trial.ts';
import { wilsonInterval } from './locator/wilsonInterval.ts';

// R. G. Newcombe, "Two-sided confidence intervals for the single proportion", Statistics in Medicine
// 17 (1998) 857-872, table I, score method without continuity correction (from memory)
test.each([
  [81, 263, 0.2553, 0.3662],
  [15, 148, 0.0624, 0.1605],
  [0, 20, 0, 0.1611],
  [1, 29, 0.0061, 0.1718],
])('the interval of %i of %i is %f to %f', (hits, count, low, high) => {
  const interval = wilsonInterval(hits, count)!;
  expect(interval[0]).toBeCloseTo(low, 4);
  expect(interval[1]).toBeCloseTo(high, 4);
});

test('an interval holds the share, lies in [0, 1] and mirrors', () => {
  fc.assert(
    fc.property(fc.integer({ min: 1, max: 5000 }), fc.nat(5000), (count, raw) => {
      const hits = raw % (count + 1);
      const [low, high] = wilsonInterval(hits, count)!;
      expect(low).toBeGreaterThanOrEqual(0);
      expect(low).toBeLessThanOrEqual(hits / count);
      expect(high).toBeGreaterThanOrEqual(hits / count);
      expect(high).toBeLessThanOrEqual(1);
      expect(wilsonInterval(count - hits, count)![0]).toBeCloseTo(1 - high, 12);
    }),
  );
  expect(wilsonInterval(0, 0)).toBeNull();
});

/** A styled panel of 1200 x 600 mm as the yardsticks were studied on: crown, twist, taper, sweep. */
function styledPanel(random: SeededRandom): (u: number, v: number) => Vector {
  const crown = random.between(20, 80);
  const side = random.between(10, 40);
  const twist = random.between(-30, 30);
  const taper = random.between(-0.15, 0.15);
  const sweep = random.between(-40, 40);
  return (u, v) => {
    const [a, b] = [2 * u - 1, 2 * v - 1];
    return [
      600 * a + sweep * b * b,
      300 * b * (1 + taper * a),
      twist * a * b - crown * a * a - side * b * b * (1 + 0.2 * taper * a),
    ];
  };
}

const panels = 100;
const yardsticks: readonly (readonly [string, (net: ControlNet) => PointScore[]])[] = [
  ['A', fourthDifferences],
  ['B', differenceEnergies],
  ['C', mixedResiduals],
  ['D', ownSpectrum],
];

/** Of 100 panels, those whose first is the one point moved along the normal; 0.05 mm unevenness. */
function firstRight(
  degree: number,
  inner: readonly [number, number],
  by: number,
): Record<string, number> {
  const right: Record<string, number> = { A: 0, B: 0, C: 0, D: 0 };
  const knots = [clampedKnots(degree, inner[0]), clampedKnots(degree, inner[1])] as const;
  for (let k = 0; k < panels; k++) {
    const random = seededRandom(500 + k);
    const fair = fittedNet([degree, degree], knots, styledPanel(random));
    const uneven = unevenNet(fair, random, 0.05);
    const spot = anySpot(uneven, random);
    const { net } = juttingNet(uneven, spot, random.uniform() < 0.5 ? by : -by);
    for (const [name, rank] of yardsticks) if (sameSpot(rank(net)[0].spot, spot)) right[name] += 1;
  }
  return right;
}

/** Two counts out of 100 that may be the same share: their 95 % intervals meet. */
function mayBeAlike(hits: number, share: number): boolean {
  const [a, b] = [wilsonInterval(hits, panels)!, wilsonInterval(share * panels, panels)!];
  return a[0] <= b[1] && b[0] <= a[1];
}

// From the study of the yardsticks made before this project: share of panels in which the top-ranked
// point is the displaced one, on 100 styled panels. Its recipe is given in words only, so the values
// that hang on the recipe's higher terms (B and C on a 4x4 net) are left out.
describe('yardsticks A to D rank as they were found to', () => {
  test.each([
    [5, [1, 1], 2, { A: 0.06, B: 1, C: 1, D: 1 }],
    [3, [4, 3], 0.5, { A: 0.13, B: 0.28, C: 0.85, D: 0.97 }],
    [5, [2, 2], 0.5, { B: 0.27, C: 0.79, D: 1 }],
    [4, [1, 1], 2, { A: 0.15, C: 0.88, D: 0.97 }],
    [3, [1, 1], 2, { A: 0.19, D: 0.97 }],
  ] as const)('degree %i, spans %j, %f mm', (degree, inner, by, published) => {
    const right = firstRight(degree, inner, by);
    for (const [name, share] of Object.entries(published))
      expect(mayBeAlike(right[name], share), `${name}: ${right[name]} of 100, not ${share}`).toBe(
        true,
      );
  });
});

// Of a projection's studentised residuals the displaced point's is the largest, by Cauchy and Schwarz
test('C names a single displaced point of a net that is flat otherwise', () => {
  const knots = [clampedKnots(5), clampedKnots(5)] as const;
  const flat = fittedNet([5, 5], knots, (u, v) => [1200 * u, 600 * v, 0]);
  for (let row = 0; row < 6; row++)
    for (let column = 0; column < 6; column++) {
      const spot = { row, column };
      const by: Vector = [0.1, -0.2, 1];
      const [first] = mixedResiduals(withMoves(flat, [{ spot, by }]));
      expect(first.spot).toEqual(spot);
      first.displacement.forEach((value, axis) => expect(value).toBeCloseTo(by[axis], 6));
    }
});

// Deleted residuals e / (1 - h) have variance s^2 / (1 - h): Cook & Weisberg, Residuals and Influence
// in Regression (1982), from memory. On a flat net only a bilinear part is left free.
test('the leave-one-out error of an uneven flat net is that of deleted residuals', () => {
  const knots = [clampedKnots(3, 5), clampedKnots(3, 5)] as const;
  const flat = fittedNet([3, 3], knots, (u, v) => [1200 * u, 600 * v, 0]);
  const hand = 0.05;
  const errors = Array.from({ length: 20 }, (_, k) =>
    leaveOneOutError(unevenNet(flat, seededRandom(k), hand)),
  );
  const greville = [0, 1 / 15, 3 / 15, 6 / 15, 9 / 15, 12 / 15, 14 / 15, 1].map((x) => x - 0.5);
  const spread = greville.reduce((total, x) => total + x * x, 0);
  const leverage = greville.map((x) => 1 / greville.length + (x * x) / spread);
  const inverse = leverage.flatMap((a) => leverage.map((b) => 1 / (1 - a * b)));
  const expected =
    hand * Math.sqrt((3 * inverse.reduce((total, x) => total + x, 0)) / inverse.length);
  const mean = errors.reduce((total, error) => total + error, 0) / errors.length;
  expect(Math.abs(mean / expected - 1)).toBeLessThan(0.1);
});

test.each([
  [0.601, 0.1, 0.1, true],
  [0.599, 0.1, 0.1, false],
  [0.601, 0.1, 0.099, false],
  [0.25, 0, 0.1, true],
])('%f mm on a net with an error of %f mm, seen %f mm: clear %s', (by, error, seen, clear) => {
  expect(isClear(by, error, seen)).toBe(clear);
});

test('a slip is clear by the net as it was before it was displaced', () => {
  for (let k = 0; k < 24; k++) {
    const family = wideFamilies[k % wideFamilies.length];
    const { net, slips, ownError } = panelCase(family, 0.05, k % 2 ? 1 : 3, 900 + k)!;
    const back = slips.map(({ spot, moved }) => ({ spot, by: scaled(moved, -1) }));
    const before = leaveOneOutError(withMoves(net, back));
    expect(ownError! / before).toBeCloseTo(1, 3);
    for (const { by, seen, clear } of slips) {
      expect(seen).toBeLessThanOrEqual(by * (1 + 1e-9));
      expect(clear).toBe(by >= 6 * ownError! && seen >= 0.1);
    }
  }
});

test.each(wideFamilies.map((family) => [family.name, family] as const))(
  '%s: one seed, one panel, of 1200 mm, every coordinate finite',
  (_, family) => {
    const [net, again] = [1, 2].map(() => sizedNet(family.net(seededRandom(77))));
    expect(net.points).toEqual(again.points);
    expect(net.points.every((value) => Number.isFinite(value))).toBe(true);
    expect(net.points.length).toBe(3 * net.rows * net.columns);
    let most = 0;
    for (let k = 0; k < net.points.length; k += 3)
      for (let l = 0; l < k; l += 3)
        most = Math.max(
          most,
          Math.hypot(...[0, 1, 2].map((axis) => net.points[k + axis] - net.points[l + axis])),
        );
    expect(most).toBeCloseTo(1200, 6);
  },
);

const [family] = wideFamilies;
const caseOf = (question: 0 | 1 | 2): PanelCase => panelCase(family, 0.01, question, 4)!;
const answerOf = (top: Answer['top'], named: Answer['named'] = []): Answer => ({
  top,
  named,
  lines: [],
  graver: named.length > 0,
  milliseconds: 0,
});

test('a threshold allows so many alarms and no more; ties fall on the side of fewer', () => {
  const at = caseOf(0);
  const spot = { row: 0, column: 0 };
  const clean = [5, 4, 3, 3, 1, 0].map((strength): Trial => {
    return { at, answers: { X: answerOf({ spot, displacement: [0, 0, 1], strength }) } };
  });
  for (const [alarm, alarms] of [
    [0, 0],
    [1 / 6, 1],
    [2 / 6, 2],
    [3 / 6, 2],
    [4 / 6, 4],
  ])
    expect(alarmsOver(clean, 'X', thresholdFor(clean, 'X', alarm)).hits).toBe(alarms);
  const one = caseOf(1);
  const [{ spot: truth, moved }] = one.slips;
  const found = (strength: number): number =>
    foundOver(
      [
        { at: one, answers: { X: answerOf({ spot: truth, displacement: moved, strength }) } },
        { at: one, answers: { X: answerOf(null) } },
      ],
      'X',
      2,
    ).hits;
  expect([found(3), found(2), found(1)]).toEqual([1, 0, 0]);
});

test('a tally counts names, finds, directions and nudges each by itself', () => {
  const at = caseOf(2);
  const [a, b] = at.slips;
  const wrong = at.slips.some(({ spot }) => sameSpot(spot, { row: 0, column: 0 }))
    ? { row: 1, column: 1 }
    : { row: 0, column: 0 };
  expect(at.slips.some(({ spot }) => sameSpot(spot, wrong))).toBe(false);
  const trials: Trial[] = [
    {
      at,
      answers: {
        X: answerOf({ spot: a.spot, displacement: a.moved, strength: 1 }, [
          { spot: a.spot, displacement: scaled(a.moved, 1.1) },
          { spot: wrong, displacement: [0, 0, 1] },
        ]),
      },
    },
    {
      at,
      answers: {
        X: answerOf({ spot: wrong, displacement: a.moved, strength: 1 }, [
          { spot: b.spot, displacement: scaled(b.moved, -1) },
        ]),
      },
    },
    { at, answers: { X: answerOf(null) } },
  ];
  const tally = pointTally(trials, 'X');
  const counts = ({ hits, count }: { hits: number; count: number }) => [hits, count];
  expect({
    firstRight: counts(tally.firstRight),
    firstNameRight: counts(tally.firstNameRight),
    found: counts(tally.found),
    precision: counts(tally.precision),
    wrongPanels: counts(tally.wrongPanels),
    directionRight: counts(tally.directionRight),
    within20: counts(tally.within20),
  }).toEqual({
    firstRight: [1, 3],
    firstNameRight: [2, 2],
    found: [2, 6],
    precision: [2, 3],
    wrongPanels: [1, 3],
    directionRight: [1, 2],
    within20: [1, 2],
  });
  expect(tally.medianError).toBeCloseTo(2, 9);
});

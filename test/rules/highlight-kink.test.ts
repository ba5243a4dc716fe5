import { describe, expect, test } from 'vitest';
import { ternwingPanels } from '../../fixtures/demo/ternwing.ts';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { anySpot, juttingNet, unevenNet, wideFamilies } from '../../fixtures/panelFamilies.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import type { ControlNet } from '../../src/geometry/controlNet.ts';
import type { Vector } from '../../src/geometry/vector.ts';
import { highlightKink } from '../../src/rules/highlight-kink.ts';
import { thresholdsOf, type Judgement, type Site } from '../../src/rules/rule.ts';
import { subjectOf } from '../../src/rules/subject.ts';
import { sphere } from '../geometry/revolvedNet.ts';
import { changes, fixtureNet, judgement, ruleTable } from './ruleTable.ts';

ruleTable('highlight-kink', {
  sites: [
    { kind: 'section', axis: 'column', at: 0.5 },
    { kind: 'point', row: 3, column: 6 },
  ],
  value: 3.08,
  within: 0.58,
});

const judged = (net: ControlNet): Judgement => judgement('highlight-kink', net);

test('clean panels of the demo, uneven as by a hand, say nothing', () => {
  for (const { name, net } of ternwingPanels({ clean: true }))
    expect(judged(net), name).toEqual({ outcome: 'met' });
});

test('what is said of a kink and of a wiggle can be followed', () => {
  const result = judged(fixtureNet('highlight-kink', 'missed'));
  if (result.outcome !== 'missed') throw new Error(result.outcome);
  const [kink, wiggle] = result.misses;
  // the curvature along the rows jumps by 30 % at the double knot
  expect(kink.evidence).toMatchObject({ order: 1, knot: 0.5 });
  expect(Math.abs(kink.position![0] - 500)).toBeLessThan(5);
  expect(kink.evidence!.shift).toBeGreaterThan(5);
  // point (3, 6) was pulled out; it acts most where the line sways
  expect(wiggle.influence![0]).toMatchObject({ row: 3, column: 6 });
  const shares = wiggle.influence!.map(({ share }) => share);
  expect(shares).toEqual(shares.toSorted((a, b) => b - a));
  expect(wiggle.evidence).not.toHaveProperty('order');
  expect(wiggle.evidence!.bunching).toBeGreaterThanOrEqual(1);
});

test('a corner inside makes the lines jump, which counts however little they kink', () => {
  const result = judged(fixtureNet('inner-break', 'missed'));
  if (result.outcome !== 'missed') throw new Error(result.outcome);
  expect(result.misses.map(({ site }) => site)).toEqual([{ kind: 'column', column: 3 }]);
  expect(result.misses[0].evidence).toMatchObject({ order: 0 });
  expect(result.misses[0].beyond).toBeGreaterThan(10);
});

test('only what is kept counts', () => {
  const net = fixtureNet('highlight-kink', 'missed');
  const { data, judge } = highlightKink;
  const keep = (normal: Vector, most: number): Judgement =>
    judge(
      subjectOf(net, { keptRegion: { region: null, keep: [{ normal, most }] } }),
      thresholdsOf(data, 'A'),
    );
  expect(keep([1, 0, 0], 450)).toEqual({ outcome: 'met' });
  expect(keep([1, 0, 0], 650)).toMatchObject({
    outcome: 'missed',
    misses: [{ site: { kind: 'section', axis: 'column', at: 0.5 } }],
  });
  expect(keep([1, 0, 0], -10)).toEqual({ outcome: 'undecided', reason: 'no-view' });
});

/** The site's keys in order, its numbers to nine digits. */
const written = (site: Site): string =>
  Object.entries(site)
    .map(
      ([key, value]) =>
        `${key} ${typeof value === 'number' ? value.toPrecision(9) : String(value)}`,
    )
    .sort((a, b) => (a < b ? -1 : 1))
    .join(' ');

test('panels of many builds, one point of each pulled out, are told alike however they lie and run', () => {
  const said = (net: ControlNet, siteOf: (site: Site) => Site): string[] => {
    const result = judged(net);
    return result.outcome === 'missed'
      ? result.misses
          .map(({ site, value }) => `${written(siteOf(site))} ${value.toFixed(3)}`)
          .sort()
      : [result.outcome];
  };
  let misses = 0;
  for (const name of ['styled', 'conic-loft', 'soft-crease', 'torus'])
    for (let k = 0; k < 3; k++) {
      const random = seededRandom(300 + k);
      const { net: even } = wideFamilies.find((family) => family.name === name)!;
      const fair = unevenNet(even(random), random, 0.015);
      const { net } = juttingNet(fair, anySpot(fair, random), 4);
      const own = said(net, (site) => site);
      misses += own.length;
      for (const change of changes)
        expect(
          said(change.net(net), (site) => site),
          `${name} ${k} ${change.name}`,
        ).toEqual(said(net, (site) => change.site(site, net)));
    }
  expect(misses).toBeGreaterThan(20);
});

describe('where there is little to see', () => {
  const flat = (u: number, v: number): Vector => [900 * u, 400 * v, 0];
  const fit = (
    degree: readonly [number, number],
    shape: (u: number, v: number) => Vector,
  ): ControlNet => fittedNet(degree, [clampedKnots(degree[0]), clampedKnots(degree[1])], shape);

  test('a flat panel has straight lines', () => {
    expect(judged(fit([3, 3], flat))).toEqual({ outcome: 'met' });
    expect(judged(fit([1, 1], flat))).toEqual({ outcome: 'met' });
  });

  test('a panel without extent, a ball, a degree too high are not decided', () => {
    const point = { ...fit([2, 2], flat), points: new Float64Array(27).fill(3) };
    expect(judged(point)).toEqual({
      outcome: 'not-applicable',
      reason: 'no-extent',
    });
    expect(judged(fit([2, 2], (u) => [100 * u, 0, 0]))).toEqual({
      outcome: 'undecided',
      reason: 'no-view',
    });
    expect(judged(sphere(300))).toEqual({ outcome: 'undecided', reason: 'no-view' });
    expect(judged(fit([13, 2], (u, v) => [900 * u, 400 * v, -80 * u * u]))).toEqual({
      outcome: 'undecided',
      reason: 'too-large',
    });
  });

  test('an edge collapsed into a point does not disturb the lines beside it', () => {
    expect(
      judged(
        fit([4, 4], (u, v) => [
          900 * u,
          400 * u * (v - 0.5),
          -120 * u * u - 60 * u * (v - 0.5) ** 2,
        ]),
      ),
    ).toEqual({
      outcome: 'met',
    });
  });
});

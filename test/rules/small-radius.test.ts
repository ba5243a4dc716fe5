import { describe, expect, test } from 'vitest';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { netJson } from '../../fixtures/netJson.ts';
import { auditedFile } from '../../src/audit.ts';
import { transposed, type ControlNet } from '../../src/geometry/controlNet.ts';
import { polyline } from '../../src/geometry/splineCurve.ts';
import { trimmedRegion, type TrimRegion } from '../../src/geometry/trimRegion.ts';
import type { OutsideStatement } from '../../src/measure/outwardSide.ts';
import { briefOf } from '../../src/rules/brief.ts';
import { thresholdsOf, type Judgement, type Miss } from '../../src/rules/rule.ts';
import { smallRadius } from '../../src/rules/small-radius.ts';
import { isSpecFault, specOf } from '../../src/rules/spec.ts';
import { subjectOf } from '../../src/rules/subject.ts';
import { verdictOf } from '../../src/verdict/verdict.ts';
import { textVerdict } from '../../src/writers/textVerdict.ts';
import { revolvedNet, sphere } from '../geometry/revolvedNet.ts';
import { ruleTable } from './ruleTable.ts';

// 0.92368 by 2001 x 21 evaluations around it
ruleTable('small-radius', {
  sites: [{ kind: 'point', row: 2, column: 2 }],
  value: 0.92368,
  within: 0.0092,
});

type Circumstances = NonNullable<Parameters<typeof subjectOf>[1]>;
const judged = (net: ControlNet, circumstances: Circumstances = {}): Judgement =>
  smallRadius.judge(subjectOf(net, circumstances), thresholdsOf(smallRadius.data, 'A'));

function missOf(judgement: Judgement): Miss {
  if (judgement.outcome !== 'missed') throw new Error(judgement.outcome);
  expect(judgement.misses).toHaveLength(1);
  return judgement.misses[0];
}

/** A roof, z = -x^2 / (2 r) over 200 mm by 300 mm: its ridge has the radius r. */
const roof = (r: number): ControlNet =>
  fittedNet([5, 3], [clampedKnots(5), clampedKnots(3)], (u, v) => {
    const x = 200 * u - 90;
    return [x, 300 * v, (-x * x) / (2 * r) - 20 * (v - 0.4) ** 2];
  });

const up: OutsideStatement = { along: [0, 0, 1] };
const down: OutsideStatement = { along: [0, 0, -1] };

describe('with a thickness', () => {
  test('what is left inside must reach the limit where the panel bends inward, and there alone', () => {
    expect(judged(roof(5))).toEqual({ outcome: 'met' });
    expect(judged(roof(5), { thickness: 1.5, outside: up })).toEqual({ outcome: 'met' });
    const miss = missOf(judged(roof(5), { thickness: 3, outside: up }));
    expect(Math.abs(miss.value - 2)).toBeLessThan(0.05);
    expect(miss.evidence).toMatchObject({ thickness: 3 });
    expect(judged(roof(5), { thickness: 3, outside: down })).toEqual({ outcome: 'met' });
    // seen from below, from the side that its normal is on or not
    expect(judged(transposed(roof(5)), { thickness: 3, outside: down })).toEqual({
      outcome: 'met',
    });
    expect(missOf(judged(transposed(roof(5)), { thickness: 3, outside: up })).value).toBeCloseTo(
      miss.value,
      6,
    );
  });

  test('an inner face that folds has nothing left', () => {
    expect(missOf(judged(roof(5), { thickness: 8, outside: up })).value).toBe(0);
  });

  test('where nothing tells the inner side, only what holds for both is said', () => {
    // a saddle with radii of 40 and 5: neither side is the convex one
    const saddle = fittedNet([4, 4], [clampedKnots(4), clampedKnots(4)], (u, v) => {
      const [x, y] = [100 * u - 50, 100 * v - 50];
      return [x, y, (x * x) / 80 - (y * y) / 80];
    });
    expect(subjectOf(saddle).side.from).toBe('unknown');
    expect(judged(saddle, { thickness: 30 })).toEqual({ outcome: 'met' });
    expect(judged(saddle, { thickness: 39 }).outcome).toBe('missed');
    const uneven = fittedNet([4, 4], [clampedKnots(4), clampedKnots(4)], (u, v) => {
      const [x, y] = [100 * u - 50, 100 * v - 50];
      return [x, y, (x * x) / 80 - (y * y) / 100];
    });
    expect(subjectOf(uneven).side.from).toBe('unknown');
    expect(judged(uneven, { thickness: 39 })).toEqual({ outcome: 'undecided', reason: 'no-side' });
    expect(judged(uneven, { thickness: 39, outside: down }).outcome).toBe('missed');
    expect(judged(uneven, { thickness: 39, outside: up })).toEqual({ outcome: 'met' });
  });

  test('the spec gives it by the panel, and the text says what it leaves', () => {
    const panels = [{ names: ['roof*'], thickness: 3, outside: up }];
    const spec = specOf(JSON.stringify({ format: 'hullsight-spec', version: 1, panels }));
    if (isSpecFault(spec)) throw new Error(JSON.stringify(spec));
    const brief = briefOf({ spec, ownRules: [], only: 'small-radius' });
    expect([brief.thicknessOf('roof-front'), brief.thicknessOf('floor')]).toEqual([3, 0]);
    const bytes = Buffer.from(
      netJson([
        { name: 'roof-front', net: roof(5) },
        { name: 'floor', net: roof(5) },
      ]),
    );
    const run = {
      tool: '0',
      at: '2026-01-01T00:00:00Z',
      spec: null,
      switchedOff: [],
      unfitted: [],
      learned: '0'.repeat(64),
    };
    const text = textVerdict(
      verdictOf([auditedFile({ name: 'a.net.json', bytes }, brief)], 'moderate', run),
      [],
      { width: 200, styled: false },
    );
    expect(text).toMatch(
      /slight +the surface bends to a radius of 2\.0\d mm near row \d, column \d \(limit 3 mm\): a radius of 5\.0\d mm less the thickness of 3 mm/,
    );
    expect(text.match(/less the thickness/g)).toHaveLength(1);
  });

  test.each([0, -1, 1e9, '3'])('a thickness of %j is told', (thickness) => {
    const panels = [{ names: ['a'], thickness }];
    expect(specOf(JSON.stringify({ format: 'hullsight-spec', version: 1, panels }))).toMatchObject({
      code: 'shape',
    });
  });
});

describe('looks at what is kept', () => {
  /** A trim with straight sides, from u to u and v to v. */
  function box(net: ControlNet, from: number, to: number): TrimRegion {
    const loop = polyline([
      [from, 0.1],
      [to, 0.1],
      [to, 0.9],
      [from, 0.9],
      [from, 0.1],
    ]);
    const region = trimmedRegion(net, [[{ plane: loop, space: null }]], 1e-3);
    if ('trouble' in region) throw new Error(region.trouble);
    return region;
  }
  const net = roof(1);
  test.each([
    ['all of it', null, 1],
    ['a part with the ridge', [0.3, 0.6], 1],
    ['a sliver with the ridge', [0.4495, 0.4505], 1],
    // at x = 0.5 the radius is 1.25^1.5
    ['a part that ends beside it', [0.4525, 0.9], 1.25 ** 1.5],
  ] as const)('%s', (_, sides, radius) => {
    const region = sides && box(net, sides[0], sides[1]);
    const miss = missOf(judged(net, { keptRegion: { region, keep: [] } }));
    expect(Math.abs(miss.value / radius - 1)).toBeLessThan(0.01);
  });
  test('a part without it is met; where nothing is kept the rule does not apply', () => {
    const region = box(net, 0.5, 0.9);
    expect(judged(net, { keptRegion: { region, keep: [] } })).toEqual({ outcome: 'met' });
    const keep = [{ normal: [1, 0, 0], most: -500 }] as const;
    expect(judged(net, { keptRegion: { region: null, keep } })).toEqual({
      outcome: 'not-applicable',
      reason: 'nothing-kept',
    });
  });
});

test('a surface without a normal anywhere is undecided', () => {
  const net = roof(5);
  const line = { ...net, points: net.points.map((x, k) => (k % 3 === 0 ? x : 0)) };
  expect(judged(line)).toEqual({ outcome: 'undecided', reason: 'no-normal' });
});

test('a pole is none, nor is a tip that hardly turns; one that is pointed is', () => {
  const cone = (height: number): ControlNet =>
    revolvedNet(
      polyline([
        [0, 0],
        [300, height],
      ]),
    );
  expect(judged(sphere(120))).toEqual({ outcome: 'met' });
  expect(judged(cone(10))).toEqual({ outcome: 'met' });
  expect(missOf(judged(cone(200))).value).toBeLessThan(0.01);
});

test('names the control points that sway the place most, one panel one finding', () => {
  const { site, influence } = missOf(judged(roof(1)));
  expect(influence).toHaveLength(3);
  expect(site).toEqual({ kind: 'point', row: influence![0].row, column: influence![0].column });
  expect(influence![0].share).toBeLessThan(1);
  const again = judged(
    revolvedNet(
      polyline([
        [0.8, 0],
        [0.8, 300],
      ]),
    ),
  );
  expect(missOf(again).evidence).toMatchObject({ parts: 4 });
});

import { describe, expect, test } from 'vitest';
import { seamFixtures } from '../../fixtures/rules/makeRuleFixtures.ts';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { plantedFaults, ternwingPanels } from '../../fixtures/demo/ternwing.ts';
import { withMoves, type ControlNet } from '../../src/geometry/controlNet.ts';
import { specOf, type Spec } from '../../src/rules/spec.ts';
import type { JudgedSeams } from '../../src/verdict/judgedSeams.ts';
import { verdictShape } from '../../src/verdict/verdict.generated.js';
import { verdictOf } from '../../src/verdict/verdict.ts';
import { jsonVerdict } from '../../src/writers/jsonVerdict.ts';
import { textVerdict } from '../../src/writers/textVerdict.ts';
import { joinedNets } from '../rules/seamTable.ts';

const findings = ({ files }: JudgedSeams) =>
  files.flatMap(({ panels }) => panels.flatMap((panel) => panel.findings));

type Nets = readonly (readonly [string, ControlNet])[];

describe('the demo', () => {
  const demo: Nets = ternwingPanels().map(({ name, net }) => [name, net]);
  const told = (nets: Nets): JudgedSeams => joinedNets(nets, 'seam-angle');

  test('its planted break is found between nose and hood, of its planted size, and nothing else', () => {
    const found = findings(told(demo));
    expect(
      found.map(({ panel, severity, miss: { site } }) => [panel, severity, site.kind]),
    ).toEqual([['hood', 'severe', 'seam']]);
    const planted = plantedFaults().find(({ id }) => id === 'seam-angle')!;
    expect(found[0].miss.value).toBeCloseTo(planted.size, 3);
    expect(found[0].miss.site).toMatchObject({ with: 'nose', nth: 0 });
  });

  test('the nudge offered mends it when it is made, and leaves the edges together', () => {
    const [{ nudge }] = findings(told(demo));
    const moves = nudge!.moves.map(({ by, ...spot }) => ({ spot, by }));
    const mended = told(
      demo.map(([name, net]) => [name, name === 'hood' ? withMoves(net, moves) : net]),
    );
    const seam = mended.seams.find(
      ({ panels }) => panels[0].panel === 'hood' && panels[1].panel === 'nose',
    )!;
    expect(seam.outcomes['seam-angle']).toBe('met');
    expect(seam.angle!.most).toBeCloseTo(nudge!.leaves, 6);
    expect(seam.gap!.most).toBe(0);
  });

  test('without its faults it has no severe or moderate finding by any rule', () => {
    const clean: Nets = ternwingPanels({ clean: true }).map(({ name, net }) => [name, net]);
    const job = joinedNets(clean, null);
    expect(findings(job).filter(({ severity }) => severity !== 'slight')).toEqual([]);
    for (const { gap, outcomes } of job.seams) {
      expect(gap!.most).toBeLessThan(1e-9);
      expect(new Set(Object.values(outcomes))).toEqual(new Set(['met']));
    }
  });

  test('its seams stand in the verdict: JSON in its schema, text as a table of 80 columns', () => {
    const { files, ...together } = joinedNets(demo, null);
    const run = {
      tool: '0',
      at: '2026-01-01T00:00:00Z',
      spec: null,
      switchedOff: [],
      unfitted: [],
      learned: '0'.repeat(64),
    };
    const verdict = verdictOf(files, 'moderate', run, together);
    const json = JSON.parse(jsonVerdict(verdict, [])) as {
      seams: unknown[];
      openBorders: unknown[];
    };
    expect(verdictShape(json), JSON.stringify(verdictShape.errors)).toBe(true);
    expect([json.seams.length, json.openBorders.length]).toEqual([7, together.openBorders.length]);
    const text = textVerdict(verdict, [], { width: 80, styled: false });
    for (const line of text.split('\n')) expect(line.length, line).toBeLessThanOrEqual(80);
    expect(text).toMatch(/hood \| nose +471 +smooth +0\.00 +0\.47 .*missed/);
    expect(text).toContain('Open borders, no other panel runs along them:');
  });

  test('whatever the order of its files, the seams and findings are the same', () => {
    const one = joinedNets(demo, null);
    const other = joinedNets(demo.toReversed(), null);
    expect(other.seams).toEqual(one.seams);
    const ids = (job: JudgedSeams) =>
      findings(job)
        .map(({ id, severity, miss }) => `${id} ${severity} ${miss.value}`)
        .sort();
    expect(ids(other)).toEqual(ids(one));
    expect(one.seams.length).toBe(7);
  });
});

describe('what the spec says of two panels', () => {
  const pair: Nets = seamFixtures['seam-angle'].missed.map(({ name, net }) => [name, net]);
  const outcomes = (meant: string): readonly unknown[] => {
    const spec = specOf(
      JSON.stringify({
        format: 'hullsight-spec',
        version: 1,
        seams: { pairs: [{ names: ['re*', 'front'], meant }] },
      }),
    ) as Spec;
    const { seams, openBorders } = joinedNets(pair, null, 'mm', spec);
    return [seams.map((seam) => [seam.meant, seam.outcomes['seam-angle']]), openBorders.length];
  };

  test.each([
    ['smooth', [[['smooth', 'missed']], 6]],
    ['feature', [[['feature', 'not-applicable']], 6]],
    ['apart', [[], 6]],
  ])('%s', (meant, expected) => {
    expect(outcomes(meant)).toEqual(expected);
  });

  test('a seam whose angle is over smoothBelow is an edge of the design, and its gap is judged', () => {
    const { seams } = joinedNets(pair, null, 'mm', { seams: { smoothBelow: 0.2 } });
    expect(seams.map(({ meant, outcomes: { 'seam-gap': gap } }) => [meant, gap])).toEqual([
      ['feature', 'met'],
    ]);
  });

  test('panels farther apart than the reach do not meet', () => {
    const apart: Nets = seamFixtures['seam-gap'].missed.map(({ name, net }) => [name, net]);
    expect(joinedNets(apart, null, 'mm', { seams: { reach: 0.1 } }).seams).toEqual([]);
    expect(joinedNets(apart, null).seams.length).toBe(1);
  });
});

test('on flat panels less of an angle is seen: what shifts a highlight sets the limit', () => {
  const flat = (bow: number): Nets =>
    ([0, 1] as const).map((half): readonly [string, ControlNet] => [
      `half-${half}`,
      fittedNet([3, 3], [clampedKnots(3), clampedKnots(3)], (u, v) => {
        const x = (half - 1 + u) * 500;
        const turned = half === 1 ? x * Math.tan((0.05 * Math.PI) / 180) : 0;
        return [x, 600 * v, (-bow * x * x) / 2 + turned];
      }),
    ]);
  const angleOf = (bow: number) => joinedNets(flat(bow), 'seam-angle');
  // 0.05 degrees over a radius of 5000 mm: 4.4 mm; over 15000 mm: 13 mm
  expect(angleOf(1 / 5000).seams[0].outcomes['seam-angle']).toBe('met');
  const [found] = findings(angleOf(1 / 15000));
  expect(found.miss.value).toBeCloseTo(0.05, 4);
  expect(found.miss.evidence!.shift).toBeCloseTo(((0.05 * Math.PI) / 180) * 15000, 1);
  expect(found.beyond).toBeCloseTo(found.miss.evidence!.shift / 10, 6);
});

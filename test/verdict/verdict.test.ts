import { describe, expect, test } from 'vitest';
import { ruleFixtures } from '../../fixtures/rules/makeRuleFixtures.ts';
import { netJson } from '../../fixtures/netJson.ts';
import { auditedFile } from '../../src/audit.ts';
import { fault } from '../../src/intake/fault.ts';
import { briefOf } from '../../src/rules/brief.ts';
import { catalogue } from '../../src/rules/catalogue.ts';
import { specOf, type Spec } from '../../src/rules/spec.ts';
import {
  atLeast,
  beyondLimit,
  fingerprint,
  severities,
  severityOf,
} from '../../src/verdict/finding.ts';
import { exitStatus, verdictOf, type Verdict } from '../../src/verdict/verdict.ts';

const run = {
  tool: '0.0.0',
  at: '2026-01-01T00:00:00Z',
  spec: null,
  switchedOff: [],
  unfitted: [],
  learned: '0'.repeat(64),
};
const brief = (spec: Spec = {}) => briefOf({ spec, ownRules: [], only: null });
const file = (name: string, ids: readonly string[], kind: 'met' | 'missed', spec: Spec = {}) =>
  auditedFile(
    {
      name,
      bytes: Buffer.from(netJson(ids.map((id) => ({ name: id, net: ruleFixtures[id][kind] })))),
    },
    brief(spec),
  );
const verdict = (...files: ReturnType<typeof file>[]): Verdict => verdictOf(files, 'moderate', run);

const jut = catalogue.find(({ data }) => data.id === 'point-jut')!.data;
const legs = catalogue.find(({ data }) => data.id === 'spacing-ratio')!.data;
const edge = catalogue.find(({ data }) => data.id === 'collapsed-edge')!.data;

describe('severity is how many times beyond the limit', () => {
  test.each([
    [1.01, 'named', 'slight'],
    [1.25, 'named', 'moderate'],
    [1.99, 'named', 'moderate'],
    [2, 'named', 'severe'],
    [50, 'uncertain', 'slight'],
  ] as const)('%d times, %s: %s', (beyond, certainty, expected) => {
    expect(severityOf(legs, 'A', { beyond, certainty })).toBe(expected);
  });

  test('a limit to be reached is judged the other way round, and zero is not infinitely bad', () => {
    const limit = edge.limits.A;
    expect(beyondLimit(edge, limit.value / 2, limit)).toBeCloseTo(2, 12);
    expect(beyondLimit(edge, 0, limit)).toBe(1e6);
    expect(severityOf(edge, 'A', { beyond: 1e6, certainty: 'named' })).toBe('moderate'); // never severe: severity.severe is null
  });

  test('a miss that does not tell what is seen, under a rule that goes by it, is a defect', () => {
    expect(() => severityOf(jut, 'A', { beyond: 9, certainty: 'named' })).toThrow(/point-jut/);
  });

  test('atLeast', () => {
    expect(severities.filter((s) => atLeast(s, 'moderate'))).toEqual(['severe', 'moderate']);
  });
});

test('a fingerprint depends on rule, panel and site, and on nothing else', () => {
  const site = { kind: 'point', row: 1, column: 2 } as const;
  expect(fingerprint('point-jut', 'hood', site)).toMatch(/^[0-9a-f]{12}$/);
  const all = [
    fingerprint('point-jut', 'hood', site),
    fingerprint('point-drift', 'hood', site),
    fingerprint('point-jut', 'nose', site),
    fingerprint('point-jut', 'hood', { ...site, row: 2 }),
  ];
  expect(new Set(all).size).toBe(4);
  expect(fingerprint('point-jut', 'hood', { ...site })).toBe(all[0]);
});

describe('outcome and exit status', () => {
  const bad = auditedFile({ name: 'bad.igs', fault: fault('file-missing', {}) }, brief());
  const good = file('good.net.json', ['spacing-ratio'], 'met');
  const missed = file('missed.net.json', ['point-jut'], 'missed');
  test.each([
    ['within limits', [good], 'met', 0],
    ['a finding that blocks', [good, missed], 'missed', 1],
    ['a fault', [good, bad], 'undecided', 2],
    ['a fault and a finding that blocks', [missed, bad], 'missed', 2],
    ['nothing to judge', [], 'undecided', 0],
  ] as const)('%s', (_, files, outcome, status) => {
    const made = verdict(...files);
    expect(made.summary.outcome).toBe(outcome);
    expect(exitStatus(made)).toBe(status);
  });

  test('the bar moves what blocks', () => {
    expect(exitStatus(verdictOf([missed], 'severe', run))).toBe(1);
    const slight = file('slight.net.json', ['unequal-weights'], 'missed', {
      rules: { 'unequal-weights': { limits: { A: 1.45 } } },
    });
    expect(new Set(slight.panels[0].findings.map(({ severity }) => severity))).toEqual(
      new Set(['slight']),
    );
    expect(exitStatus(verdictOf([slight], 'moderate', run))).toBe(0);
    expect(exitStatus(verdictOf([slight], 'slight', run))).toBe(1);
  });
});

describe('severity of a displaced point is what is seen of it', () => {
  // Peak (mm), tilt (degrees), shift of a highlight (mm); two of the three make it moderate, all three severe.
  test.each([
    [0.09, 0.016, 0.5, 'A', 'slight'],
    [9, 0.016, 0.5, 'A', 'slight'],
    [0.09, 0.016, 90, 'A', 'slight'],
    [0.1, 0.016, 0.6, 'A', 'moderate'],
    [0.01, 0.017, 0.6, 'A', 'moderate'],
    [0.1, 0.017, 0.5, 'A', 'moderate'],
    [0.24, 90, 90, 'A', 'moderate'],
    [9, 0.085, 90, 'A', 'moderate'],
    [9, 90, 2.9, 'A', 'moderate'],
    [0.25, 0.086, 3, 'A', 'severe'],
    [0.3, 0.09, 3, 'A', 'severe'],
    [0.3, 0.09, 3, 'B', 'moderate'],
    [0.3, 0.09, 3, 'C', 'moderate'],
    [0.3, 0.08, 3, 'C', 'slight'],
  ] as const)('%d mm, %d deg, %d mm in class %s: %s', (peak, tilt, shift, own, expected) => {
    const visible = { peak, tilt, shift };
    expect(severityOf(jut, own, { beyond: 1.1, visible, certainty: 'named' })).toBe(expected);
    expect(severityOf(jut, own, { beyond: 1e6, visible, certainty: 'named' })).toBe(expected);
    expect(severityOf(jut, own, { beyond: 1e6, visible, certainty: 'uncertain' })).toBe('slight');
  });

  test('one and the same jut is the graver, the more it can be seen: class A before B before C', () => {
    const found = (['A', 'B', 'C'] as const).map((own) => {
      const limits = { 'point-jut': { limits: { B: 0.3, C: 0.3 } } };
      const [panel] = file('x.net.json', ['point-jut'], 'missed', {
        class: own,
        rules: limits,
      }).panels;
      return panel.findings.find(({ rule }) => rule === 'point-jut')?.severity ?? 'none';
    });
    expect(found).toEqual(['severe', 'moderate', 'none']);
  });
});

describe('order and counts', () => {
  const ids = Object.keys(ruleFixtures);
  const made = verdict(file('b.net.json', ids, 'missed'), file('a.net.json', ids, 'met'));

  test('files by name, findings worst first', () => {
    expect(made.files.map(({ file: name }) => name)).toEqual(['a.net.json', 'b.net.json']);
    const ranks = made.findings.map(({ severity }) => severities.indexOf(severity));
    expect(ranks).toEqual(ranks.toSorted((a, b) => a - b));
  });

  test('every rule on every panel has one of four outcomes, and all are counted', () => {
    const { outcomes, panels } = made.summary;
    expect(panels).toBe(2 * ids.length);
    const total = Object.values(outcomes).reduce((a, b) => a + b);
    expect(total).toBe(panels * catalogue.length);
    expect(outcomes.met).toBeGreaterThan(0);
    expect(outcomes.missed).toBeGreaterThan(0);
    expect(outcomes['not-applicable']).toBeGreaterThan(0);
  });

  test('the order of the files given does not matter', () => {
    const other = verdict(file('a.net.json', ids, 'met'), file('b.net.json', ids, 'missed'));
    expect(JSON.stringify(other)).toBe(JSON.stringify(made));
  });
});

describe('cures', () => {
  test('what the nudge of a jut takes away is tied to it, and is gone when the nudge is made', () => {
    const [panel] = file('jut.net.json', ['point-jut'], 'missed').panels;
    const own = panel.findings.find(({ rule }) => rule === 'point-jut')!;
    const cured = panel.findings.filter(({ curedBy }) => curedBy === own.id);
    const others = panel.findings.filter((f) => f !== own && f.curedBy === null);
    expect(others.map(({ rule }) => rule)).toEqual([]);
    expect(cured.every(({ rule }) => rule !== 'point-jut')).toBe(true);
  });
});

describe('the spec', () => {
  test('gives a class by name, takes rules off, and sets limits that say where they come from', () => {
    const spec = specOf(
      JSON.stringify({
        format: 'hullsight-spec',
        version: 1,
        class: 'C',
        panels: [{ names: ['point-*'], class: 'B' }],
        rules: { 'degree-limit': { off: true }, 'point-jut': { limits: { B: 0.4 } } },
      }),
    ) as Spec;
    const judged = file('x.net.json', ['point-jut', 'row-sway'], 'missed', spec);
    expect(judged.panels.map((panel) => panel.class)).toEqual(['B', 'C']);
    expect(judged.panels[0].outcomes).not.toHaveProperty('degree-limit');
    const found = judged.panels[0].findings.find(({ rule }) => rule === 'point-jut')!;
    expect(found.limit).toEqual({ value: 0.4, source: 'spec' });
  });

  test('says which side is outward', () => {
    const below: Spec = { outside: { along: [0, 0, -1] } };
    const [panel] = file('jut.net.json', ['point-jut'], 'missed', below).panels;
    expect(panel.outward).toBe('spec');
    expect(panel.findings.find(({ rule }) => rule === 'point-jut')!.miss.direction).toBe('in');
  });
});

describe('a gap inside a panel', () => {
  // Knot of multiplicity 4 at degree 3: the two halves share no point, and stand 5 mm apart.
  const half = ruleFixtures['inner-break'].met;
  const columns = 8;
  const points = Array.from({ length: half.rows }, (_, row) =>
    [0, 1, 2, 3, 3, 4, 5, 6].flatMap((column, k) => {
      const at = 3 * (row * half.columns + column);
      return [half.points[at], half.points[at + 1], half.points[at + 2] + (k > 3 ? 5 : 0)];
    }),
  ).flat();
  const net = {
    ...half,
    columns,
    knots: [Float64Array.of(0, 0, 0, 0, 0.5, 0.5, 0.5, 0.5, 1, 1, 1, 1), half.knots[1]] as const,
    points: Float64Array.from(points),
  };
  test('is severe by its gap, however small the angle', () => {
    const judgedGap = auditedFile(
      { name: 'gap.net.json', bytes: Buffer.from(netJson([{ name: 'gap', net }])) },
      brief(),
    );
    const found = judgedGap.panels[0].findings.find(({ rule }) => rule === 'inner-break')!;
    expect(found.severity).toBe('severe');
    expect(found.beyond).toBeCloseTo(5000, 3);
    expect(exitStatus(verdict(judgedGap))).toBe(1);
  });
});

test('a rule that could not decide leaves the outcome undecided, and does not block', () => {
  const blind: ReturnType<typeof file> = file('a.net.json', ['degree-limit'], 'met');
  const open = {
    ...blind,
    panels: blind.panels.map((panel) => ({
      ...panel,
      outcomes: { ...panel.outcomes, 'point-jut': 'undecided' as const },
    })),
  };
  expect(verdict(open).summary.outcome).toBe('undecided');
  expect(exitStatus(verdict(open))).toBe(0);
});

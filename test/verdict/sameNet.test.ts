import { expect, test } from 'vitest';
import { ruleFixtures } from '../../fixtures/rules/makeRuleFixtures.ts';
import { auditedFile } from '../../src/audit.ts';
import { catalogue } from '../../src/rules/catalogue.ts';
import { briefOf } from '../../src/rules/brief.ts';
import type { Spec } from '../../src/rules/spec.ts';
import { verdictShape } from '../../src/verdict/verdict.generated.js';
import { verdictOf, type Verdict } from '../../src/verdict/verdict.ts';
import { jsonVerdict } from '../../src/writers/jsonVerdict.ts';
import { textVerdict } from '../../src/writers/textVerdict.ts';
import { igesFile, pointer, type MadeEntity } from '../intake/igesFile.ts';

const { missed } = ruleFixtures['point-jut'];

/** The net as a rational B-spline surface: IGES 5.3, 4.24. */
const surface: MadeEntity = {
  type: 128,
  fields: [
    missed.columns - 1,
    missed.rows - 1,
    ...missed.degree,
    0,
    0,
    1,
    0,
    0,
    ...missed.knots.flatMap((knots) => Array.from(knots)),
    ...Array.from({ length: missed.columns * missed.rows }, () => 1),
    ...missed.points,
    '',
    '',
    '',
    '',
  ],
};
const [low, high] = [missed.knots[0][0], missed.knots[0][missed.knots[0].length - 1]];
const middle = (low + high) / 2;
const reach = (high - low) / 8;
const circle: MadeEntity = {
  type: 100,
  fields: [0, middle, middle, middle + reach, middle, middle + reach, middle],
};
const cut = (label: string): MadeEntity => ({
  type: 144,
  fields: [pointer(1), 1, 0, pointer(3)],
  label,
  level: 7,
});
const bytes = igesFile([
  surface,
  circle,
  { type: 142, fields: [0, pointer(1), pointer(2), 0, 1] },
  cut('LEFT'),
  cut('RIGHT'),
]);
const verdict = (spec: Spec = {}): Verdict =>
  verdictOf(
    [auditedFile({ name: 'two.igs', bytes }, briefOf({ spec, ownRules: [], only: null }))],
    'moderate',
    {
      tool: '0',
      at: '2026-01-01T00:00:00Z',
      spec: null,
      switchedOff: [],
      unfitted: [],
      learned: '0'.repeat(64),
    },
  );

test('a net that two faces trim is judged once; the other panel says where', () => {
  const { summary, files, findings } = verdict();
  const [left, right] = files[0].panels;
  expect(summary.panels).toBe(2);
  expect(findings.length).toBeGreaterThan(0);
  expect(findings.every(({ panel }) => panel === 'LEFT')).toBe(true);
  expect([left.sameNetAs, right.sameNetAs]).toEqual([null, 'LEFT']);
  // what lies on the surface is judged within each trim
  const ofNet = catalogue.filter(({ data }) => data.scope !== 'surface');
  expect(new Set(ofNet.map(({ data }) => right.outcomes[data.id]))).toEqual(
    new Set(['not-applicable']),
  );
  expect(right.outcomes['section-sweep']).toBe('met');
  expect(Object.keys(right.outcomes)).toEqual(Object.keys(left.outcomes));
  expect(summary.outcomes['not-applicable']).toBeGreaterThanOrEqual(ofNet.length);
});

test('by each class of surface, since limits differ', () => {
  const { files, findings } = verdict({ panels: [{ names: ['RIGHT'], class: 'C' }] });
  expect(files[0].panels.map(({ sameNetAs }) => sameNetAs)).toEqual([null, null]);
  expect(findings.some(({ panel }) => panel === 'LEFT')).toBe(true);
});

test('the verdict tells groups and the shared net in its schema, and the text lists it in neither crowd', () => {
  const json = jsonVerdict(verdict(), []);
  const parsed = JSON.parse(json) as { readonly panels: readonly Record<string, unknown>[] };
  expect(verdictShape(parsed), JSON.stringify(verdictShape.errors)).toBe(true);
  expect(parsed.panels.map(({ name, groups, sameNetAs }) => [name, groups, sameNetAs])).toEqual([
    ['LEFT', ['layer 7'], undefined],
    ['RIGHT', ['layer 7'], 'LEFT'],
  ]);
  const text = textVerdict(verdict(), [], { width: 200, styled: false });
  expect(text).toContain(
    'One surface trimmed in several ways, its net judged once: RIGHT as LEFT (two.igs).',
  );
  expect(text).not.toContain('Within limits: ');
});

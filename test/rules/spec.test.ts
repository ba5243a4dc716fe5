import { readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { describe, expect, test } from 'vitest';
import { ruleFixtures } from '../../fixtures/rules/makeRuleFixtures.ts';
import { netJson } from '../../fixtures/netJson.ts';
import { anySpot, families, juttingNet, unevenNet } from '../../fixtures/panelFamilies.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { withMoves, type ControlNet } from '../../src/geometry/controlNet.ts';
import { auditedFile } from '../../src/audit.ts';
import { briefOf, switchedOff, unfittedNames } from '../../src/rules/brief.ts';
import type { RuleData, SeenSteps } from '../../src/rules/rule.ts';
import { isSpecFault, ownRuleOf, specOf, type Spec } from '../../src/rules/spec.ts';
import type { Finding } from '../../src/verdict/finding.ts';
import { verdictOf } from '../../src/verdict/verdict.ts';
import { specFaultSentence } from '../../src/writers/specFaultSentences.ts';
import { textVerdict } from '../../src/writers/textVerdict.ts';

const builtIn = (id: string): RuleData =>
  JSON.parse(
    readFileSync(join(resolve(import.meta.dirname, '../../rules'), `${id}.json`), 'utf8'),
  ) as RuleData;
const alone = { ownRules: [], only: null };
const head = { format: 'hullsight-spec', version: 1 };

describe('a spec that is not sound says where, and the nearest known word', () => {
  test.each([
    [{ ...head, clas: 'A' }, 'unknown-key', /"clas".*Did you mean "class"/],
    [{ ...head, rules: { 'point-jutt': {} } }, 'unknown-rule', /point-jutt.*point-jut/],
    [{ ...head, rules: { 'point-jut': { limits: { A: -1 } } } }, 'shape', /limits\/A/],
    [{ ...head, class: 'D' }, 'shape', /class.*"A","B","C"/],
    [{ ...head, outside: { along: [0, 0, 0] } }, 'shape', /direction needs a length/],
    [{ ...head, version: 2 }, 'shape', /version/],
    [{ ...head, locater: {} }, 'unknown-key', /"locater".*Did you mean "locator"/],
    [
      { ...head, locator: { uneveness: 1 } },
      'unknown-key',
      /^\/locator.*Did you mean "unevenness"/,
    ],
    [{ ...head, locator: { unevenness: -0.01 } }, 'shape', /^\/locator\/unevenness .*>= 0/],
    [{ ...head, locator: { unevenness: 1e9 } }, 'shape', /^\/locator\/unevenness .*<= 100/],
    [{ ...head, locator: { unevenness: '0.02' } }, 'shape', /^\/locator\/unevenness .*number/],
    [{ ...head, locator: { falseAlarms: 0.5 } }, 'shape', /^\/locator\/falseAlarms .*<= 0\.1/],
    [{ ...head, locator: { falseAlarms: 0 } }, 'shape', /^\/locator\/falseAlarms .*>= 0\.001/],
    [{ ...head, locator: { falseAlarms: 'few' } }, 'shape', /^\/locator\/falseAlarms .*number/],
    [{ ...head, locator: 0.01 }, 'shape', /^\/locator .*object/],
  ])('%j', (content, code, sentence) => {
    const result = specOf(JSON.stringify(content));
    if (!isSpecFault(result)) throw new Error('taken as sound');
    expect(result.code).toBe(code);
    expect(specFaultSentence(result)).toMatch(sentence);
  });
  test('a text that is not JSON gives its line', () => {
    const result = specOf('{\n "format" 1}');
    expect(isSpecFault(result) && specFaultSentence(result)).toMatch(/^line 2: .*colon/);
  });
});

describe('what the spec says of the hands and of false alarms', () => {
  const specWith = (locator: Spec['locator']): Spec => {
    const result = specOf(JSON.stringify({ ...head, locator }));
    if (isSpecFault(result)) throw new Error(specFaultSentence(result));
    return result;
  };
  /** Juts found on some nets. */
  const findings = (nets: readonly ControlNet[], spec: Spec): Finding[] =>
    auditedFile(
      {
        name: 'x.net.json',
        bytes: Buffer.from(netJson(nets.map((net, k) => ({ name: `${k}`, net })))),
      },
      briefOf({ spec, ownRules: [], only: 'point-jut' }),
    ).panels.flatMap((panel) => panel.findings);
  const named = (nets: readonly ControlNet[], spec: Spec): number =>
    findings(nets, spec).filter(({ certainty }) => certainty === 'named').length;

  test('a sound one is taken, and what it leaves out is as without it', () => {
    expect(
      briefOf({ spec: specWith({ unevenness: 0.03, falseAlarms: 0.002 }), ...alone }).locator,
    ).toEqual({ hand: 0.03, falseAlarms: 0.002 });
    expect(briefOf({ spec: specWith({ unevenness: 0 }), ...alone }).locator).toEqual({
      hand: 0,
      falseAlarms: 0.01,
    });
    expect(briefOf({ spec: {}, ...alone }).locator).toEqual({ hand: null, falseAlarms: 0.01 });
  });

  test('a 1 mm jut is named where hands are said to leave 0.01 mm, and not where 0.5 mm', () => {
    const even = ruleFixtures['point-jut'].met;
    const jut = withMoves(even, [{ spot: { row: 2, column: 3 }, by: [0, 0, 1] }]);
    expect(findings([jut], specWith({ unevenness: 0.01 }))[0]).toMatchObject({
      rule: 'point-jut',
      certainty: 'named',
    });
    for (const { certainty, severity } of findings([jut], specWith({ unevenness: 0.5 })))
      expect([certainty, severity]).toEqual(['uncertain', 'slight']);
    expect(named([jut], specWith({ unevenness: 0.5 }))).toBe(0);
  });

  test('the fewer false alarms may be, the less is named', () => {
    const nets = Object.values(families).flatMap((family, at) =>
      Array.from({ length: 5 }, (_, k) => {
        const random = seededRandom(5000 + 100 * at + k);
        const fair = unevenNet(family(random), random, 0.05);
        return juttingNet(fair, anySpot(fair, random), 0.8).net;
      }),
    );
    const [few, plain, many] = [0.001, 0.01, 0.1].map((falseAlarms) =>
      named(nets, specWith({ falseAlarms })),
    );
    expect(few).toBeLessThan(plain);
    expect(plain).toBeLessThanOrEqual(many);
    expect(few).toBeGreaterThan(0);
  });
});

describe("a job's own rule", () => {
  const own = { ...builtIn('turning-jump'), id: 'our-bend' };
  const jut = builtIn('point-jut');

  test('judges by the measure it reuses, with its own limit', () => {
    const strict = {
      ...own,
      limits: { ...own.limits, A: { value: 0.05, source: 'common practice' } },
    };
    const data = ownRuleOf(JSON.stringify(strict));
    if (isSpecFault(data)) throw new Error(specFaultSentence(data));
    const net = ruleFixtures['turning-jump'].missed;
    const file = auditedFile(
      { name: 'x.net.json', bytes: Buffer.from(netJson([{ name: 'x', net }])) },
      briefOf({ spec: {}, ownRules: [data], only: 'our-bend' }),
    );
    expect(file.panels[0].outcomes).toEqual({ 'our-bend': 'missed' });
    expect(file.panels[0].findings[0].limit.value).toBe(0.05);
  });

  test('about displaced points may go by times beyond its limit, or by steps of its own', () => {
    const { seen } = jut.severity as SeenSteps;
    const doubled = { ...seen, peak: { ...seen.peak, moderate: seen.peak.severe } };
    for (const severity of [{ moderate: 2, severe: null }, { seen: doubled }]) {
      const data = ownRuleOf(JSON.stringify({ ...jut, id: 'our-jut', severity }));
      expect(isSpecFault(data) ? specFaultSentence(data) : data.severity).toEqual(severity);
    }
  });

  test('without floors takes those of the rule whose measure it reuses', () => {
    const { floors: _, ...bare } = own;
    const data = ownRuleOf(JSON.stringify(bare));
    expect(isSpecFault(data) ? data : Object.keys(data.floors ?? {})).toEqual(
      Object.keys(own.floors ?? {}),
    );
  });

  test.each([
    ['the id of a built-in rule', { ...own, id: 'turning-jump' }, 'rule-id-taken'],
    ['a measure nobody knows', { ...own, measure: 'turningJump' }, 'unknown-measure'],
    ['another unit than its measure has', { ...own, unit: 'mm' }, 'shape'],
    ['the other sense', { ...own, sense: 'at-least' }, 'shape'],
    ['a gap nobody fills', { ...own, message: 'bend {value}' }, 'shape'],
    ['severity by what its measure does not tell', { ...own, severity: jut.severity }, 'shape'],
    ['a severity of neither form', { ...own, severity: 2 }, 'shape'],
    ['a step that is below its limit', { ...own, severity: { moderate: 0.5, severe: 2 } }, 'shape'],
    ['half the steps', { ...jut, id: 'our-jut', severity: { seen: {} } }, 'shape'],
  ])('is refused with %s', (_, content, code) => {
    const result = ownRuleOf(JSON.stringify(content));
    expect(isSpecFault(result) ? result.code : 'taken as sound').toBe(code);
  });
});

describe('what the spec did is said', () => {
  const spec: Spec = {
    rules: { 'degree-limit': { off: true }, 'span-limit': {} },
    panels: [{ names: ['hod-*', 'hood'] }],
  };
  test('switched off, and names that fit no panel', () => {
    expect(switchedOff(spec)).toEqual(['degree-limit']);
    expect(unfittedNames(spec, ['hood', 'nose'])).toEqual(['hod-*']);
    const run = {
      tool: '0',
      at: '2026-01-01T00:00:00Z',
      spec: 'hullsight.json',
      switchedOff: ['degree-limit'],
      unfitted: ['hod-*'],
      learned: '0'.repeat(64),
    };
    const text = textVerdict(verdictOf([], 'moderate', run), [], { width: 80, styled: false });
    expect(text).toContain('Limits of the job: hullsight.json.');
    expect(text).toContain('Switched off there: degree-limit.');
    expect(text).toContain('It names "hod-*", and no panel is called so.');
  });
});

import { readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { describe, expect, test } from 'vitest';
import { ruleFixtures } from '../../fixtures/rules/makeRuleFixtures.ts';
import { netJson } from '../../fixtures/netJson.ts';
import { auditedFile } from '../../src/audit.ts';
import { faultCodes, noticeCodes } from '../../src/intake/fault.ts';
import { briefOf } from '../../src/rules/brief.ts';
import { reasonCodes } from '../../src/rules/rule.ts';
import type { Finding } from '../../src/verdict/finding.ts';
import { verdictOf } from '../../src/verdict/verdict.ts';
import { caution } from '../../src/writers/caution.ts';
import { faultSentence, noticeSentence } from '../../src/writers/faultSentences.ts';
import { reasonSentence } from '../../src/writers/reasonSentences.ts';
import { printable, shownLimit, shownNumber } from '../../src/writers/shown.ts';
import { textVerdict, type Layout } from '../../src/writers/textVerdict.ts';

const run = {
  tool: '0',
  at: '2026-01-01T00:00:00Z',
  spec: null,
  switchedOff: [],
  unfitted: [],
  learned: '0'.repeat(64),
};

const demo = resolve(import.meta.dirname, '../../fixtures/demo/job');
const brief = briefOf({ spec: {}, ownRules: [], only: null });
const plain: Layout = { width: 80, styled: false };

const text = (sources: readonly [string, Uint8Array][], layout = plain): string =>
  textVerdict(
    verdictOf(
      sources.map(([name, bytes]) => auditedFile({ name, bytes }, brief)),
      'moderate',
      run,
    ),
    [],
    layout,
  );

const job = ['front.igs', 'flanks.stp', 'back.net.json'].map((name): [string, Uint8Array] => [
  name,
  readFileSync(resolve(demo, name)),
]);
const everything: [string, Uint8Array][] = [
  [
    'every-rule.net.json',
    Buffer.from(
      netJson(Object.entries(ruleFixtures).map(([id, { missed }]) => ({ name: id, net: missed }))),
    ),
  ],
  ['broken.igs', Buffer.from('rubbish')],
];

describe.each([40, 80, 100])('at %d columns', (width) => {
  test.each([
    ['the demo', job],
    ['every rule missed, and a fault', everything],
  ])('%s keeps within the width', (_, sources) => {
    for (const line of text(sources, { width, styled: false }).split('\n'))
      expect(line.length, line).toBeLessThanOrEqual(width);
  });
});

test('bold and dim only where the terminal shows them, and nothing else differs', () => {
  // oxlint-disable-next-line no-control-regex
  const codes = /\u001b\[\d+m/g;
  const bare = text(job);
  const styled = text(job, { width: 80, styled: true });
  expect(bare).not.toMatch(codes);
  expect(styled).toMatch(codes);
  expect(styled.replace(codes, '')).toBe(bare);
});

test('the caution stands under every verdict', () => {
  for (const sources of [job, everything, []])
    expect(text(sources).replace(/\s+/g, ' ')).toContain(caution);
});

describe('why a run is undecided', () => {
  const judged = auditedFile(
    {
      name: 'a.net.json',
      bytes: Buffer.from(netJson([{ name: 'a', net: ruleFixtures['surplus-build'].met }])),
    },
    brief,
  );
  const open = judged.panels.map((panel) => ({
    ...panel,
    outcomes: { ...panel.outcomes, 'point-jut': 'undecided' as const },
    reasons: { ...panel.reasons, 'point-jut': 'too-large' as const },
  }));
  const unread = auditedFile({ name: 'b.igs', bytes: Buffer.from('rubbish') }, brief);
  test.each([
    ['a rule', [{ ...judged, panels: open }], 'undecided: not every rule could decide.'],
    ['no panel', [], 'undecided: no panel to judge.'],
    ['a fault', [judged, unread], 'undecided: not everything could be read.'],
    ['nothing', [judged], 'within limits.'],
  ] as const)('%s', (_, files, said) => {
    const verdict = verdictOf(files, 'moderate', run);
    expect(textVerdict(verdict, [], plain).replace(/\s+/g, ' ')).toContain(`: ${said}`);
  });
});

test('a name from a file cannot command the terminal', () => {
  const net = ruleFixtures['point-jut'].missed;
  const name = 'ho\u001b[2Jod\u0007\u202e\n';
  const shown = text([['x.net.json', Buffer.from(netJson([{ name, net }]))]]);
  expect(shown).toContain('ho?[2Jod??? in x.net.json');
  // oxlint-disable-next-line no-control-regex
  expect(shown).not.toMatch(/[\u0000-\u0009\u000b-\u001f\u007f\u202e]/);
});

test('a finding tells row, column, amount, side and nudge, counted from 1', () => {
  const shown = text(job).replace(/\s+/g, ' ');
  expect(shown).toMatch(/row 3, column 4 juts out by 2\.4\d mm \(limit 0\.15 mm\) \[point-jut\]/);
  expect(shown).toMatch(/: 0\.29 mm at its peak, tilt 0\.11 deg; highlights shift by 3\.\d\d mm\./);
  expect(shown).toMatch(/Confidence 9\d %\. Nudge \(-0\.\d+, -0\.\d+, -2\.\d+\) mm: -2\.4\d along/);
});

test('a line tells the nudge of its middle point, and that the others have their own', () => {
  const shown = text(job).replace(/\s+/g, ' ');
  expect(shown).toMatch(/row 4 as a whole juts in by 2\.\d+ mm \(limit 0\.5 mm\) \[hull-jut\]/);
  expect(shown).toMatch(
    /Nudge \([^)]*\) mm at row 4, column [45]: 2\.\d+ along the normal, [^;]*; the line's other points by moves of their own \(in the JSON verdict\)\. Leaves/,
  );
});

describe('how sure a finding is', () => {
  const net = ruleFixtures['point-jut'].missed;
  const judged = auditedFile(
    { name: 'x.net.json', bytes: Buffer.from(netJson([{ name: 'x', net }])) },
    brief,
  );
  const own = judged.panels[0].findings.find(({ rule }) => rule === 'point-jut')!;
  /** The text where the jut is another than it is. */
  const told = (finding: Finding): string => {
    const panels = [{ ...judged.panels[0], findings: [finding] }];
    return textVerdict(verdictOf([{ ...judged, panels }], 'moderate', run), [], plain);
  };
  const unsure: Finding = {
    ...own,
    severity: 'slight',
    certainty: 'uncertain',
    miss: { ...own.miss, confidence: 0.4199, runnerUp: { kind: 'row', row: 4 } },
  };
  const tied: Finding = {
    ...unsure,
    miss: {
      ...unsure.miss,
      site: {
        kind: 'points',
        points: [
          { row: 2, column: 3 },
          { row: 2, column: 4 },
        ],
      },
    },
    nudge: { ...own.nudge!, either: [{ row: 2, column: 4, by: [0.1, 0, -1.25] }] },
  };

  test('a named one has its confidence, rounded down', () => {
    const shown = told({ ...own, miss: { ...own.miss, confidence: 0.9999 } });
    expect(shown).toContain('Confidence 99 %.\n');
  });

  test('an uncertain one tells where else it may be', () => {
    const shown = told(unsure).replace(/\s+/g, ' ');
    expect(shown).toContain('probably row 3, column 4 juts out by');
    expect(shown).toContain('Confidence 41 %; if not there, then likeliest at row 5.');
  });

  test('two that cannot be told apart are both told, each with its nudge, not both to be made', () => {
    const lines = told(tied);
    for (const line of lines.split('\n')) expect(line.length, line).toBeLessThanOrEqual(80);
    const shown = lines.replace(/\s+/g, ' ');
    expect(shown).toContain('probably row 3, column 4 or row 3, column 5 juts out by');
    expect(shown).toContain('Confidence 41 % that it is the first of them.');
    expect(shown).toMatch(
      /Nudge \([^)]*\) mm at row 3, column 4: [^;]*; or \(0\.10, 0\.00, -1\.25\) mm at row 3, column 5; not both\. Leaves/,
    );
  });

  test('what a nudge leaves is not told finer than a thousandth of a millimetre', () => {
    const left = (leaves: number): string => told({ ...own, nudge: { ...own.nudge!, leaves } });
    expect(left(2e-7)).toContain('Leaves under 0.001 mm.');
    expect(left(0.0012)).toContain('Leaves 0.0012 mm.');
  });
});

describe('every code has its sentence, that ends as one and has no empty gap', () => {
  test.each(faultCodes)('fault %s', (code) => {
    const said = faultSentence({ code, place: {}, data: {} });
    expect(said).toMatch(/[.?:]$/);
    expect(said.length).toBeGreaterThan(20);
  });
  test.each(noticeCodes)('notice %s', (code) => {
    expect(noticeSentence({ code, place: {}, data: {} })).toMatch(/\.$/);
  });
  test.each(reasonCodes)('reason %s', (code) => {
    expect(reasonSentence(code)).toMatch(/\.$/);
  });
});

describe('numbers as a person reads them', () => {
  test.each([
    [2.0813, 'mm', '2.08'],
    [0.0014, 'mm', '0.0014'],
    [-0.001, 'mm', '-0.001'],
    [0, 'mm', '0.00'],
    [12345.6, 'mm', '12346'],
    [3, 'count', '3'],
    [0.065, 'ratio', '0.07'],
  ] as const)('%d in %s is %s', (value, unit, expected) => {
    expect(shownNumber(value, unit)).toBe(expected);
  });
  test.each([
    [0.3, 'mm', '0.3 mm'],
    [1, 'count', '1'],
    [1.000001, 'ratio', '1'],
    [0.0005, 'ratio', '0.0005'],
    [60, 'deg', '60 deg'],
  ] as const)('limit %d in %s is %s', (value, unit, expected) => {
    expect(shownLimit(value, unit)).toBe(expected);
  });
  test('printable leaves letters of every language alone', () => {
    expect(printable('Heckkörper 左')).toBe('Heckkörper 左');
  });
});

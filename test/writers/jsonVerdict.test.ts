import { readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { describe, expect, test } from 'vitest';
import { ruleFixtures } from '../../fixtures/rules/makeRuleFixtures.ts';
import { netJson } from '../../fixtures/netJson.ts';
import { auditedFile } from '../../src/audit.ts';
import { briefOf } from '../../src/rules/brief.ts';
import { specOf, type Spec } from '../../src/rules/spec.ts';
import { verdictShape } from '../../src/verdict/verdict.generated.js';
import { verdictOf, type Verdict } from '../../src/verdict/verdict.ts';
import { jsonVerdict } from '../../src/writers/jsonVerdict.ts';

const demo = resolve(import.meta.dirname, '../../fixtures/demo/job');
const spec = specOf(readFileSync(resolve(demo, 'hullsight.json'), 'utf8')) as Spec;
const brief = briefOf({ spec, ownRules: [], only: null });

const verdict = (at: string, sources: readonly [string, Uint8Array][]): Verdict =>
  verdictOf(
    sources.map(([name, bytes]) => auditedFile({ name, bytes }, brief)),
    'moderate',
    { tool: '0.0.0', at, spec: null, switchedOff: [], unfitted: [], learned: '0'.repeat(64) },
  );

const noon = '2026-01-01T12:00:00Z';
const job = ['front.igs', 'flanks.stp', 'back.net.json'].map((name): [string, Uint8Array] => [
  name,
  readFileSync(resolve(demo, name)),
]);
const everything = Object.entries(ruleFixtures).map(([id, { missed }]): [string, Uint8Array] => [
  `${id}.net.json`,
  Buffer.from(netJson([{ name: id, net: missed }])),
]);
const faulty: [string, Uint8Array][] = [
  ['a.igs', Buffer.from('rubbish')],
  ['b.stp', Buffer.from('ISO-10303-21;\nHEADER;\n')],
  ['c.net.json', Buffer.from('{"format": "hullsight-net",')],
  ['d.txt', Buffer.from('hello')],
];

describe.each([
  ['the demo job', job],
  ['every rule missed', everything],
  ['files with faults', faulty],
  ['no file at all', []],
])('the verdict on %s', (_, sources) => {
  const text = jsonVerdict(verdict(noon, sources), []);

  test('has the shape of its schema', () => {
    expect(verdictShape(JSON.parse(text)), JSON.stringify(verdictShape.errors)).toBe(true);
  });

  test('is the same to the byte for the same bytes, whatever the clock says but for its header', () => {
    expect(jsonVerdict(verdict(noon, sources), [])).toBe(text);
    const later = jsonVerdict(verdict('2027-02-03T04:05:06Z', sources), []);
    expect(later.replace('2027-02-03T04:05:06Z', noon)).toBe(text);
  });

  test('holds no minus zero and no number that JSON cannot say', () => {
    expect(text).not.toMatch(/[^\d]-0[,\s]/);
    expect(text).not.toMatch(/\b(NaN|Infinity)\b/);
  });
});

test('what the locator says is told in full: how sure, where else, and a move for every point', () => {
  const net = ruleFixtures['hull-jut'].missed;
  const sources: [string, Uint8Array][] = [
    ['row.net.json', Buffer.from(netJson([{ name: 'row', net }]))],
  ];
  const { run, findings } = JSON.parse(jsonVerdict(verdict(noon, sources), [])) as {
    readonly run: { readonly learned: string };
    readonly findings: readonly {
      readonly rule: string;
      readonly site: unknown;
      readonly position: readonly number[];
      readonly confidence: number | null;
      readonly expected: readonly number[] | null;
      readonly runnerUp: unknown;
      readonly evidence: Readonly<Record<string, number>>;
      readonly nudge: {
        readonly vector: readonly number[];
        readonly moves: readonly {
          readonly row: number;
          readonly column: number;
          readonly vector: readonly number[];
        }[];
        readonly either: readonly unknown[];
      } | null;
    }[];
  };
  expect(run.learned).toMatch(/^[0-9a-f]{64}$/);
  const { nudge, ...found } = findings.find(({ rule }) => rule === 'hull-jut')!;
  expect(found.site).toEqual({ kind: 'row', row: 3 });
  expect(found.confidence).toBeGreaterThan(2 / 3);
  expect(found.confidence).toBeLessThan(1);
  expect(nudge!.moves.map(({ row, column }) => [row, column])).toEqual(
    Array.from({ length: net.columns }, (_, column) => [3, column]),
  );
  expect(nudge!.moves.map(({ vector }) => vector)).toContainEqual(nudge!.vector);
  expect(nudge!.either).toEqual([]);
  found.expected!.forEach((value, axis) =>
    expect(value).toBeCloseTo(found.position[axis] + nudge!.vector[axis], 5),
  );
  for (const key of ['logOdds', 'gain', 'setGain', 'deviation', 'unevenness'])
    expect(found.evidence[key], key).toBeGreaterThan(0);
  expect(found.runnerUp === null).toBe(found.evidence['runnerUpBehind'] === undefined);
  for (const other of findings)
    if (!['point-jut', 'point-drift', 'hull-jut'].includes(other.rule))
      expect([other.confidence, other.expected, other.runnerUp]).toEqual([null, null, null]);
});

test('positions and nudges are in the unit of the file', () => {
  const net = netJson([{ name: 'jut', net: ruleFixtures['point-jut'].missed }]);
  const inches = net.replace('"units": "mm"', '"units": "in"');
  interface Found {
    rule: string;
    position: number[];
    measured: { value: number };
    nudge: { vector: number[]; unit: string } | null;
  }
  const found = (text: string): Found[] =>
    (
      JSON.parse(jsonVerdict(verdict(noon, [['jut.net.json', Buffer.from(text)]]), [])) as {
        findings: Found[];
      }
    ).findings;
  const mm = found(net).find(({ nudge }) => nudge)!;
  const inch = found(inches).find(({ nudge }) => nudge)!;
  expect(inch.position).toEqual(mm.position);
  expect(inch.nudge!.unit).toBe('in');
  inch.nudge!.vector.forEach((x, axis) => expect(x).toBeCloseTo(mm.nudge!.vector[axis], 5));
  expect(inch.measured.value / mm.measured.value).toBeCloseTo(25.4, 4);
});

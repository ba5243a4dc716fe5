import { readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { describe, expect, test } from 'vitest';
import { auditedFile, auditedScan, readyScan } from '../../src/audit.ts';
import { briefOf, scanKey } from '../../src/rules/brief.ts';
import { specOf, type Spec } from '../../src/rules/spec.ts';
import { blocks } from '../../src/verdict/finding.ts';
import { verdictShape } from '../../src/verdict/verdict.generated.js';
import { verdictOf } from '../../src/verdict/verdict.ts';
import { jsonVerdict } from '../../src/writers/jsonVerdict.ts';
import { textVerdict } from '../../src/writers/textVerdict.ts';

const job = resolve(import.meta.dirname, '../../fixtures/demo/job');
const bytes = (name: string): Buffer => readFileSync(resolve(job, name));

describe('the flanks of the demo, by its clay', () => {
  const spec = specOf(bytes('hullsight.json').toString()) as Spec;
  const brief = briefOf({ spec, ownRules: [], only: null });
  const { mesh } = auditedScan({ name: 'clay.ply', bytes: bytes('clay.ply') }, brief);
  const scans = new Map([[scanKey(['clay.ply']), readyScan([mesh!])]]);
  const file = auditedFile({ name: 'flanks.stp', bytes: bytes('flanks.stp') }, brief, scans);
  const run = {
    tool: '',
    at: '2026-01-01T00:00:00Z',
    spec: null,
    switchedOff: [],
    unfitted: [],
    learned: '0'.repeat(64),
  };
  const verdict = verdictOf([file], 'slight', run);
  const of = (panel: string, rule: string) =>
    verdict.findings.filter((finding) => finding.panel === panel && finding.rule === rule);

  test("the row that sags is the modeller's: the clay is even there", () => {
    const [{ owner }] = of('flank-left', 'hull-jut');
    expect(owner?.cause).toBe('model');
    expect(Math.abs(owner!.share)).toBeLessThan(0.15);
    expect(owner!.confidence).toBeLessThanOrEqual(0.99);
  });

  test("the dip is in the clay as well: the designer's to decide, and it does not block", () => {
    const shown = of('flank-right', 'section-sweep').filter(({ owner }) => owner?.cause === 'scan');
    expect(shown.length).toBeGreaterThan(0);
    for (const finding of shown) expect(blocks(finding, 'slight')).toBe(false);
    expect(of('flank-right', 'section-sweep').every(({ owner }) => owner?.cause !== 'model')).toBe(
      true,
    );
    expect(verdict.decisions.map(({ panel }) => panel)).toEqual(['flank-right']);
    expect(verdict.decisions[0].findings).toContain(shown[0].id);
    expect(verdict.decisions[0].picture!.at.length).toBeGreaterThan(10);
  });

  test('stands in the verdict, for people and for programs', () => {
    const json = JSON.parse(jsonVerdict(verdict, [])) as {
      readonly findings: readonly { readonly rule: string; readonly cause: string | null }[];
      readonly decisions: readonly { readonly panel: string }[];
    };
    expect(verdictShape(json), JSON.stringify(verdictShape.errors)).toBe(true);
    expect(json.findings.find(({ rule }) => rule === 'hull-jut')!.cause).toBe('model');
    // what is no wobble is nobody's
    expect(
      json.findings.filter(({ rule }) => rule === 'surplus-build').map(({ cause }) => cause),
    ).toEqual([null, null]);
    const text = textVerdict(verdict, [], { width: 80, styled: false }).replace(/\s+/g, ' ');
    expect(text).toContain('The scan does not have it');
    expect(text).toContain('the designer decides, and it does not block');
    expect(text).toContain(
      'For the designer to decide: the scan has these wobbles as well flank-right, near',
    );
  });
});

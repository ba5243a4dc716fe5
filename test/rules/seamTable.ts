import { readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { describe, expect, test } from 'vitest';
import { netJson } from '../../fixtures/netJson.ts';
import { auditedFile, auditedJob } from '../../src/audit.ts';
import { reversed, transposed, type ControlNet } from '../../src/geometry/controlNet.ts';
import { inPlace, placedNet } from '../../src/geometry/placement.ts';
import { readNetJson } from '../../src/intake/netJson/readNetJson.ts';
import { briefOf } from '../../src/rules/brief.ts';
import type { Spec } from '../../src/rules/spec.ts';
import type { JudgedSeams } from '../../src/verdict/judgedSeams.ts';
import { changes } from './ruleTable.ts';

/** The nets of the fixture `fixtures/rules/<id>/<file>.net.json`. */
export const fixtureNets = (id: string, file: string): ControlNet[] =>
  readNetJson(
    readFileSync(resolve(import.meta.dirname, `../../fixtures/rules/${id}/${file}.net.json`)),
  ).panels.map(({ net }) => net);

/** What a job of one file a panel is told by one rule. */
export function joinedNets(
  nets: readonly (readonly [string, ControlNet])[],
  only: string | null,
  units: 'mm' | 'in' = 'mm',
  spec: Spec = {},
): JudgedSeams {
  const brief = briefOf({ spec, ownRules: [], only });
  const scale = units === 'in' ? 25.4 : 1;
  const files = nets.map(([name, net]) => {
    const text = netJson([{ name, net: placedNet(net, inPlace, 1 / scale) }]);
    const bytes = Buffer.from(text.replace('"units": "mm"', `"units": "${units}"`));
    return auditedFile({ name: `${name}.net.json`, bytes }, brief);
  });
  return auditedJob(files, brief);
}

type Pair = readonly [ControlNet, ControlNet];

/** Changes of two panels that must not change what is said of their seam. */
const pairChanges: readonly {
  readonly name: string;
  readonly pair: (pair: Pair) => Pair;
  readonly units?: 'in';
  readonly isSwapped?: boolean;
}[] = [
  ...changes.map(({ name, net }) => ({
    name: `both ${name}`,
    pair: ([a, b]: Pair): Pair => [net(a), net(b)],
  })),
  { name: 'one with rows as columns', pair: ([a, b]) => [a, transposed(b)] },
  { name: 'one run backwards', pair: ([a, b]) => [reversed(a), b] },
  { name: 'in inches', pair: (pair) => pair, units: 'in' },
  { name: 'given the other way round', pair: (pair) => pair, isSwapped: true },
];

/** What a rule on seams must measure on its fixture that misses. */
export interface ExpectedSeam {
  readonly value: number;
  readonly within: number;
}

/** The table of one rule on seams: its good and its bad pair under every change that must not matter. */
export function seamTable(id: string, expected: ExpectedSeam): void {
  describe.each(pairChanges)(`${id}, $name`, ({ pair, units, isSwapped }) => {
    const told = (file: string): JudgedSeams => {
      const [front, rear] = fixtureNets(id, file);
      const [a, b] = pair([front, rear]);
      const nets = [['front', a] as const, ['rear', b] as const];
      return joinedNets(isSwapped ? nets.toReversed() : nets, id, units);
    };

    test('meets its limit where the panels run on', () => {
      const { seams, files } = told('met');
      expect(
        seams.map(({ outcomes, panels }) => [outcomes[id], panels.map((p) => p.panel)]),
      ).toEqual([['met', ['front', 'rear']]]);
      expect(files.flatMap(({ panels }) => panels.flatMap(({ findings }) => findings))).toEqual([]);
    });

    test('misses it, by the right amount, on one of the two panels', () => {
      const { seams, files } = told('missed');
      expect(seams.length).toBe(1);
      expect(seams[0].length).toBeCloseTo(seams[0].length, 3);
      const found = files.flatMap(({ panels }) => panels.flatMap(({ findings }) => findings));
      expect(found.map(({ rule }) => rule)).toEqual([id]);
      expect(Math.abs(found[0].miss.value - expected.value)).toBeLessThanOrEqual(expected.within);
      const { site } = found[0].miss;
      if (site.kind !== 'seam') throw new Error(site.kind);
      expect([found[0].panel, site.with].sort()).toEqual(['front', 'rear']);
      expect(files.flatMap(({ panels }) => panels.map(({ outcomes }) => outcomes[id]))).toEqual([
        'missed',
        'missed',
      ]);
    });
  });
}

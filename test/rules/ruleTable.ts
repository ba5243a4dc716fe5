import { readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { describe, expect, test } from 'vitest';
import { reversed, transposed, type ControlNet } from '../../src/geometry/controlNet.ts';
import { axisPlacement, placedNet, type Placement } from '../../src/geometry/placement.ts';
import { readNetJson } from '../../src/intake/netJson/readNetJson.ts';
import { catalogue } from '../../src/rules/catalogue.ts';
import { thresholdsOf, type Judgement, type Site } from '../../src/rules/rule.ts';
import { subjectOf } from '../../src/rules/subject.ts';
import { reversedSite, transposedSite } from '../netSites.ts';

const folder = resolve(import.meta.dirname, '../../fixtures/rules');

/** A change of a net that must not change what is said of it, and what becomes of a site. */
interface Change {
  readonly name: string;
  readonly net: (net: ControlNet) => ControlNet;
  readonly site: (site: Site, net: ControlNet) => Site;
}

const sameSite = (site: Site): Site => site;
const moved: Placement = axisPlacement([5e3, -2e3, 800], [0, 0, 1], [1, 0, 0])!;
const turned: Placement = axisPlacement([0, 0, 0], [0.3, -0.5, 0.8], [1, 1, -0.2])!;
const mirror: Placement = {
  rotation: [
    [-1, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
  ],
  shift: [0, 0, 0],
};

export const changes: readonly Change[] = [
  { name: 'as it is', net: (net) => net, site: sameSite },
  { name: 'moved', net: (net) => placedNet(net, moved), site: sameSite },
  { name: 'turned', net: (net) => placedNet(net, turned), site: sameSite },
  { name: 'mirrored', net: (net) => placedNet(net, mirror), site: sameSite },
  { name: 'rows as columns', net: transposed, site: transposedSite },
  { name: 'run backwards', net: reversed, site: reversedSite },
];

/** The net of the fixture `fixtures/rules/<id>/<file>.net.json`. */
export const fixtureNet = (id: string, file: string): ControlNet =>
  readNetJson(readFileSync(resolve(folder, id, `${file}.net.json`))).panels[0].net;

export function judgement(id: string, net: ControlNet): Judgement {
  const { data, judge } = catalogue.find((rule) => rule.data.id === id)!;
  return judge(subjectOf(net), thresholdsOf(data, 'A'));
}

/** What a rule must say of its fixture that misses. */
export interface Expected {
  readonly sites: readonly Site[];
  /** The measured value at the worst site, and how near it must be. */
  readonly value: number;
  readonly within: number;
  readonly direction?: 'out' | 'in';
  /** What the rule says of its good fixture; met where left out. */
  readonly good?: Judgement;
}

const sorted = (sites: readonly Site[]): string[] => sites.map((s) => JSON.stringify(s)).sort();
const keyed = (site: Site): Site =>
  JSON.parse(JSON.stringify(site, Object.keys(site).sort())) as Site;

/** The table of one rule: its good and its bad fixture under every change that must not matter. */
export function ruleTable(id: string, expected: Expected): void {
  describe.each(changes)(`${id}, $name`, (change) => {
    test('meets its limit where the net is even', () => {
      const result = judgement(id, change.net(fixtureNet(id, 'met')));
      expect(result).toEqual(expected.good ?? { outcome: 'met' });
    });

    test('misses it at the right site, by the right amount', () => {
      const net = fixtureNet(id, 'missed');
      const result = judgement(id, change.net(net));
      if (result.outcome !== 'missed') throw new Error(`outcome is ${result.outcome}`);
      const sites = expected.sites.map((site) => keyed(change.site(site, net)));
      expect(sorted(result.misses.map(({ site }) => keyed(site)))).toEqual(sorted(sites));
      const worst = result.misses.reduce((a, b) =>
        Math.abs(b.value - expected.value) < Math.abs(a.value - expected.value) ? b : a,
      );
      expect(Math.abs(worst.value - expected.value)).toBeLessThanOrEqual(expected.within);
      if (expected.direction) expect(worst.direction).toBe(expected.direction);
    });
  });
}

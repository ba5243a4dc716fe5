import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../../fixtures/seededRandom.ts';
import { ternwingPanels } from '../../../fixtures/demo/ternwing.ts';
import type { ControlNet } from '../../../src/geometry/controlNet.ts';
import { domain } from '../../../src/geometry/knots.ts';
import type { TrimRegion } from '../../../src/geometry/trimRegion.ts';
import { lengthUnits, type LengthUnit } from '../../../src/intake/lengthUnit.ts';
import type { Panel } from '../../../src/intake/panel.ts';
import { readSurfaces } from '../../../src/intake/readSurfaces.ts';
import { igesFile } from '../../../src/writers/surfaces/igesFile.ts';
import { netJsonFile } from '../../../src/writers/surfaces/netJsonFile.ts';
import { stepFile } from '../../../src/writers/surfaces/stepFile.ts';
import { insideLoops } from '../../insideLoops.ts';
import { trimTest } from '../../../src/geometry/trimTest.ts';
import { ball, roundRegions } from './revolved.ts';
import { anyNet, madeRegion, panel } from './madePanels.ts';

const forms = { igs: igesFile, stp: stepFile, 'net.json': netJsonFile };
const formNames = ['igs', 'stp', 'net.json'] as const;
type Form = (typeof formNames)[number];

/** What our readers make of what is written. */
function readBack(form: Form, panels: readonly Panel[], unit: LengthUnit = lengthUnits['mm']) {
  const { bytes } = forms[form]({ panels, unit, name: `made.${form}`, tool: '0', at: new Date(0) });
  const intake = readSurfaces(`made.${form}`, bytes);
  expect(intake.faults).toEqual([]);
  return intake;
}

/** Largest difference of two nets of one build over the larger of both values; 0: the same bits. */
function difference(one: ControlNet, other: ControlNet): number {
  expect([one.degree, one.columns, one.rows]).toEqual([other.degree, other.columns, other.rows]);
  expect(one.weights === null).toBe(other.weights === null);
  const lists = (net: ControlNet) => [...net.knots, net.points, net.weights ?? []];
  const [mine, theirs] = [lists(one), lists(other)];
  let most = 0;
  mine.forEach((list, k) => {
    expect(theirs[k]).toHaveLength(list.length);
    Array.from(list).forEach((value, at) => {
      const found = theirs[k][at];
      if (Object.is(value, found)) return;
      most = Math.max(most, Math.abs(value - found) / Math.max(Math.abs(value), Math.abs(found)));
    });
  });
  return most;
}

/** Share of seeded parameters about which two answers differ on what is kept of a net. */
function disagreement(
  net: ControlNet,
  one: (u: number, v: number) => boolean,
  other: (u: number, v: number) => boolean,
): number {
  const random = seededRandom(7);
  const ranges = [0, 1].map((side) => domain(net.knots[side], net.degree[side]));
  const asked = Array.from({ length: 2000 }, () =>
    ranges.map(([from, to]) => random.between(from, to)),
  );
  return asked.filter(([u, v]) => one(u, v) !== other(u, v)).length / asked.length;
}

const letters = Array.from('abHXZ019 \'"\\/,;:.$#*()é漢𝄞ß&<>{}[]~_-');
const names = fc
  .array(fc.constantFrom(...letters), { minLength: 1, maxLength: 200 })
  .map((some) => some.join('').trim())
  .filter((name) => name !== '' && !/^0*$/.test(name));
const seeds = fc.integer({ min: 0, max: 2 ** 31 });

describe.each(formNames)('%s', (form) => {
  test('nets of any build in mm come back to the last bit, with their names', () => {
    fc.assert(
      fc.property(seeds, names, (seed, name) => {
        const net = anyNet(seededRandom(seed));
        const { panels, notices } = readBack(form, [panel(name, net)]);
        expect(notices).toEqual([]);
        expect(panels.map((found) => found.name)).toEqual([name]);
        expect(difference(net, panels[0].net)).toBe(0);
        expect(panels[0].trim).toEqual({ kind: 'whole' });
      }),
      { numRuns: 60 },
    );
  });

  test.each(['in', 'ft', 'm', 'cm', 'um', 'mil', 'km', 'microinch', 'mile'])(
    'a net whose unit is %s is off by less than 1e-15 of each number',
    (name) => {
      const unit = lengthUnits[name];
      fc.assert(
        fc.property(seeds, (seed) => {
          const net = anyNet(seededRandom(seed));
          const { panels } = readBack(form, [panel('a', net, { unit })], unit);
          expect(difference(net, panels[0].net)).toBeLessThan(1e-15);
        }),
        { numRuns: 10 },
      );
    },
  );

  test('numbers that stood in an inch file come back to the last bit', () => {
    fc.assert(
      fc.property(seeds, (seed) => {
        const inches = anyNet(seededRandom(seed));
        const net = { ...inches, points: inches.points.map((x) => x * 25.4) };
        const { panels, unit } = readBack(
          form,
          [panel('a', net, { unit: lengthUnits['in'] })],
          lengthUnits['in'],
        );
        expect(unit.name).toBe('in');
        expect(difference(net, panels[0].net)).toBe(0);
      }),
      { numRuns: 20 },
    );
  });

  test('the demo panels, all in one file', () => {
    const all = ternwingPanels().map(({ name, net }) => panel(name, net));
    const { panels } = readBack(form, all);
    expect(panels.map(({ name }) => name)).toEqual(all.map(({ name }) => name));
    panels.forEach(({ net }, k) => expect(difference(net, all[k].net)).toBe(0));
  });

  test('negative zero, the smallest and the largest number that is read', () => {
    const net = anyNet(seededRandom(3));
    net.points.set([-0, 5e-324, 1e9, -1.2345678901234e-89, 0.1 + 0.2, 1e-7]);
    expect(difference(net, readBack(form, [panel('a', net)]).panels[0].net)).toBe(0);
  });
});

/** All that some panels of one net keep together. */
function keptBy(panels: readonly Panel[]): (u: number, v: number) => boolean {
  const asked = panels.map(({ trim }) => {
    expect(trim.kind).toBe('part');
    return insideLoops((trim as { region: TrimRegion }).region, 200);
  });
  return (u, v) => asked.filter((inside) => inside(u, v)).length % 2 === 1;
}

describe.each(['igs', 'stp', 'net.json'] as const)('trims through %s', (form) => {
  test('loops in either sense, holes and islands keep what they kept', () => {
    fc.assert(
      fc.property(seeds, (seed) => {
        const random = seededRandom(seed);
        const net = anyNet(random);
        const region = madeRegion(net, random);
        const { panels, notices } = readBack(form, [panel('trimmed', net, { region })]);
        expect(notices).toEqual([]);
        // the island in the hole is a face by itself, except where loops stand as they are
        expect(panels).toHaveLength(form === 'net.json' ? 1 : 2);
        if (form === 'net.json')
          expect(panels[0].trim).toMatchObject({ kind: 'part', region: { loops: region.loops } });
        for (const found of panels) expect(difference(net, found.net)).toBe(0);
        expect(disagreement(net, insideLoops(region, 200), keptBy(panels))).toBeLessThan(2e-3);
      }),
      { numRuns: 15 },
    );
  });
});

describe.each(['igs', 'stp', 'net.json'] as const)('surfaces that close through %s', (form) => {
  test.each(roundRegions)('%s', (_, net, before) => {
    const { panels, notices } = readBack(form, [panel('round', net, { region: before })]);
    expect(notices).toEqual([]);
    expect(panels).toHaveLength(1);
    const [{ trim }] = panels;
    if (trim.kind !== 'part') throw new Error(`the trim is ${trim.kind}`);
    const [one, other] = [trimTest(net, before), trimTest(panels[0].net, trim.region)];
    const random = seededRandom(11);
    const counts = { inside: 0, outside: 0, border: 0 };
    for (let k = 0; k < 2000; k++) {
      const at = [random.between(0, 4), random.between(0, net === ball ? 2 : 1)] as const;
      const [a, b] = [one(...at), other(...at)];
      const told = a === 'border' || b === 'border' ? 'border' : a;
      counts[told]++;
      if (told !== 'border') expect([...at, b]).toEqual([...at, a]);
    }
    expect(counts.inside).toBeGreaterThan(100);
    expect(counts.outside).toBeGreaterThan(100);
    expect(counts.border).toBeLessThan(20);
  });
});

describe('trims through net.json', () => {
  test('every curve comes back to the last bit, in any unit', () => {
    fc.assert(
      fc.property(seeds, fc.constantFrom('mm', 'in', 'm'), (seed, name) => {
        const random = seededRandom(seed);
        const net = anyNet(random);
        const region = madeRegion(net, random, 0.0254);
        const unit = lengthUnits[name];
        const { panels, notices } = readBack('net.json', [panel('a', net, { region, unit })], unit);
        expect(notices).toEqual([]);
        expect(panels.map(({ trim }) => trim)).toEqual([
          { kind: 'part', region, place: { record: '/panels/0/trim' } },
        ]);
      }),
      { numRuns: 40 },
    );
  });

  test.each(roundRegions)('borders that run round: %s', (_, net, region) => {
    const { panels } = readBack('net.json', [panel('round', net, { region })]);
    expect(panels.map(({ trim }) => trim)).toEqual([
      { kind: 'part', region, place: { record: '/panels/0/trim' } },
    ]);
  });
});

test.each(formNames)('groups are carried by %s', (form) => {
  const random = seededRandom(9);
  const net = anyNet(random);
  const all = [
    panel('one', net, { groups: ['outer skin', 'group of everything that is visible'] }),
    panel('two', net, { groups: ['outer skin'] }),
    panel('three', net),
  ];
  const { panels } = readBack(form, all);
  expect(panels.map(({ name, groups }) => [name, groups])).toEqual([
    ['one', ['group of everything that is visible', 'outer skin']],
    ['two', ['outer skin']],
    ['three', undefined],
  ]);
});

test.each(['igs', 'stp'] as const)('%s: every face of a trimmed panel is in its groups', (form) => {
  const random = seededRandom(9);
  const net = anyNet(random);
  const region = madeRegion(net, random);
  const { panels } = readBack(form, [panel('two', net, { groups: ['outer skin'], region })]);
  expect(panels.map(({ name, groups }) => [name, groups])).toEqual([
    ['two', ['outer skin']],
    ['two~2', ['outer skin']],
  ]);
});

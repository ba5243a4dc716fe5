import { describe, expect, test } from 'vitest';
import {
  goldenPanels,
  referenceTables,
  type GoldenPanel,
} from '../../../../fixtures/locator/goldenPanels.ts';
import { displacementsBy } from './displacements.ts';
import { expanded } from './extensions.ts';
import { faultSetting } from './faultSetting.ts';
import { difference, length } from '../../../../src/geometry/vector.ts';
import { MixtureScorer } from '../../../../src/measure/locator/mixtureScorer.ts';
import { netFaults } from '../../../../src/measure/locator/netFaults.ts';
import { likeliestPoints } from './likeliestPoint.ts';
import { RobustDensity } from '../../../learn/robustDensity.ts';
import { densityFloors } from '../../../../src/measure/locator/densityTable.ts';

// The reference is an independent program in numpy (fixtures/locator/makeGolden.py), run in double
// precision on its own learned tables.

const tables = referenceTables();
const exact = new RobustDensity(tables, densityFloors);
const named = goldenPanels().map((panel, at) => ({
  name: `${at}: ${panel.net.columns}x${panel.net.rows}, ${panel.fault}`,
  panel,
}));

/** The reference and this program sum in another order. */
const closeness = 6;

describe('one displaced point, as the reference tells it', () => {
  test.each(named)('$name', ({ panel }) => {
    const found = likeliestPoints(panel.net, tables, 0.02);
    expect(found).toHaveLength(panel.onePoint.length);
    for (const golden of panel.onePoint) {
      const own = found.find(
        ({ spot }) => spot.row === golden.row && spot.column === golden.column,
      );
      expect(own).toBeDefined();
      expect(own?.logBayesFactor).toBeCloseTo(golden.logBayesFactor, closeness);
      expect(own?.deviation).toBeCloseTo(golden.deviation, closeness);
      expect(own?.confidence).toBeCloseTo(golden.confidence, closeness);
      golden.displacement.forEach((value, axis) =>
        expect(own?.displacement[axis]).toBeCloseTo(value, closeness),
      );
    }
  });
});

describe('the panel with no fault and with one of any kind, as the reference tells it', () => {
  test.each(named)('$name', ({ panel }: { panel: GoldenPanel }) => {
    const setting = faultSetting(panel.net, tables, exact, null, false);
    const none = { atoms: [], strengths: new Float64Array(0), evidence: -Infinity };
    const { set, extensions } = expanded(setting, none, [0, 1, 2, 3, 4]);
    expect(set.evidence).toBeCloseTo(panel.clean.nothing, closeness);
    expect(extensions).toHaveLength(panel.clean.extensions.length);
    panel.clean.extensions.forEach((golden, k) => {
      const own = extensions[k];
      expect(setting.atoms.list[own.atoms[0]]).toMatchObject({
        kind: golden.kind,
        i: golden.i,
        j: golden.j,
      });
      expect(own.evidence).toBeCloseTo(golden.evidence, closeness);
      expect(own.strengths[0]).toBeCloseTo(golden.strength, closeness);
    });
  });
});

describe('several displacements of all kinds, as the reference tells them', () => {
  test.each(named)('$name', ({ panel }) => {
    const found = displacementsBy(panel.net, tables, exact, null, false);
    expect(found).toHaveLength(panel.several.length);
    for (const golden of panel.several) {
      const own = found.find(
        ({ kind, row, column }) =>
          kind === golden.kind && row === golden.row && column === golden.column,
      );
      expect(own?.certainty).toBe(golden.certainty);
      for (const key of ['logOdds', 'gain', 'deviation', 'confidence'] as const)
        expect(own?.[key]).toBeCloseTo(golden[key], closeness);
      golden.displacement.forEach((value, axis) =>
        expect(own?.displacement[axis]).toBeCloseTo(value, closeness),
      );
    }
  });
});

// The locator itself departs from the reference for speed: densities from a table (nearest node of
// the variance), a first look with few particles, particles chosen on corrected data, strengths
// fitted to rest. What may differ is stated here.
describe('the locator itself, with the tables of the reference', () => {
  const scorer = new MixtureScorer(tables);
  test.each(named)('$name: tells every place that the reference names', ({ panel }) => {
    const { faults } = netFaults(panel.net, scorer, tables, null, false);
    for (const golden of panel.several) {
      if (golden.certainty !== 'named') continue;
      const own = faults.find(
        ({ place }) =>
          (place.kind === 'column' ? null : place.row) === golden.row &&
          (place.kind === 'row' ? null : place.column) === golden.column,
      );
      expect(own).toBeDefined();
      // evidence of the whole set, nats
      expect(Math.abs((own?.setGain ?? 0) - golden.gain)).toBeLessThan(6);
      if (golden.kind !== 'point' || !own) continue;
      // the reference stops when strengths move by less than 2 %
      const by = difference(own.displacement, golden.displacement);
      expect(length(by)).toBeLessThan(0.05 * length(golden.displacement));
    }
  });
});

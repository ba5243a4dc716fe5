import { describe, expect, test } from 'vitest';
import { drawnOut, scanOfShape } from '../../fixtures/featureScan.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { reversed, transposed, type ControlNet } from '../../src/geometry/controlNet.ts';
import { scanBody, type ScanBody } from '../../src/geometry/scanBody.ts';
import { thresholdsOf, type Miss } from '../../src/rules/rule.ts';
import { featureBounds, scanFeature } from '../../src/rules/scan-feature.ts';
import { subjectOf, type KeptRegion } from '../../src/rules/subject.ts';
import { calmSection, drawnPanel, featureSection, radians } from '../measure/featurePanels.ts';

const { data, judge } = scanFeature;
const scan: ScanBody = scanBody(
  scanOfShape(drawnOut(featureSection(15, 60)), [0, 160], [-240, 15 * radians(60) + 80], {
    size: 2,
    noise: 0.03,
    random: seededRandom(11),
  }),
);

const judged = (net: ControlNet, keptRegion: KeptRegion = { region: null, keep: [] }) =>
  judge(
    subjectOf(net, {
      keptRegion,
      scan: { body: scan, limit: 1, margin: 0, features: featureBounds(thresholdsOf(data, 'A')) },
    }),
    thresholdsOf(data, 'A'),
  );

function missesOf(net: ControlNet, keptRegion?: KeptRegion): readonly Miss[] {
  const result = judged(net, keptRegion);
  if (result.outcome !== 'missed') throw new Error(`outcome is ${result.outcome}`);
  return result.misses;
}

const panel = (to: number): ControlNet => drawnPanel(calmSection, [20, 140], [-180, to]);

test('meets its limit where the panel ends before the fillet', () => {
  expect(judged(panel(-5))).toEqual({ outcome: 'met' });
});

describe('names the edge that runs onto it, and how far to pull it back', () => {
  test.each([
    ['as it is', (net: ControlNet) => net, { kind: 'row', row: 5 }],
    ['rows as columns', transposed, { kind: 'column', column: 5 }],
    ['run backwards', reversed, { kind: 'row', row: 5 }],
    [
      'columns run backwards',
      (net: ControlNet) => transposed(reversed(transposed(net))),
      { kind: 'row', row: 0 },
    ],
  ] as const)('%s', (_, change, site) => {
    const [miss, ...others] = missesOf(change(panel(8)));
    expect(others).toEqual([]);
    expect(miss.site).toEqual(site);
    expect(Math.abs(miss.value - 8)).toBeLessThan(2);
    expect(miss.certainty).toBe('named');
    expect(Math.abs(miss.evidence!['radius'] - 15)).toBeLessThan(2);
  });
});

test('what the spec cuts off is not asked', () => {
  const keep = [{ normal: [0, 1, 0], most: -4 }] as const;
  expect(judged(panel(20), { region: null, keep })).toEqual({ outcome: 'met' });
});

test('a cut that leaves some of the fillet is told at the cut', () => {
  const keep = [{ normal: [0, 1, 0], most: 9 }] as const;
  const [miss, ...others] = missesOf(panel(40), { region: null, keep });
  expect(others).toEqual([]);
  expect(miss.site.kind).toBe('point');
  expect(Math.abs(miss.value - 9)).toBeLessThan(2);
});

test('is never severe, and only probable where triangles hardly tell', () => {
  expect(data.severity).toEqual({ moderate: 4, severe: null });
  const [miss] = missesOf(panel(4));
  expect(miss.certainty).toBe('named');
  const slight = judged(panel(2.9));
  expect(slight.outcome === 'missed' ? slight.misses[0].certainty : 'met').not.toBe('named');
});

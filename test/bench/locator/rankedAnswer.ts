import type { ControlNet } from '../../../src/geometry/controlNet.ts';
import { length } from '../../../src/geometry/vector.ts';
import { visibleEffect } from '../../../src/measure/visibleEffect.ts';
import type { Answer } from './answer.ts';
import { differenceEnergies } from './differenceEnergies.ts';
import { fourthDifferences } from './fourthDifferences.ts';
import { mixedResiduals } from './mixedResiduals.ts';
import { ownSpectrum, spectrumOutliers } from './ownSpectrum.ts';
import type { PointScore } from './pointScores.ts';

/** Peak movement below which nobody sees a point, mm. */
export const leastSeen = 0.1;

const leader = (net: ControlNet, scores: readonly PointScore[]): Answer['top'] => {
  const seen = scores.find(
    ({ spot, displacement }) =>
      // No surface moves farther than its control point does.
      length(displacement) >= leastSeen &&
      visibleEffect(net, [{ spot: spot, by: displacement }]).peak >= leastSeen,
  );
  return seen ? { ...seen, strength: seen.score } : null;
};

/** A yardstick that only ranks: it names nobody until a threshold is set for it. */
const ranking =
  (rank: (net: ControlNet) => PointScore[]) =>
  (net: ControlNet): Answer => {
    const start = performance.now();
    const scores = rank(net);
    const milliseconds = performance.now() - start;
    return { top: leader(net, scores), named: [], lines: [], graver: false, milliseconds };
  };

/** Yardsticks A to D; D with its plain thresholds and its search for several. */
export const yardsticks: Readonly<Record<'A' | 'B' | 'C' | 'D', (net: ControlNet) => Answer>> = {
  A: ranking(fourthDifferences),
  B: ranking(differenceEnergies),
  C: ranking(mixedResiduals),
  D: (net) => {
    const start = performance.now();
    const scores = ownSpectrum(net);
    const named = spectrumOutliers(net, scores);
    const milliseconds = performance.now() - start;
    return { top: leader(net, scores), named, lines: [], graver: named.length > 0, milliseconds };
  },
};

import data from '../../rules/scan-distance.json' with { type: 'json' };
import { placeSways } from '../measure/placeSways.ts';
import { farRegions, withinShare, type FarRegion } from '../measure/scanDistances.ts';
import { influences } from './influences.ts';
import { judged, met, type Miss, type Rule, type RuleData } from './rule.ts';
import type { Scanned } from './subject.ts';
import { unscanned } from './unscanned.ts';

/** Values this near to a limit, mm, reach it: rounding decides nothing. */
const rounding = 1e-9;

type Seen = Extract<Scanned, { readonly kind: 'seen' }>;

/** A region that is too far off, without its number. */
function regionMiss({ question, distances }: Seen, { area, centroid, peak, side }: FarRegion) {
  const influence = influences(placeSways(question.net, peak.u, peak.v));
  const [x, y, z] = centroid;
  return {
    points: influence.map(({ row, column }) => ({ row, column })),
    miss: {
      value: Math.abs(peak.value),
      position: peak.position,
      direction: side,
      influence,
      evidence: { area, x, y, z, u: peak.u, v: peak.v, atMost: peak.atMost, ...all(distances) },
    } satisfies Omit<Miss, 'site'>,
  };
}

const all = ({ coveredShare, mean, rms }: Seen['distances']): Record<string, number> => ({
  covered: coveredShare,
  mean,
  rms,
});

/**
 * Strict: a panel that reaches the limit misses it. Where the job wants a margin kept free, what lies
 * within it is a miss under the limit, and slight.
 */
export const scanDistance: Rule = {
  data: data as RuleData,
  judge: ({ scan, scanned: look }, { limit, floor }) => {
    const scanned = look();
    const blind = unscanned(scanned);
    if (blind || scanned.kind !== 'seen') return blind!;
    const { question, distances } = scanned;
    const margin = scan?.margin ?? 0;
    // the limit itself is missed, the margin's end is met
    const held = margin > 0 ? limit.value * (1 - margin) + rounding : limit.value - rounding;
    const { regions, more } = farRegions(question, distances, held);
    const within = withinShare(distances, held);
    const counts = new Map<string, number>();
    const misses = regions.map((region): Miss => {
      const { points, miss } = regionMiss(scanned, region);
      const key = JSON.stringify(points[0]);
      const nth = counts.get(key) ?? 0;
      counts.set(key, nth + 1);
      return {
        ...miss,
        site: { kind: 'region', area: region.area, points, nth },
        evidence: { ...miss.evidence, within, ...(more > 0 ? { more } : {}) },
      };
    });
    if (misses.length > 0) return judged(misses);
    return distances.coveredShare >= floor('covered')
      ? met
      : { outcome: 'undecided', reason: 'scan-open' };
  },
};

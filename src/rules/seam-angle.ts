import data from '../../rules/seam-angle.json' with { type: 'json' };
import { degrees, judged, notApplicable, type RuleData, type SeamRule } from './rule.ts';
import { seamMisses, type Seam } from './seam.ts';
import type { SeamStation } from '../measure/seamStations.ts';

const angle = ({ crossing }: SeamStation): number | null => crossing && degrees(crossing.angle);

/** How far a highlight is shifted along the surface at a station: the angle over the bend across. */
const shift = ({ crossing }: SeamStation): number => {
  const bend = crossing ? Math.max(Math.abs(crossing.a.bend), Math.abs(crossing.b.bend)) : 0;
  return crossing && bend > 0 ? Math.abs(crossing.angle) / bend : 0;
};

/** Where neither panel has a sound normal nothing can be said. */
export const isBlind = ({ stations }: Seam): boolean =>
  stations.every(({ crossing }) => crossing === null);

export const seamAngle: SeamRule = {
  data: data as RuleData,
  judge: (seam, { limit }) => {
    if (seam.meant === 'feature') return notApplicable('feature-line');
    if (isBlind(seam)) return { outcome: 'undecided', reason: 'no-normal' };
    return judged(
      seamMisses(seam, angle, limit.value, (peak) => ({
        mean: degrees(seam.profile.angle.mean ?? 0),
        ridge: (peak.crossing?.angle ?? 0) > 0 ? 1 : 0,
        shift: shift(peak),
      })),
    );
  },
};

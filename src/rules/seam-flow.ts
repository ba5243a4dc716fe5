import data from '../../rules/seam-flow.json' with { type: 'json' };
import { degrees, judged, notApplicable, type RuleData, type SeamRule } from './rule.ts';
import { isBlind } from './seam-angle.ts';
import { seamMisses } from './seam.ts';

/** The way over which a change of pace is told, mm. */
const way = 100;

export const seamFlow: SeamRule = {
  data: data as RuleData,
  judge: (seam, { limit, floor }) => {
    if (seam.meant === 'feature') return notApplicable('feature-line');
    if (isBlind(seam)) return { outcome: 'undecided', reason: 'no-normal' };
    const { angle, mismatch } = seam.profile;
    if (degrees(Math.abs(angle.peak?.value ?? 0)) > floor('angle'))
      return notApplicable('angle-first');
    if (Math.abs(mismatch.peak?.value ?? 0) > floor('mismatch'))
      return notApplicable('curvature-first');
    return judged(
      seamMisses(
        seam,
        ({ crossing }) => crossing && way * crossing.flow,
        limit.value,
        () => ({
          mean: way * (seam.profile.flow.mean ?? 0),
        }),
      ),
    );
  },
};

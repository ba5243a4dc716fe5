import data from '../../rules/seam-flow.json' with { type: 'json' };
import { degrees, judged, notApplicable, type RuleData, type SeamRule } from './rule.ts';
import { notCrossed, paceWay, seamMisses } from './seam.ts';

export const seamFlow: SeamRule = {
  data: data as RuleData,
  judge: (seam, { limit, floor }) => {
    const open = notCrossed(seam);
    if (open) return open;
    const { angle, mismatch } = seam.profile;
    if (degrees(Math.abs(angle.peak?.value ?? 0)) > floor('angle'))
      return notApplicable('angle-first');
    if (Math.abs(mismatch.peak?.value ?? 0) > floor('mismatch'))
      return notApplicable('curvature-first');
    return judged(
      seamMisses(
        seam,
        ({ crossing }) => crossing && paceWay * crossing.flow,
        limit.value,
        () => ({
          mean: paceWay * (seam.profile.flow.mean ?? 0),
        }),
      ),
    );
  },
};

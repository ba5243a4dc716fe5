import data from '../../rules/seam-curvature.json' with { type: 'json' };
import { degrees, judged, notApplicable, type RuleData, type SeamRule } from './rule.ts';
import { notCrossed, seamMisses } from './seam.ts';

export const seamCurvature: SeamRule = {
  data: data as RuleData,
  judge: (seam, { limit, floor }) => {
    const open = notCrossed(seam);
    if (open) return open;
    const turn = degrees(Math.abs(seam.profile.angle.peak?.value ?? 0));
    if (turn > floor('angle')) return notApplicable('angle-first');
    return judged(
      seamMisses(
        seam,
        ({ crossing }) => crossing && crossing.mismatch,
        limit.value,
        (peak) => ({
          mean: seam.profile.mismatch.mean ?? 0,
          bendHere: peak.crossing?.a.bend ?? 0,
          bendThere: peak.crossing?.b.bend ?? 0,
        }),
      ),
    );
  },
};

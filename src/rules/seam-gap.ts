import data from '../../rules/seam-gap.json' with { type: 'json' };
import { judged, type RuleData, type SeamRule } from './rule.ts';
import { seamMisses } from './seam.ts';

export const seamGap: SeamRule = {
  data: data as RuleData,
  judge: (seam, { limit }) =>
    judged(
      seamMisses(
        seam,
        ({ gap }) => gap,
        limit.value,
        () => ({ mean: seam.profile.gap.mean ?? 0 }),
      ),
    ),
};

import data from '../../rules/spacing-ratio.json' with { type: 'json' };
import { spacingRatios } from '../measure/spacingRatios.ts';
import { gatheredMisses, peaks } from './gatheredMisses.ts';
import { joinedJudgement } from './joinedJudgement.ts';
import { judged, notApplicable, type Rule, type RuleData } from './rule.ts';

export const spacingRatio: Rule = {
  data: data as RuleData,
  judge: (subject, { limit }) =>
    joinedJudgement(subject, (part) => {
      const ratios = spacingRatios(part.sights);
      if (ratios.length === 0) return notApplicable('too-few-points');
      const excesses = ratios.map(({ along, spot, ratio }) => ({
        along,
        spot,
        value: Math.max(ratio, 1 / ratio),
      }));
      return judged(gatheredMisses(part, peaks(excesses, limit.value)));
    }),
};

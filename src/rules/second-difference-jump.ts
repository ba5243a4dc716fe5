import data from '../../rules/second-difference-jump.json' with { type: 'json' };
import { secondDifferenceJumps } from '../measure/secondDifferences.ts';
import { gatheredMisses, peaks } from './gatheredMisses.ts';
import { joinedJudgement } from './joinedJudgement.ts';
import { judged, notApplicable, type Rule, type RuleData } from './rule.ts';

export const secondDifferenceJump: Rule = {
  data: data as RuleData,
  judge: (subject, { limit, floor }) =>
    joinedJudgement(subject, (part) => {
      const jumps = secondDifferenceJumps(part.sights, part.net.knots);
      if (jumps.length === 0) return notApplicable('too-few-points');
      const excesses = jumps.map(({ along, spot, share, displacement }) => ({
        along,
        spot,
        value: displacement > floor('displacement') ? share : 0,
      }));
      return judged(gatheredMisses(part, peaks(excesses, limit.value)));
    }),
};

import data from '../../rules/normal-flip.json' with { type: 'json' };
import { normalFlips } from '../measure/normalFlips.ts';
import { joinedJudgement } from './joinedJudgement.ts';
import { placeMiss } from './placeMiss.ts';
import { degrees, judged, type Rule, type RuleData } from './rule.ts';
import { unseenSurface } from './unseenSurface.ts';
import { worstPlace } from './worstPlace.ts';

export const normalFlip: Rule = {
  data: data as RuleData,
  judge: (subject, { limit }) => {
    const joined = joinedJudgement(subject, (part) => {
      const unseen = unseenSurface(part);
      if (unseen) return unseen;
      const flips = normalFlips(part.look(), subject.kept, part.radii());
      return judged(
        flips
          .map((flip) => ({ flip, angle: degrees(flip.angle) }))
          .filter(({ angle }) => angle > limit.value)
          .map(({ flip, angle }) => placeMiss(part, flip, angle, { angle })),
      );
    });
    return worstPlace(joined, 'at-most');
  },
};

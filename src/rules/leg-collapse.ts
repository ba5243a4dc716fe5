import data from '../../rules/leg-collapse.json' with { type: 'json' };
import { relativeLegs } from '../measure/relativeLegs.ts';
import { joinedJudgement } from './joinedJudgement.ts';
import { judged, notApplicable, type Miss, type Rule, type RuleData } from './rule.ts';
import { partPoint, wholeSpot } from './subject.ts';

export const legCollapse: Rule = {
  data: data as RuleData,
  judge: (subject, { limit }) =>
    joinedJudgement(
      subject,
      (part) => {
        const legs = relativeLegs(part.sights);
        if (legs.length === 0) return notApplicable('no-extent');
        return judged(
          legs
            .filter(({ share }) => share < limit.value)
            .map(({ along, spot, share, length }): Miss => ({
              site: { kind: 'leg', ...wholeSpot(part, spot), along },
              value: share,
              position: partPoint(part, spot),
              evidence: { length },
            })),
        );
      },
      'at-least',
    ),
};

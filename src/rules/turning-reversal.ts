import data from '../../rules/turning-reversal.json' with { type: 'json' };
import { turningReversals } from '../measure/turningReversals.ts';
import { joinedJudgement } from './joinedJudgement.ts';
import { judged, notApplicable, type Miss, type Rule, type RuleData } from './rule.ts';
import { partPoint, wholeSpot } from './subject.ts';

export const turningReversal: Rule = {
  data: data as RuleData,
  judge: (subject, { limit, floor }) =>
    joinedJudgement(subject, (part) => {
      if (part.net.rows < 4 && part.net.columns < 4) return notApplicable('too-few-points');
      const dead = (floor('bend') * Math.PI) / 180;
      return judged(
        turningReversals(part.sights, dead)
          .filter(({ count }) => count > limit.value)
          .map(({ along, index, spots, count, largest }): Miss => {
            const first = wholeSpot(part, spots[0]);
            return {
              site:
                along === 'row'
                  ? { kind: 'row', row: part.row + index }
                  : { kind: 'column', column: part.column + index },
              value: count,
              position: partPoint(part, spots[0]),
              evidence: {
                firstRow: first.row,
                firstColumn: first.column,
                largestDegrees: (largest * 180) / Math.PI,
              },
            };
          }),
      );
    }),
};

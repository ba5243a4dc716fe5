import data from '../../rules/unequal-weights.json' with { type: 'json' };
import { pointAt } from '../geometry/controlNet.ts';
import { weightRange } from '../measure/weightRange.ts';
import { judged, notApplicable, type Rule, type RuleData } from './rule.ts';

export const unequalWeights: Rule = {
  data: data as RuleData,
  judge: ({ net }, { limit }) => {
    const range = weightRange(net);
    if (!range) return notApplicable('polynomial');
    const { ratio, spot } = range;
    return judged(
      ratio > limit.value
        ? [
            {
              site: { kind: 'net' },
              value: ratio,
              position: pointAt(net, spot.row, spot.column),
              evidence: { row: spot.row, column: spot.column },
            },
          ]
        : [],
    );
  },
};

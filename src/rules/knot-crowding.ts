import data from '../../rules/knot-crowding.json' with { type: 'json' };
import { knotGaps } from '../measure/knotGaps.ts';
import { judged, notApplicable, type Rule, type RuleData } from './rule.ts';

export const knotCrowding: Rule = {
  data: data as RuleData,
  judge: ({ net }, { limit }) => {
    const gaps = knotGaps(net);
    if (gaps.every(({ spans }) => spans === 1)) return notApplicable('single-span');
    const worst = gaps.reduce((a, b) => (b.share < a.share ? b : a));
    return judged(
      worst.share < limit.value
        ? [
            {
              site: { kind: 'net' },
              value: worst.share,
              position: null,
              evidence: { direction: worst.along === 'row' ? 0 : 1, knot: worst.at },
            },
          ]
        : [],
    );
  },
};

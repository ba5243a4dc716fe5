import data from '../../rules/degree-limit.json' with { type: 'json' };
import { judged, type Rule, type RuleData } from './rule.ts';

export const degreeLimit: Rule = {
  data: data as RuleData,
  judge: ({ net }, { limit }) => {
    const value = Math.max(...net.degree);
    return judged(
      value > limit.value
        ? [
            {
              site: { kind: 'net' },
              value,
              position: null,
              evidence: { u: net.degree[0], v: net.degree[1] },
            },
          ]
        : [],
    );
  },
};

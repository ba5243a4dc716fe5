import data from '../../rules/span-limit.json' with { type: 'json' };
import { spanCount } from '../geometry/knots.ts';
import { judged, type Rule, type RuleData } from './rule.ts';

export const spanLimit: Rule = {
  data: data as RuleData,
  judge: ({ net }, { limit }) => {
    const u = spanCount(net.knots[0], net.degree[0]);
    const v = spanCount(net.knots[1], net.degree[1]);
    const value = Math.max(u, v);
    return judged(
      value > limit.value
        ? [{ site: { kind: 'net' }, value, position: null, evidence: { u, v } }]
        : [],
    );
  },
};

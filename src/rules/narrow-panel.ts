import data from '../../rules/narrow-panel.json' with { type: 'json' };
import { slenderness } from '../measure/edgeLengths.ts';
import { judged, type Rule, type RuleData } from './rule.ts';

export const narrowPanel: Rule = {
  data: data as RuleData,
  judge: ({ net }, { limit }) => {
    const value = slenderness(net);
    return judged(value < limit.value ? [{ site: { kind: 'net' }, value, position: null }] : []);
  },
};

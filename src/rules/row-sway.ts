import data from '../../rules/row-sway.json' with { type: 'json' };
import { joinedJudgement } from './joinedJudgement.ts';
import { judgedJumps } from './judgedJumps.ts';
import type { Rule, RuleData } from './rule.ts';

export const rowSway: Rule = {
  data: data as RuleData,
  judge: (subject, thresholds) =>
    joinedJudgement(subject, (part) => judgedJumps(part, 'sway', thresholds)),
};

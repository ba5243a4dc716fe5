import data from '../../rules/hull-jut.json' with { type: 'json' };
import { joinedJudgement } from './joinedJudgement.ts';
import { judgedDisplacements } from './judgedDisplacements.ts';
import type { Rule, RuleData } from './rule.ts';

export const hullJut: Rule = {
  data: data as RuleData,
  judge: (subject, thresholds) =>
    joinedJudgement(subject, (part) => judgedDisplacements(subject, part, 'line', thresholds)),
};

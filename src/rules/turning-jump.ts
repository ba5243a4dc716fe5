import data from '../../rules/turning-jump.json' with { type: 'json' };
import { joinedJudgement } from './joinedJudgement.ts';
import type { Rule, RuleData } from './rule.ts';
import { judgedJumps } from './judgedJumps.ts';

export const turningJump: Rule = {
  data: data as RuleData,
  judge: (subject, thresholds) =>
    joinedJudgement(subject, (part) => judgedJumps(part, 'bulge', thresholds)),
};

import type { Judgement, Outcome } from './rule.ts';

const worstFirst: readonly Outcome[] = ['missed', 'undecided', 'met', 'not-applicable'];

/** The first of the worst outcome among several of one rule; undefined: there are none. */
export const worstJudgement = (judgements: readonly Judgement[]): Judgement | undefined =>
  worstFirst.flatMap((outcome) => judgements.filter((one) => one.outcome === outcome))[0];

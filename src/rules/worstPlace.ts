import type { Judgement } from './rule.ts';

/** Only the worst of what a judgement misses, with how many parts of the net miss: one cure a panel. */
export function worstPlace(judgement: Judgement, sense: 'at-most' | 'at-least'): Judgement {
  if (judgement.outcome !== 'missed') return judgement;
  const { misses } = judgement;
  const sign = sense === 'at-most' ? 1 : -1;
  const worst = misses.reduce((a, b) => (sign * b.value > sign * a.value ? b : a));
  return {
    outcome: 'missed',
    misses: [{ ...worst, evidence: { ...worst.evidence, parts: misses.length } }],
  };
}

import type { Judgement, Miss } from './rule.ts';
import type { Part, Subject } from './subject.ts';
import { worstJudgement } from './worstJudgement.ts';

const key = (miss: Miss): string => JSON.stringify(miss.site);

/** One miss a site, the worst: two parts share the points of the line that parts them. */
function oncePerSite(misses: readonly Miss[], sense: 'at-most' | 'at-least'): Miss[] {
  const kept = new Map<string, Miss>();
  for (const miss of misses) {
    const other = kept.get(key(miss));
    const worse =
      !other || (sense === 'at-most' ? miss.value > other.value : miss.value < other.value);
    if (worse) kept.set(key(miss), miss);
  }
  return [...kept.values()];
}

/**
 * Judges each part of a net by itself and joins the outcomes: missed if any part misses, else
 * undecided if any is, else met if any is, else not applicable.
 */
export function joinedJudgement(
  subject: Subject,
  judge: (part: Part) => Judgement,
  sense: 'at-most' | 'at-least' = 'at-most',
): Judgement {
  const judgements = subject.parts.map(judge);
  const misses = judgements.flatMap((j) => (j.outcome === 'missed' ? j.misses : []));
  if (misses.length > 0) return { outcome: 'missed', misses: oncePerSite(misses, sense) };
  return worstJudgement(judgements)!;
}

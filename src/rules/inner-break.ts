import data from '../../rules/inner-break.json' with { type: 'json' };
import { innerBreaks } from '../measure/innerBreaks.ts';
import { degrees, judged, notApplicable, type Miss, type Rule, type RuleData } from './rule.ts';

export const innerBreak: Rule = {
  data: data as RuleData,
  judge: ({ net }, { limit, floor }) => {
    const breaks = innerBreaks(net);
    if (breaks.length === 0) return notApplicable('smooth-knots');
    const misses = breaks
      .filter(({ angle, gap }) => degrees(angle) > limit.value || gap > floor('gap'))
      .map(({ along, index, angle, gap, position, value }): Miss => ({
        site: along === 'row' ? { kind: 'column', column: index } : { kind: 'row', row: index },
        value: degrees(angle),
        position,
        ...(gap > floor('gap') ? { beyond: gap / floor('gap') } : {}),
        evidence: { gap, knot: value },
      }));
    if (misses.length === 0 && breaks.some(({ blind }) => blind > 0))
      return { outcome: 'undecided', reason: 'no-normal' };
    return judged(misses);
  },
};

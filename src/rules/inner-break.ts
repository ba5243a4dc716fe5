import data from '../../rules/inner-break.json' with { type: 'json' };
import { innerBreaks } from '../measure/innerBreaks.ts';
import { degrees, judged, notApplicable, type Miss, type Rule, type RuleData } from './rule.ts';

export const innerBreak: Rule = {
  data: data as RuleData,
  judge: ({ net }, { limit, floor }) => {
    const breaks = innerBreaks(net, 2, floor('flat'));
    if (breaks.length === 0) return notApplicable('smooth-knots');
    const misses = breaks.flatMap((found): Miss[] => {
      const { along, index, angle, gap, mismatch, value } = found;
      const [turn, apart] = [degrees(angle), gap / floor('gap')];
      const isOpen = turn > limit.value || apart > 1;
      // across a corner curvatures say nothing
      const bent = isOpen ? 0 : mismatch / floor('curvature');
      if (!isOpen && bent <= 1) return [];
      return [
        {
          site: along === 'row' ? { kind: 'column', column: index } : { kind: 'row', row: index },
          value: turn,
          position: isOpen ? found.position : found.bendPosition,
          ...(Math.max(apart, bent) > 1 ? { beyond: Math.max(apart, bent) } : {}),
          evidence: { gap, knot: value, curvature: mismatch },
        },
      ];
    });
    if (misses.length === 0 && breaks.some(({ isBlind }) => isBlind))
      return { outcome: 'undecided', reason: 'no-normal' };
    return judged(misses);
  },
};

import data from '../../rules/scan-bias.json' with { type: 'json' };
import { judged, met, type Rule, type RuleData } from './rule.ts';
import { unscanned } from './unscanned.ts';

export const scanBias: Rule = {
  data: data as RuleData,
  judge: (subject, { limit, floor }) => {
    const scanned = subject.scanned();
    if (scanned.kind !== 'seen') return unscanned(scanned)!;
    const { mean, rms, oneSide, coveredShare, area } = scanned.distances;
    if (!(area > 0)) return unscanned(scanned)!;
    if (!(coveredShare >= floor('covered'))) return { outcome: 'undecided', reason: 'scan-open' };
    if (!(Math.abs(mean) > limit.value && oneSide > floor('oneSide'))) return met;
    return judged([
      {
        site: { kind: 'net' },
        value: Math.abs(mean),
        position: null,
        direction: mean > 0 ? 'out' : 'in',
        evidence: { mean, rms, oneSide, covered: coveredShare },
      },
    ]);
  },
};

import data from '../../rules/scan-coverage.json' with { type: 'json' };
import { judged, met, type Rule, type RuleData } from './rule.ts';
import { unscanned } from './unscanned.ts';

export const scanCoverage: Rule = {
  data: data as RuleData,
  judge: (subject, { limit }) => {
    const scanned = subject.scanned();
    const blind = unscanned(scanned);
    if (blind || scanned.kind !== 'seen') return blind!;
    const { coveredShare, area } = scanned.distances;
    if (coveredShare >= limit.value) return met;
    return judged([
      { site: { kind: 'net' }, value: coveredShare, position: null, evidence: { area } },
    ]);
  },
};

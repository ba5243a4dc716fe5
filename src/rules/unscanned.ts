import { notApplicable, type Judgement } from './rule.ts';
import type { Scanned } from './subject.ts';

/** Why nothing can be said of a panel against a scan, as far as that has nothing to do with the rule; else null. */
export function unscanned(scanned: Scanned): Judgement | null {
  switch (scanned.kind) {
    case 'no-scan':
      return notApplicable('no-scan');
    case 'scan-unread':
    case 'scan-misaligned':
      return { outcome: 'undecided', reason: scanned.kind };
    case 'seen':
      return scanned.distances.area > 0 ? null : notApplicable('nothing-kept');
  }
}

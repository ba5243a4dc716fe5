import { turningJumps } from '../measure/turningJumps.ts';
import { gatheredMisses, peaks } from './gatheredMisses.ts';
import { degrees, judged, notApplicable, type Judgement, type Thresholds } from './rule.ts';
import type { Part } from './subject.ts';

/** Two bends may differ by more than half a turn; a person reads no more than that. */
const halfTurn = 180;

/**
 * Judges the jumps of one part of the bend. A jump must be over the limit in degrees and stand out
 * from the bends beside it by the floor "against-neighbours": a strongly curved row honestly changes
 * its bend by more degrees than a flat one.
 */
export function judgedJumps(part: Part, bend: 'bulge' | 'sway', thresholds: Thresholds): Judgement {
  const jumps = turningJumps(part.sights, bend);
  if (jumps.length === 0) return notApplicable('too-few-points');
  const share = thresholds.floor('against-neighbours');
  const excesses = jumps.map(({ along, spot, jump, beside }) => ({
    along,
    spot,
    value: Math.abs(jump) > share * beside ? Math.min(halfTurn, degrees(Math.abs(jump))) : 0,
  }));
  return judged(gatheredMisses(part, peaks(excesses, thresholds.limit.value)));
}

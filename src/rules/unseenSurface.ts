import { notApplicable, type Judgement } from './rule.ts';
import type { Part } from './subject.ts';

/** Why nothing can be said of a part's surface: none of it is kept, or it has no normal; else null. */
export function unseenSurface(part: Part): Judgement | null {
  const { isOutside, grid } = part.look();
  if (isOutside.every((outside) => outside !== 0)) return notApplicable('nothing-kept');
  const isBlind = grid.isBlind.every((blind, at) => blind !== 0 || isOutside[at] !== 0);
  return isBlind ? { outcome: 'undecided', reason: 'no-normal' } : null;
}

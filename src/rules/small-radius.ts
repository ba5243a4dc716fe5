import data from '../../rules/small-radius.json' with { type: 'json' };
import { tightTurn } from '../measure/tightTurn.ts';
import { joinedJudgement } from './joinedJudgement.ts';
import { placeMiss } from './placeMiss.ts';
import {
  degrees,
  judged,
  type Judgement,
  type Miss,
  type Rule,
  type RuleData,
  type Thresholds,
} from './rule.ts';
import type { Part, Subject } from './subject.ts';
import { unseenSurface } from './unseenSurface.ts';
import { worstPlace } from './worstPlace.ts';

/**
 * The least radius of a part that turns it enough to count, less the thickness where it bends toward
 * the inner side, as a miss. `inner`: the side of the material, 1 along S_u x S_v, -1 the other.
 */
function tightest(
  part: Part,
  { kept, thickness }: Subject,
  inner: 1 | -1,
  { limit, floor }: Thresholds,
): Miss[] {
  const places = part
    .radii()
    .map((place) => {
      const taken = place.side === inner ? thickness : 0;
      return { place, taken, value: Math.max(0, place.radius - taken) };
    })
    .filter(({ value }) => value < limit.value)
    .toSorted((a, b) => a.value - b.value);
  for (const { place, taken, value } of places) {
    const turn = degrees(tightTurn(part.net, place, limit.value + taken, kept));
    if (turn < floor('turn')) continue;
    const evidence = { radius: place.radius, turn, ...(taken > 0 ? { thickness } : {}) };
    return [placeMiss(part, place, value, evidence)];
  }
  return [];
}

const judgedWithin = (subject: Subject, inner: 1 | -1, thresholds: Thresholds): Judgement =>
  worstPlace(
    joinedJudgement(
      subject,
      (part) => unseenSurface(part) ?? judged(tightest(part, subject, inner, thresholds)),
      'at-least',
    ),
    'at-least',
  );

export const smallRadius: Rule = {
  data: data as RuleData,
  judge: (subject, thresholds) => {
    const { sign, from } = subject.side;
    const own = judgedWithin(subject, sign === 1 ? -1 : 1, thresholds);
    if (subject.thickness === 0 || from !== 'unknown') return own;
    // The material may lie on either side: only what holds for both is said.
    const other = judgedWithin(subject, sign, thresholds);
    return own.outcome === other.outcome ? own : { outcome: 'undecided', reason: 'no-side' };
  },
};

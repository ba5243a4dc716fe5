import { fallingOrder, indexOfMost } from '../../../../src/measure/locator/fallingOrder.ts';
import { expanded, type Expanded } from './extensions.ts';
import type { FaultSetting } from './faultSetting.ts';
import { judgedAtoms, type JudgedAtom } from './judgedAtoms.ts';
import { largest, wholeFit, type FaultSet } from './jointFit.ts';
import { mostEvident } from '../../../../src/measure/locator/likeliestSet.ts';
import { lineComplements } from '../../../../src/measure/locator/lineComplements.ts';
import { isSmall, proposedSets } from './proposals.ts';

/** The set of faults that explains a net best. */
export interface LikeliestSet {
  readonly set: FaultSet;
  /** Judged already, or null. */
  readonly judged: readonly JudgedAtom[] | null;
  /** The look at the net without any fault. */
  readonly clean: Expanded;
}

/** Starts tried, sets passed through from each, and atoms a set may have. */
const mostStarts = 2;
const mostSteps = 12;
const mostAtoms = 7;
/** Nats by which a further set must win: one atom added, a set proposed; a drop or a swap. */
const leastRise = 0.2;
const leastTurn = 0.5;
/** Starts this far behind nothing at all, or behind the best of them, are tried still. */
const slack = 1.5;
const behind = 10;
/** A set with this much over nothing ends the search. */
const enough = 30;

const keyOf = ({ atoms }: FaultSet): string => [...atoms].sort((a, b) => a - b).join();

/** The unevennesses near the likeliest one. */
function nearHands(setting: FaultSetting, look: Expanded): number[] {
  const best = indexOfMost(look.table.byHand);
  return Array.from(setting.hands.keys()).filter((h) => h >= best - 2 && h <= best + 1);
}

/** A set as its expansion has fitted it; evidence it had already is kept if it hardly moved. */
function refitted(before: FaultSet, { set: now }: Expanded): FaultSet {
  const room = 0.02 * largest(now.strengths);
  const stays = now.strengths.every((d, s) => {
    const old = before.strengths[s];
    return Math.abs(d - old) <= room + 1e-5 * Math.abs(old);
  });
  return stays ? { ...now, evidence: Math.max(now.evidence, before.evidence) } : now;
}

/** Climbs from one set: add one, add several at once, drop, swap. `seen` sets are not entered again. */
function climbed(
  setting: FaultSetting,
  start: FaultSet,
  seen: Set<string>,
): Pick<LikeliestSet, 'set' | 'judged'> {
  let current = start;
  let active = Array.from(setting.hands.keys());
  for (let step = 0; step < mostSteps; step++) {
    seen.add(keyOf(current));
    if (current.atoms.length >= mostAtoms) break;
    const look = expanded(setting, current, active);
    active = nearHands(setting, look);
    current = refitted(current, look);
    const [longer] = look.extensions;
    if (longer && longer.evidence > current.evidence + leastRise) {
      if (seen.has(keyOf(longer))) break;
      current = longer;
      continue;
    }
    const size = current.atoms.length;
    if ((size === 1 && step < 2) || (size >= 2 && size <= 3 && isSmall(setting))) {
      const [several] = proposedSets(setting, { ...look, set: current }, active);
      if (several && several.evidence > current.evidence + leastRise) {
        current = several;
        continue;
      }
    }
    if (size < 2) break;
    const { judged, other } = judgedAtoms(setting, current, active);
    const turns = (one: FaultSet | null): one is FaultSet =>
      one !== null && one.evidence > current.evidence + leastTurn && !seen.has(keyOf(one));
    if (turns(other)) {
      current = other;
      continue;
    }
    const mirrored = mostEvident(
      lineComplements(setting, current).map(({ atoms, strengths }) =>
        wholeFit(setting, atoms, strengths, active),
      ),
    );
    if (!turns(mirrored)) return { set: current, judged };
    current = mirrored;
  }
  return { set: current, judged: null };
}

/** The likeliest set of faults: hill climbing from the two best beginnings. */
export function likeliestSet(setting: FaultSetting): LikeliestSet {
  const everyHand = Array.from(setting.hands.keys());
  const none: FaultSet = { atoms: [], strengths: new Float64Array(0), evidence: -Infinity };
  const clean = expanded(setting, none, everyHand);
  const nothing = clean.set.evidence;
  const pool: FaultSet[] = [
    ...clean.extensions.slice(0, 2),
    ...proposedSets(setting, clean, everyHand).slice(0, 2),
  ];
  const order = fallingOrder(pool.map(({ evidence }) => evidence));
  const bar = Math.max(nothing, pool[order[0]].evidence - behind) - slack;
  let best: Pick<LikeliestSet, 'set' | 'judged'> = { set: clean.set, judged: null };
  const seen = new Set<string>();
  for (const at of order.filter((k) => pool[k].evidence > bar).slice(0, mostStarts)) {
    if (seen.has(keyOf(pool[at]))) continue;
    const reached = climbed(setting, pool[at], seen);
    if (reached.set.evidence > best.set.evidence) best = reached;
    if (reached.set.evidence > nothing + enough) break;
  }
  return { ...best, clean };
}

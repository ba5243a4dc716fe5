import { expanded, type Expanded } from './extensions.ts';
import { indexOfMost } from './fallingOrder.ts';
import { fittedSet, look, residual, type FaultSet } from './faultSets.ts';
import { judgedSites, type JudgedSite } from './judgedSites.ts';
import type { MixtureScorer } from './mixtureScorer.ts';
import { lineComplements } from './lineComplements.ts';
import type { PanelModel } from './panelModel.ts';
import { isSmall, proposedSets } from './proposals.ts';
import { wholeSites } from './wholeSites.ts';

/** The set of faults that explains a net best. */
export interface LikeliestSet {
  readonly set: FaultSet;
  /** Judged already, or null. */
  readonly judged: readonly JudgedSite[] | null;
  /** The net without any fault, and with one. */
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
/**
 * Nats over nothing with which a single fault is where to begin, and below which several that mask
 * each other are not looked for either.
 */
const plain = 10;
const hopeless = -5;
/** A set with this much over nothing ends the search. */
const enough = 30;

/** Fewer points do not tell several faults apart: they are added one by one only. */
const leastForSeveral = 25;

const tellsSeveral = ({ spectrum }: PanelModel): boolean => spectrum.pointCount >= leastForSeveral;

const keyOf = ({ atoms }: FaultSet): string => [...atoms].sort((a, b) => a - b).join();

/** The set with the most evidence, the first of equals; null for none. */
export const mostEvident = <S extends Pick<FaultSet, 'evidence'>>(sets: readonly S[]): S | null =>
  sets.reduce<S | null>((best, one) => (best && best.evidence >= one.evidence ? best : one), null);

/** The unevennesses near the likeliest one. */
function handsAround(model: PanelModel, { look: seen }: FaultSet): number[] {
  const best = indexOfMost(seen.byHand);
  return model.everyHand.filter((h) => h >= best - 2 && h <= best + 1);
}

/** Climbs from one set: add one, add several at once, drop, swap. `seen` sets are not entered again. */
function climbed(
  model: PanelModel,
  scorer: MixtureScorer,
  start: FaultSet,
  seen: Set<string>,
): Pick<LikeliestSet, 'set' | 'judged'> {
  let current = start;
  for (let step = 0; step < mostSteps; step++) {
    seen.add(keyOf(current));
    if (current.atoms.length >= mostAtoms) break;
    const active = handsAround(model, current);
    const wider = fittedSet(model, scorer, current.atoms, current.strengths, active, 1);
    current = wider.evidence > current.evidence ? wider : { ...current, look: wider.look };
    const whole = wholeSites(model, scorer, current, active);
    if (whole && whole.evidence > current.evidence + leastRise && !seen.has(keyOf(whole))) {
      current = whole;
      continue;
    }
    const told = expanded(model, scorer, current, active);
    const [longer] = told.extensions;
    if (longer && longer.evidence > current.evidence + leastRise) {
      if (seen.has(keyOf(longer))) break;
      current = longer;
      continue;
    }
    const size = current.atoms.length;
    if (
      tellsSeveral(model) &&
      (longer?.evidence ?? -Infinity) > current.evidence + hopeless &&
      ((size === 1 && step < 2) || (size >= 2 && size <= 3 && isSmall(model)))
    ) {
      const { left } = told;
      const [several] = proposedSets(model, scorer, current, left, current.look, active);
      if (several && several.evidence > current.evidence + leastRise) {
        current = several;
        continue;
      }
    }
    if (new Set(current.atoms.map((atom) => model.sites[atom])).size < 2) break;
    const { judged, other } = judgedSites(model, scorer, current, active);
    const turns = (one: FaultSet | null): one is FaultSet =>
      one !== null && one.evidence > current.evidence + leastTurn && !seen.has(keyOf(one));
    if (turns(other)) {
      current = other;
      continue;
    }
    const mirrored = mostEvident(
      lineComplements(model, current).map(({ atoms, strengths }) =>
        fittedSet(model, scorer, atoms, strengths, active, 2),
      ),
    );
    if (!turns(mirrored)) return { set: current, judged };
    current = mirrored;
  }
  return { set: current, judged: null };
}

/** The net without a fault. */
export function noFault(model: PanelModel, scorer: MixtureScorer): FaultSet {
  const strengths = new Float64Array(0);
  const left = residual(model, [], strengths);
  const seen = look(model, scorer, model.mixture, left, model.everyHand);
  return { atoms: [], strengths, evidence: seen.total, factor: new Float64Array(0), look: seen };
}

/** The likeliest set of faults: hill climbing from the two best beginnings. */
export function likeliestSet(model: PanelModel, scorer: MixtureScorer): LikeliestSet {
  const { everyHand } = model;
  const nothing = noFault(model, scorer);
  const clean = expanded(model, scorer, nothing, everyHand);
  const single = clean.extensions.slice(0, 2);
  const gain = (single[0]?.evidence ?? -Infinity) - nothing.evidence;
  const pool: FaultSet[] = [
    ...single,
    ...(gain > plain || gain < hopeless || !tellsSeveral(model)
      ? []
      : proposedSets(model, scorer, nothing, clean.left, nothing.look, everyHand).slice(0, 2)),
  ].sort((a, b) => b.evidence - a.evidence);
  let best: Pick<LikeliestSet, 'set' | 'judged'> = { set: nothing, judged: null };
  if (pool.length === 0) return { ...best, clean };
  const bar = Math.max(nothing.evidence, pool[0].evidence - behind) - slack;
  const seen = new Set<string>();
  for (const one of pool.filter(({ evidence }) => evidence > bar).slice(0, mostStarts)) {
    if (seen.has(keyOf(one))) continue;
    const reached = climbed(model, scorer, one, seen);
    if (reached.set.evidence > best.set.evidence) best = reached;
    if (reached.set.evidence > nothing.evidence + enough) break;
  }
  return { ...best, clean };
}

import { indexOfMost, leaders } from './fallingOrder.ts';
import {
  fittedSet,
  guessesAt,
  jointFit,
  logSetPrior,
  look,
  nearHands,
  residual,
  type Coefficients,
  type FaultSet,
  type Look,
} from './faultSets.ts';
import type { MixtureScorer } from './mixtureScorer.ts';
import type { PanelModel } from './panelModel.ts';
import { suggestions } from './suggestions.ts';

/** An atom that was looked at but not fitted, and roughly what it would explain. */
export interface Glimpse {
  readonly atom: number;
  readonly evidence: number;
}

/** A set, what it leaves, and the likely ways to extend it by one atom, the last of `atoms`. */
export interface Expanded {
  readonly set: FaultSet;
  readonly left: Coefficients;
  /** By falling evidence. */
  readonly extensions: readonly FaultSet[];
  readonly glimpses: readonly Glimpse[];
}

/** Nats below nothing at all from which an atom is not looked at again. */
const hopeless = 6;
/** Atoms that are looked at twice, fitted, and how many nats behind the leader one may be. */
const lookedTwice = 8;
const mostFitted = 4;
const margin = 14;

/** Atoms that may join: not in the set, and no other profile or run of a line that is. */
function allowedAtoms({ kinds, lines }: PanelModel, set: readonly number[]): boolean[] {
  return Array.from(
    kinds,
    (kind, k) => !set.includes(k) && !(kind > 1 && set.some((s) => lines[s] === lines[k])),
  );
}

export const lastAtom = ({ atoms }: Pick<FaultSet, 'atoms'>): number => atoms[atoms.length - 1];

/**
 * The likely ways to extend a set: every atom suggested gets a first look at what is left without
 * it, the better ones a fit of their strength and a second look, the best are fitted together with
 * the set. `forced` atoms are fitted in any case.
 */
export function expanded(
  model: PanelModel,
  scorer: MixtureScorer,
  set: FaultSet,
  asked: readonly number[],
  forced: readonly number[] = [],
): Expanded {
  const left = residual(model, set.atoms, set.strengths);
  const seen: Look = set.look;
  const allowed = allowedAtoms(model, set.atoms);
  const best = indexOfMost(seen.byHand);
  const firstHands = [Math.max(best - 1, asked[0])];
  const hands = [...new Set([best, Math.max(asked[0], best - 2)])];
  const liked = guessesAt(seen, best);
  const base = look(model, scorer, model.cores, left, [...new Set([...firstHands, ...hands])]);
  const first = suggestions(model, scorer, model.mixture, left, seen, asked, allowed, forced).map(
    ({ atom, starts }) => {
      const atoms = [...set.atoms, atom];
      const joins = set.atoms.some((own) => model.sites[own] === model.sites[atom]);
      return starts
        .flatMap((start) => {
          const strengths = Float64Array.from([...set.strengths, start]);
          if (!joins) return [strengths];
          // what is at the same site was fitted without this part of the displacement
          const refitted = jointFit(
            model,
            scorer,
            { atoms, strengths },
            model.mixture,
            liked,
            best,
            3,
          );
          return [strengths, refitted.strengths];
        })
        .map((strengths) => {
          const rest = residual(model, atoms, strengths);
          const own = look(model, scorer, model.cores, rest, firstHands, base);
          const worth = own.total + logSetPrior(model, atoms, strengths);
          return { atom, atoms, strengths, own, worth };
        })
        .reduce((a, b) => (b.worth > a.worth ? b : a));
    },
  );
  const order = leaders(
    first.map(({ worth }) => worth),
    first.length,
  );
  const bySite = new Map<number, number>();
  const chosen = order.filter((at) => {
    const { atom } = first[at];
    const site = model.sites[atom];
    const alike = bySite.get(site) ?? 0;
    bySite.set(site, alike + 1);
    return alike < 2 || forced.includes(atom);
  });
  const promising =
    base.byHand[firstHands[0]] + logSetPrior(model, set.atoms, set.strengths) - hopeless;
  const kept = chosen.filter(
    (at, k) => (k < lookedTwice && first[at].worth > promising) || forced.includes(first[at].atom),
  );
  const second = kept.map((at) => {
    const one = first[at];
    const hand = indexOfMost(one.own.byHand);
    const guesses = guessesAt(one.own, hand);
    const { strengths } = jointFit(model, scorer, one, model.cores, guesses, hand, 2);
    const rest = residual(model, one.atoms, strengths);
    const own = look(model, scorer, model.cores, rest, hands, base);
    return { ...one, strengths, own, worth: own.total + logSetPrior(model, one.atoms, strengths) };
  });
  second.sort((a, b) => b.worth - a.worth);
  const least = second.length > 0 ? second[0].worth - margin : 0;
  const fits = second
    .filter(({ atom, worth }, k) => (k < mostFitted && worth >= least) || forced.includes(atom))
    .map(({ atoms, strengths, own, worth }) => ({
      worth,
      fit: fittedSet(model, scorer, atoms, strengths, nearHands(own.byHand), 1, seen),
    }));
  // what a look at a few particles misses is about the same for all
  const offset =
    fits.length > 0
      ? fits[0].fit.evidence - fits[0].worth
      : set.evidence - base.byHand[firstHands[0]] - logSetPrior(model, set.atoms, set.strengths);
  const done = new Set(fits.map(({ fit }) => lastAtom(fit)));
  const rest = [...second, ...first.filter(({ atom }) => !second.some((s) => s.atom === atom))];
  return {
    set,
    left,
    extensions: fits.map(({ fit }) => fit).sort((a, b) => b.evidence - a.evidence),
    glimpses: rest
      .filter(({ atom }) => !done.has(atom))
      .map(({ atom, worth }) => ({ atom, evidence: worth + offset })),
  };
}

/** What a first look at a net without any fault says. */
export interface FirstLook {
  /** What the likeliest single atom explains better than nothing, nats. */
  readonly gain: number;
  /** Without any fault, by few particles. */
  readonly base: Look;
}

/**
 * The first look at a net: few particles, strengths not fitted. A net where the gain is far below 0
 * has nothing to be found, and most clean nets of little unevenness are such.
 */
export function firstLook(model: PanelModel, scorer: MixtureScorer): FirstLook {
  const { everyHand } = model;
  const none = new Float64Array(0);
  const left = residual(model, [], none);
  const base = look(model, scorer, model.cores, left, everyHand);
  const best = indexOfMost(base.byHand);
  const hands = [...new Set([Math.max(0, best - 1), best])];
  // a run that is off is seen by its points
  const all = Array.from({ length: model.atoms.plainCount }, () => true);
  const found = suggestions(model, scorer, model.cores, left, base, everyHand, all, []);
  let most = -Infinity;
  for (const { atom, starts } of found)
    for (const start of starts) {
      const strengths = Float64Array.of(start);
      const rest = residual(model, [atom], strengths);
      const own = look(model, scorer, model.cores, rest, hands, base);
      most = Math.max(most, own.total + logSetPrior(model, [atom], strengths));
    }
  return { gain: most - base.total, base };
}

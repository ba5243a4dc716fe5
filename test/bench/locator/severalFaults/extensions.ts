import {
  fallingOrder,
  indexOfMost,
  leaders,
  mergedLeaders,
} from '../../../../src/measure/locator/fallingOrder.ts';
import { areTwins } from './atomPlaces.ts';
import { evidenceTable, type EvidenceTable } from './evidenceTable.ts';
import { logPrior } from '../../../../src/measure/locator/faultPriors.ts';
import type { FaultSetting } from './faultSetting.ts';
import {
  clipped,
  fitEvidence,
  hasMoved,
  jointFit,
  setToll,
  type FaultSet,
  type JointFit,
} from './jointFit.ts';
import { loneAtoms, summedOut, type LoneAtoms } from './loneAtoms.ts';
import { deviation } from '../../../../src/measure/locator/normalEquations.ts';
import { likeliestTemperament, noFloors } from '../../../learn/robustDensity.ts';
import { type Floors } from '../../../../src/measure/locator/densityTable.ts';
import { chosenEvidence, residual, squares, type Coefficients } from './setting.ts';

/** A set and one atom more, the last of its list. */
export interface Extension extends FaultSet {
  /** Standard deviation of the last atom's strength, per mille. */
  readonly deviation: number;
}

/** Atoms of each kind (point, drift, line) that each way of ranking sends on. */
const sentOn = [14, 8, 9] as const;
/** Starts at fixed strengths are stretched by this. */
const stretches = { point: 1, drift: 4, line: 1, run: 1 } as const;
/** A set, fitted again, and the best sets with one atom more, by falling evidence. */
export interface Expanded {
  readonly set: FaultSet;
  readonly extensions: readonly Extension[];
  readonly table: EvidenceTable;
  readonly left: Coefficients;
}

const axes = [0, 1, 2] as const;
const startFloors: Floors = { exponent: -70, density: 1e-30 };
const extensionCount = 8;
const robustCount = 8;
const leastStart = 1e-3;

/** What an expansion works on: the set as fitted, what it leaves, and what particles say of that. */
interface Ground {
  readonly set: FaultSet;
  readonly table: EvidenceTable;
  readonly left: Coefficients;
}

function ground(setting: FaultSetting, given: FaultSet, active: readonly number[]): Ground {
  const { atoms: set } = given;
  let strengths = given.strengths;
  let left = residual(setting, set, strengths);
  let table = evidenceTable(setting, left, active);
  let fit: JointFit = { strengths, factor: new Float64Array(0) };
  if (set.length > 0) {
    const hand = indexOfMost(table.byHand);
    const chosen = table.byParticle.map((byHand) => leaders(byHand[hand], 4));
    fit = jointFit(setting, set, strengths, hand, chosen);
    if (hasMoved(strengths, fit.strengths)) {
      const leftNow = residual(setting, set, fit.strengths);
      const tableNow = evidenceTable(setting, leftNow, active);
      if (tableNow.total > table.total - 0.5)
        [strengths, left, table] = [fit.strengths, leftNow, tableNow];
    }
  }
  const evidence = table.total + setToll(setting, set, { ...fit, strengths });
  return { set: { atoms: set, strengths, evidence }, table, left };
}

/** The strengths of every atom that one way of looking suggests, and how it ranks them. */
interface Suggestion {
  readonly strengths: Float64Array;
  readonly worth: Float64Array;
}

interface Guess {
  readonly particle: number;
  readonly temperament: number;
}

/** On each axis the particle that likes best what is left, and its temperament. */
const robustGuesses = (setting: FaultSetting, { table, left }: Ground, hand: number): Guess[] =>
  axes.map((axis) => {
    const particle = indexOfMost(table.byParticle[axis][hand]);
    const temperament = likeliestTemperament(
      setting.density,
      squares(left[axis]),
      setting.mixture[axis],
      particle,
      setting.hands[hand],
    );
    return { particle, temperament };
  });

/** Strengths by weighted least squares of each atom by itself; `worth` makes a rank of them. */
function weighedStrengths(
  setting: FaultSetting,
  left: Coefficients,
  weights: readonly Float64Array[],
  least: number,
  worth: (pull: number, stiff: number, atom: number) => number,
): Suggestion {
  const count = setting.spectrum.degrees.count;
  const size = setting.atoms.list.length;
  const made = { strengths: new Float64Array(size), worth: new Float64Array(size) };
  for (let atom = 0; atom < size; atom++) {
    let [pull, stiff] = [0, least];
    for (const axis of axes) {
      const pattern = setting.atoms.patterns[axis];
      for (let c = 0, at = atom * count; c < count; c++, at++) {
        const pushed = pattern[at] * weights[axis][c];
        pull += pushed * left[axis][c];
        stiff += pushed * pattern[at];
      }
    }
    made.strengths[atom] = pull / stiff;
    made.worth[atom] = worth(pull, stiff, atom);
  }
  return made;
}

/** Atoms alone against the robust winner's weights. */
function robustSuggestion(setting: FaultSetting, own: Ground, hand: number): Suggestion {
  const count = setting.spectrum.degrees.count;
  const h = setting.hands[hand];
  const guesses = robustGuesses(setting, own, hand);
  const weights = axes.map((axis) => {
    const { particle, temperament } = guesses[axis];
    return own.left[axis].map((value, c) =>
      setting.density.weight(
        value * value,
        setting.mixture[axis],
        particle * count + c,
        temperament,
        h,
        noFloors,
      ),
    );
  });
  return weighedStrengths(
    setting,
    own.left,
    weights,
    1e-9,
    (pull, stiff, atom) => (0.5 * pull * pull) / stiff + setting.logOdds[atom],
  );
}

/** Atoms alone against what no polynomial of degree `low` in u nor in v explains. */
function mixedSuggestion(setting: FaultSetting, left: Coefficients, low: number): Suggestion {
  const { degrees, count } = setting.spectrum;
  const [leastU, leastV] = [Math.min(low, count[0] - 2), Math.min(low, count[1] - 2)];
  const mask = Float64Array.from(degrees.u, (u, c) =>
    u >= leastU && degrees.v[c] >= leastV ? 1 : 0,
  );
  return weighedStrengths(
    setting,
    left,
    [mask, mask, mask],
    1e-6,
    (pull, stiff) => (pull * pull) / stiff,
  );
}

/** Atoms that may join: not in the set, and no other profile of a line that is. */
function allowedAtoms({ atoms }: FaultSetting, set: readonly number[]): boolean[] {
  return atoms.list.map(
    (atom, k) =>
      !set.includes(k) &&
      !set.some((s) => atoms.list[s].kind === 'line' && areTwins(atom, atoms.list[s])),
  );
}

/** Atoms worth a closer look: the best of each kind by each rank, and those that must be told. */
function heardAtoms(
  setting: FaultSetting,
  allowed: readonly boolean[],
  ranks: readonly Float64Array[],
  forced: readonly number[],
): number[] {
  const heard = new Set(forced);
  sentOn.forEach((most, kind) => {
    const own = setting.atoms.list.flatMap((_, k) =>
      allowed[k] && setting.kinds[k] === kind ? [k] : [],
    );
    for (const rank of ranks)
      for (const at of leaders(
        own.map((k) => rank[k]),
        most,
      ))
        heard.add(own[at]);
  });
  return [...heard].sort((a, b) => a - b);
}

/** Two steps of reweighted least squares for one atom from one start. */
function refined(
  setting: FaultSetting,
  { left }: Ground,
  atom: number,
  start: number,
  hand: number,
  guesses: readonly Guess[],
): number {
  const count = setting.spectrum.degrees.count;
  let strength = start;
  for (let step = 0; step < 2; step++) {
    let [pull, stiff] = [0, 1e-9];
    for (const axis of axes) {
      const { particle, temperament } = guesses[axis];
      const pattern = setting.atoms.patterns[axis];
      for (let c = 0; c < count; c++) {
        const mark = pattern[atom * count + c];
        const rest = left[axis][c] - strength * mark;
        const w = setting.density.weight(
          rest * rest,
          setting.mixture[axis],
          particle * count + c,
          temperament,
          setting.hands[hand],
          startFloors,
        );
        pull += w * mark * left[axis][c];
        stiff += w * mark * mark;
      }
    }
    strength = clipped(pull / stiff, setting.most[atom]);
  }
  return strength;
}

/** An atom, the best of its starts, and what that is worth. */
interface Screened {
  readonly atom: number;
  readonly strength: number;
  /** Evidence with few particles, prior odds and density, nats. */
  readonly worth: number;
  /** Unevennesses by falling evidence. */
  readonly hands: readonly number[];
}

function screened(
  setting: FaultSetting,
  { left }: Ground,
  atom: number,
  starts: readonly number[],
  few: ReadonlyMap<number, readonly (readonly number[])[]>,
): Screened {
  const count = setting.spectrum.degrees.count;
  const byHand = [...few].map(([hand, chosen]) => ({
    hand,
    values: starts.map((strength) =>
      axes.reduce<number>((total, axis) => {
        const pattern = setting.atoms.patterns[axis];
        const squared = left[axis].map((value, c) => {
          const rest = value - strength * pattern[atom * count + c];
          return rest * rest;
        });
        return total + chosenEvidence(setting, squared, axis, setting.hands[hand], chosen[axis]);
      }, setting.logHands[hand]),
    ),
  }));
  const best = starts.map((_, s) => Math.max(...byHand.map(({ values }) => values[s])));
  const at = indexOfMost(best);
  const prior = logPrior(setting.atoms.list[atom].kind, starts[at]);
  const tops = byHand.map(({ values }) => Math.max(...values));
  // of equals the lower unevenness goes first
  const order = byHand.map((_, k) => k).sort((a, b) => byHand[a].hand - byHand[b].hand);
  return {
    atom,
    strength: starts[at],
    worth: best[at] + setting.logOdds[atom] + prior,
    hands: order.sort((a, b) => tops[b] - tops[a]).map((k) => byHand[k].hand),
  };
}

/** The best by worth, at most two a site; at least one of each kind; and those that must be told. */
function candidates(
  { atoms, kinds }: FaultSetting,
  all: readonly Screened[],
  forced: readonly number[],
): Screened[] {
  const order = fallingOrder(all.map(({ worth }) => worth)).map((at) => all[at]);
  const chosen: Screened[] = [];
  for (const one of order) {
    const twins = chosen.filter(({ atom }) => areTwins(atoms.list[atom], atoms.list[one.atom]));
    if (twins.length < 2) chosen.push(one);
    if (chosen.length >= extensionCount) break;
  }
  for (const kind of [1, 2]) {
    const best = order.find(({ atom }) => kinds[atom] === kind);
    if (best && !chosen.includes(best)) chosen.push(best);
  }
  for (const one of order) if (forced.includes(one.atom) && !chosen.includes(one)) chosen.push(one);
  return chosen;
}

function extension(
  setting: FaultSetting,
  { set, table }: Ground,
  lone: ReadonlyMap<number, LoneAtoms>,
  { atom, strength, hands }: Screened,
): Extension {
  const atoms = [...set.atoms, atom];
  const start = Float64Array.from([...set.strengths, strength]);
  const asked = hands.slice(0, 2);
  const chosen = axes.map((axis) =>
    [
      ...new Set([
        ...asked.flatMap((h) => lone.get(h)?.leaders(axis, atom) ?? []),
        ...mergedLeaders(
          asked.map((h) => table.byParticle[axis][h]),
          robustCount,
        ),
      ]),
    ].sort((a, b) => a - b),
  );
  const fits = asked.map((h) => jointFit(setting, atoms, start, h, chosen));
  const values = fits.map((fit) => fitEvidence(setting, atoms, fit, asked, chosen));
  const at = indexOfMost(values);
  return {
    atoms,
    strengths: fits[at].strengths,
    evidence: values[at],
    deviation: deviation(fits[at].factor, atoms.length, atoms.length - 1),
  };
}

/**
 * Every atom that may join a set, screened by several cheap looks, the likely ones fitted together
 * with it. `forced` atoms are told in any case; `active` are the unevennesses in play.
 */
export function expanded(
  setting: FaultSetting,
  given: FaultSet,
  active: readonly number[],
  forced: readonly number[] = [],
): Expanded {
  const own = ground(setting, given, active);
  const { table, left } = own;
  const lone = new Map(active.map((h) => [h, loneAtoms(setting, left, h)]));
  const loneBest = setting.logHands.map((log, h) => {
    const told = lone.get(h);
    return told ? log + told.evidence.reduce((most, e) => Math.max(most, e), -Infinity) : -Infinity;
  });
  const [firstLone, secondLone] = fallingOrder(loneBest);
  const hands = [...new Set([firstLone, indexOfMost(table.byHand), secondLone])].filter((h) =>
    active.includes(h),
  );
  const suggestions = [
    ...hands.slice(0, 2).map((h) => robustSuggestion(setting, own, h)),
    mixedSuggestion(setting, left, 2),
    mixedSuggestion(setting, left, 3),
  ];
  const ranks = [summedOut(setting, lone), ...suggestions.map(({ worth }) => worth)];
  const heard = heardAtoms(setting, allowedAtoms(setting, given.atoms), ranks, forced);
  if (heard.length === 0) return { set: own.set, extensions: [], table, left };
  const few = new Map(
    hands.map((h) => [
      h,
      axes.map((axis) => {
        const votes = new Float64Array(setting.mixture[axis].count);
        for (const atom of heard) votes[lone.get(h)?.favourites[axis][atom] ?? 0] += 1;
        return [...new Set([indexOfMost(table.byParticle[axis][h]), indexOfMost(votes)])];
      }),
    ]),
  );
  const guesses = robustGuesses(setting, own, hands[0]);
  const all = heard.map((atom) => {
    const { kind } = setting.atoms.list[atom];
    const starts = [
      ...suggestions.map(({ strengths }) => strengths[atom]),
      ...hands.map((h) => lone.get(h)?.strengths[atom] ?? 0),
      ...[-2, -0.6, 0.6, 2].map((x) => x * stretches[kind]),
    ]
      .map((x) => clipped(x, setting.most[atom]))
      .map((x) => (Math.abs(x) < leastStart ? leastStart : x));
    const further = starts.map((x) => refined(setting, own, atom, x, hands[0], guesses));
    return screened(setting, own, atom, [...starts, ...further], few);
  });
  const extensions = candidates(setting, all, forced)
    .map((one) => extension(setting, own, lone, one))
    .sort((a, b) => b.evidence - a.evidence);
  return { set: own.set, extensions, table, left };
}

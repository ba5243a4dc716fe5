import { furtherLineToll, logPrior } from './faultPriors.ts';
import { indexOfMost } from './fallingOrder.ts';
import { logSum } from './logSum.ts';
import type { Guess, MixtureScorer, Score } from './mixtureScorer.ts';
import { addAxis, choleskyFactor, logDeterminant, solution } from './normalEquations.ts';
import type { PanelModel } from './panelModel.ts';
import type { Particles } from './spectrumMixture.ts';

/** Coefficients on the three axes, or their squares. */
export type Coefficients = readonly Float64Array[];

/** A set of atoms, their strengths in per mille, and ln of what it explains, nats. */
export interface FaultSet {
  readonly atoms: readonly number[];
  readonly strengths: Float64Array;
  readonly evidence: number;
  /** Cholesky factor of the normal equations of the strengths. */
  readonly factor: Float64Array;
  readonly look: Look;
}

/** What the mixtures think of some coefficients. */
export interface Look {
  /** ln of the prior of an unevenness times the evidence under it; -Infinity where not asked. */
  readonly byHand: Float64Array;
  /** byHand summed out. */
  readonly total: number;
  /** scores[hand][axis], where asked. */
  readonly scores: readonly (readonly Score[])[];
  /** The coefficients looked at. */
  readonly left: Coefficients;
}

/** The particles and temperaments that like the coefficients best, one an axis. */
export const guessesAt = ({ scores }: Look, hand: number): Guess[] =>
  scores[hand].map(({ guess }) => guess);

/** What is left of the coefficients when atoms of the given strengths are taken away. */
export function residual(
  { spectrum, atoms }: PanelModel,
  set: readonly number[],
  strengths: ArrayLike<number>,
): Coefficients {
  const count = spectrum.degrees.count;
  set.forEach(atoms.fill);
  return spectrum.coefficients.map((values, axis) => {
    const left = Float64Array.from(values);
    const pattern = atoms.patterns[axis];
    for (let s = 0; s < set.length; s++) {
      const from = set[s] * count;
      const by = strengths[s];
      for (let c = 0; c < count; c++) left[c] -= by * pattern[from + c];
    }
    return left;
  });
}

export const squares = (values: Float64Array): Float64Array => values.map((value) => value * value);

/** Coefficients that all moved by less than this share of the unevenness count as unmoved. */
const unmoved = 0.1;

function isUnmoved(now: Float64Array, before: Float64Array, room: number): boolean {
  for (let c = 0; c < now.length; c++) if (Math.abs(now[c] - before[c]) > room) return false;
  return true;
}

/**
 * The look of some mixtures (whole, or a few of their particles) at what is left, at some hands. An
 * axis that is left as it was in an earlier look of the same mixtures is not asked again.
 */
export function look(
  { hands, logHands, shifts }: PanelModel,
  scorer: MixtureScorer,
  mixture: readonly Particles[],
  left: Coefficients,
  asked: readonly number[],
  earlier: Look | null = null,
): Look {
  const byHand = new Float64Array(logHands.length).fill(-Infinity);
  const scores: Score[][] = Array.from(logHands, () => []);
  for (let axis = 0; axis < 3; axis++) {
    let squared: Float64Array | null = null;
    for (const h of asked) {
      const known = earlier?.scores[h][axis];
      if (earlier && known && isUnmoved(left[axis], earlier.left[axis], unmoved * hands[h]))
        scores[h].push(known);
      else {
        squared ??= squares(left[axis]);
        scores[h].push(scorer.score(squared, mixture[axis], shifts[h]));
      }
    }
  }
  for (const h of asked)
    byHand[h] = scores[h].reduce((total, score) => total + score.total, logHands[h]);
  return { byHand, total: logSum(byHand), scores, left };
}

/** ln prior of a set of atoms and their strengths. */
export function logSetPrior(
  { atoms, logOdds, kinds }: PanelModel,
  set: readonly number[],
  strengths: ArrayLike<number>,
): number {
  let total = 0;
  let lines = 0;
  for (let s = 0; s < set.length; s++) {
    if (kinds[set[s]] > 1) lines++;
    total += logPrior(atoms.list[set[s]].kind, strengths[s]) + logOdds[set[s]];
  }
  return total - furtherLineToll * Math.max(0, lines - 1);
}

/**
 * What a set pays for its strengths: prior odds and densities, and Laplace's integral over the
 * strengths, (K / 2) ln 2 pi - ln det H / 2.
 */
export function setToll(
  model: PanelModel,
  set: readonly number[],
  strengths: Float64Array,
  factor: Float64Array,
): number {
  if (set.length === 0) return 0;
  const volume = 0.5 * (set.length * Math.log(2 * Math.PI) - logDeterminant(factor, set.length));
  return logSetPrior(model, set, strengths) + volume;
}

/** Strengths of a set of atoms, fitted together, and the factor of their normal equations. */
export interface JointFit {
  readonly strengths: Float64Array;
  readonly factor: Float64Array;
}

/**
 * Reweighted least squares for all strengths of a set together, under one particle and temperament
 * an axis at one unevenness: H = diag(1 / most^2) + sum w P P^T.
 */
export function jointFit(
  model: PanelModel,
  scorer: MixtureScorer,
  { atoms: set, strengths: start }: Pick<FaultSet, 'atoms' | 'strengths'>,
  mixture: readonly Particles[],
  guesses: readonly Guess[],
  hand: number,
  steps: number,
): JointFit {
  const { atoms, most, spectrum } = model;
  const count = spectrum.degrees.count;
  const size = set.length;
  const shift = model.shifts[hand];
  const weighed = new Float64Array(count);
  let strengths = start;
  let factor: Float64Array = new Float64Array(0);
  for (let step = 0; step < steps; step++) {
    const matrix = new Float64Array(size * size);
    for (let s = 0; s < size; s++) matrix[s * size + s] = 1 / most[set[s]] ** 2;
    const right = new Float64Array(size);
    const left = residual(model, set, strengths);
    for (let axis = 0; axis < 3; axis++) {
      const { particle, temperament } = guesses[axis];
      const { nodes } = mixture[axis];
      const rest = left[axis];
      for (let c = 0; c < count; c++)
        weighed[c] = scorer.table.weight(
          rest[c] * rest[c],
          shift,
          nodes[particle * count + c],
          temperament,
        );
      addAxis(matrix, right, set, atoms.patterns[axis], weighed, spectrum.coefficients[axis]);
    }
    factor = choleskyFactor(matrix, size);
    const solved = solution(factor, right);
    for (let s = 0; s < size; s++)
      solved[s] = Math.max(-most[set[s]], Math.min(most[set[s]], solved[s]));
    strengths = solved;
  }
  return { strengths, factor };
}

export const largest = (values: Float64Array): number =>
  values.reduce((most, value) => Math.max(most, Math.abs(value)), 0);

/** True where a fit moved the strengths by more than 2 %. */
function hasMoved(from: Float64Array, to: Float64Array): boolean {
  let most = 0;
  for (let s = 0; s < from.length; s++) most = Math.max(most, Math.abs(to[s] - from[s]));
  return most > 0.02 * largest(from) + 1e-3;
}

/** The unevennesses worth asking around the likeliest: it and its neighbours. */
export const nearHands = (byHand: Float64Array): number[] => {
  const best = indexOfMost(byHand);
  return [best - 1, best, best + 1].filter((h) => h >= 0 && h < byHand.length);
};

/**
 * A set fitted with the particles that like best what is left without it: particles chosen while a
 * fault is still in explain the fault. At most `rounds` fits; the best of them, judged at `asked`.
 */
export function fittedSet(
  model: PanelModel,
  scorer: MixtureScorer,
  atoms: readonly number[],
  start: Float64Array,
  asked: readonly number[],
  rounds: number,
  earlier: Look | null = null,
): FaultSet {
  let best: FaultSet | null = null;
  let strengths = start;
  for (let round = 0; ; round++) {
    const left = residual(model, atoms, strengths);
    const seen = look(model, scorer, model.mixture, left, asked, best?.look ?? earlier);
    const hand = indexOfMost(seen.byHand);
    const own = { atoms, strengths };
    const fit = jointFit(model, scorer, own, model.mixture, guessesAt(seen, hand), hand, 2);
    const evidence = seen.total + setToll(model, atoms, strengths, fit.factor);
    if (best === null || evidence > best.evidence)
      best = { atoms, strengths, evidence, factor: fit.factor, look: seen };
    if (round >= rounds || !hasMoved(strengths, fit.strengths)) return best;
    strengths = fit.strengths;
  }
}

/** Steps of the last fit, and the change of a strength at which it rests, per mille. */
const lastSteps = 40;
const rest = 1e-9;

/**
 * A set with its strengths fitted to rest under the particles that like best what it leaves: what is
 * told of it does not hang on where a search stopped. The look is at all unevennesses.
 */
export function settledSet(model: PanelModel, scorer: MixtureScorer, given: FaultSet): FaultSet {
  const { atoms } = given;
  let seen = given.look;
  let fit: JointFit = given;
  for (let round = 0; ; round++) {
    const hand = indexOfMost(seen.byHand);
    const guesses = guessesAt(seen, hand);
    for (let step = 0; step < lastSteps; step++) {
      const { strengths } = fit;
      fit = jointFit(model, scorer, { atoms, strengths }, model.mixture, guesses, hand, 1);
      if (fit.strengths.every((d, s) => Math.abs(d - strengths[s]) < rest)) break;
    }
    const left = residual(model, atoms, fit.strengths);
    const asked = round === 0 ? nearHands(seen.byHand) : model.everyHand;
    seen = look(model, scorer, model.mixture, left, asked);
    if (round === 1) break;
  }
  const evidence = seen.total + setToll(model, atoms, fit.strengths, fit.factor);
  return { atoms, ...fit, evidence, look: seen };
}

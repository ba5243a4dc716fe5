import { indexOfMost, leaders } from '../../../../src/measure/locator/fallingOrder.ts';
import { logSetPrior, type FaultSetting } from './faultSetting.ts';
import { evidenceTable } from './evidenceTable.ts';
import { logSum } from '../../../../src/measure/locator/logSum.ts';
import {
  addAxis,
  choleskyFactor,
  logDeterminant,
  solution,
} from '../../../../src/measure/locator/normalEquations.ts';
import { noFloors } from '../../../learn/robustDensity.ts';
import { chosenEvidence, residual, squares } from './setting.ts';

/** Particles of each axis that are asked. */
export type Chosen = readonly (readonly number[])[];

/** Strengths of a set of atoms, fitted together. */
export interface JointFit {
  readonly strengths: Float64Array;
  /** Cholesky factor of the matrix of the normal equations. */
  readonly factor: Float64Array;
}

/** A set of atoms, their strengths, and ln of what it explains, nats. */
export interface FaultSet {
  readonly atoms: readonly number[];
  readonly strengths: Float64Array;
  readonly evidence: number;
}

interface Guess {
  readonly particle: number;
  readonly temperament: number;
}

/** The particle and temperament, of those asked, that like an axis best. */
function likeliestGuess(
  { density, mixture }: FaultSetting,
  squared: Float64Array,
  axis: number,
  hand: number,
  chosen: readonly number[],
): Guess {
  const particles = mixture[axis];
  let best = { worth: -Infinity, particle: chosen[0], temperament: 0 };
  for (const particle of chosen) {
    const own = density.byTemperament(squared, particles, particle, hand);
    own.forEach((log, temperament) => {
      const worth = log + particles.logWeights[particle];
      if (worth > best.worth) best = { worth, particle, temperament };
    });
  }
  return best;
}

export const clipped = (value: number, most: number): number =>
  Math.min(most, Math.max(-most, value));

/**
 * Reweighted least squares for all strengths together, at one unevenness: H = diag(1 / most^2) +
 * sum w P P^T, four steps; the particle and the temperament are chosen again at the first and third.
 */
export function jointFit(
  setting: FaultSetting,
  set: readonly number[],
  start: ArrayLike<number>,
  hand: number,
  chosen: Chosen,
): JointFit {
  const { atoms, density, mixture, most, spectrum } = setting;
  const count = spectrum.degrees.count;
  const size = set.length;
  const h = setting.hands[hand];
  const guesses: Guess[] = [];
  let strengths: Float64Array = Float64Array.from(start);
  let factor: Float64Array = new Float64Array(0);
  const weighed = new Float64Array(count);
  for (let step = 0; step < 4; step++) {
    const matrix = new Float64Array(size * size);
    set.forEach((atom, s) => (matrix[s * size + s] = 1 / most[atom] ** 2));
    const right = new Float64Array(size);
    const left = residual(setting, set, strengths);
    for (let axis = 0; axis < 3; axis++) {
      const squared = squares(left[axis]);
      if (step % 2 === 0) guesses[axis] = likeliestGuess(setting, squared, axis, h, chosen[axis]);
      const { particle, temperament } = guesses[axis];
      for (let c = 0; c < count; c++)
        weighed[c] = density.weight(
          squared[c],
          mixture[axis],
          particle * count + c,
          temperament,
          h,
          noFloors,
        );
      addAxis(matrix, right, set, atoms.patterns[axis], weighed, spectrum.coefficients[axis]);
    }
    factor = choleskyFactor(matrix, size);
    strengths = solution(factor, right).map((d, s) => clipped(d, most[set[s]]));
  }
  return { strengths, factor };
}

/**
 * What a set pays for its strengths: prior odds and densities, and Laplace's integral over the
 * strengths, (K / 2) ln 2 pi - ln det H / 2.
 */
export function setToll(
  setting: FaultSetting,
  set: readonly number[],
  { strengths, factor }: JointFit,
): number {
  if (set.length === 0) return 0;
  const volume = 0.5 * (set.length * Math.log(2 * Math.PI) - logDeterminant(factor, set.length));
  return logSetPrior(setting, set, strengths) + volume;
}

/** Evidence of a set with some particles at some unevennesses, nats. */
export function fitEvidence(
  setting: FaultSetting,
  set: readonly number[],
  fit: JointFit,
  hands: readonly number[],
  chosen: Chosen,
): number {
  const squared = residual(setting, set, fit.strengths).map(squares);
  const terms = hands.map((h) =>
    squared.reduce(
      (total, values, axis) =>
        total + chosenEvidence(setting, values, axis, setting.hands[h], chosen[axis]),
      setting.logHands[h],
    ),
  );
  return logSum(terms) + setToll(setting, set, fit);
}

export const largest = (values: Float64Array): number =>
  values.reduce((most, value) => Math.max(most, Math.abs(value)), 0);

/** True where a fit moved the strengths by more than 2 %. */
export const hasMoved = (from: Float64Array, to: Float64Array): boolean =>
  largest(to.map((value, s) => value - from[s])) > 0.02 * largest(from) + 1e-3;

/**
 * A set fitted with particles that are chosen while all of it is taken away: masked partners make
 * any other choice wrong. Two rounds.
 */
export function wholeFit(
  setting: FaultSetting,
  set: readonly number[],
  start: ArrayLike<number>,
  active: readonly number[],
): FaultSet {
  let best: FaultSet | null = null;
  let from: Float64Array = Float64Array.from(start);
  for (let round = 0; ; round++) {
    const table = evidenceTable(setting, residual(setting, set, from), active);
    const hand = indexOfMost(table.byHand);
    const chosen = table.byParticle.map((byHand) => leaders(byHand[hand], 6));
    const fit = jointFit(setting, set, from, hand, chosen);
    const evidence = table.total + setToll(setting, set, { ...fit, strengths: from });
    if (best === null || evidence > best.evidence) best = { atoms: set, strengths: from, evidence };
    if (round === 1 || !hasMoved(from, fit.strengths)) {
      const hands = leaders(table.byHand, 2).filter((h) => active.includes(h));
      const last = fitEvidence(setting, set, fit, hands, chosen);
      return last > best.evidence ? { atoms: set, strengths: fit.strengths, evidence: last } : best;
    }
    from = fit.strengths;
  }
}

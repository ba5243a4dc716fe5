import { pulls, stiffnesses } from './atomPulls.ts';
import { indexOfMost, leaders } from './fallingOrder.ts';
import {
  fittedSet,
  guessesAt,
  jointFit,
  logSetPrior,
  look,
  residual,
  type Coefficients,
  type FaultSet,
  type Look,
} from './faultSets.ts';
import type { MixtureScorer } from './mixtureScorer.ts';
import { choleskyFactor, solution } from './normalEquations.ts';
import type { PanelModel } from './panelModel.ts';
import { plainDecays } from './spectrumMixture.ts';

/** Most atoms proposed at once. */
const mostAtoms = 5;
/** Gain below which matching pursuit stops, nats. */
const leastGain = 6;
/** Points up to which a net is searched more thoroughly: faults hide each other there. */
const smallNet = 42;
/** Powers of e by which the variances of the likeliest particle are changed: faults hide it. */
const tightenings = [-1, -3.5, -6];

export const isSmall = ({ spectrum }: PanelModel): boolean => spectrum.pointCount <= smallNet;

/** One over the variances of the coefficients on the three axes. */
type Inverse = readonly Float64Array[];

const weighed = (values: Coefficients, weights: Inverse): Coefficients =>
  values.map((own, axis) => own.map((value, c) => value * weights[axis][c]));

/** Orthogonal matching pursuit: the sets of 2 to 5 atoms it passes through. */
function pursued(
  model: PanelModel,
  left: Coefficients,
  inverse: Inverse,
  barred: readonly boolean[],
): number[][] {
  const count = left[0].length;
  // a run is what several points of a line look like: it is for single atoms to propose
  const many = model.atoms.plainCount;
  const pull = pulls(model, weighed(left, inverse), many);
  const whole = stiffnesses(model, inverse, many);
  const stiff = Float64Array.from(whole);
  const taken: Float64Array[] = [];
  const chosen: number[] = [];
  const sets: number[][] = [];
  while (chosen.length < mostAtoms) {
    let [best, gain] = [-1, 2 * leastGain];
    for (let atom = 0; atom < pull.length; atom++) {
      if (barred[atom] || stiff[atom] < 0.02 * whole[atom]) continue;
      const own = (pull[atom] * pull[atom]) / Math.max(stiff[atom], 1e-12);
      if (own > gain && !chosen.includes(atom)) {
        best = atom;
        gain = own;
      }
    }
    if (best < 0) break;
    model.atoms.fill(best);
    const own = model.atoms.patterns.map((pattern) =>
      pattern.subarray(best * count, (best + 1) * count),
    );
    const column = pulls(model, weighed(own, inverse), many);
    for (const before of taken) {
      const share = before[best];
      for (let atom = 0; atom < column.length; atom++) column[atom] -= before[atom] * share;
    }
    const scale = Math.sqrt(Math.max(column[best], 1e-12));
    const step = pull[best] / Math.max(scale, 1e-12);
    for (let atom = 0; atom < column.length; atom++) {
      const direction = column[atom] / scale;
      column[atom] = direction;
      pull[atom] -= direction * step;
      stiff[atom] -= direction * direction;
    }
    taken.push(column);
    chosen.push(best);
    if (chosen.length > 1) sets.push([...chosen]);
  }
  return sets;
}

/** Strengths of a proposed set under the variances it was found with. */
export function gaussianStrengths(
  { atoms, most }: Pick<PanelModel, 'atoms' | 'most'>,
  left: Coefficients,
  set: readonly number[],
  inverse: Inverse,
): Float64Array {
  const count = left[0].length;
  const size = set.length;
  const matrix = new Float64Array(size * size);
  const right = new Float64Array(size);
  set.forEach(atoms.fill);
  for (let s = 0; s < size; s++) {
    matrix[s * size + s] = 1e-4;
    for (let axis = 0; axis < 3; axis++) {
      const pattern = atoms.patterns[axis];
      for (let c = 0; c < count; c++) {
        const pushed = pattern[set[s] * count + c] * inverse[axis][c];
        right[s] += pushed * left[axis][c];
        for (let t = 0; t < size; t++) matrix[s * size + t] += pushed * pattern[set[t] * count + c];
      }
    }
  }
  return solution(choleskyFactor(matrix, size), right).map((d, s) =>
    Math.max(-most[set[s]], Math.min(most[set[s]], d)),
  );
}

/** Variances under which several faults may stand out: tighter than a masked net suggests. */
function inverses(model: PanelModel, seen: Look, asked: readonly number[]): Inverse[] {
  const best = indexOfMost(seen.byHand);
  const hands = [...new Set([best, Math.max(0, best - 2)])].filter((h) => asked.includes(h));
  const plain = plainDecays.slice(1).map((shape) => ({
    power: 0,
    particles: model.mixture.map(({ scaledCount }) => scaledCount - shape),
  }));
  return hands.flatMap((h) => {
    const liked = guessesAt(seen, h).map(({ particle }) => particle);
    const own = tightenings.map((power) => ({ power, particles: liked }));
    const noise = model.hands[h] * model.hands[h];
    return [...own, ...plain].map(({ power, particles }) => {
      const factor = Math.exp(power);
      return model.mixture.map(({ variances }, axis) => {
        const count = model.spectrum.degrees.count;
        const from = particles[axis] * count;
        return variances.subarray(from, from + count).map((v) => 1 / (v * factor + noise));
      });
    });
  });
}

/** Proposed sets that get a first look, a second one, and are fitted, on small nets and on others. */
const looked = [8, 6] as const;
const fitted = [2, 2] as const;

/**
 * Several atoms at once, against partners that mask each other: forward selection under variances
 * tighter than the masked data suggest, the likeliest sets fitted. By falling evidence. `given` is
 * the set they are added to, `left` what it leaves and `seen` the look at that.
 */
export function proposedSets(
  model: PanelModel,
  scorer: MixtureScorer,
  given: Pick<FaultSet, 'atoms' | 'strengths'>,
  left: Coefficients,
  seen: Look,
  asked: readonly number[],
): FaultSet[] {
  const small = isSmall(model) ? 0 : 1;
  const inSet = model.atoms.list.map((_, k) => given.atoms.includes(k));
  const bars = [inSet, ...(small === 0 ? [inSet.map((b, k) => b || model.kinds[k] > 0)] : [])];
  const found = new Map<string, { atoms: number[]; strengths: Float64Array }>();
  for (const inverse of inverses(model, seen, asked))
    for (const barred of bars)
      for (const atoms of pursued(model, left, inverse, barred)) {
        const key = [...atoms].sort((a, b) => a - b).join();
        if (found.has(key)) continue;
        const own = gaussianStrengths(model, left, atoms, inverse);
        found.set(key, {
          atoms: [...given.atoms, ...atoms],
          strengths: Float64Array.from([...given.strengths, ...own]),
        });
      }
  if (found.size === 0) return [];
  const best = indexOfMost(seen.byHand);
  const hands = [Math.max(asked[0], best - 1)];
  const told = [...found.values()].map((one) => {
    const first = look(
      model,
      scorer,
      model.cores,
      residual(model, one.atoms, one.strengths),
      hands,
    );
    const worth = first.total + logSetPrior(model, one.atoms, one.strengths);
    return { ...one, first, worth };
  });
  const again = leaders(
    told.map(({ worth }) => worth),
    looked[small],
  ).map((at) => {
    const one = told[at];
    const hand = indexOfMost(one.first.byHand);
    const { strengths } = jointFit(
      model,
      scorer,
      one,
      model.cores,
      guessesAt(one.first, hand),
      hand,
      2,
    );
    const left2 = residual(model, one.atoms, strengths);
    const second = look(model, scorer, model.cores, left2, hands);
    const worth = second.total + logSetPrior(model, one.atoms, strengths);
    return worth > one.worth ? { ...one, strengths, first: second, worth } : one;
  });
  return leaders(
    again.map(({ worth }) => worth),
    fitted[small],
  )
    .map((at) => {
      const { atoms, strengths } = again[at];
      const near = [best - 2, best - 1, best, best + 1].filter((h) => asked.includes(h));
      return fittedSet(model, scorer, atoms, strengths, near, 2);
    })
    .sort((a, b) => b.evidence - a.evidence);
}

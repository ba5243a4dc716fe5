import { indexOfMost, leaders } from '../../../../src/measure/locator/fallingOrder.ts';
import { logSetPrior, type FaultSetting } from './faultSetting.ts';
import { wholeFit, type FaultSet } from './jointFit.ts';
import type { Expanded } from './extensions.ts';
import { logSum } from '../../../../src/measure/locator/logSum.ts';
import { gaussianStrengths } from '../../../../src/measure/locator/proposals.ts';
import type { Coefficients } from './setting.ts';

const axes = [0, 1, 2] as const;
/** Most atoms proposed at once. */
const mostAtoms = 5;
/** Gain below which matching pursuit stops, nats. */
const leastGain = 6;
/** Points up to which a net is searched more thoroughly: faults hide each other there. */
const smallNet = 42;
/** Proposed sets judged exactly, on small nets and on others. */
const judgedExactly = [12, 4] as const;
/** Squared deviations a coefficient counts for at most when sets are ranked. */
const mostSquare = 12;

export const isSmall = ({ spectrum }: FaultSetting): boolean => spectrum.pointCount <= smallNet;

interface Proposal {
  readonly atoms: readonly number[];
  /** One over the variances under which it was found, one array an axis. */
  readonly inverse: readonly Float64Array[];
}

/** sum over the axes of P w P^T between one atom and all. */
function pushes(
  { atoms, spectrum }: FaultSetting,
  inverse: readonly Float64Array[],
  vectors: readonly Float64Array[],
): Float64Array {
  const count = spectrum.degrees.count;
  const made = new Float64Array(atoms.list.length);
  for (const axis of axes) {
    const pattern = atoms.patterns[axis];
    const pushed = vectors[axis].map((value, c) => value * inverse[axis][c]);
    for (let atom = 0; atom < made.length; atom++) {
      let total = 0;
      for (let c = 0, at = atom * count; c < count; c++, at++) total += pattern[at] * pushed[c];
      made[atom] += total;
    }
  }
  return made;
}

function stiffnesses(
  { atoms, spectrum }: FaultSetting,
  inverse: readonly Float64Array[],
): Float64Array {
  const count = spectrum.degrees.count;
  const made = new Float64Array(atoms.list.length);
  for (const axis of axes) {
    const pattern = atoms.patterns[axis];
    for (let atom = 0; atom < made.length; atom++)
      for (let c = 0, at = atom * count; c < count; c++, at++)
        made[atom] += pattern[at] * pattern[at] * inverse[axis][c];
  }
  return made;
}

/** Orthogonal matching pursuit: the sets of 2 to 5 atoms it passes through. */
function pursued(
  setting: FaultSetting,
  left: Coefficients,
  inverse: readonly Float64Array[],
  barred: readonly boolean[],
): number[][] {
  const count = setting.spectrum.degrees.count;
  const pulls = pushes(setting, inverse, left);
  const whole = stiffnesses(setting, inverse);
  const stiff = Float64Array.from(whole);
  const taken: Float64Array[] = [];
  const chosen: number[] = [];
  const sets: number[][] = [];
  while (chosen.length < mostAtoms) {
    const gains = pulls.map((pull, atom) =>
      barred[atom] || chosen.includes(atom) || stiff[atom] < 0.02 * whole[atom]
        ? -1
        : (pull * pull) / Math.max(stiff[atom], 1e-9 * whole[atom] + 1e-12),
    );
    const best = indexOfMost(gains);
    if (0.5 * gains[best] < leastGain) break;
    const own = setting.atoms.patterns.map((pattern) =>
      pattern.subarray(best * count, (best + 1) * count),
    );
    const column = pushes(setting, inverse, own);
    for (const before of taken) {
      const share = before[best];
      for (let atom = 0; atom < column.length; atom++) column[atom] -= before[atom] * share;
    }
    const scale = Math.sqrt(Math.max(column[best], 1e-12));
    const direction = column.map((value) => value / scale);
    const step = pulls[best] / direction[best];
    for (let atom = 0; atom < column.length; atom++) {
      pulls[atom] -= direction[atom] * step;
      stiff[atom] -= direction[atom] * direction[atom];
    }
    taken.push(direction);
    chosen.push(best);
    if (chosen.length > 1) sets.push([...chosen]);
  }
  return sets;
}

/** ln density of coefficients with every particle as a plain Gaussian, far ones held. */
class GaussianRank {
  readonly #setting: FaultSetting;
  readonly #hands: readonly number[];
  /** For each unevenness and axis 1 / variance and ln of weight less half ln det, by particle. */
  readonly #tables: readonly (readonly {
    readonly inverse: Float64Array;
    readonly base: Float64Array;
  }[])[];

  constructor(setting: FaultSetting, hands: readonly number[]) {
    const count = setting.spectrum.degrees.count;
    this.#setting = setting;
    this.#hands = hands;
    this.#tables = hands.map((h) =>
      setting.mixture.map(({ variances, logWeights }) => {
        const hand = setting.hands[h];
        const inverse = variances.map((v) => 1 / (v + hand * hand));
        const base = logWeights.map((log, p) =>
          inverse
            .subarray(p * count, (p + 1) * count)
            .reduce((total, one) => total + 0.5 * Math.log(one), log),
        );
        return { inverse, base };
      }),
    );
  }

  evidence(left: Coefficients): number {
    const count = this.#setting.spectrum.degrees.count;
    const byHand = this.#hands.map((h, at) =>
      axes.reduce<number>((total, axis) => {
        const { inverse, base } = this.#tables[at][axis];
        const values = left[axis];
        const logs = base.map((log, p) => {
          let squared = 0;
          for (let c = 0, q = p * count; c < count; c++, q++)
            squared += Math.min(values[c] * values[c] * inverse[q], mostSquare);
          return log - 0.5 * squared;
        });
        return total + logSum(logs);
      }, this.#setting.logHands[h]),
    );
    return Math.max(...byHand);
  }
}

/** What is left when a further set is taken away. */
function without(
  { atoms, spectrum }: FaultSetting,
  left: Coefficients,
  set: readonly number[],
  strengths: Float64Array,
): Coefficients {
  const count = spectrum.degrees.count;
  return left.map((values, axis) =>
    values.map((value, c) =>
      set.reduce(
        (rest, atom, s) => rest - strengths[s] * atoms.patterns[axis][atom * count + c],
        value,
      ),
    ),
  );
}

function proposals(
  setting: FaultSetting,
  { set, table, left }: Expanded,
  hands: readonly number[],
): Proposal[] {
  const count = setting.spectrum.degrees.count;
  const small = isSmall(setting);
  const [leaderCount, tightenings] = small ? [5, [-1, -3, -5, -7]] : [3, [-1, -3, -5]];
  const inSet = setting.atoms.list.map((_, k) => set.atoms.includes(k));
  const bars = [
    inSet,
    ...(small ? [inSet.map((barred, k) => barred || setting.kinds[k] > 0)] : []),
  ];
  const found = new Map<string, Proposal>();
  for (const h of hands) {
    const hand = setting.hands[h];
    const tops = table.byParticle.map((byHand) => leaders(byHand[h], leaderCount));
    for (const barred of bars)
      for (let q = 0; q < leaderCount; q++)
        for (const tightening of tightenings) {
          const inverse = axes.map((axis) => {
            const from = tops[axis][q] * count;
            return setting.mixture[axis].variances
              .subarray(from, from + count)
              .map((v) => 1 / (v * Math.exp(tightening) + hand * hand));
          });
          for (const atoms of pursued(setting, left, inverse, barred)) {
            const key = [...atoms].sort((a, b) => a - b).join();
            if (!found.has(key)) found.set(key, { atoms, inverse });
          }
        }
  }
  return [...found.values()];
}

/**
 * Several atoms at once, against partners that mask each other: forward selection under the best
 * particles made tighter than the masked data suggest, the likely sets judged exactly. By falling
 * evidence.
 */
export function proposedSets(
  setting: FaultSetting,
  own: Expanded,
  active: readonly number[],
): FaultSet[] {
  const { set, table, left } = own;
  const best = indexOfMost(table.byHand);
  const hands = [...new Set([best, Math.max(0, best - 1), 1])].filter((h) => active.includes(h));
  const found = proposals(setting, own, hands);
  if (found.length === 0) return [];
  const rank = new GaussianRank(setting, hands);
  const told = found.map((proposal) => {
    const { atoms } = proposal;
    const strengths = gaussianStrengths(setting, left, atoms, proposal.inverse);
    const prior = atoms.reduce(
      (total, atom, s) => total + logSetPrior(setting, [atom], [strengths[s]]),
      0,
    );
    const evidence = rank.evidence(without(setting, left, atoms, strengths));
    return { atoms, strengths, worth: evidence + prior - atoms.length };
  });
  return leaders(
    told.map(({ worth }) => worth),
    judgedExactly[isSmall(setting) ? 0 : 1],
  )
    .map((at) => {
      const atoms = [...set.atoms, ...told[at].atoms];
      const strengths = Float64Array.from([...set.strengths, ...told[at].strengths]);
      return wholeFit(setting, atoms, strengths, active);
    })
    .sort((a, b) => b.evidence - a.evidence);
}

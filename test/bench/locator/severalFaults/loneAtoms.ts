import { leaders } from '../../../../src/measure/locator/fallingOrder.ts';
import type { FaultSetting } from './faultSetting.ts';
import { forAtom, leaveOneOut, type LeaveOneOut } from './leaveOneOut.ts';
import { logSum } from '../../../../src/measure/locator/logSum.ts';
import type { Coefficients } from './setting.ts';

/** What Gaussian particles think of each atom by itself, at one unevenness. */
export interface LoneAtoms {
  /** ln of the evidence of each atom, nats. */
  readonly evidence: Float64Array;
  /** Strength of each atom, each axis by the particle that likes it best. */
  readonly strengths: Float64Array;
  /** favourites[axis][atom]: that particle. */
  readonly favourites: readonly Int32Array[];
  /** The particles of an axis that like an atom best. */
  readonly leaders: (axis: number, atom: number) => number[];
}

const leaderCount = 8;

/** For each atom ln of the sum over the particles, and the particle with the largest part. */
function overParticles({ particles, atomCount, evidence }: LeaveOneOut): {
  readonly sums: Float64Array;
  readonly most: Int32Array;
} {
  const most = new Int32Array(atomCount);
  const sums = new Float64Array(atomCount);
  for (let p = 1; p < particles.length; p++)
    for (let k = 0; k < atomCount; k++)
      if (evidence[p * atomCount + k] > evidence[most[k] * atomCount + k]) most[k] = p;
  const tops = Float64Array.from(most, (p, k) => evidence[p * atomCount + k]);
  for (let p = 0; p < particles.length; p++)
    for (let k = 0; k < atomCount; k++) sums[k] += Math.exp(evidence[p * atomCount + k] - tops[k]);
  return { sums: sums.map((sum, k) => tops[k] + Math.log(sum)), most };
}

/** Each atom by itself against what the other atoms of a set have left. */
export function loneAtoms(setting: FaultSetting, left: Coefficients, hand: number): LoneAtoms {
  const tables = left.map((values, axis) =>
    leaveOneOut(
      setting,
      values,
      axis,
      setting.hands[hand],
      setting.variances,
      Array.from(setting.mixture[axis].logWeights.keys()),
    ),
  );
  const told = tables.map(overParticles);
  const strengths = Float64Array.from(setting.atoms.list, (_, atom) => {
    let [pull, stiff] = [0, 0];
    tables.forEach(({ pulls, stiffness, atomCount }, axis) => {
      const at = told[axis].most[atom] * atomCount + atom;
      pull += pulls[at];
      stiff += stiffness[at];
    });
    return pull / stiff;
  });
  return {
    evidence: strengths.map((_, atom) => told.reduce((total, { sums }) => total + sums[atom], 0)),
    strengths,
    favourites: told.map(({ most }, axis) => most.map((p) => tables[axis].particles[p])),
    leaders: (axis, atom) =>
      leaders(forAtom(tables[axis], atom), leaderCount).map((p) => tables[axis].particles[p]),
  };
}

/** ln of the evidence of each atom with the unevenness summed out, and its prior odds. */
export const summedOut = (
  setting: FaultSetting,
  byHand: ReadonlyMap<number, LoneAtoms>,
): Float64Array =>
  setting.logOdds.map(
    (odds, atom) =>
      odds + logSum([...byHand].map(([h, { evidence }]) => evidence[atom] + setting.logHands[h])),
  );

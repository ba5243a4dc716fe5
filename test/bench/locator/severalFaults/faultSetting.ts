import type { ControlNet } from '../../../../src/geometry/controlNet.ts';
import { allAtoms, type Atom, type AtomKind } from '../../../../src/measure/locator/atoms.ts';
import { panelSpectrum } from '../../../../src/measure/locator/panelSpectrum.ts';
import type { Density } from '../../../../src/measure/locator/robustDensity.ts';
import type { Setting } from './setting.ts';
import { spectrumMixture } from '../../../../src/measure/locator/spectrumMixture.ts';
import type { SpectrumTables } from '../../../../src/measure/locator/spectrumTables.ts';

/** What is believed of a kind of atom before a net is seen. Lengths per mille of the panel. */
interface KindPrior {
  /** Probability that a panel has one. */
  readonly share: number;
  /** Laplace scales of the mixture that its strength follows; weights are laplaceWeights. */
  readonly scales: readonly [number, number, number];
  /** Square of the deviation of the normal prior used where all particles are compared. */
  readonly variance: number;
  /** Largest strength. */
  readonly most: number;
  /** Starts at fixed strengths are stretched by this. */
  readonly stretch: number;
}

export const kindPriors: Readonly<Record<AtomKind, KindPrior>> = {
  point: { share: 0.3, scales: [0.4, 1.25, 4], variance: 4, most: 20, stretch: 1 },
  drift: { share: 0.08, scales: [1.5, 5, 12], variance: 60, most: 40, stretch: 4 },
  line: { share: 0.06, scales: [0.4, 1.25, 4], variance: 4, most: 20, stretch: 1 },
};
const laplaceWeights = [0.3, 0.4, 0.3];
const cleanShare = 0.7;
/** Nats taken off a line next to an edge: honest ends look like it. */
const edgeToll = 6;
/** Nats taken off each line after the first. */
const furtherLineToll = 6;

/** Unevenness of the hand where none is stated, per mille, and its probability. */
const unknownHands = [0.003, 0.012, 0.04, 0.12, 0.4];
const unknownWeights = [0.2, 0.25, 0.3, 0.2, 0.05];
/** Where it is stated: multiples of it. */
const handSteps = [0.4, 0.8, 1.6, 3.2];
const handWeights = [0.2, 0.35, 0.3, 0.15];
/** Least unevenness, per mille. */
const leastHand = 1e-3;

/** How much of the mixture is asked where the answer is only a start or a rank. */
export interface Effort {
  /** Particles an axis that judge each atom by itself. */
  readonly loneParticles: number;
  /** Atoms of each kind (point, drift, line) that each way of ranking sends on. */
  readonly sentOn: readonly [number, number, number];
  /** Points of each rank that are taken away, one by one, to find the particles they hide. */
  readonly unhides: number;
  /** Starts of an atom that are refined, after a first look at all of them. */
  readonly refinedStarts: number;
  /** Particles an axis that rank proposed sets. */
  readonly rankParticles: number;
  /** Proposed sets judged exactly: on small nets, on others. */
  readonly proposals: readonly [number, number];
  /** Likeliest extensions whose particles are chosen anew once the atom is taken away. */
  readonly rescoredExtensions: number;
  /** Nats behind the likeliest unevenness from which one is out of play. */
  readonly handSlack: number;
}

/** All particles, as in the reference. */
export const thorough: Effort = {
  loneParticles: Infinity,
  sentOn: [14, 8, 9],
  unhides: 0,
  rankParticles: Infinity,
  rescoredExtensions: 0,
  refinedStarts: Infinity,
  proposals: [12, 4],
  handSlack: Infinity,
};

/** A setting in which several faults of all kinds may be present. */
export interface FaultSetting extends Setting {
  /** ln of the prior odds of each atom. */
  readonly logOdds: Float64Array;
  /** Variance of the normal prior of each atom. */
  readonly variances: Float64Array;
  /** Largest strength of each atom. */
  readonly most: Float64Array;
  /** Index of the kind (0 point, 1 drift, 2 line) of each atom. */
  readonly kinds: Uint8Array;
  readonly effort: Effort;
}

/** Atoms by kind, in the order in which Atoms lists them. */
export const atomKinds: readonly AtomKind[] = ['point', 'drift', 'line'];

/** ln of the prior density of a strength. */
export function logPrior(kind: AtomKind, strength: number): number {
  const density = kindPriors[kind].scales.reduce(
    (total, scale, k) =>
      total + (laplaceWeights[k] / (2 * scale)) * Math.exp(-Math.abs(strength) / scale),
    1e-30,
  );
  return Math.log(density);
}

/** ln prior of a set of atoms and their strengths. */
export function logSetPrior(
  { atoms, logOdds }: FaultSetting,
  set: readonly number[],
  strengths: ArrayLike<number>,
): number {
  const lines = set.filter((atom) => atoms.list[atom].kind === 'line').length;
  return set.reduce(
    (total, atom, s) => total + logPrior(atoms.list[atom].kind, strengths[s]) + logOdds[atom],
    -furtherLineToll * Math.max(0, lines - 1),
  );
}

const isNextToEdge = ({ kind, i, j }: Atom, [n, m]: readonly [number, number]): boolean =>
  kind === 'line' && (i === 1 || j === 1 || i === n - 2 || j === m - 2);

/** `hand` is the unevenness of single points in mm, or null where it is not known. */
export function faultSetting(
  net: ControlNet,
  tables: SpectrumTables,
  density: Density,
  effort: Effort,
  hand: number | null,
  isWindow: boolean,
): FaultSetting {
  const spectrum = panelSpectrum(net, isWindow);
  const atoms = allAtoms(spectrum);
  const [inPlane, normal] = spectrumMixture(
    tables,
    spectrum.degrees,
    spectrum.fitted,
    spectrum.sampled,
  );
  const { list } = atoms;
  const counts = atomKinds.map((kind) => list.filter((atom) => atom.kind === kind).length);
  const kinds = Uint8Array.from(list, ({ kind }) => atomKinds.indexOf(kind));
  const logOdds = Float64Array.from(list, (atom, k) => {
    const own = kindPriors[atom.kind].share / cleanShare / counts[kinds[k]];
    return Math.log(own) - (isNextToEdge(atom, spectrum.count) ? edgeToll : 0);
  });
  const own = hand === null ? null : Math.max((hand * 1000) / spectrum.size, leastHand);
  return {
    spectrum,
    atoms,
    mixture: [inPlane, inPlane, normal],
    density,
    hands: Float64Array.from(own === null ? unknownHands : handSteps.map((step) => step * own)),
    logHands: Float64Array.from(own === null ? unknownWeights : handWeights, (w) => Math.log(w)),
    logOdds,
    variances: Float64Array.from(list, ({ kind }) => kindPriors[kind].variance),
    most: Float64Array.from(list, ({ kind }) => kindPriors[kind].most),
    kinds,
    effort,
  };
}

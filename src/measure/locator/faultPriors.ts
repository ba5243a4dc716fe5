import type { AtomKind } from './atoms.ts';

/** What is believed of a kind of atom before a net is seen. Lengths per mille of the panel. */
interface KindPrior {
  /** Probability that a panel has one. */
  readonly share: number;
  /** Laplace scales of the mixture that its strength follows; weights are laplaceWeights. */
  readonly scales: readonly [number, number, number];
  /** Largest strength. */
  readonly most: number;
}

export const kindPriors: Readonly<Record<AtomKind, KindPrior>> = {
  point: { share: 0.3, scales: [0.4, 1.25, 4], most: 20 },
  drift: { share: 0.08, scales: [1.5, 5, 12], most: 40 },
  line: { share: 0.06, scales: [0.4, 1.25, 4], most: 20 },
  run: { share: 0.06, scales: [0.4, 1.25, 4], most: 20 },
};
const laplaceWeights = [0.3, 0.4, 0.3];
export const cleanShare = 0.7;
/** Nats taken off a line next to an edge: honest ends look like it. */
export const edgeToll = 6;
/** Nats taken off each line or run after the first. */
export const furtherLineToll = 6;

/** Unevenness of the hand where none is stated, per mille, and its probability. */
const unknownHands = [0.003, 0.012, 0.04, 0.12, 0.4];
const unknownWeights = [0.2, 0.25, 0.3, 0.2, 0.05];
/** Where it is stated: multiples of it. */
const handSteps = [0.4, 0.8, 1.6, 3.2];
const handWeights = [0.2, 0.35, 0.3, 0.15];
/** Least unevenness, per mille. */
const leastHand = 1e-3;

/** Unevenness that single points may have, rising, per mille of the size, and ln of its probability. */
export interface HandPrior {
  readonly hands: Float64Array;
  readonly logHands: Float64Array;
}

/** `stated` is the unevenness in per mille of the size, or null where it is not known. */
export function handPrior(stated: number | null): HandPrior {
  const own = stated === null ? null : Math.max(stated, leastHand);
  return {
    hands: Float64Array.from(own === null ? unknownHands : handSteps.map((step) => step * own)),
    logHands: Float64Array.from(own === null ? unknownWeights : handWeights, (w) => Math.log(w)),
  };
}

/** ln of the prior density of a strength, per mille. */
export function logPrior(kind: AtomKind, strength: number): number {
  const { scales } = kindPriors[kind];
  const size = Math.abs(strength);
  let density = 1e-30;
  for (let k = 0; k < 3; k++)
    density += (laplaceWeights[k] / (2 * scales[k])) * Math.exp(-size / scales[k]);
  return Math.log(density);
}

/** Atoms by kind, in the order in which Atoms lists them. */
export const atomKinds: readonly AtomKind[] = ['point', 'drift', 'line', 'run'];

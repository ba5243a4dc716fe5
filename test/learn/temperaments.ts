import { logSum } from '../../src/measure/locator/logSum.ts';

/** How likely one axis of a net is under one guess of its variances. */
export interface Explanation {
  /** Natural logarithm of the guess's weight. */
  readonly logWeight: number;
  /** densities[c * spreads + r]: of coefficient c if its variance is spread r of the guess. */
  readonly densities: Float32Array;
}

/** One axis of one net: guesses that may explain it. */
export type ExplainedAxis = readonly Explanation[];

/** Three shares of the spreads, one for all coefficients of an axis, and how usual each is. */
export interface Temperaments {
  readonly shares: readonly Float64Array[];
  readonly weights: Float64Array;
}

/** Least share of a spread and least weight of a temperament: nothing is ruled out. */
const leastShare = 1e-3;
const leastWeight = 0.1;

/** Where learning starts: near what is expected, wide, and mostly zero with exceptions. */
export const firstTemperaments: Temperaments = {
  shares: [
    [0.05, 0.15, 0.35, 0.35, 0.07, 0.02, 0.01],
    [0.3, 0.2, 0.15, 0.15, 0.1, 0.06, 0.04],
    [0.8, 0.05, 0.03, 0.03, 0.03, 0.03, 0.03],
  ].map((shares) => Float64Array.from(shares)),
  weights: Float64Array.of(0.4, 0.4, 0.2),
};

/** Scaled to sum to 1 with none below `least`: what is lifted is taken from the others. */
export function floored(counts: Float64Array, least: number): Float64Array {
  const total = counts.reduce((sofar, count) => sofar + count, 0);
  const own = counts.map((count) => count / total);
  let low = own.map((share) => (share < least ? 1 : 0));
  for (;;) {
    const lifted = low.reduce((sofar, is) => sofar + is, 0);
    const rest = own.reduce((sofar, share, k) => sofar + (low[k] ? 0 : share), 0);
    const made = own.map((share, k) => (low[k] ? least : (share / rest) * (1 - lifted * least)));
    const next = low.map((is, k) => (is || made[k] < least ? 1 : 0));
    if (next.every((is, k) => is === low[k])) return made;
    low = next;
  }
}

/** ln p(coefficients | guess) under one temperament. */
function logDensity(densities: Float32Array, shares: Float64Array): number {
  const width = shares.length;
  let [total, product] = [0, 1];
  for (let c = 0; c < densities.length; c += width) {
    let density = 0;
    for (let r = 0; r < width; r++) density += shares[r] * densities[c + r];
    product *= density;
    // a product of densities is kept off the ends of the number range
    if (!(product > 1e-150 && product < 1e150)) {
      total += Math.log(product);
      product = 1;
    }
  }
  return total + Math.log(product);
}

/** Adds to `counts` how many coefficients each spread explains, times `share`. */
function addTally(
  densities: Float32Array,
  shares: Float64Array,
  share: number,
  counts: Float64Array,
): void {
  const width = shares.length;
  for (let c = 0; c < densities.length; c += width) {
    let density = 0;
    for (let r = 0; r < width; r++) density += shares[r] * densities[c + r];
    const scale = share / density;
    for (let r = 0; r < width; r++) counts[r] += scale * shares[r] * densities[c + r];
  }
}

/** One step of learning, and how likely the axes were before it, nats. */
export interface Step {
  readonly next: Temperaments;
  readonly logLikelihood: number;
}

/**
 * Expectation and maximisation (Dempster, Laird & Rubin, 1977) of temperaments: one temperament and
 * one guess an axis, one spread a coefficient, all unknown.
 */
export function temperamentStep(axes: readonly ExplainedAxis[], now: Temperaments): Step {
  const counts = now.shares.map((shares) => new Float64Array(shares.length));
  const members = new Float64Array(now.weights.length);
  let logLikelihood = 0;
  for (const axis of axes) {
    const logs = axis.flatMap(({ logWeight, densities }) =>
      now.shares.map(
        (shares, t) => logWeight + Math.log(now.weights[t]) + logDensity(densities, shares),
      ),
    );
    const total = logSum(logs);
    logLikelihood += total;
    logs.forEach((log, k) => {
      const share = Math.exp(log - total);
      if (share < 1e-6) return;
      const t = k % now.shares.length;
      members[t] += share;
      const { densities } = axis[(k - t) / now.shares.length];
      addTally(densities, now.shares[t], share, counts[t]);
    });
  }
  return {
    next: {
      shares: counts.map((own) => floored(own, leastShare)),
      weights: floored(members, leastWeight),
    },
    logLikelihood,
  };
}

/** Steps until the axes grow likelier by less than 1e-5 of a nat each, at most `rounds`. */
export function learnedTemperaments(
  axes: readonly ExplainedAxis[],
  start: Temperaments,
  rounds: number,
): Temperaments {
  let [now, before] = [start, -Infinity];
  for (let round = 0; round < rounds; round++) {
    const { next, logLikelihood } = temperamentStep(axes, now);
    if (logLikelihood - before < 1e-5 * axes.length) return now;
    [now, before] = [next, logLikelihood];
  }
  return now;
}

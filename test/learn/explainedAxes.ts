import { leaders } from '../../src/measure/locator/fallingOrder.ts';
import { logSum } from '../../src/measure/locator/logSum.ts';
import { RobustDensity } from './robustDensity.ts';
import { densityFloors } from '../../src/measure/locator/densityTable.ts';
import { spectrumMixture, type Particles } from '../../src/measure/locator/spectrumMixture.ts';
import { spreads, type SpectrumTables } from '../../src/measure/locator/spectrumTables.ts';
import type { NetSample } from './netSamples.ts';
import type { Explanation, ExplainedAxis } from './temperaments.ts';

/** A net under tables that were learned without it. */
export interface Look {
  readonly axes: readonly ExplainedAxis[];
  /** ln p of all kept coefficients, up to the factors 1 / sqrt(2 pi), nats. */
  readonly logLikelihood: number;
  readonly coefficientCount: number;
}

/** Guesses an axis that are told apart; the others together weigh almost nothing. */
const guesses = 12;

function explanation(
  { variances, logWeights }: Particles,
  p: number,
  squares: Float64Array,
  hand: number,
): Explanation {
  const width = spreads.length;
  const densities = new Float32Array(squares.length * width);
  squares.forEach((square, c) =>
    spreads.forEach((spread, r) => {
      const variance = spread * variances[p * squares.length + c] + hand * hand;
      densities[c * width + r] =
        Math.exp((-0.5 * square) / variance) / Math.sqrt(variance) + densityFloors.density;
    }),
  );
  return { logWeight: logWeights[p], densities };
}

/** The mixture the locator uses, asked about a net without a fault. */
export function look({ spectrum, squares, hand }: NetSample, tables: SpectrumTables): Look {
  const { degrees, fitted, sampled } = spectrum;
  const [inPlane, normal] = spectrumMixture(tables, degrees, fitted, sampled);
  const density = new RobustDensity(tables, densityFloors);
  let logLikelihood = 0;
  const axes = [inPlane, inPlane, normal].map((particles, axis) => {
    const logs = density.byParticle(squares[axis], particles, hand);
    logLikelihood += logSum(logs);
    return leaders(logs, guesses).map((p) => explanation(particles, p, squares[axis], hand));
  });
  return { axes, logLikelihood, coefficientCount: 3 * degrees.count };
}

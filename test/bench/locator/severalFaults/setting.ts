import type { Atoms } from '../../../../src/measure/locator/atoms.ts';
import { logSum } from '../../../../src/measure/locator/logSum.ts';
import type { PanelSpectrum } from '../../../../src/measure/locator/panelSpectrum.ts';
import type { Density } from '../../../learn/robustDensity.ts';
import type { Particles } from '../../../../src/measure/locator/spectrumMixture.ts';

/** One panel and all that may be said about it. Lengths are per mille of the panel's size. */
export interface Setting {
  readonly spectrum: PanelSpectrum;
  readonly atoms: Atoms;
  /** One mixture for each axis of the frame. */
  readonly mixture: readonly Particles[];
  readonly density: Density;
  /** Unevenness of single points that the hand may have left, rising, and ln of its probability. */
  readonly hands: Float64Array;
  readonly logHands: Float64Array;
}

/** Coefficients on the three axes. */
export type Coefficients = readonly Float64Array[];

/** What is left of the coefficients when atoms of the given strengths are taken away. */
export function residual(
  { spectrum, atoms }: Setting,
  set: readonly number[],
  strengths: ArrayLike<number>,
): Coefficients {
  const count = spectrum.degrees.count;
  return spectrum.coefficients.map((values, axis) => {
    const left = Float64Array.from(values);
    set.forEach((atom, s) => {
      const pattern = atoms.patterns[axis];
      for (let c = 0; c < count; c++) left[c] -= strengths[s] * pattern[atom * count + c];
    });
    return left;
  });
}

export const squares = (values: Float64Array): Float64Array => values.map((value) => value * value);

/** ln of the sum over some particles of one axis at one unevenness. */
export function chosenEvidence(
  { density, mixture }: Setting,
  squared: Float64Array,
  axis: number,
  hand: number,
  chosen: readonly number[],
): number {
  const particles = mixture[axis];
  return logSum(
    chosen.map(
      (p) => particles.logWeights[p] + logSum(density.byTemperament(squared, particles, p, hand)),
    ),
  );
}

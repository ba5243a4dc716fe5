import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import type { SeededRandom } from '../../fixtures/seededRandom.ts';
import type { ControlNet } from '../../src/geometry/controlNet.ts';
import { panelSpectrum, type PanelSpectrum } from '../../src/measure/locator/panelSpectrum.ts';
import { chance, logBetween, oneOf } from './planeCurves.ts';
import type { Shape } from './recipes.ts';

/** A net as a modeller may have left it: its spectrum, and what the hand added. */
export interface NetSample {
  readonly spectrum: Pick<PanelSpectrum, 'degrees' | 'fitted' | 'sampled'>;
  /** Squares of the kept coefficients on the three axes, unevenness included, per mille^2. */
  readonly squares: readonly Float64Array[];
  /** Unevenness of single points, per mille of the size. */
  readonly hand: number;
}

const leastPoints = 4;
const mostPoints = 12;
const mostSpans = 8;

/** Degree and knots of one direction: degree 2 to 6, 1 to 8 spans, 4 to 12 points. */
function layout(random: SeededRandom): readonly [number, Float64Array] {
  const degree = oneOf(random, [2, 3, 3, 3, 4, 5, 5, 6]);
  const most = Math.min(mostSpans, mostPoints - degree);
  const least = Math.max(1, leastPoints - degree);
  const single = chance(random, 0.4);
  const spans = single ? least : least + random.index(most - least + 1);
  if (!chance(random, 0.25)) return [degree, clampedKnots(degree, spans)];
  const lengths = Array.from({ length: spans }, () => random.between(0.5, 1.5));
  const total = lengths.reduce((sum, length) => sum + length, 0);
  let sofar = 0;
  const inner = lengths.slice(1).map((_, k) => (sofar += lengths[k] / total));
  return [degree, clampedKnots(degree, inner)];
}

/** The net that fits the shape in a random layout. */
export function sampleNet(shape: Shape, random: SeededRandom): ControlNet {
  const [[degreeU, knotsU], [degreeV, knotsV]] = [layout(random), layout(random)];
  return fittedNet([degreeU, degreeV], [knotsU, knotsV], shape);
}

/** The spectrum of such a net, each coefficient uneven by a random hand. */
export function netSample(shape: Shape, random: SeededRandom): NetSample {
  const net = sampleNet(shape, random);
  const { degrees, fitted, sampled, coefficients } = panelSpectrum(net, false);
  const hand = logBetween(random, 0.003, 0.05);
  return {
    spectrum: { degrees, fitted, sampled },
    // discrete polynomials are orthonormal: uneven points are as uneven coefficients
    squares: coefficients.map((values) =>
      values.map((value) => (value + hand * random.normal()) ** 2),
    ),
    hand,
  };
}

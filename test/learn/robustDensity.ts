import type { Floors } from '../../src/measure/locator/densityTable.ts';
import { indexOfMost } from '../../src/measure/locator/fallingOrder.ts';
import { logSum } from '../../src/measure/locator/logSum.ts';
import type { Particles } from '../../src/measure/locator/spectrumMixture.ts';
import { spreads, type SpectrumTables } from '../../src/measure/locator/spectrumTables.ts';

/** How likely coefficients are under a particle: exactly, or from a table. */
export interface Density {
  readonly temperamentCount: number;
  /**
   * ln(weight_t * p_t(all coefficients)) for each temperament, nats, under particle `at`. The array
   * is overwritten by the next call.
   */
  readonly byTemperament: (
    squares: Float64Array,
    particles: Particles,
    at: number,
    hand: number,
  ) => Float64Array;
  /** ln(weight * p(all coefficients)) of every particle, temperament summed out, nats. */
  readonly byParticle: (squares: Float64Array, particles: Particles, hand: number) => Float64Array;
  /**
   * Weight of a coefficient in reweighted least squares: the mean of 1 / (spread_r v + h^2) over
   * the spreads, each as likely as the residual makes it. `place` is that of v among the variances.
   */
  readonly weight: (
    square: number,
    particles: Particles,
    place: number,
    temperament: number,
    hand: number,
    floors: Floors,
  ) => number;
}

/** The temperament that explains the coefficients best. */
export function likeliestTemperament(
  density: Density,
  squares: Float64Array,
  particles: Particles,
  at: number,
  hand: number,
): number {
  return indexOfMost(density.byTemperament(squares, particles, at, hand));
}

/**
 * The density of coefficients c whose variances a particle guesses as v, for a modeller of
 * unevenness h: p_t(c | v, h) = sum_r share[t, r] N(c; 0, spread_r v + h^2), up to the factor
 * 1 / sqrt(2 pi), with one temperament t for the whole net.
 */
export class RobustDensity implements Density {
  readonly temperamentCount: number;
  readonly #shares: Float64Array;
  readonly #logWeights: Float64Array;
  readonly #floors: Floors;
  readonly #sums: Float64Array;
  readonly #products: Float64Array;

  constructor(tables: SpectrumTables, floors: Floors) {
    this.#shares = tables.temperaments;
    this.#logWeights = tables.temperamentWeights.map((w) => Math.log(w));
    this.#floors = floors;
    this.temperamentCount = tables.temperamentWeights.length;
    this.#sums = new Float64Array(this.temperamentCount);
    this.#products = new Float64Array(this.temperamentCount);
  }

  byTemperament(
    squares: Float64Array,
    { variances }: Particles,
    at: number,
    unevenness: number,
  ): Float64Array {
    const count = squares.length;
    const from = at * count;
    const sums = this.#sums;
    const products = this.#products;
    const shares = this.#shares;
    const { exponent, density } = this.#floors;
    const hand = unevenness * unevenness;
    sums.set(this.#logWeights);
    products.fill(1);
    const kinds = sums.length;
    const width = spreads.length;
    for (let c = 0; c < count; c++) {
      const square = -0.5 * squares[c];
      const variance = variances[from + c];
      let [first, second, third] = [density, density, density];
      for (let r = 0; r < width; r++) {
        const v = variance * spreads[r] + hand;
        const power = square / v;
        const g = Math.exp(power > exponent ? power : exponent) / Math.sqrt(v);
        first += shares[r] * g;
        second += shares[width + r] * g;
        third += shares[2 * width + r] * g;
      }
      products[0] *= first;
      products[1] *= second;
      products[2] *= third;
      // a product of densities is kept off the ends of the number range
      for (let t = 0; t < kinds; t++)
        if (!(products[t] > 1e-15 && products[t] < 1e150)) {
          sums[t] += Math.log(products[t]);
          products[t] = 1;
        }
    }
    for (let t = 0; t < kinds; t++) sums[t] += Math.log(products[t]);
    return sums;
  }

  byParticle(squares: Float64Array, particles: Particles, hand: number): Float64Array {
    return particles.logWeights.map(
      (weight, p) => weight + logSum(this.byTemperament(squares, particles, p, hand)),
    );
  }

  weight(
    square: number,
    { variances }: Particles,
    place: number,
    temperament: number,
    unevenness: number,
    floors: Floors,
  ): number {
    const variance = variances[place];
    const shares = this.#shares;
    const hand = unevenness * unevenness;
    const first = temperament * spreads.length;
    const half = -0.5 * square;
    // the widest spread has the largest exponent: taken out so that not all of them vanish
    const widest = half / (variance * spreads[spreads.length - 1] + hand);
    const out = widest > floors.exponent ? widest : floors.exponent;
    let total = floors.density > 0 ? floors.density * Math.exp(-out) : 0;
    let weighed = 0;
    for (let r = 0; r < spreads.length; r++) {
      const v = variance * spreads[r] + hand;
      const power = half / v;
      const above = (power > floors.exponent ? power : floors.exponent) - out;
      const g = (shares[first + r] * Math.exp(above)) / Math.sqrt(v);
      total += g;
      weighed += g / v;
    }
    return weighed / total;
  }

  /**
   * The same weight with every spread's log density, its share included, held above `least`: far
   * off, all spreads count alike.
   */
  heldWeight(
    square: number,
    variance: number,
    temperament: number,
    unevenness: number,
    least: number,
  ): number {
    const hand = unevenness * unevenness;
    let [total, weighed] = [0, 0];
    for (let r = 0; r < spreads.length; r++) {
      const v = variance * spreads[r] + hand;
      const share = this.#shares[temperament * spreads.length + r];
      const log = Math.log(share) - 0.5 * Math.log(v) - (0.5 * square) / v;
      const g = Math.exp(log > least ? log : least);
      total += g;
      weighed += g / v;
    }
    return weighed / total;
  }
}

export const noFloors: Floors = { exponent: -Infinity, density: 0 };

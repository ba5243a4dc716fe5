import type { Vector } from '../geometry/vector.ts';
import type { NetSpectrum } from './netSpectrum.ts';

/**
 * How the variance of a coefficient falls with its degrees a in u and b in v, in mm^2 on a net of
 * 1200 mm:
 *
 *     swing * ( e^(k - A (a-1) - B (b-1))     decay in both directions together
 *             + e^(p - C (a-2) - D b)         rough along u, smooth across: an honest section
 *             + e^(q - E a - F (b-2)) )       rough along v
 *     + e^s + hand^2                          unevenness of single points
 *
 * Parameters: k, ln A, ln B, p, ln C, ln D, q, ln E, ln F, s.
 */
export type Decay = Float64Array;

const parameters = 10;

/** The least unevenness a net is credited with: 0.02 mm on 1200 mm. Common practice. */
export const leastHand = 0.02;

/**
 * Weak normal priors on the parameters: what styled panels of 1200 mm show. They keep the zero
 * coefficients of a symmetric panel from pulling s to nothing. From memory of trials on panels of
 * several kinds, not fitted to any of them.
 */
const mean = Float64Array.of(4, 0.7, 0.7, 2, 0.4, 1.4, 2, 1.4, 0.4, 2 * Math.log(leastHand));
const spread = Float64Array.of(3, 0.4, 0.4, 3, 0.4, 0.4, 3, 0.4, 0.4, 1.2);

/** Degrees of freedom of Student's t: a few coefficients may stand far out without ruling the fit. */
const freedom = 4;

/** What is expected of a displacement of one kind before a net is seen. */
export interface Reach {
  /** Standard deviations along the normal and within the surface, mm on 1200 mm. */
  readonly normal: number;
  readonly surface: number;
  /** Logarithm of how often this kind turns up against a jut, nats. */
  readonly odds: number;
}

/** A point pushed in or out, and one that has slid. Sizes and odds: common practice. */
export const reaches: readonly Reach[] = [
  { normal: 2, surface: 0.5, odds: 0 },
  { normal: 0.5, surface: 6, odds: Math.log(0.08 / 0.3) },
];

/** One point taken to be displaced, in one way. */
export interface Suspect {
  readonly point: number;
  readonly reach: Reach;
}

/** Where a search for the decay starts: rugged, and smooth. */
export const firstDecays: readonly Decay[] = [
  mean.map((value, i) => value + [2, 0, 0, 3, 0, 0, 3, 0, 0, 0][i]),
  mean.map((value, i) => value - [2, 0, 0, 3, 0, 0, 3, 0, 0, 1][i]),
];

/** A decay under which displacements stand out more. */
export const smoother = (decay: Decay): Decay =>
  decay.map((value, i) => (i === 9 ? firstDecays[1][9] : i % 3 === 0 ? value - 2 : value));

/** One explanation of a net: a decay for each group of axes, and perhaps one displaced point. */
export interface Story {
  readonly decays: readonly Decay[];
  /** Displacement of the point in the frame, or zeros. */
  readonly shift: Vector;
  /** Minus the log likelihood with the priors of the decays, nats, up to a constant. */
  readonly cost: number;
  /**
   * What the displacement costs, nats: its size by the prior, half the logarithm of how much the
   * data narrow it down (Laplace: the price of three more free numbers), the odds of its kind.
   */
  readonly price: number;
}

/** A story's cost and price; the lowest tells it best. */
export const toll = ({ cost, price }: Story): number => cost + price;

type Triple = [number, number, number];

/** Inverse covariance of a displacement about the normal n; all round where there is none. */
function shiftPrecision(n: Vector, { normal, surface }: Reach): Float64Array {
  const flat = n[0] === 0 && n[1] === 0 && n[2] === 0;
  const across = 1 / (flat ? Math.max(normal, surface) : surface) ** 2;
  const along = 1 / (flat ? Math.max(normal, surface) : normal) ** 2 - across;
  const made = new Float64Array(9);
  for (let i = 0; i < 3; i++)
    for (let j = 0; j < 3; j++) made[3 * i + j] = (i === j ? across : 0) + along * n[i] * n[j];
  return made;
}

const determinant = (m: ArrayLike<number>): number =>
  m[0] * (m[4] * m[8] - m[5] * m[7]) -
  m[1] * (m[3] * m[8] - m[5] * m[6]) +
  m[2] * (m[3] * m[7] - m[4] * m[6]);

/** Half the squared size of a displacement in units of its prior. */
function priorCost(precision: Float64Array, d: Vector): number {
  let total = 0;
  for (let i = 0; i < 3; i++)
    for (let j = 0; j < 3; j++) total += d[i] * precision[3 * i + j] * d[j];
  return total / 2;
}

/** Half the logarithm of how much information (1/mm^2 on each axis) adds to a prior. */
function narrowing(precision: Float64Array, information: Vector): number {
  const whole = Float64Array.from(precision);
  for (let i = 0; i < 3; i++) whole[4 * i] += information[i];
  return 0.5 * Math.log(determinant(whole) / determinant(precision));
}

/** (precision + diag(more))^-1 right, a symmetric 3x3 system by Cramer's rule. */
function solved(precision: Float64Array, more: Vector, right: Vector): Triple {
  const [a, b, c] = [precision[0] + more[0], precision[1], precision[2]];
  const [e, f, i] = [precision[4] + more[1], precision[5], precision[8] + more[2]];
  const [p, q, r] = [e * i - f * f, c * f - b * i, b * f - c * e];
  const whole = a * p + b * q + c * r;
  return [
    (p * right[0] + q * right[1] + r * right[2]) / whole,
    (q * right[0] + (a * i - c * c) * right[1] + (b * c - a * f) * right[2]) / whole,
    (r * right[0] + (b * c - a * f) * right[1] + (a * e - b * b) * right[2]) / whole,
  ];
}

/** The four terms of the variance and their sum, one after the other for all coefficients. */
interface Terms {
  readonly variance: Float64Array;
  readonly parts: Float64Array;
}

const emptyTerms = (size: number): Terms => ({
  variance: new Float64Array(size),
  parts: new Float64Array(4 * size),
});

const clipped = (value: number, low: number, high: number): number =>
  value < low ? low : value > high ? high : value;

const rate = (logarithm: number): number => Math.exp(clipped(logarithm, -4, 3));

/** Falling powers e^(-rate (degree - from)) for degrees 0 to count-1. */
function falls(decay: number, from: number, count: number): Float64Array {
  const made = new Float64Array(count);
  const factor = Math.exp(-decay);
  let value = Math.exp(decay * from);
  for (let degree = 0; degree < count; degree++) {
    made[degree] = value;
    value *= factor;
  }
  return made;
}

/** Sum of ln(1 + energy / (freedom variance)); one logarithm for four factors, each far from overflow. */
function logExcess(energy: Float64Array, variance: Float64Array): number {
  let total = 0;
  let excess = 1;
  for (let c = 0; c < energy.length; c++) {
    excess *= 1 + energy[c] / (freedom * variance[c]);
    if (c % 4 === 3) {
      total += Math.log(excess);
      excess = 1;
    }
  }
  return total + Math.log(excess);
}

/** Fits stories to one spectrum; keeps its scratch between them. */
export class StoryTeller {
  private readonly spectrum: NetSpectrum;
  private readonly highest: readonly [number, number];
  private readonly energy: Float64Array;
  private readonly weights: Float64Array;
  private readonly slopes = new Float64Array(parameters);
  private readonly curvature = new Float64Array(parameters * parameters);
  private readonly factor = new Float64Array(parameters * parameters);
  private readonly derivative = new Float64Array(parameters);
  /** Two banks of terms a group: the accepted decay's and the trial's. */
  private readonly banks: [Terms, Terms][];

  constructor(spectrum: NetSpectrum) {
    this.spectrum = spectrum;
    this.highest = [Math.max(...spectrum.a) + 1, Math.max(...spectrum.b) + 1];
    this.energy = new Float64Array(spectrum.size);
    this.weights = new Float64Array(spectrum.size);
    this.banks = spectrum.groups.map(() => [emptyTerms(spectrum.size), emptyTerms(spectrum.size)]);
  }

  private fillTerms(decay: Decay, terms: Terms): void {
    const { a, b, swing, size } = this.spectrum;
    const [n, m] = this.highest;
    const level = (value: number): number => Math.exp(clipped(value, -50, 50));
    const [k, p, q, s] = [level(decay[0]), level(decay[3]), level(decay[6]), level(decay[9])];
    const [ka, kb] = [falls(rate(decay[1]), 1, n), falls(rate(decay[2]), 1, m)];
    const [pa, pb] = [falls(rate(decay[4]), 2, n), falls(rate(decay[5]), 0, m)];
    const [qa, qb] = [falls(rate(decay[7]), 0, n), falls(rate(decay[8]), 2, m)];
    const { variance, parts } = terms;
    for (let c = 0; c < size; c++) {
      const i = a[c];
      const j = b[c];
      const lift = swing[c];
      const joint = k * lift * ka[i] * kb[j];
      const along = p * lift * pa[i] * pb[j];
      const across = q * lift * qa[i] * qb[j];
      parts[4 * c] = joint;
      parts[4 * c + 1] = along;
      parts[4 * c + 2] = across;
      parts[4 * c + 3] = s;
      variance[c] = joint + along + across + s + leastHand * leastHand;
    }
  }

  /** Squared length of each coefficient over a group's axes, the point's share taken off. */
  private fillEnergy(
    axes: readonly Float64Array[],
    group: readonly number[],
    point: number,
    shift: Vector,
  ): void {
    const { size, marks } = this.spectrum;
    const { energy } = this;
    energy.fill(0);
    for (const axis of group) {
      const values = axes[axis];
      const by = shift[axis];
      if (point < 0 || by === 0) for (let c = 0; c < size; c++) energy[c] += values[c] * values[c];
      else
        for (let c = 0; c < size; c++) {
          const left = values[c] - by * marks[point * size + c];
          energy[c] += left * left;
        }
    }
  }

  private misfit(decay: Decay, terms: Terms, dimension: number): number {
    const { size } = this.spectrum;
    const { energy } = this;
    const outer = (freedom + dimension) / 2;
    let total = outer * logExcess(energy, terms.variance);
    // One logarithm for four factors: each is far from the ends of the number range.
    let volume = 1;
    for (let c = 0; c < size; c++) {
      volume *= terms.variance[c];
      if (c % 4 === 3 || c === size - 1) {
        total += (dimension / 2) * Math.log(volume);
        volume = 1;
      }
    }
    for (let i = 0; i < parameters; i++) {
      const off = (decay[i] - mean[i]) / spread[i];
      total += (off * off) / 2;
    }
    return total;
  }

  /** Gradient and Fisher information of the misfit in the parameters. */
  private fillSlopes(decay: Decay, terms: Terms, dimension: number): void {
    const { a, b, size } = this.spectrum;
    const { slopes, curvature, derivative, energy } = this;
    const [A, B, C, D, E, F] = [1, 2, 4, 5, 7, 8].map((i) => rate(decay[i]));
    const share = (0.5 * dimension * freedom) / (freedom + dimension + 2);
    slopes.fill(0);
    curvature.fill(0);
    for (let c = 0; c < size; c++) {
      const v = terms.variance[c];
      const pull =
        dimension / 2 - (((freedom + dimension) / 2) * energy[c]) / (freedom * v + energy[c]);
      const joint = terms.parts[4 * c] / v;
      const along = terms.parts[4 * c + 1] / v;
      const across = terms.parts[4 * c + 2] / v;
      const i = a[c];
      const j = b[c];
      derivative[0] = joint;
      derivative[1] = -A * (i - 1) * joint;
      derivative[2] = -B * (j - 1) * joint;
      derivative[3] = along;
      derivative[4] = -C * (i - 2) * along;
      derivative[5] = -D * j * along;
      derivative[6] = across;
      derivative[7] = -E * i * across;
      derivative[8] = -F * (j - 2) * across;
      derivative[9] = terms.parts[4 * c + 3] / v;
      for (let r = 0; r < parameters; r++) {
        const d = derivative[r];
        slopes[r] += pull * d;
        const weighted = share * d;
        for (let s = 0; s <= r; s++) curvature[r * parameters + s] += weighted * derivative[s];
      }
    }
    for (let r = 0; r < parameters; r++) {
      slopes[r] += (decay[r] - mean[r]) / (spread[r] * spread[r]);
      curvature[r * parameters + r] += 1 / (spread[r] * spread[r]);
    }
  }

  /** A damped step down, no parameter by more than 1.5. Cholesky; the priors keep it definite. */
  private trial(decay: Decay, damping: number): Decay {
    const { slopes, curvature, factor } = this;
    const step = Float64Array.from(slopes);
    for (let r = 0; r < parameters; r++) {
      for (let s = 0; s <= r; s++) {
        let value = curvature[r * parameters + s] * (r === s ? 1 + damping : 1);
        for (let t = 0; t < s; t++)
          value -= factor[r * parameters + t] * factor[s * parameters + t];
        factor[r * parameters + s] =
          r === s ? Math.sqrt(Math.max(value, 1e-300)) : value / factor[s * parameters + s];
      }
      for (let s = 0; s < r; s++) step[r] -= factor[r * parameters + s] * step[s];
      step[r] /= factor[r * parameters + r];
    }
    for (let r = parameters - 1; r >= 0; r--) {
      for (let s = r + 1; s < parameters; s++) step[r] -= factor[s * parameters + r] * step[s];
      step[r] /= factor[r * parameters + r];
    }
    return decay.map((value, r) => value - clipped(step[r], -1.5, 1.5));
  }

  /** One reweighted least-squares step for the displacement of a point under given variances. */
  private nextShift(
    axes: readonly Float64Array[],
    variances: readonly Float64Array[],
    point: number,
    precision: Float64Array,
    shift: Vector,
  ): Triple {
    const { size, marks, groups } = this.spectrum;
    const right: Triple = [0, 0, 0];
    const more: Triple = [0, 0, 0];
    groups.forEach((group, g) => {
      this.fillEnergy(axes, group, point, shift);
      const { energy, weights } = this;
      const variance = variances[g];
      const top = freedom + group.length;
      const from = point * size;
      let known = 0;
      for (let c = 0; c < size; c++) {
        const mark = marks[from + c];
        const weighted = (top * mark) / (freedom * variance[c] + energy[c]);
        weights[c] = weighted;
        known += weighted * mark;
      }
      for (const axis of group) {
        const values = axes[axis];
        let pull = 0;
        for (let c = 0; c < size; c++) pull += weights[c] * values[c];
        more[axis] = known;
        right[axis] = pull;
      }
    });
    return solved(precision, more, right);
  }

  /**
   * For each point the gain in nats of letting it alone be displaced within a reach, the decays
   * held: quick, and only good for choosing whom to hear.
   */
  quickGains(axes: readonly Float64Array[], decays: readonly Decay[], reach: Reach): Float64Array {
    const { pointCount, groups, normals } = this.spectrum;
    const variances = groups.map((_, g) => {
      this.fillTerms(decays[g], this.banks[g][0]);
      return this.banks[g][0].variance;
    });
    const misfits = (point: number, shift: Vector): number =>
      groups.reduce((total, group, g) => {
        this.fillEnergy(axes, group, point, shift);
        return total + ((freedom + group.length) / 2) * logExcess(this.energy, variances[g]);
      }, 0);
    const none: Vector = [0, 0, 0];
    const clean = misfits(-1, none);
    return Float64Array.from({ length: pointCount }, (_, point) => {
      const precision = shiftPrecision(normals[point], reach);
      let shift: Vector = none;
      for (let step = 0; step < 3; step++)
        shift = this.nextShift(axes, variances, point, precision, shift);
      return clean - misfits(point, shift) - priorCost(precision, shift) + reach.odds;
    });
  }

  /**
   * The story fitted from given decays: a damped Fisher step for each group at the displacement
   * held, then a reweighted step for the displacement, in turn. Without a suspect the clean story.
   */
  story(
    axes: readonly Float64Array[],
    start: readonly Decay[],
    suspect: Suspect | null,
    rounds: number,
  ): Story {
    const { groups, normals } = this.spectrum;
    const decays = [...start];
    const damping = groups.map(() => 0.1);
    const point = suspect?.point ?? -1;
    const precision = suspect && shiftPrecision(normals[point], suspect.reach);
    let shift: Vector = [0, 0, 0];
    decays.forEach((decay, g) => this.fillTerms(decay, this.banks[g][0]));
    const variances = (): Float64Array[] => this.banks.map((bank) => bank[0].variance);
    if (precision)
      for (let step = 0; step < 4; step++)
        shift = this.nextShift(axes, variances(), point, precision, shift);
    let before = Infinity;
    for (let round = 0; round < rounds; round++) {
      let total = precision ? priorCost(precision, shift) : 0;
      groups.forEach((group, g) => {
        const bank = this.banks[g];
        this.fillEnergy(axes, group, point, shift);
        const old = this.misfit(decays[g], bank[0], group.length);
        this.fillSlopes(decays[g], bank[0], group.length);
        const decay = this.trial(decays[g], damping[g]);
        this.fillTerms(decay, bank[1]);
        const now = this.misfit(decay, bank[1], group.length);
        if (now < old) {
          decays[g] = decay;
          bank.reverse();
          damping[g] = Math.max(damping[g] * 0.4, 1e-4);
          total += now;
        } else {
          damping[g] = Math.min(damping[g] * 6, 1e6);
          total += old;
        }
      });
      if (precision) shift = this.nextShift(axes, variances(), point, precision, shift);
      if (round > 5 && before - total < 1e-3 && before - total >= 0) break;
      before = total;
    }
    let cost = 0;
    groups.forEach((group, g) => {
      this.fillEnergy(axes, group, point, shift);
      cost += this.misfit(decays[g], this.banks[g][0], group.length);
    });
    const price =
      suspect && precision
        ? priorCost(precision, shift) +
          narrowing(precision, this.information(point)) -
          suspect.reach.odds
        : 0;
    return { decays, shift, cost, price };
  }

  /** What the coefficients tell of a point's displacement on each axis under the decays at hand, 1/mm^2. */
  private information(point: number): Triple {
    const { groups, size, marks } = this.spectrum;
    const made: Triple = [0, 0, 0];
    groups.forEach((group, g) => {
      const { variance } = this.banks[g][0];
      const top = freedom + group.length;
      let known = 0;
      for (let c = 0; c < size; c++) {
        const mark = marks[point * size + c];
        known += ((top / (top + 2)) * mark * mark) / variance[c];
      }
      for (const axis of group) made[axis] = known;
    });
    return made;
  }

  /** The variance of each coefficient under a decay; valid until the next call. */
  variances(decay: Decay): Float64Array {
    this.fillTerms(decay, this.banks[0][1]);
    return this.banks[0][1].variance;
  }
}

import { Matrix, solve } from 'ml-matrix';

/** One coefficient of a spectrum: its degrees and how far its group's axes carry it, mm. */
export interface Coefficients {
  readonly a: Uint8Array;
  readonly b: Uint8Array;
  /** One array an axis of the group. */
  readonly axes: readonly Float64Array[];
}

/** [k, ln A, ln B, p, q, ln s]: see `decayVariances`. */
export type Decay = readonly number[];

/** The degrees of freedom of Student's t in the fit. */
const freedom = 4;
/** Bounds that keep exponentials finite: levels as logarithms of mm^2, rates as logarithms. */
const level = [-25, 25] as const;
const rate = [-4, 2] as const;
const bounds = [level, rate, rate, level, level, level] as const;

const held = (decay: readonly number[]): number[] =>
  decay.map((value, k) => Math.min(bounds[k][1], Math.max(bounds[k][0], value)));

/**
 * The variance of each coefficient, mm^2:
 * e^(k - A a - B b) + [a>=2] e^(p - B b) + [b>=2] e^(q - A a) + s.
 * The four terms, one array each.
 */
function decayTerms({ a, b }: Coefficients, [k, lnA, lnB, p, q, s]: Decay): Float64Array[] {
  const [rateA, rateB] = [Math.exp(lnA), Math.exp(lnB)];
  const terms = [0, 1, 2, 3].map(() => new Float64Array(a.length));
  for (let c = 0; c < a.length; c++) {
    terms[0][c] = Math.exp(k - rateA * a[c] - rateB * b[c]);
    if (a[c] >= 2) terms[1][c] = Math.exp(p - rateB * b[c]);
    if (b[c] >= 2) terms[2][c] = Math.exp(q - rateA * a[c]);
    terms[3][c] = Math.exp(s);
  }
  return terms;
}

export function decayVariances(coefficients: Coefficients, decay: Decay): Float64Array {
  const terms = decayTerms(coefficients, decay);
  return terms[0].map((joint, c) => joint + terms[1][c] + terms[2][c] + terms[3][c]);
}

/** Minus the log likelihood, nats up to a constant: Student's t of `freedom` degrees. */
function cost({ axes }: Coefficients, variances: Float64Array): number {
  let total = 0;
  for (const axis of axes)
    for (let c = 0; c < axis.length; c++)
      total +=
        0.5 * Math.log(variances[c]) +
        ((freedom + 1) / 2) * Math.log1p((axis[c] * axis[c]) / (freedom * variances[c]));
  return total;
}

/** Slope and Fisher information of the cost in the six numbers. */
function slopeAndInformation(coefficients: Coefficients, decay: Decay): [number[], Matrix] {
  const { a, b, axes } = coefficients;
  const [joint, onB, onA, own] = decayTerms(coefficients, decay);
  const [rateA, rateB] = [Math.exp(decay[1]), Math.exp(decay[2])];
  const slope = [0, 0, 0, 0, 0, 0];
  const information = Matrix.zeros(6, 6);
  for (let c = 0; c < a.length; c++) {
    const variance = joint[c] + onB[c] + onA[c] + own[c];
    const rows = [
      joint[c],
      -rateA * a[c] * (joint[c] + onA[c]),
      -rateB * b[c] * (joint[c] + onB[c]),
      onB[c],
      onA[c],
      own[c],
    ].map((part) => part / variance);
    let pull = 0;
    for (const axis of axes) {
      const square = axis[c] * axis[c];
      pull += 0.5 - (0.5 * (freedom + 1) * square) / (freedom * variance + square);
    }
    const weight = (0.5 * axes.length * freedom) / (freedom + 3);
    for (let m = 0; m < 6; m++) {
      slope[m] += pull * rows[m];
      for (let n = 0; n < 6; n++)
        information.set(m, n, information.get(m, n) + weight * rows[m] * rows[n]);
    }
  }
  return [slope, information];
}

/** Levenberg's damped scoring steps from one start. */
function fitFrom(coefficients: Coefficients, start: Decay): { decay: Decay; cost: number } {
  let decay: Decay = start;
  let now = cost(coefficients, decayVariances(coefficients, decay));
  let damping = 0.1;
  let idle = 0;
  for (let step = 0; step < 60 && idle < 4; step++) {
    const [slope, information] = slopeAndInformation(coefficients, decay);
    for (let m = 0; m < 6; m++)
      information.set(m, m, information.get(m, m) * (1 + damping) + 1e-6 + 0.01 * damping);
    const move = solve(information, Matrix.columnVector(slope)).to1DArray();
    const next = held(decay.map((value, m) => value - Math.min(1.5, Math.max(-1.5, move[m]))));
    const then = cost(coefficients, decayVariances(coefficients, next));
    if (then < now) {
      idle = now - then < 1e-3 ? idle + 1 : 0;
      [decay, now, damping] = [next, then, Math.max(1e-4, damping * 0.4)];
    } else {
      damping = Math.min(1e6, damping * 6);
      if (damping > 1e5) idle = 4;
    }
  }
  return { decay, cost: now };
}

/** A rough panel, an even one, and a very smooth one: levels for coefficients in mm. */
const starts: readonly Decay[] = [
  [6, -0.4, -0.4, 4, 4, -6],
  [4, -0.2, -0.2, 1, 1, -7],
  [2, 0.2, 0.2, -2, -2, -9],
];

/** The likeliest decay of a group of axes that share one. */
export const spectrumDecay = (
  coefficients: Coefficients,
  before: readonly Decay[] = starts,
): Decay =>
  before
    .map((start) => fitFrom(coefficients, start))
    .reduce((best, one) => (one.cost < best.cost ? one : best)).decay;

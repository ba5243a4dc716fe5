import { DensityTable } from './densityTable.ts';
import { logStep, type Particles } from './spectrumMixture.ts';
import { temperamentCount, type SpectrumTables } from './spectrumTables.ts';

/** The particle and the temperament that like some coefficients best. */
export interface Guess {
  readonly particle: number;
  readonly temperament: number;
}

/** What a mixture thinks of the coefficients on one axis at one unevenness. */
export interface Score {
  /** ln of the sum over particles and temperaments, nats. */
  readonly total: number;
  readonly guess: Guess;
}

/** Coefficients added up at once. */
const atOnce = 4;
/** Particles this far behind the best, nats, are as good as absent. */
const negligible = 30;

/**
 * Scores coefficients under all particles of a mixture by a table of densities. The arrays it works
 * in are its own and are overwritten by the next score.
 */
export class MixtureScorer {
  readonly table: DensityTable;
  #sums = new Float64Array(0);
  #columns = new Float32Array(0);
  /** ln(weight * p) of each particle of the last score, nats. */
  #values = new Float64Array(0);

  constructor(tables: SpectrumTables) {
    this.table = new DensityTable(tables);
  }

  /** ln(weight * p) of each particle of the last score, nats; negligible ones only nearly. */
  get values(): Float64Array {
    return this.#values;
  }

  #addUp(squares: Float64Array, particles: Particles, shift: number): Float64Array {
    const { count, steps, lows, highs } = particles;
    let width = 0;
    for (let c = 0; c < lows.length; c++) width = Math.max(width, highs[c] - lows[c] + 1);
    const segment = temperamentCount * width;
    if (this.#columns.length < atOnce * segment) this.#columns = new Float32Array(atOnce * segment);
    if (this.#sums.length < temperamentCount * count)
      this.#sums = new Float64Array(temperamentCount * count);
    const columns = this.#columns;
    const sums = this.#sums;
    sums.fill(0, 0, temperamentCount * count);
    const [two, three] = [2 * segment, 3 * segment];
    for (let c = 0; c < squares.length; c += atOnce) {
      const now = Math.min(atOnce, squares.length - c);
      for (let q = 0; q < now; q++)
        this.table.column(
          squares[c + q],
          shift,
          lows[c + q],
          highs[c + q],
          columns,
          q * segment,
        );
      const from = c * count;
      if (now === atOnce) {
        for (let p = 0, at = 0; p < count; p++, at += temperamentCount) {
          const i = steps[from + p];
          const j = segment + steps[from + count + p];
          const k = two + steps[from + 2 * count + p];
          const l = three + steps[from + 3 * count + p];
          sums[at] += columns[i] + columns[j] + (columns[k] + columns[l]);
          sums[at + 1] += columns[i + 1] + columns[j + 1] + (columns[k + 1] + columns[l + 1]);
          sums[at + 2] += columns[i + 2] + columns[j + 2] + (columns[k + 2] + columns[l + 2]);
        }
      } else {
        for (let q = 0; q < now; q++)
          for (let p = 0, at = 0; p < count; p++, at += temperamentCount) {
            const i = q * segment + steps[from + q * count + p];
            sums[at] += columns[i];
            sums[at + 1] += columns[i + 1];
            sums[at + 2] += columns[i + 2];
          }
      }
    }
    return sums;
  }

  /** Squares of the coefficients on one axis, per mille squared; the unevenness as its shift. */
  score(squares: Float64Array, particles: Particles, shift: number): Score {
    const { count, logWeights } = particles;
    const sums = this.#addUp(squares, particles, shift);
    if (this.#values.length !== count) this.#values = new Float64Array(count);
    const values = this.#values;
    const [first, second, third] = this.table.logTemperaments;
    let [most, best] = [-Infinity, 0];
    for (let p = 0, at = 0; p < count; p++, at += temperamentCount) {
      const a = sums[at] + first;
      const b = sums[at + 1] + second;
      const c = sums[at + 2] + third;
      const value = (a > b ? (a > c ? a : c) : b > c ? b : c) + logWeights[p];
      values[p] = value;
      if (value > most) {
        most = value;
        best = p;
      }
    }
    const at = temperamentCount * best;
    const likings = [sums[at] + first, sums[at + 1] + second, sums[at + 2] + third];
    const temperament =
      likings[0] >= likings[1] && likings[0] >= likings[2] ? 0 : likings[1] >= likings[2] ? 1 : 2;
    let total = 0;
    for (let p = 0, s = 0; p < count; p++, s += temperamentCount) {
      if (values[p] < most - negligible) continue;
      const base = logWeights[p] - most;
      const share =
        Math.exp(sums[s] + first + base) +
        Math.exp(sums[s + 1] + second + base) +
        Math.exp(sums[s + 2] + third + base);
      total += share;
      values[p] = most + Math.log(share);
    }
    const scale = -0.5 * squares.length * shift * logStep;
    return { total: most + Math.log(total) + scale, guess: { particle: best, temperament } };
  }
}

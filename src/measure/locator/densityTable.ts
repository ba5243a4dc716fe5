import { logStep } from './spectrumMixture.ts';
import { spreads, temperamentCount, type SpectrumTables } from './spectrumTables.ts';

/** Below these a density is held, so that one absurd coefficient cannot veto a whole story. */
export interface Floors {
  /** Least exponent of one Gaussian, nats. */
  readonly exponent: number;
  /** Added to the density of every coefficient. */
  readonly density: number;
}

/** The floors of the locator's evidence. */
export const densityFloors: Floors = { exponent: -75, density: 1e-37 };

/** ln(v / h^2) in steps: below the first the hand is all there is, above the last nobody is. */
export const firstNode = -90;
const lastNode = 190;
export const nodeCount = lastNode - firstNode + 1;
/** c^2 / h^2 from 2^-12 to 2^44, four values an octave: exponent and two bits of a 32-bit float. */
const firstBits = (127 - 12) << 2;
const lastBits = (127 + 44) << 2;
const least = 2 ** -12;
const most = 2 ** 43.9;
const rowCount = lastBits - firstBits + 2;
/** The value of y that a row stands for. */
const valueOf = (row: number): number =>
  new Float32Array(Uint32Array.of((row + firstBits) << 21).buffer)[0];
/** Numbers an entry has: ln densities of the temperaments and a spare one, to fill a vector. */
export const entryLength = temperamentCount + 1;
export const tableLength = rowCount * nodeCount * entryLength;

/** Steps by which variances are shifted for an unevenness `hand`, per mille. */
export const handShift = (hand: number): number => Math.round((2 * Math.log(hand)) / logStep);

/**
 * The robust density as a table of ln(h p_t(c | v, h)) over x = ln(v / h^2), nearest node, and y =
 * c^2 / h^2, linear between nodes; and of the weight of least squares, times h^2. Rows are made when
 * they are first asked for: a panel needs few. The unevenness is rounded to half a step of ln h, at
 * most 4 %.
 */
export class DensityTable {
  readonly logTemperaments: Float64Array;
  readonly #shares: Float64Array;
  /** logs[(y * nodeCount + x) * entryLength + t]; lies where the adding up is done. */
  logs: Float32Array;
  readonly #weights = new Float32Array(rowCount * nodeCount * temperamentCount);
  readonly #made = new Uint8Array(rowCount);
  readonly #float = new Float32Array(1);
  readonly #bits = new Uint32Array(this.#float.buffer);

  /** `logs` has room for tableLength numbers. */
  constructor(tables: SpectrumTables, logs: Float32Array) {
    this.#shares = tables.temperaments;
    this.logTemperaments = tables.temperamentWeights.map((w) => Math.log(w));
    this.logs = logs;
  }

  #fill(row: number): void {
    this.#made[row] = 1;
    const half = -0.5 * valueOf(row);
    const width = spreads.length;
    const { exponent, density } = densityFloors;
    for (let x = 0; x < nodeCount; x++) {
      const variance = Math.exp((x + firstNode) * logStep);
      let [first, second, third] = [density, density, density];
      let [one, two, three] = [0, 0, 0];
      for (let r = 0; r < width; r++) {
        const v = variance * spreads[r] + 1;
        const power = half / v;
        const g = Math.exp(power > exponent ? power : exponent) / Math.sqrt(v);
        const w = g / v;
        first += this.#shares[r] * g;
        second += this.#shares[width + r] * g;
        third += this.#shares[2 * width + r] * g;
        one += this.#shares[r] * w;
        two += this.#shares[width + r] * w;
        three += this.#shares[2 * width + r] * w;
      }
      const at = entryLength * (row * nodeCount + x);
      this.logs[at] = Math.log(first);
      this.logs[at + 1] = Math.log(second);
      this.logs[at + 2] = Math.log(third);
      const own = temperamentCount * (row * nodeCount + x);
      this.#weights[own] = one / first;
      this.#weights[own + 1] = two / second;
      this.#weights[own + 2] = three / third;
    }
  }

  /** Row of a squared coefficient over h^2; it and the next are made. */
  row(square: number): number {
    this.#float[0] = square > least ? (square < most ? square : most) : least;
    const row = (this.#bits[0] >>> 21) - firstBits;
    if (this.#made[row] === 0) this.#fill(row);
    if (this.#made[row + 1] === 0) this.#fill(row + 1);
    return row;
  }

  /** How far on the way to the next row the last one asked for is, 0 to 1. */
  share(): number {
    return (this.#bits[0] & 0x1fffff) / 0x200000;
  }

  /** Weight of a coefficient in reweighted least squares, its variance given by a node. */
  weight(square: number, shift: number, node: number, temperament: number): number {
    const inverse = Math.exp(-shift * logStep);
    const row = this.row(square * inverse);
    const share = this.share();
    const own = node - shift - firstNode;
    const x = own < 0 ? 0 : own >= nodeCount ? nodeCount - 1 : own;
    const low = temperamentCount * (row * nodeCount + x) + temperament;
    const next = low + temperamentCount * nodeCount;
    return (this.#weights[low] + share * (this.#weights[next] - this.#weights[low])) * inverse;
  }
}

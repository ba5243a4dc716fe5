import { logSumOfThree } from './logSum.ts';
import { noFloors, RobustDensity, type Density, type Floors } from './robustDensity.ts';
import { logStep, type Particles } from './spectrumMixture.ts';
import type { SpectrumTables } from './spectrumTables.ts';

/** ln(v / h^2) in steps: below the first the hand is all there is, above the last nobody is. */
const firstNode = -90;
const lastNode = 190;
const nodeCount = lastNode - firstNode + 1;
/** c^2 / h^2 from 2^-12 to 2^44, four values an octave: exponent and two bits of a 32-bit float. */
const firstBits = (127 - 12) << 2;
const lastBits = (127 + 44) << 2;
const least = 2 ** -12;
const most = 2 ** 43.9;
/** Temperaments of the mixture. */
const kinds = 3;
const rowLength = nodeCount * kinds;

/**
 * The robust density from a table of ln(h p_t(c | v, h)) over x = ln(v / h^2), nearest node, and y =
 * c^2 / h^2, linear between nodes. The unevenness is rounded to half a step of ln h, at most 4 %.
 */
export class TabledDensity implements Density {
  readonly temperamentCount = kinds;
  readonly #logWeights: Float64Array;
  readonly #exact: RobustDensity;
  /** table[(y * nodeCount + x) * kinds + t]. */
  readonly #logs: Float64Array;
  /** weights of least squares times h^2, the same layout. */
  readonly #weights: Float64Array;
  readonly #float = new Float32Array(1);
  readonly #bits = new Uint32Array(this.#float.buffer);
  readonly #sums = new Float64Array(kinds);
  readonly #column = new Float64Array(rowLength);

  constructor(tables: SpectrumTables, floors: Floors) {
    const exact = new RobustDensity(tables, floors);
    this.#exact = exact;
    this.#logWeights = tables.temperamentWeights.map((w) => Math.log(w));
    const rows = lastBits - firstBits + 1;
    this.#logs = new Float64Array(rows * rowLength);
    this.#weights = new Float64Array(rows * rowLength);
    const variances = Float64Array.from({ length: nodeCount }, (_, x) =>
      Math.exp((x + firstNode) * logStep),
    );
    const empty = new Int16Array(0);
    const plain: Particles = {
      count: nodeCount,
      variances,
      nodes: empty,
      nodesByCoefficient: empty,
      logWeights: new Float64Array(nodeCount),
    };
    for (let y = 0; y < rows; y++) {
      this.#bits[0] = (y + firstBits) << 21;
      const square = Float64Array.of(this.#float[0]);
      for (let x = 0; x < nodeCount; x++) {
        const logs = exact.byTemperament(square, plain, x, 1);
        const at = (y * nodeCount + x) * kinds;
        for (let t = 0; t < kinds; t++) {
          this.#logs[at + t] = logs[t] - this.#logWeights[t];
          this.#weights[at + t] = exact.weight(square[0], plain, x, t, 1, noFloors);
        }
      }
    }
  }

  /** Place in the table of a squared coefficient, and how far on the way to the next, 0 to 1. */
  #row(square: number): number {
    this.#float[0] = square > least ? (square < most ? square : most) : least;
    return (this.#bits[0] >>> 21) - firstBits;
  }

  #share(): number {
    return (this.#bits[0] & 0x1fffff) / 0x200000;
  }

  static #node(node: number): number {
    return node < firstNode ? 0 : node > lastNode ? nodeCount - 1 : node - firstNode;
  }

  byTemperament(
    squares: Float64Array,
    { nodes }: Particles,
    at: number,
    hand: number,
  ): Float64Array {
    const count = squares.length;
    const shift = Math.round((2 * Math.log(hand)) / logStep);
    const inverse = Math.exp(-shift * logStep);
    const logs = this.#logs;
    let [first, second, third] = [0, 0, 0];
    for (let c = 0, place = at * count; c < count; c++, place++) {
      const row = this.#row(squares[c] * inverse);
      const share = this.#share();
      const low = row * rowLength + kinds * TabledDensity.#node(nodes[place] - shift);
      const high = low + rowLength;
      first += logs[low] + share * (logs[high] - logs[low]);
      second += logs[low + 1] + share * (logs[high + 1] - logs[low + 1]);
      third += logs[low + 2] + share * (logs[high + 2] - logs[low + 2]);
    }
    const base = -0.5 * count * shift * logStep;
    this.#sums[0] = base + first + this.#logWeights[0];
    this.#sums[1] = base + second + this.#logWeights[1];
    this.#sums[2] = base + third + this.#logWeights[2];
    return this.#sums;
  }

  byParticle(squares: Float64Array, particles: Particles, hand: number): Float64Array {
    const { count, nodesByCoefficient, logWeights } = particles;
    const shift = Math.round((2 * Math.log(hand)) / logStep);
    const inverse = Math.exp(-shift * logStep);
    const column = this.#column;
    const logs = this.#logs;
    const sums = new Float64Array(kinds * count);
    for (let c = 0; c < squares.length; c++) {
      const low = this.#row(squares[c] * inverse) * rowLength;
      const share = this.#share();
      const own = nodesByCoefficient.subarray(c * count, (c + 1) * count);
      let [lowest, highest] = [lastNode, firstNode];
      for (let p = 0; p < count; p++) {
        const node = own[p] - shift;
        if (node < lowest) lowest = node;
        if (node > highest) highest = node;
      }
      const [from, to] = [TabledDensity.#node(lowest), TabledDensity.#node(highest)];
      for (let k = kinds * from; k < kinds * (to + 1); k++)
        column[k] = logs[low + k] + share * (logs[low + rowLength + k] - logs[low + k]);
      const offset = shift + firstNode;
      for (let p = 0, q = 0; p < count; p++, q += kinds) {
        const node = own[p] - offset;
        const k = kinds * (node < from ? from : node > to ? to : node);
        sums[q] += column[k];
        sums[q + 1] += column[k + 1];
        sums[q + 2] += column[k + 2];
      }
    }
    const base = -0.5 * squares.length * shift * logStep;
    const [first, second, third] = this.#logWeights;
    return logWeights.map((weight, p) => {
      const q = kinds * p;
      return (
        weight + base + logSumOfThree(sums[q] + first, sums[q + 1] + second, sums[q + 2] + third)
      );
    });
  }

  weight(
    square: number,
    particles: Particles,
    place: number,
    temperament: number,
    hand: number,
    floors: Floors,
  ): number {
    if (floors === noFloors)
      return this.#exact.weight(square, particles, place, temperament, hand, floors);
    const shift = Math.round((2 * Math.log(hand)) / logStep);
    const inverse = Math.exp(-shift * logStep);
    const row = this.#row(square * inverse);
    const share = this.#share();
    const node = TabledDensity.#node(particles.nodes[place] - shift);
    const low = row * rowLength + kinds * node + temperament;
    const weights = this.#weights;
    return (weights[low] + share * (weights[low + rowLength] - weights[low])) * inverse;
  }
}

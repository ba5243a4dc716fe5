import { DensityTable, entryLength, firstNode, nodeCount, tableLength } from './densityTable.ts';
import { kernel } from './kernel/densitySums.generated.js';
import { logStep, type Particles } from './spectrumMixture.ts';
import type { SpectrumTables } from './spectrumTables.ts';

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

type AddUp = (
  count: number,
  coefficients: number,
  steps: number,
  nodes: number,
  starts: number,
  rows: number,
  shares: number,
  rowLength: number,
  first: number,
  last: number,
  columns: number,
  segment: number,
  sums: number,
) => void;

/** Particles this far behind the best, nats, are as good as absent. */
const negligible = 25;
const pageBytes = 65536;
const entryBytes = 4 * entryLength;
/** Coefficients a net may have, particles of a mixture, and nodes of a coefficient. */
const mostCoefficients = 256;
const mostParticles = 1024;
const mostNodes = 512;
/** Columns written at once by the kernel. */
const atOnce = 4;
/** Memory for particles; when it is full all of them are placed anew as they are needed. */
const mostBytes = 1 << 26;

/** Places in the kernel's memory, bytes. */
const rowsAt = 4 * tableLength;
const sharesAt = rowsAt + 4 * mostCoefficients;
const columnsAt = sharesAt + 4 * mostCoefficients;
const sumsAt = columnsAt + atOnce * mostNodes * entryBytes;
const particlesAt = sumsAt + mostParticles * entryBytes;

interface Place {
  readonly generation: number;
  readonly steps: number;
  readonly nodes: number;
  readonly starts: number;
  /** Most nodes of a coefficient. */
  readonly segment: number;
}

const aligned = (bytes: number): number => (bytes + 15) & ~15;

/** Scores coefficients under all particles of a mixture by a table of densities. */
export class MixtureScorer {
  readonly table: DensityTable;
  readonly #memory: WebAssembly.Memory;
  readonly #addUp: AddUp;
  #floats: Float32Array;
  #integers: Int32Array;
  #free = particlesAt;
  #generation = 0;
  readonly #places = new WeakMap<Particles, Place>();

  constructor(tables: SpectrumTables) {
    this.#memory = new WebAssembly.Memory({ initial: Math.ceil(particlesAt / pageBytes) + 16 });
    const code = new WebAssembly.Module(Buffer.from(kernel, 'base64'));
    const { exports } = new WebAssembly.Instance(code, { env: { memory: this.#memory } });
    this.#addUp = exports['addUp'] as AddUp;
    this.#floats = new Float32Array(this.#memory.buffer);
    this.#integers = new Int32Array(this.#memory.buffer);
    this.table = new DensityTable(tables, this.#floats);
  }

  #reserved(bytes: number): number {
    const at = this.#free;
    this.#free += aligned(bytes);
    const missing = this.#free - this.#memory.buffer.byteLength;
    if (missing > 0) {
      this.#memory.grow(Math.ceil(missing / pageBytes) + 16);
      this.#floats = new Float32Array(this.#memory.buffer);
      this.#integers = new Int32Array(this.#memory.buffer);
      this.table.logs = this.#floats;
    }
    return at;
  }

  #place(particles: Particles): Place {
    const known = this.#places.get(particles);
    if (known?.generation === this.#generation) return known;
    const { steps, ranks, starts } = particles;
    if (this.#free + steps.byteLength + ranks.byteLength + starts.byteLength > mostBytes) {
      this.#free = particlesAt;
      this.#generation++;
    }
    let segment = 0;
    for (let c = 0; c + 1 < starts.length; c++)
      segment = Math.max(segment, starts[c + 1] - starts[c]);
    const place = {
      generation: this.#generation,
      steps: this.#reserved(steps.byteLength),
      nodes: this.#reserved(ranks.byteLength),
      starts: this.#reserved(starts.byteLength),
      segment,
    };
    new Uint16Array(this.#memory.buffer, place.steps, steps.length).set(steps);
    new Int16Array(this.#memory.buffer, place.nodes, ranks.length).set(ranks);
    this.#integers.set(starts, place.starts >> 2);
    this.#places.set(particles, place);
    return place;
  }

  /** Squares of the coefficients on one axis, per mille squared; the unevenness as its shift. */
  score(squares: Float64Array, particles: Particles, shift: number): Score {
    const { count, logWeights } = particles;
    const { steps, nodes, starts, segment } = this.#place(particles);
    const inverse = Math.exp(-shift * logStep);
    for (let c = 0; c < squares.length; c++) {
      this.#integers[(rowsAt >> 2) + c] = nodeCount * this.table.row(squares[c] * inverse);
      this.#floats[(sharesAt >> 2) + c] = this.table.share();
    }
    this.#addUp(
      count,
      squares.length,
      steps,
      nodes,
      starts,
      rowsAt,
      sharesAt,
      nodeCount,
      shift + firstNode,
      nodeCount - 1,
      columnsAt,
      segment,
      sumsAt,
    );
    const sums = this.#floats;
    const [first, second, third] = this.table.logTemperaments;
    let [most, best, temperament] = [-Infinity, 0, 0];
    for (let p = 0, at = sumsAt >> 2; p < count; p++, at += entryLength) {
      const a = sums[at] + first;
      const b = sums[at + 1] + second;
      const c = sums[at + 2] + third;
      const largest = a >= b ? (a >= c ? a : c) : b >= c ? b : c;
      const value = largest + logWeights[p];
      if (value > most) {
        most = value;
        best = p;
        temperament = largest === a ? 0 : largest === b ? 1 : 2;
      }
    }
    let total = 0;
    for (let p = 0, at = sumsAt >> 2; p < count; p++, at += entryLength) {
      const base = logWeights[p] - most;
      const a = sums[at] + first + base;
      const b = sums[at + 1] + second + base;
      const c = sums[at + 2] + third + base;
      if (a > -negligible) total += Math.exp(a);
      if (b > -negligible) total += Math.exp(b);
      if (c > -negligible) total += Math.exp(c);
    }
    const scale = -0.5 * squares.length * shift * logStep;
    return { total: most + Math.log(total) + scale, guess: { particle: best, temperament } };
  }
}

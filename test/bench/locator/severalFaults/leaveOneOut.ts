import type { Setting } from './setting.ts';

/**
 * How a Gaussian of each particle's variances takes one displaced atom, for one axis and one
 * unevenness.
 */
export interface LeaveOneOut {
  /** The particles asked; p counts them. */
  readonly particles: readonly number[];
  readonly atomCount: number;
  /**
   * evidence[p * atomCount + k]: ln of the weight, times the density of the coefficients, times the
   * gain of a displacement of atom k along this axis with a normal prior, nats.
   */
  readonly evidence: Float64Array;
  /** pulls: sum of pattern * residual / variance. Same layout. */
  readonly pulls: Float64Array;
  /** stiffness: sum of pattern^2 / variance. Same layout. */
  readonly stiffness: Float64Array;
}

/** A coefficient counts for at most this in the clean density, squared deviations. */
const mostSquare = 1e3;

/**
 * With A = sum P r / v and B = sum P^2 / v the gain of an atom with prior N(0, tau^2) is
 * A^2 tau^2 / (2 (1 + B tau^2)) - ln(1 + B tau^2) / 2. `priors` holds tau^2 an atom.
 */
export function leaveOneOut(
  { atoms, mixture, spectrum }: Setting,
  residual: Float64Array,
  axis: number,
  hand: number,
  priors: Float64Array,
  particles: readonly number[],
): LeaveOneOut {
  const count = spectrum.degrees.count;
  const { pointCount, marks } = spectrum;
  const { directions, patterns } = atoms;
  const squaredMarks = marks.map((mark) => mark * mark);
  const pattern = patterns[axis];
  const { variances, logWeights } = mixture[axis];
  const atomCount = atoms.list.length;
  const slotCount = directions.length * pointCount;
  const evidence = new Float64Array(particles.length * atomCount);
  const pulls = new Float64Array(particles.length * atomCount);
  const stiffness = new Float64Array(particles.length * atomCount);
  const inverse = new Float64Array(count);
  const weighed = new Float64Array(count);
  particles.forEach((particle, p) => {
    let clean = logWeights[particle];
    for (let c = 0; c < count; c++) {
      const v = variances[particle * count + c] + hand * hand;
      inverse[c] = 1 / v;
      weighed[c] = residual[c] * inverse[c];
      clean -= 0.5 * (Math.log(v) + Math.min(residual[c] * weighed[c], mostSquare));
    }
    const row = p * atomCount;
    const put = (atom: number, pull: number, stiff: number): void => {
      const grown = 1 + stiff * priors[atom];
      pulls[row + atom] = pull;
      stiffness[row + atom] = stiff;
      evidence[row + atom] =
        clean + (0.5 * pull * pull * priors[atom]) / grown - 0.5 * Math.log(grown);
    };
    for (let k = 0; k < pointCount; k++) {
      let [pull, stiff] = [0, 0];
      for (let c = 0, at = k * count; c < count; c++, at++) {
        pull += weighed[c] * marks[at];
        stiff += inverse[c] * squaredMarks[at];
      }
      for (let way = 0; way < directions.length; way++) {
        const part = directions[way][3 * k + axis];
        put(way * pointCount + k, pull * part, stiff * part * part);
      }
    }
    for (let atom = slotCount; atom < atomCount; atom++) {
      let [pull, stiff] = [0, 0];
      for (let c = 0, at = atom * count; c < count; c++, at++) {
        pull += weighed[c] * pattern[at];
        stiff += inverse[c] * pattern[at] * pattern[at];
      }
      put(atom, pull, stiff);
    }
  });
  return { particles, atomCount, evidence, pulls, stiffness };
}

/** Evidence of the particles asked for one atom. */
export const forAtom = (
  { atomCount, evidence, particles }: LeaveOneOut,
  atom: number,
): Float64Array => Float64Array.from(particles, (_, p) => evidence[p * atomCount + atom]);

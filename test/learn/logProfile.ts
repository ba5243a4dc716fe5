import { Matrix, solve } from 'ml-matrix';
import { profileTerms } from '../../src/measure/locator/spectrumTables.ts';

const [termsU, termsV] = profileTerms;

/** Square, per mille^2 of the panel's size, below which no coefficient is told from zero. */
export const leastSquare = 1e-8;

/** Kinds of terms between which nothing is smoothed: four separable rows, and cross terms. */
type Kind = 0 | 1 | 2 | 3 | 4;

/** A term that says how smooth a panel is, not where it lies: degree c along u and d along v. */
interface Term {
  readonly at: number;
  readonly c: number;
  readonly d: number;
  readonly kind: Kind;
  /** What the regression knows of it. */
  readonly features: readonly number[];
  /** Weight in the regression: low degrees are what a net of few points shows. */
  readonly weight: number;
}

function kindOf(c: number, d: number): Kind {
  if (d === 0) return 0;
  if (d === 1) return 1;
  if (c === 0) return 2;
  return c === 1 ? 3 : 4;
}

const terms: readonly Term[] = Array.from({ length: termsU * termsV }, (_, at) => ({
  at,
  c: Math.floor(at / termsV),
  d: at % termsV,
}))
  .filter(({ c, d }) => c >= 2 || d >= 2)
  .map(({ at, c, d }) => {
    const kind = kindOf(c, d);
    const rows = [0, 1, 2, 3].map((row) => (kind === row ? 1 : 0));
    const features = [1, c / 10, d / 10, (c * d) / 100, ...rows];
    return { at, c, d, kind, features, weight: Math.exp(-(c + d) / 8) };
  });

/** Residuals beyond this many nats count less and less (P. Huber, 1964). */
const huberLimit = 2;

/** Robust linear regression of `logs` on the degrees, at every term. */
function trend(logs: readonly number[]): number[] {
  const width = terms[0].features.length;
  let fitted = terms.map(() => 0);
  for (let round = 0; round < 12; round++) {
    const normal = Matrix.eye(width, width).mul(1e-4);
    const right = Matrix.zeros(width, 1);
    terms.forEach(({ features, weight }, k) => {
      const off = Math.abs(logs[k] - fitted[k]);
      const own = round > 0 && off > huberLimit ? (weight * huberLimit) / off : weight;
      for (let a = 0; a < width; a++) {
        right.set(a, 0, right.get(a, 0) + own * features[a] * logs[k]);
        for (let b = 0; b < width; b++)
          normal.set(a, b, normal.get(a, b) + own * features[a] * features[b]);
      }
    });
    const factors = solve(normal, right).getColumn(0);
    fitted = terms.map(({ features }) =>
      features.reduce((total, feature, a) => total + feature * factors[a], 0),
    );
  }
  return fitted;
}

/** Width of the kernel in degrees, at a degree. */
const kernelWidth = (degree: number): number => 0.55 + 0.12 * degree;

/** Neighbours of each term among its own kind, with kernel weights that sum to 1. */
const neighbours: readonly (readonly { readonly at: number; readonly share: number }[])[] =
  terms.map((own) => {
    const near = terms.flatMap((other, at) => {
      if (other.kind !== own.kind) return [];
      const off =
        ((other.c - own.c) / kernelWidth(own.c)) ** 2 +
        ((other.d - own.d) / kernelWidth(own.d)) ** 2;
      return off < 18 ? [{ at, weight: Math.exp(-0.5 * off) }] : [];
    });
    const total = near.reduce((sofar, { weight }) => sofar + weight, 0);
    return near.map(({ at, weight }) => ({ at, share: weight / total }));
  });

/** Power of the mean of neighbouring squares: between the geometric (0) and the plain mean (1). */
const meanPower = 0.35;

/**
 * Logarithms of the squares that a spectrum lets expect, per mille^2, [c * 14 + d]: each
 * coefficient's own square stands for its kind's run, since one that happens to cross zero says
 * little. Zeros below degree 2 both ways.
 */
export function logProfile(spectrum: Float64Array): Float64Array {
  const logs = terms.map(({ at }) => Math.log(spectrum[at] ** 2 + leastSquare));
  const plain = trend(logs);
  const made = new Float64Array(termsU * termsV);
  terms.forEach(({ at }, k) => {
    const mean = neighbours[k].reduce(
      (total, near) => total + near.share * Math.exp(meanPower * (logs[near.at] - plain[near.at])),
      0,
    );
    made[at] = Math.max(plain[k] + Math.log(mean) / meanPower, Math.log(leastSquare));
  });
  return made;
}

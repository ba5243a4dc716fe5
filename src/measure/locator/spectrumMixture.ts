import type { LineMap } from './lineMap.ts';
import { profileTerms, type LearnedProfiles, type SpectrumTables } from './spectrumTables.ts';

/** Variances a smooth net's coefficients on one axis may have: one particle, one guess. */
export interface Particles {
  readonly count: number;
  /** The first of them are shapes at three scales, one shape after the other. */
  readonly scaledCount: number;
  /** variances[p * coefficients + c], squared per mille of the size. */
  readonly variances: Float64Array;
  /** ln of each variance in steps of `logStep`, rounded; nodes[p * coefficients + c]. */
  readonly nodes: Int16Array;
  /** Different nodes of each coefficient, rising: those of c from starts[c] on. */
  readonly ranks: Int16Array;
  readonly starts: Int32Array;
  /** Which of them each particle has; steps[c * count + p]. */
  readonly steps: Uint16Array;
  /** Natural logarithms of the weights. */
  readonly logWeights: Float64Array;
}

/** Step of the logarithm of variances in tables: 9 steps are a factor of 4. */
export const logStep = (2 * Math.LN2) / 9;

/** Far below the square of any unevenness: from here down variances are all alike. */
const leastNode = -200;

/** Which degrees (along u, along v) the kept coefficients have. */
export interface Degrees {
  readonly count: number;
  readonly u: Uint8Array;
  readonly v: Uint8Array;
}

/** Maps of u and v. */
export type LineMaps = readonly [LineMap, LineMap];

/** Coefficients of degree below 2 both ways say where a panel lies, not how smooth it is. */
const isKept = (u: number, v: number): boolean => u >= 2 || v >= 2;

/** Degrees of the kept coefficients of a net of count[0] x count[1] points, v fastest. */
export function keptDegrees(count: readonly [number, number]): Degrees {
  const all = Array.from({ length: count[0] * count[1] }, (_, at) => [
    Math.floor(at / count[1]),
    at % count[1],
  ]).filter(([u, v]) => isKept(u, v));
  return {
    count: all.length,
    u: Uint8Array.from(all, ([u]) => u),
    v: Uint8Array.from(all, ([, v]) => v),
  };
}

const [termsU, termsV] = profileTerms;
const termCount = termsU * termsV;

/** Squares of Legendre coefficients, zero below degree 2 both ways. */
function learnedSquares({ logSquares }: LearnedProfiles): Float64Array {
  return logSquares.map((value, at) => {
    const c = Math.floor((at % termCount) / termsV);
    return isKept(c, at % termsV) ? Math.exp(value) : 0;
  });
}

const decays = [0.7, 1.3, 2.2];
const crossDrops = [0, -2.5, -5];

/** Gentle, middle and steep plain decays at their middle scale, counted from the end of the scaled. */
export const plainDecays = [0, 13, 26].map((shape) => 3 * (27 - shape) - 1);

/**
 * 27 plain decays for panels unlike any learned one: log amplitude falls by a rate a degree each
 * way, cross terms lie below separable ones by a step.
 */
function genericSquares(level: number): Float64Array {
  const made: number[] = [];
  for (const rateU of decays)
    for (const rateV of decays)
      for (const drop of crossDrops)
        for (let c = 0; c < termsU; c++)
          for (let d = 0; d < termsV; d++) {
            const amplitude =
              level / 2 -
              rateU * Math.max(c - 2, 0) -
              rateV * Math.max(d - 2, 0) +
              (c >= 1 && d >= 1 ? drop : 0) +
              (c >= 2 && d >= 2 ? 0.3 * drop : 0);
            made.push(isKept(c, d) ? Math.exp(2 * amplitude) : 0);
          }
  return Float64Array.from(made);
}

/** var(a, b) = sum_c sum_d U_ac profile_cd V_bd at the kept degrees. */
function mapped(maps: LineMaps, squares: Float64Array, degrees: Degrees): Float64Array {
  const count = squares.length / termCount;
  const made = new Float64Array(count * degrees.count);
  const half = new Float64Array(maps[0].count * termsV);
  for (let k = 0; k < count; k++) {
    half.fill(0);
    for (let a = 0; a < maps[0].count; a++)
      for (let c = 0; c < termsU; c++) {
        const factor = maps[0].squares[a * termsU + c];
        for (let d = 0; d < termsV; d++)
          half[a * termsV + d] += factor * squares[k * termCount + c * termsV + d];
      }
    for (let at = 0; at < degrees.count; at++) {
      let total = 0;
      for (let d = 0; d < termsV; d++)
        total += half[degrees.u[at] * termsV + d] * maps[1].squares[degrees.v[at] * termsV + d];
      made[k * degrees.count + at] = total;
    }
  }
  return made;
}

type Parity = readonly [number | null, number | null];

/**
 * Coefficients that vanish on a symmetric panel: those of the given parity of degree along u, and
 * those of the given parity along v.
 */
const evenAndOdd: { readonly inPlane: readonly Parity[]; readonly normal: readonly Parity[] } = {
  inPlane: [
    [1, null],
    [0, null],
    [null, 1],
    [null, 0],
    [0, 1],
    [1, 0],
  ],
  normal: [
    [1, null],
    [null, 1],
    [1, 1],
  ],
};
const vanishing = 1e-5;

const scaleSteps = [-2.5, 0, 2.5];
const scaleWeights = [0.2, 0.6, 0.2];
const genericShare = 0.2;
const symmetricShare = 0.15;
const sampledShare = 0.1;

/** Blocks of variances, one after the other. */
function joined(blocks: readonly Float64Array[]): Float64Array {
  const made = new Float64Array(blocks.reduce((total, block) => total + block.length, 0));
  let at = 0;
  for (const block of blocks) {
    made.set(block, at);
    at += block.length;
  }
  return made;
}

/** Where the variances of `count` particles stand in a table of densities. */
function tabled(
  variances: Float64Array,
  count: number,
): Omit<Particles, 'scaledCount' | 'variances' | 'logWeights'> {
  const coefficients = variances.length / count;
  const nodes = new Int16Array(variances.length);
  for (let at = 0; at < nodes.length; at++)
    nodes[at] = Math.max(leastNode, Math.round(Math.log(variances[at]) / logStep));
  const starts = new Int32Array(coefficients + 1);
  const ranks = new Int16Array(nodes.length);
  const steps = new Uint16Array(nodes.length);
  let highest = leastNode;
  for (let at = 0; at < nodes.length; at++) if (nodes[at] > highest) highest = nodes[at];
  const rankOf = new Int16Array(highest - leastNode + 1);
  let used = 0;
  for (let c = 0; c < coefficients; c++) {
    rankOf.fill(-1);
    for (let at = c; at < nodes.length; at += coefficients) rankOf[nodes[at] - leastNode] = 0;
    let rank = 0;
    for (let node = 0; node < rankOf.length; node++)
      if (rankOf[node] === 0) {
        rankOf[node] = rank++;
        ranks[used++] = node + leastNode;
      }
    starts[c + 1] = used;
    for (let p = 0; p < count; p++)
      steps[c * count + p] = rankOf[nodes[p * coefficients + c] - leastNode];
  }
  return { count, nodes, ranks: ranks.slice(0, used), starts, steps };
}

function particles(
  profiles: LearnedProfiles,
  level: number,
  parities: readonly Parity[],
  degrees: Degrees,
  fitted: LineMaps,
  sampled: LineMaps | null,
): Particles {
  const known = learnedSquares(profiles);
  const learned = mapped(fitted, known, degrees);
  const generic = mapped(fitted, genericSquares(level), degrees);
  const genericCount = generic.length / degrees.count;
  const shapeWeights = [
    ...Array.from(profiles.logWeights, (w) => w + Math.log(1 - genericShare)),
    ...Array.from({ length: genericCount }, () => Math.log(genericShare / genericCount)),
  ];
  const shapes = joined([learned, generic]);
  const plainShare = 1 - symmetricShare - (sampled ? sampledShare : 0);
  const scaled = new Float64Array(scaleSteps.length * shapes.length);
  shapeWeights.forEach((_, shape) => {
    scaleSteps.forEach((step, s) => {
      const from = shape * degrees.count;
      const to = (shape * scaleSteps.length + s) * degrees.count;
      for (let c = 0; c < degrees.count; c++) scaled[to + c] = shapes[from + c] * Math.exp(step);
    });
  });
  const scaledWeights = shapeWeights.flatMap((w) =>
    scaleWeights.map((share) => w + Math.log(share) + Math.log(plainShare)),
  );
  const symmetric = parities.map(([u, v]) =>
    learned.map((variance, at) => {
      const c = at % degrees.count;
      const vanishes = degrees.u[c] % 2 === u || degrees.v[c] % 2 === v;
      return vanishes ? variance * vanishing : variance;
    }),
  );
  const variances = joined([
    scaled,
    ...(sampled ? [mapped(sampled, known, degrees)] : []),
    ...symmetric,
  ]);
  const learnedWeights = shapeWeights.slice(0, profiles.count);
  const logWeights = Float64Array.from([
    ...scaledWeights,
    ...(sampled ? learnedWeights.map((w) => w + Math.log(sampledShare)) : []),
    ...parities.flatMap(() =>
      learnedWeights.map((w) => w + Math.log(symmetricShare / parities.length)),
    ),
  ]);
  const count = logWeights.length;
  const scaledCount = scaledWeights.length;
  return { scaledCount, variances, logWeights, ...tabled(variances, count) };
}

/** Mixtures of the axes in the panel and of the normal one. */
export type SpectrumMixture = readonly [inPlane: Particles, normal: Particles];

/** A first look asks every second shape at its middle scale, and every so many of the others. */
const coreShapes = 2;
const coreOthers = 7;

/** A few of the particles: shapes at their middle scale, and some of the others. */
function coreOf(all: Particles, scaledCount: number): Particles {
  const coefficients = all.starts.length - 1;
  const step = scaleSteps.length;
  const chosen = Array.from({ length: all.count }, (_, p) => p).filter((p) =>
    p < scaledCount ? p % (coreShapes * step) === 1 : (p - scaledCount) % coreOthers === 0,
  );
  const variances = joined(
    chosen.map((p) => all.variances.subarray(p * coefficients, (p + 1) * coefficients)),
  );
  const logWeights = Float64Array.from(chosen, (p) => all.logWeights[p]);
  return { scaledCount: 0, variances, logWeights, ...tabled(variances, chosen.length) };
}

const cores = new WeakMap<Particles, Particles>();

/** A few of the particles of a mixture, spread over all of them, for a first look. */
export function core(all: Particles): Particles {
  const known = cores.get(all);
  if (known) return known;
  const made = coreOf(all, all.scaledCount);
  cores.set(all, made);
  return made;
}

/** Thousands of nets share a few knot vectors; the oldest entry leaves when the list is full. */
const kept = new WeakMap<SpectrumTables, Map<string, SpectrumMixture>>();
const keptMost = 64;

/**
 * The mixture of smooth spectra a net's coefficients may have, for the in-plane axes and the normal
 * one: learned profiles and plain decays at three scales, learned ones as of a net of samples
 * (where `sampled` is given), and learned ones with a parity class that vanishes. Per mille of the
 * panel's size, so that it hangs on the knots alone.
 */
export function spectrumMixture(
  tables: SpectrumTables,
  degrees: Degrees,
  fitted: LineMaps,
  sampled: LineMaps | null,
): SpectrumMixture {
  const known = kept.get(tables) ?? new Map<string, SpectrumMixture>();
  kept.set(tables, known);
  const key = [...fitted, ...(sampled ?? [])].map(({ name }) => name).join(' ');
  const found = known.get(key);
  if (found) return found;
  const made: SpectrumMixture = [
    particles(tables.inPlane, 3, evenAndOdd.inPlane, degrees, fitted, sampled),
    particles(tables.normal, 8, evenAndOdd.normal, degrees, fitted, sampled),
  ];
  if (known.size >= keptMost) known.delete(known.keys().next().value ?? key);
  known.set(key, made);
  return made;
}

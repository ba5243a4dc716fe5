import {
  indexOfMost,
  leaders,
  mergedLeaders,
} from '../../../../src/measure/locator/fallingOrder.ts';
import type { ControlNet, Spot } from '../../../../src/geometry/controlNet.ts';
import type { Vector } from '../../../../src/geometry/vector.ts';
import { normalAtoms } from '../../../../src/measure/locator/atoms.ts';
import { forAtom, leaveOneOut, type LeaveOneOut } from './leaveOneOut.ts';
import { logSum } from '../../../../src/measure/locator/logSum.ts';
import {
  choleskyFactor,
  deviation,
  solution,
} from '../../../../src/measure/locator/normalEquations.ts';
import { panelSpectrum } from '../../../../src/measure/locator/panelSpectrum.ts';
import { likeliestTemperament, noFloors, RobustDensity } from '../../../learn/robustDensity.ts';
import { type Floors } from '../../../../src/measure/locator/densityTable.ts';
import { chosenEvidence, squares, type Setting } from './setting.ts';
import { spectrumMixture } from '../../../../src/measure/locator/spectrumMixture.ts';
import type { SpectrumTables } from '../../../../src/measure/locator/spectrumTables.ts';

/** One point that may be displaced, if exactly one is. */
export interface LikelyPoint {
  readonly spot: Spot;
  /** Where it is minus where it is expected, mm, in the axes of the model. */
  readonly displacement: Vector;
  /** Length along its normal and standard deviation, mm. */
  readonly distance: number;
  readonly deviation: number;
  /** ln of how much better this point displaced explains the net than none, nats. */
  readonly logBayesFactor: number;
  /** Tempered probability that it is this point. */
  readonly confidence: number;
}

const axes = [0, 1, 2] as const;
const densityFloors: Floors = { exponent: -600, density: 1e-290 };
/** Least log density of a coefficient in mm that still tells the spreads apart. */
const leastLogDensity = -300;
/** Unevenness in multiples of the one stated, and its probability. */
const handSteps = [0.4, 0.8, 1.6, 3.2];
const handWeights = [0.2, 0.35, 0.3, 0.15];
/** Scale of the Laplace prior on the displacement, and the most it is taken to be, mm. */
const laplaceScale = 1.5;
const mostDistance = 8;
/** Probability that a panel has a displaced point. */
const pointShare = 0.3;
const candidateCount = 6;
const particleCount = 9;

/** Evenly spaced values from `low` to `high`. */
const spaced = (low: number, high: number, count: number): number[] =>
  Array.from({ length: count }, (_, k) => low + ((high - low) * k) / (count - 1));

/** Rising values each the same factor apart. */
const spacedByFactor = (low: number, high: number, count: number): number[] =>
  spaced(Math.log(low), Math.log(high), count).map((x) => Math.exp(x));

/** Width that each of rising values stands for: half the way to both neighbours. */
const widths = (values: readonly number[]): number[] =>
  values.map((value, k) => {
    const [before, after] = [values[k - 1] ?? value, values[k + 1] ?? value];
    return (after - before) / (k > 0 && k < values.length - 1 ? 2 : 1);
  });

/**
 * Two unit vectors square to `normal` and to each other: the reflection that carries the normal to
 * the first axis carries the others to these (Householder, 1958).
 */
function tangents(normal: Vector): readonly [Vector, Vector] {
  const sign = normal[0] < 0 ? -1 : 1;
  const mirror: Vector = [normal[0] + sign, normal[1], normal[2]];
  const factor = 1 / (1 + Math.abs(normal[0]));
  const image = (axis: number): Vector => {
    const [x, y, z] = mirror.map(
      (part, at) => (at === axis ? 1 : 0) - factor * mirror[axis] * part,
    );
    return [x, y, z];
  };
  return [image(1), image(2)];
}

/** Method F's weights need the density itself. */
interface PointSetting extends Setting {
  readonly density: RobustDensity;
}

/** Everything one look at a panel needs; lengths per mille of its size, `scale` of them to 1 mm. */
class Look {
  readonly setting: PointSetting;
  readonly scale: number;
  readonly logHands: Float64Array;
  /** clean[axis][hand][particle], nats. */
  readonly clean: readonly (readonly Float64Array[])[];
  /** loo[hand][axis]. */
  readonly loo: readonly (readonly LeaveOneOut[])[];
  /** ln evidence of the clean panel for each unevenness, without its prior. */
  readonly cleanByHand: Float64Array;
  readonly screened: readonly (readonly number[][])[];

  constructor(setting: PointSetting, scale: number) {
    this.setting = setting;
    this.scale = scale;
    this.logHands = setting.logHands;
    const { coefficients } = setting.spectrum;
    const hands = Array.from(setting.hands);
    this.clean = axes.map((axis) =>
      hands.map((h) =>
        setting.density.byParticle(squares(coefficients[axis]), setting.mixture[axis], h),
      ),
    );
    const priors = new Float64Array(setting.atoms.list.length).fill((laplaceScale * scale) ** 2);
    this.loo = hands.map((h) =>
      axes.map((axis) => {
        const everyParticle = Array.from(setting.mixture[axis].logWeights.keys());
        return leaveOneOut(setting, coefficients[axis], axis, h, priors, everyParticle);
      }),
    );
    this.cleanByHand = Float64Array.from(hands, (_, h) =>
      axes.reduce<number>((total, axis) => total + logSum(this.clean[axis][h]), 0),
    );
    this.screened = hands.map((_, h) =>
      axes.map((axis) => mergedLeaders([this.clean[axis][h], this.byParticle(h, axis)], 2)),
    );
  }

  /** Leave-one-out evidence of each particle, the point summed out. */
  byParticle(hand: number, axis: number): number[] {
    const { evidence, atomCount, particles } = this.loo[hand][axis];
    return particles.map((_, p) => logSum(evidence.subarray(p * atomCount, (p + 1) * atomCount)));
  }

  /** Pull and stiffness of a point over all axes, each with the particle that likes it best. */
  pullOf(hand: number, point: number): readonly [number, number] {
    let [pull, stiff] = [0, 0];
    for (const axis of axes) {
      const loo = this.loo[hand][axis];
      const at = indexOfMost(forAtom(loo, point)) * loo.atomCount + point;
      pull += loo.pulls[at];
      stiff += loo.stiffness[at];
    }
    return [pull, stiff];
  }

  /** Squares of what is left of one axis when a point is moved back by `by`. */
  squaresWithout(axis: number, point: number, by: number): Float64Array {
    const { atoms, spectrum } = this.setting;
    const count = spectrum.degrees.count;
    return spectrum.coefficients[axis].map((value, c) => {
      const left = value - by * atoms.patterns[axis][point * count + c];
      return left * left;
    });
  }

  /** Displacement that leaves least of what no polynomial of degree `low` in u or in v explains. */
  mixedStart(low: number, point: number): number {
    const { atoms, spectrum } = this.setting;
    const { degrees, coefficients, count } = spectrum;
    const [leastU, leastV] = [Math.min(low, count[0] - 2), Math.min(low, count[1] - 2)];
    let [pull, stiff] = [0, 0];
    for (const axis of axes)
      for (let c = 0; c < degrees.count; c++)
        if (degrees.u[c] >= leastU && degrees.v[c] >= leastV) {
          const mark = atoms.patterns[axis][point * degrees.count + c];
          pull += mark * coefficients[axis][c];
          stiff += mark * mark;
        }
    return pull / Math.max(stiff, 1e-9);
  }

  /** Robust evidence of each start of each point with few particles: best, and best by unevenness. */
  screen(starts: readonly (readonly number[])[]): {
    readonly values: number[][];
    readonly byHand: number[][];
  } {
    const { hands } = this.setting;
    const all = Array.from(hands, (h, at) =>
      starts.map((row, point) =>
        row.map((by) =>
          axes.reduce<number>(
            (total, axis) =>
              total +
              chosenEvidence(
                this.setting,
                this.squaresWithout(axis, point, by),
                axis,
                h,
                this.screened[at][axis],
              ),
            this.logHands[at],
          ),
        ),
      ),
    );
    return {
      values: starts.map((row, point) =>
        row.map((_, s) => Math.max(...all.map((table) => table[point][s]))),
      ),
      byHand: all.map((table) => table.map((row) => Math.max(...row))),
    };
  }

  /** Reweighted least squares from each start, with one particle an axis. */
  refined(
    starts: readonly (readonly number[])[],
    hand: number,
    chosen: readonly number[],
  ): number[][] {
    const { setting } = this;
    const { atoms, density, mixture, spectrum } = setting;
    const count = spectrum.degrees.count;
    const h = setting.hands[hand];
    const temperaments = axes.map((axis) =>
      likeliestTemperament(
        density,
        squares(spectrum.coefficients[axis]),
        mixture[axis],
        chosen[axis],
        h,
      ),
    );
    const least = leastLogDensity - Math.log(this.scale);
    const most = mostDistance * this.scale;
    const step = (point: number, by: number): number => {
      let [pull, stiff] = [0, 1e-9];
      for (const axis of axes) {
        const pattern = atoms.patterns[axis];
        for (let c = 0; c < count; c++) {
          const mark = pattern[point * count + c];
          const left = spectrum.coefficients[axis][c] - by * mark;
          const variance = mixture[axis].variances[chosen[axis] * count + c];
          const w = density.heldWeight(left * left, variance, temperaments[axis], h, least);
          pull += w * mark * spectrum.coefficients[axis][c];
          stiff += w * mark * mark;
        }
      }
      return Math.min(most, Math.max(-most, pull / stiff));
    };
    return starts.map((row, point) => row.map((by) => step(point, step(point, step(point, by)))));
  }

  /** Where to begin the search for a point's displacement, and what that is worth. */
  begun(): { readonly from: number[]; readonly worth: number[]; readonly byHand: number[][] } {
    const { pointCount } = this.setting.spectrum;
    const points = Array.from({ length: pointCount }, (_, k) => k);
    const hands = Array.from(this.setting.hands.keys());
    const most = mostDistance * this.scale;
    const given = points.map((k) =>
      [
        this.mixedStart(2, k),
        this.mixedStart(3, k),
        ...hands.map((h) => {
          const [pull, stiff] = this.pullOf(h, k);
          return pull / stiff;
        }),
      ].map((d) => Math.sign(d) * Math.min(most, Math.max(1e-3 * this.scale, Math.abs(d)))),
    );
    const first = this.screen(given);
    const offsets = [-2.5, -0.7, 0.7, 2.5].map((d) => d * this.scale);
    const best = points.map((k) => [given[k][indexOfMost(first.values[k])], ...offsets]);
    const cleanHand = indexOfMost(this.cleanByHand.map((e, h) => e + this.logHands[h]));
    const ownHand = indexOfMost(first.byHand.map((row) => Math.max(...row)));
    const robust = axes.map((axis) => indexOfMost(this.clean[axis][cleanHand]));
    const gaussian = axes.map((axis) => indexOfMost(this.byParticle(ownHand, axis)));
    const fromRobust = this.refined(best, cleanHand, robust);
    const fromGaussian = this.refined(
      best.map(([own]) => [own]),
      ownHand,
      gaussian,
    );
    const all = points.map((k) => [...given[k], ...fromRobust[k], ...fromGaussian[k]]);
    const second = this.screen(all);
    const from = points.map((k) => all[k][indexOfMost(second.values[k])]);
    const worth = points.map(
      (k) => Math.max(...second.values[k]) - Math.abs(from[k]) / (laplaceScale * this.scale),
    );
    return { from, worth, byHand: second.byHand };
  }

  /** The leaders and the first leader's neighbours. */
  candidates(worth: readonly number[]): number[] {
    const [n, m] = this.setting.spectrum.count;
    const chosen = leaders(worth, candidateCount);
    const [i, j] = [Math.floor(chosen[0] / m), chosen[0] % m];
    for (const [k, l] of [
      [i - 1, j],
      [i + 1, j],
      [i, j - 1],
      [i, j + 1],
    ])
      if (k >= 0 && k < n && l >= 0 && l < m && !chosen.includes(k * m + l)) chosen.push(k * m + l);
    return chosen;
  }

  /** Displacements at which the evidence of a point is summed, rising. */
  distances(point: number, from: number): number[] {
    const worth = Array.from(this.logHands, (w, h) =>
      axes.reduce<number>((total, axis) => total + logSum(forAtom(this.loo[h][axis], point)), w),
    );
    const around = leaders(worth, 2).flatMap((h) => {
      const [pull, stiff] = this.pullOf(h, point);
      return spaced(-3, 3, 9).map((x) => pull / stiff + x / Math.sqrt(stiff));
    });
    const near = [0.5, 0.7, 0.8, 0.9, 0.96, 1, 1.04, 1.1, 1.2, 1.3].map((x) => x * from);
    const side = Math.sign(from) * this.scale;
    const far = spacedByFactor(0.03, mostDistance, 7).map((x) => side * x);
    const across = [0.05, 0.2, 1, 4].map((x) => -side * x);
    return [...around, ...near, ...far, ...across].sort((a, b) => a - b);
  }

  /** ln evidence, mean and deviation of a point's displacement along its normal. */
  weighed(
    point: number,
    from: number,
    byHand: readonly number[],
  ): { readonly evidence: number; readonly mean: number; readonly deviation: number } {
    const { hands } = this.setting;
    const cleanHand = indexOfMost(this.cleanByHand.map((e, h) => e + this.logHands[h]));
    const heard = [...new Set([...leaders(byHand, 2), cleanHand])].sort((a, b) => a - b);
    const chosen = heard.map((h) =>
      axes.map((axis) =>
        mergedLeaders([forAtom(this.loo[h][axis], point), this.clean[axis][h]], particleCount),
      ),
    );
    const distances = this.distances(point, from);
    const width = widths(distances);
    const laplace = laplaceScale * this.scale;
    const logs = distances.map((by, at) => {
      const left = axes.map((axis) => this.squaresWithout(axis, point, by));
      const terms = heard.map((h, q) =>
        axes.reduce<number>(
          (total, axis) =>
            total + chosenEvidence(this.setting, left[axis], axis, hands[h], chosen[q][axis]),
          this.logHands[h],
        ),
      );
      const prior = -Math.log(2 * laplace) - Math.abs(by) / laplace;
      return logSum(terms) + prior + Math.log(Math.max(width[at], 1e-12 * this.scale));
    });
    const evidence = logSum(logs);
    const shares = logs.map((log) => Math.exp(log - evidence));
    const mean = shares.reduce((total, share, at) => total + share * distances[at], 0);
    const spread = shares.reduce((total, s, at) => total + s * (distances[at] - mean) ** 2, 0);
    return { evidence, mean, deviation: Math.sqrt(spread) };
  }

  /** The displacement in the frame: along the normal, and along the tangents where they are sure. */
  vector(point: number, mean: number, spread: number, hand: number): Vector {
    const { spectrum, mixture, density, hands } = this.setting;
    const count = spectrum.degrees.count;
    const [x, y, z] = spectrum.normals.subarray(3 * point, 3 * point + 3);
    const normal: Vector = [x, y, z];
    const own = [normal, ...tangents(normal)];
    const marks = spectrum.marks.subarray(point * count, (point + 1) * count);
    const h = hands[hand];
    const stiffTangents = 1 / Math.max((0.4 * Math.abs(mean)) ** 2, 1e-6 * this.scale ** 2);
    const chosen = axes.map((axis) => {
      const left = this.squaresWithout(axis, point, mean);
      const particles = mixture[axis];
      let best = { worth: -Infinity, particle: 0, temperament: 0 };
      for (let t = 0; t < density.temperamentCount; t++)
        particles.logWeights.forEach((w, particle) => {
          const worth = w + density.byTemperament(left, particles, particle, h)[t];
          if (worth > best.worth) best = { worth, particle, temperament: t };
        });
      return best;
    });
    let parts: Float64Array = Float64Array.of(mean, 0, 0);
    let lower: Float64Array = new Float64Array(9);
    for (let step = 0; step < 3; step++) {
      const matrix = Float64Array.of(0, 0, 0, 0, stiffTangents, 0, 0, 0, stiffTangents);
      const right = new Float64Array(3);
      for (const axis of axes) {
        const by = own.reduce((total, way, w) => total + way[axis] * parts[w], 0);
        const { particle, temperament } = chosen[axis];
        let [stiff, pull] = [0, 0];
        for (let c = 0; c < count; c++) {
          const value = spectrum.coefficients[axis][c];
          const left = value - by * marks[c];
          const place = particle * count + c;
          const w = density.weight(left * left, mixture[axis], place, temperament, h, noFloors);
          stiff += w * marks[c] * marks[c];
          pull += w * marks[c] * value;
        }
        for (let a = 0; a < 3; a++) {
          right[a] += own[a][axis] * pull;
          for (let b = 0; b < 3; b++) matrix[3 * a + b] += own[a][axis] * own[b][axis] * stiff;
        }
      }
      lower = choleskyFactor(matrix, 3);
      parts = solution(lower, right);
    }
    const agrees = Math.abs(parts[0] - mean) < Math.max(0.25 * Math.abs(mean), 3 * spread);
    const sure = [1, 2].map((w) =>
      agrees && Math.abs(parts[w]) > 3 * deviation(lower, 3, w) ? parts[w] : 0,
    );
    const [dx, dy, dz] = axes.map(
      (axis) => mean * normal[axis] + sure[0] * own[1][axis] + sure[1] * own[2][axis],
    );
    return [dx, dy, dz];
  }
}

/** Raw posteriors between .9 and .999 are over-sure on panels unlike the learned ones. */
const tempered = (logOdds: number): number => 1 / (1 + Math.exp(-0.45 * (logOdds - 1.5)));

function setting(net: ControlNet, tables: SpectrumTables, hand: number): PointSetting {
  const spectrum = panelSpectrum(net, false);
  const [inPlane, normal] = spectrumMixture(tables, spectrum.degrees, spectrum.fitted, null);
  const atoms = normalAtoms(spectrum);
  atoms.list.forEach((_, atom) => atoms.fill(atom));
  return {
    spectrum,
    atoms,
    mixture: [inPlane, inPlane, normal],
    density: new RobustDensity(tables, densityFloors),
    hands: Float64Array.from(handSteps, (step) => (step * hand * 1000) / spectrum.size),
    logHands: Float64Array.from(handWeights, (w) => Math.log(w)),
  };
}

/**
 * Which one point is displaced, if one is: evidence of each against the clean panel, by falling
 * evidence. A net's coefficients follow a mixture of smooth spectra learned from many panels, each
 * with a robust density, so that a rich honest shape is not taken for a fault. `hand` is the
 * unevenness of single points to be expected, mm. The net has 4 to 16 points along its longer side
 * and 4 to 14 along the other.
 */
export function likeliestPoints(
  net: ControlNet,
  tables: SpectrumTables,
  hand: number,
): LikelyPoint[] {
  const own = setting(net, tables, hand);
  const { spectrum } = own;
  const look = new Look(own, 1000 / spectrum.size);
  const clean = logSum(look.cleanByHand.map((e, h) => e + look.logHands[h]));
  const { from, worth, byHand } = look.begun();
  const told = look.candidates(worth).map((point) => {
    const ownHands = byHand.map((row) => row[point]);
    const { evidence, mean, deviation: spread } = look.weighed(point, from[point], ownHands);
    const vector = look.vector(point, mean, spread, indexOfMost(ownHands));
    return { point, evidence, mean, spread, vector };
  });
  const logs = told.map(({ evidence }) => Math.log(pointShare / spectrum.pointCount) + evidence);
  const all = logSum([Math.log(1 - pointShare) + clean, ...logs]);
  return told
    .map(({ point, evidence, mean, spread, vector }, at): LikelyPoint => {
      const share = Math.min(1 - 1e-12, Math.max(1e-12, Math.exp(logs[at] - all)));
      const [i, j] = [Math.floor(point / spectrum.count[1]), point % spectrum.count[1]];
      const [x, y, z] = axes.map((axis) =>
        spectrum.frame.reduce((total, way, w) => total + way[axis] * vector[w], 0),
      );
      return {
        spot: spectrum.swapped ? { row: i, column: j } : { row: j, column: i },
        displacement: [x / look.scale, y / look.scale, z / look.scale],
        distance: mean / look.scale,
        deviation: spread / look.scale,
        logBayesFactor: evidence - clean,
        confidence: tempered(Math.log(share / (1 - share))),
      };
    })
    .sort((a, b) => b.logBayesFactor - a.logBayesFactor);
}

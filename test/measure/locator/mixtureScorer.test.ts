import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../../fixtures/seededRandom.ts';
import {
  entryLength,
  firstNode,
  nodeCount,
  type DensityTable,
} from '../../../src/measure/locator/densityTable.ts';
import { squares } from '../../../src/measure/locator/faultSets.ts';
import { learnedSpectra } from '../../../src/measure/locator/learnedSpectra.ts';
import { logSum } from '../../../src/measure/locator/logSum.ts';
import { MixtureScorer, type Score } from '../../../src/measure/locator/mixtureScorer.ts';
import { RobustDensity } from '../../learn/robustDensity.ts';
import { densityFloors } from '../../../src/measure/locator/densityTable.ts';
import { logStep, type Particles } from '../../../src/measure/locator/spectrumMixture.ts';
import { spreads, temperamentCount } from '../../../src/measure/locator/spectrumTables.ts';
import { anyModel } from './anyModel.ts';

const tables = learnedSpectra();
const scorer = new MixtureScorer(tables);
const exact = new RobustDensity(tables, densityFloors);

interface Case {
  readonly own: Float64Array;
  readonly particles: Particles;
  readonly shift: number;
}

/** Squared coefficients of seeded panels on all axes, at every unevenness. */
const cases = (seeds: readonly number[]): Case[] =>
  seeds.flatMap((seed) => {
    const { spectrum, mixture, shifts } = anyModel(seed);
    return spectrum.coefficients.flatMap((values, axis) =>
      Array.from(shifts, (shift): Case => ({
        own: squares(values),
        particles: mixture[axis],
        shift,
      })),
    );
  });

/** The same sums without the kernel: for each particle and temperament over the coefficients. */
function plainScore(table: DensityTable, { own, particles, shift }: Case): Score {
  const { count, nodes, logWeights } = particles;
  const sums = new Float64Array(count * temperamentCount);
  own.forEach((square, c) => {
    const row = table.row(square * Math.exp(-shift * logStep));
    const share = table.share();
    for (let p = 0; p < count; p++) {
      const x = nodes[p * own.length + c] - shift - firstNode;
      const at = row * nodeCount + Math.max(0, Math.min(nodeCount - 1, x));
      for (let t = 0; t < temperamentCount; t++) {
        const [low, high] = [at, at + nodeCount].map((k) => table.logs[k * entryLength + t]);
        sums[p * temperamentCount + t] += low + share * (high - low);
      }
    }
  });
  const all = sums.map(
    (value, k) =>
      value +
      table.logTemperaments[k % temperamentCount] +
      logWeights[Math.floor(k / temperamentCount)],
  );
  const best = all.indexOf(Math.max(...all));
  return {
    total: logSum(all) - 0.5 * own.length * shift * logStep,
    guess: { particle: Math.floor(best / temperamentCount), temperament: best % temperamentCount },
  };
}

test('the kernel adds up what a plain loop over the same table adds up', () => {
  for (const one of cases([1, 2, 3, 4, 5, 6])) {
    const score = scorer.score(one.own, one.particles, one.shift);
    const plain = plainScore(scorer.table, one);
    expect(Math.abs(score.total - plain.total)).toBeLessThan(1e-3);
    expect(score.guess).toEqual(plain.guess);
  }
});

// The table has the variance to the nearest of nodes that are 15 % apart, where the density's
// logarithm leans by half at most: 0.04 a coefficient, of either sign, some 30 of them.
test('the table is near the density added up exactly', () => {
  const off = cases(Array.from({ length: 30 }, (_, k) => 100 + k)).map((one) => {
    const score = scorer.score(one.own, one.particles, one.shift);
    const hand = Math.exp((one.shift * logStep) / 2);
    const sums = exact.byParticle(one.own, one.particles, hand);
    return Math.abs(score.total - logSum(sums));
  });
  off.sort((a, b) => a - b);
  expect(off[Math.floor(0.95 * off.length)]).toBeLessThan(0.5);
  expect(off[off.length - 1]).toBeLessThan(2);
});

test('what was scored before changes nothing', () => {
  const [first, ...others] = cases([11, 12, 13]);
  const fresh = new MixtureScorer(tables);
  const alone = fresh.score(first.own, first.particles, first.shift);
  for (const one of others) scorer.score(one.own, one.particles, one.shift);
  expect(scorer.score(first.own, first.particles, first.shift)).toEqual(alone);
  expect(fresh.score(first.own, first.particles, first.shift)).toEqual(alone);
});

describe('the weight of a coefficient', () => {
  // Mean of 1 / (spread v + h^2) over the spreads, each as likely as the residual makes it: the
  // derivative of the log density, by Fisher's identity (from memory).
  test('is that of the density of its table, to the width of its nodes', () => {
    const random = seededRandom(8);
    for (let k = 0; k < 200; k++) {
      const hand = 0.012;
      const shift = Math.round((2 * Math.log(hand)) / logStep);
      const own = Math.exp((shift * logStep) / 2);
      const node = Math.round(random.between(-40, 40));
      const variance = Math.exp(node * logStep);
      const square = variance * random.normal() ** 2;
      const temperament = random.index(temperamentCount);
      let [density, weighed] = [0, 0];
      spreads.forEach((spread, r) => {
        const v = spread * variance + own * own;
        const share = tables.temperaments[temperament * spreads.length + r];
        const g = (share * Math.exp((-0.5 * square) / v)) / Math.sqrt(v);
        density += g;
        weighed += g / v;
      });
      const weight = scorer.table.weight(square, shift, node, temperament);
      expect(weight / (weighed / density)).toBeGreaterThan(0.9);
      expect(weight / (weighed / density)).toBeLessThan(1.1);
    }
  });
});

import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { profileTerms, spreads } from '../../src/measure/locator/spectrumTables.ts';
import { lesson, recipeSample, type Amount } from './learnedTables.ts';
import { wishesFrom } from './learnLocator.ts';
import { legendreSpectrum, legendreValues } from './legendreSpectrum.ts';
import { leastSquare, logProfile } from './logProfile.ts';
import { grouping, meanProfiles } from './meanProfiles.ts';
import { recipes } from './recipes.ts';
import { quantised, storedTables, tablesFrom, type StoredTables } from './storedTables.ts';
import { jsonText } from './writtenJson.ts';
import {
  firstTemperaments,
  floored,
  learnedTemperaments,
  temperamentStep,
  type ExplainedAxis,
} from './temperaments.ts';

const [termsU, termsV] = profileTerms;
const termCount = termsU * termsV;
const anySeed = fc.integer({ min: 0, max: 2 ** 31 - 1 });

describe('the Legendre spectrum of a shape', () => {
  test('a shallow panel has the coefficients of its polynomial, in closed form', () => {
    // Orthonormal on [0,1]: P2 = sqrt5 (6t^2-6t+1), P3 = sqrt7 (20t^3-30t^2+12t-1).
    const [second, mixed] = [0.3, 0.2];
    const { axes, size } = legendreSpectrum((u, v) => [
      1000 * u,
      400 * v,
      second * legendreValues(u, 3)[2] + mixed * legendreValues(u, 4)[3] * legendreValues(v, 3)[2],
    ]);
    expect(size).toBeCloseTo(1000, 1);
    const normal = axes[2].map(Math.abs);
    expect(normal[2 * termsV]).toBeCloseTo(second, 6);
    expect(normal[3 * termsV + 2]).toBeCloseTo(mixed, 6);
    const others = normal.filter((_, at) => at !== 2 * termsV && at !== 3 * termsV + 2);
    expect(Math.max(...others)).toBeLessThan(1e-6);
    // along u the panel is straight: t = 1/2 + P1 / (2 sqrt3)
    expect(Math.abs(axes[0][termsV])).toBeCloseTo(1000 / (2 * Math.sqrt(3)), 2);
  });

  test('legendre polynomials in closed form', () => {
    const t = 0.3;
    const [p0, p1, p2, p3] = legendreValues(t, 4);
    expect(p0).toBe(1);
    expect(p1).toBeCloseTo(Math.sqrt(3) * (2 * t - 1), 12);
    expect(p2).toBeCloseTo(Math.sqrt(5) * (6 * t * t - 6 * t + 1), 12);
    expect(p3).toBeCloseTo(Math.sqrt(7) * (20 * t ** 3 - 30 * t * t + 12 * t - 1), 12);
  });

  test('neither size nor place nor which parameter is named u changes it', () => {
    fc.assert(
      fc.property(anySeed, fc.constantFrom(...Object.keys(recipes)), (seed, name) => {
        const shape = recipes[name](seededRandom(seed));
        const one = legendreSpectrum(shape);
        const other = legendreSpectrum((u, v) => {
          const [x, y, z] = shape(v, u);
          return [3 * x + 500, 3 * y - 70, 3 * z + 1000];
        });
        expect(other.size / one.size).toBeCloseTo(3, 6);
        one.axes[2].forEach((value, at) =>
          expect(Math.abs(other.axes[2][at])).toBeCloseTo(Math.abs(value), 4),
        );
      }),
      { numRuns: 12, seed: 1 },
    );
  });
});

describe('every recipe', () => {
  test.each(Object.entries(recipes))('%s is a finite panel of car-body size', (_, recipe) => {
    const random = seededRandom(5);
    for (let k = 0; k < 8; k++) {
      const shape = recipe(random);
      for (const u of [0, 0.3, 1])
        for (const v of [0, 0.7, 1]) expect(shape(u, v).every(Number.isFinite)).toBe(true);
      const { size } = legendreSpectrum(shape);
      expect(size).toBeGreaterThan(200);
      expect(size).toBeLessThan(4500);
    }
  });
});

describe('the log profile of a spectrum', () => {
  test('does not mix separable rows with cross terms, and has a floor', () => {
    const spectrum = new Float64Array(termCount);
    for (let c = 2; c < termsU; c++) spectrum[c * termsV] = 10 * Math.exp(-0.5 * c);
    const profile = logProfile(spectrum);
    for (let c = 2; c < 8; c++) {
      expect(profile[c * termsV]).toBeCloseTo(2 * Math.log(10) - c, 0);
      for (let d = 2; d < 8; d++)
        expect(profile[c * termsV + d] - Math.log(leastSquare)).toBeLessThan(0.5);
    }
  });

  test('a scaled spectrum has a shifted profile where it stands clear of the floor', () => {
    fc.assert(
      fc.property(anySeed, fc.double({ min: 1, max: 3, noNaN: true }), (seed, shift) => {
        const random = seededRandom(seed);
        const spectrum = Float64Array.from({ length: termCount }, () => 1 + random.uniform());
        const one = logProfile(spectrum);
        const other = logProfile(spectrum.map((value) => value * Math.exp(shift / 2)));
        one.forEach((value, at) => {
          if (at >= 2 * termsV) expect(other[at] - value).toBeCloseTo(shift, 3);
        });
      }),
      { numRuns: 20, seed: 1 },
    );
  });
});

describe('groups of like profiles', () => {
  test('are the same for the same seed, and find groups that are apart', () => {
    const random = seededRandom(3);
    const values = Float64Array.from(
      { length: 300 },
      (_, at) => 20 * (Math.floor(at / 3) % 4) + random.normal(),
    );
    const cloud = { count: 100, width: 3, values };
    const one = grouping(cloud, 4, seededRandom(1));
    expect(grouping(cloud, 4, seededRandom(1))).toEqual(one);
    one.groups.forEach((group, i) => expect(group).toBe(one.groups[i % 4]));
    expect(new Set(one.groups).size).toBe(4);
  });

  test('shares sum to 1 and means lie within their profiles', () => {
    const random = seededRandom(9);
    const profiles = Array.from({ length: 40 }, () =>
      Float64Array.from({ length: termCount }, () => random.between(-18, 5)),
    );
    const { means, shares } = meanProfiles(profiles, 6, seededRandom(2));
    expect(shares.reduce((total, share) => total + share, 0)).toBeCloseTo(1, 12);
    for (const mean of means)
      for (const value of mean) {
        expect(value).toBeGreaterThanOrEqual(-18);
        expect(value).toBeLessThanOrEqual(5);
      }
  });
});

describe('temperaments', () => {
  const shares = [
    [0.02, 0.03, 0.25, 0.6, 0.08, 0.01, 0.01],
    [0.85, 0.05, 0.02, 0.02, 0.02, 0.02, 0.02],
    [0.1, 0.1, 0.1, 0.1, 0.1, 0.25, 0.25],
  ];
  const weights = [0.5, 0.3, 0.2];

  /** Index drawn with the given probabilities. */
  function drawn(probabilities: readonly number[], uniform: number): number {
    let left = uniform;
    const at = probabilities.findIndex((share) => (left -= share) < 0);
    return at < 0 ? probabilities.length - 1 : at;
  }

  function axesOf(count: number): ExplainedAxis[] {
    const random = seededRandom(4);
    return Array.from({ length: count }, () => {
      const t = drawn(weights, random.uniform());
      const densities = new Float32Array(60 * spreads.length);
      for (let c = 0; c < 60; c++) {
        const spread = spreads[drawn(shares[t], random.uniform())];
        const value = Math.sqrt(spread) * random.normal();
        spreads.forEach((own, r) => {
          const density = Math.exp((-0.5 * value * value) / own) / Math.sqrt(own);
          densities[c * spreads.length + r] = density + 1e-37;
        });
      }
      return [{ logWeight: 0, densities }];
    });
  }

  test('a known mixture is found again', () => {
    const found = learnedTemperaments(axesOf(500), firstTemperaments, 300);
    const order = [0, 1, 2].sort((a, b) => found.weights[b] - found.weights[a]);
    order.forEach((at, t) => {
      expect(Math.abs(found.weights[at] - weights[t])).toBeLessThan(0.05);
      // neighbouring spreads overlap: what lies below, between and above is what is told apart
      const sums = (own: ArrayLike<number>): number[] => [
        own[0],
        own[1] + own[2] + own[3] + own[4],
        own[5] + own[6],
      ];
      const known = sums(shares[t]);
      sums(found.shares[at]).forEach((sum, k) =>
        expect(Math.abs(sum - known[k])).toBeLessThan(0.06),
      );
    });
  });

  test('no step makes the axes less likely', () => {
    const axes = axesOf(60);
    let [now, before] = [firstTemperaments, -Infinity];
    for (let k = 0; k < 15; k++) {
      const { next, logLikelihood } = temperamentStep(axes, now);
      expect(logLikelihood).toBeGreaterThan(before - 1e-6 * Math.abs(logLikelihood));
      [now, before] = [next, logLikelihood];
    }
  });

  test('floored shares sum to 1 and none is below the floor', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 0, max: 1e4, noNaN: true }), { minLength: 3, maxLength: 7 }),
        (counts) => {
          fc.pre(counts.some((count) => count > 1e-3));
          const made = floored(Float64Array.from(counts), 0.05);
          expect(made.reduce((total, share) => total + share, 0)).toBeCloseTo(1, 12);
          expect(Math.min(...made)).toBeGreaterThanOrEqual(0.05 - 1e-12);
        },
      ),
      { seed: 1 },
    );
  });
});

describe('stored tables', () => {
  test('a value comes back within half a step', () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: -18.5, max: 13.375, noNaN: true })), (values) => {
        const bytes = Buffer.from(quantised(Float64Array.from(values)), 'base64');
        expect(bytes).toHaveLength(values.length);
        values.forEach((value, k) =>
          expect(Math.abs(bytes[k] * 0.125 - 18.5 - value)).toBeLessThanOrEqual(0.0625 + 1e-12),
        );
      }),
      { seed: 1 },
    );
  });

  test('the same seed makes the same file', async () => {
    const amount: Amount = { shapes: 4, nets: 2, profiles: 5 };
    const names = ['crownedHood', 'translation', 'ruled', 'softCrease'];
    const text = (): Promise<string> => {
      const samples = names.map((name) => recipeSample(name, recipes[name], 11, amount));
      return jsonText(storedTables(lesson(samples, 11, amount).tables, 11, names));
    };
    const [one, other] = [await text(), await text()];
    expect(one).toBe(other);
    const tables = tablesFrom(JSON.parse(one) as StoredTables);
    expect(tables.normal.logSquares).toHaveLength(tables.normal.count * termCount);
  });
});

test('recipes can be left out, unknown ones are said', () => {
  expect(wishesFrom(['--without', 'roof', '--without', 'ruled', '--to', 'x.json'])).toEqual({
    names: Object.keys(recipes).filter((name) => name !== 'roof' && name !== 'ruled'),
    file: 'x.json',
  });
  expect(wishesFrom([]).file).toMatch(/smooth-spectra\.json$/);
  expect(() => wishesFrom(['--without', 'nobody'])).toThrow('nobody');
});

describe('the file that ships', () => {
  const path = join(import.meta.dirname, '../../rules/learned/smooth-spectra.json');

  test('is there, is small and holds what its fields say', async () => {
    expect(existsSync(path)).toBe(true);
    const text = readFileSync(path, 'utf8');
    expect(text.length).toBeLessThan(60_000);
    const stored = JSON.parse(text) as StoredTables;
    expect(await jsonText(stored)).toBe(text);
    expect(stored.recipes).toEqual(Object.keys(recipes));
    expect(stored.terms).toEqual([...profileTerms]);
    expect(stored.spreads).toEqual([...spreads]);
    const tables = tablesFrom(stored);
    for (const { count, logSquares, logWeights } of [tables.inPlane, tables.normal]) {
      expect(count).toBe(60);
      expect(logSquares).toHaveLength(count * termCount);
      expect(logWeights).toHaveLength(count);
      expect(logWeights.reduce((total, w) => total + Math.exp(w), 0)).toBeCloseTo(1, 4);
    }
    for (const row of [...stored.temperaments, stored.temperamentWeights])
      expect(row.reduce((total, share) => total + share, 0)).toBeCloseTo(1, 5);
    expect(Math.min(...stored.temperaments.flat())).toBeGreaterThanOrEqual(1e-3 - 1e-6);
    expect(Math.min(...stored.temperamentWeights)).toBeGreaterThanOrEqual(0.1 - 1e-6);
  });
});

import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import learned from '../../../rules/learned/odds.json' with { type: 'json' };
import {
  calibratedOdds,
  confidence,
  leastOdds,
  oddsTerms,
  type Grounds,
} from '../../../src/measure/locator/odds.ts';

const parts = ['point', 'drift', 'line', 'run'] as const;
const grounds: fc.Arbitrary<Grounds> = fc.record({
  part: fc.constantFrom(...parts),
  logOdds: fc.double({ min: -1e3, max: 1e3, noNaN: true }),
  setSize: fc.integer({ min: 1, max: 7 }),
  pointCount: fc.integer({ min: 16, max: 196 }),
});

describe('confidence', () => {
  test('is a probability, the logistic function of the calibrated odds', () => {
    fc.assert(
      fc.property(grounds, (one) => {
        const share = confidence(one);
        expect(share).toBeGreaterThan(0);
        expect(share).toBeLessThan(1);
        expect(Math.log(share / (1 - share))).toBeCloseTo(calibratedOdds(one), 9);
      }),
      { seed: 1 },
    );
  });

  test('rises with the odds of the evidence, and stands still where they are beyond all learned', () => {
    fc.assert(
      fc.property(grounds, fc.double({ min: 0, max: 50, noNaN: true }), (one, more) => {
        const higher = confidence({ ...one, logOdds: one.logOdds + more });
        expect(higher).toBeGreaterThanOrEqual(confidence(one));
      }),
      { seed: 2 },
    );
    for (const part of parts) {
      const at = (logOdds: number): number =>
        confidence({ part, logOdds, setSize: 1, pointCount: 36 });
      for (let logOdds = -6; at(logOdds) < at(300); logOdds++)
        expect(at(logOdds + 1)).toBeGreaterThan(at(logOdds));
      expect(at(400)).toBe(at(300));
      expect(at(-60)).toBe(at(-6));
    }
  });

  test('the ranges of the odds add up to the odds themselves', () => {
    for (const logOdds of [-6, -2.5, 0, 3, 4, 11, 12.5, 20, 33, 40, 220, 300]) {
      const terms = oddsTerms({ part: 'point', logOdds, setSize: 1, pointCount: 36 });
      expect(terms).toHaveLength(learned.weights.length);
      const ranges = terms.slice(1, 7);
      expect(ranges.reduce((total, term) => total + term, 0)).toBeCloseTo(logOdds, 12);
    }
  });
});

describe.each(parts)('the odds from which a %s is named', (part) => {
  test('fall as more false alarms are allowed', () => {
    const shares = Array.from({ length: 60 }, (_, k) => 0.0005 * 1.1 ** k);
    const odds = shares.map((share) => leastOdds(part, share));
    expect(odds).toEqual([...odds].sort((a, b) => b - a));
    if (part !== 'run') expect(odds[0]).toBeGreaterThan(odds[odds.length - 1]);
    // hardly any clean panel has one: 2 to 1 is enough at every share
    else expect(odds[0]).toBe(Math.log(2));
  });

  test('are those learned at the shares that were learned, and never below 2 to 1', () => {
    for (const one of learned.alarms)
      expect(leastOdds(part, one.share)).toBeCloseTo(Math.max(Math.log(2), one[part]), 12);
  });

  test('are held beyond the ends of what was learned', () => {
    const [first, last] = [learned.alarms[0], learned.alarms[learned.alarms.length - 1]];
    expect(leastOdds(part, first.share / 100)).toBe(leastOdds(part, first.share));
    expect(leastOdds(part, 1)).toBe(leastOdds(part, last.share));
  });
});

import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { length } from '../../src/geometry/vector.ts';
import type { Displacement } from '../../src/measure/displacements.ts';
import { confidence } from '../../src/measure/locator/odds.ts';
import { certainty } from '../../src/rules/certainty.ts';

const here = { kind: 'point', row: 2, column: 3 } as const;
const there = { kind: 'point', row: 2, column: 4 } as const;
const sure: Displacement = {
  place: here,
  part: 'point',
  displacement: [0, 0, 2],
  deviation: 0.1,
  logOdds: 60,
  gain: 60,
  setGain: 60,
  setSize: 1,
  points: [{ spot: { row: 2, column: 3 }, displacement: [0, 0, 2], expected: [0, 0, 0] }],
  rivals: [],
};
const located = { kind: 'measured', hand: 0.01, displacements: [sure] } as const;
const told = (change: Partial<Displacement>, pointCount = 36, falseAlarms = 0.01) =>
  certainty({ ...sure, ...change }, located, pointCount, falseAlarms);
const rival = (behind: number, place: Displacement['place'] = there): Partial<Displacement> => ({
  rivals: [{ place, behind, displacement: [0, 0, 1] }],
});

test('what stands clear of chance and of its rivals is named', () => {
  expect(told({})).toEqual({
    level: 'named',
    confidence: confidence({ ...sure, pointCount: 36 }),
    ties: [],
  });
});

describe('a rival less than 3 to 1 behind', () => {
  test('makes it uncertain, and both are told', () => {
    const tie = told(rival(Math.log(3) - 1e-9));
    expect(tie?.level).toBe('uncertain');
    expect(tie?.ties).toEqual([there]);
  });
  test('further behind is none', () => {
    expect(told(rival(Math.log(3) + 1e-9))).toMatchObject({ level: 'named', ties: [] });
  });
  test('of another kind is not offered instead', () => {
    expect(told(rival(0, { kind: 'row', row: 2 }))?.ties).toEqual([]);
  });
});

test('several are less sure than one, on any net', () => {
  for (const pointCount of [16, 24, 25, 120])
    for (const logOdds of [2, 6, 10]) {
      const [one, two] = [1, 2].map((setSize) => told({ logOdds, setSize }, pointCount));
      expect(two?.confidence ?? 0).toBeLessThanOrEqual(one?.confidence ?? 1);
    }
});

test('named is at least four deviations, and four times the unevenness', () => {
  expect(told({ deviation: 0.5 })?.level).toBe('named');
  expect(told({ deviation: 0.501 })?.level).toBe('uncertain');
  expect(certainty(sure, { ...located, hand: 0.501 }, 36, 0.01)?.level).toBe('uncertain');
  fc.assert(
    fc.property(
      fc.record({
        displacement: fc.tuple(fc.constant(0), fc.constant(0), fc.double({ min: 0, max: 9 })),
        deviation: fc.double({ min: 1e-3, max: 3, noNaN: true }),
        logOdds: fc.double({ min: -9, max: 99, noNaN: true }),
        setSize: fc.integer({ min: 1, max: 7 }),
        part: fc.constantFrom('point' as const, 'drift' as const, 'line' as const, 'run' as const),
      }),
      fc.integer({ min: 16, max: 196 }),
      fc.constantFrom(0.001, 0.01, 0.1),
      (change, pointCount, falseAlarms) => {
        const result = told(change, pointCount, falseAlarms);
        if (!result) return;
        expect(result.confidence).toBeGreaterThanOrEqual(0.3);
        if (result.level === 'uncertain') return;
        expect(length(change.displacement)).toBeGreaterThanOrEqual(4 * change.deviation);
        expect(result.confidence).toBeGreaterThan(2 / 3 - 1e-12);
      },
    ),
    { seed: 3, numRuns: 1000 },
  );
});

test('what is not even probable is not told', () => {
  const grounds = (logOdds: number): number => confidence({ ...sure, logOdds, pointCount: 36 });
  for (let logOdds = -6; logOdds < 20; logOdds += 0.25)
    expect(told({ logOdds }) === null, `${logOdds}`).toBe(grounds(logOdds) < 0.3);
});

test('the fewer false alarms are allowed, the less is named', () => {
  for (const part of ['point', 'drift', 'line'] as const) {
    const named = [0.001, 0.003, 0.01, 0.03, 0.1].map(
      (falseAlarms) =>
        Array.from({ length: 120 }, (_, k) =>
          told({ part, logOdds: k / 3 }, 36, falseAlarms),
        ).filter((one) => one?.level === 'named').length,
    );
    expect(named).toEqual([...named].sort((a, b) => a - b));
    expect(named[0]).toBeLessThan(named[named.length - 1]);
  }
});

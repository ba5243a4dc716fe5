// Breaks inside a panel against closed forms: second derivatives of piecewise parabolas (any textbook).
import { expect, test } from 'vitest';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { reversed, transposed, type ControlNet } from '../../src/geometry/controlNet.ts';
import { innerBreaks } from '../../src/measure/innerBreaks.ts';
import { judgement } from '../rules/ruleTable.ts';

/** Cubic with a double knot at u = 0.5, where the curvature along x grows by a share. */
const doubleKnotted = (growth: number): ControlNet =>
  fittedNet([3, 3], [clampedKnots(3, [0.5, 0.5]), clampedKnots(3)], (u, v) => [
    1000 * u,
    700 * v,
    -200 * (u - 0.5) ** 2 - 100 * v * v - 200 * growth * Math.max(0, u - 0.5) ** 2,
  ]);

test.each([
  ['as it is', (net: ControlNet) => net, 'row', 3],
  ['with rows as columns', transposed, 'column', 3],
  ['run backwards', reversed, 'row', 3],
] as const)('a double knot of a cubic lets the curvature break, %s', (_, change, along, index) => {
  for (const growth of [0, 0.1, 0.5, 2]) {
    const [found, ...more] = innerBreaks(change(doubleKnotted(growth)), 2);
    expect(more).toEqual([]);
    expect([found.along, Math.abs(found.index - index) <= 1]).toEqual([along, true]);
    expect(found.mismatch).toBeCloseTo((2 * growth) / (2 + growth), 9);
    expect(found.angle).toBeLessThan(1e-9);
    expect(found.gap).toBeLessThan(1e-9);
  }
});

test('inner-break tells it by how far it is beyond, and a smaller one not', () => {
  expect(judgement('inner-break', doubleKnotted(0.1))).toEqual({ outcome: 'met' });
  const found = judgement('inner-break', doubleKnotted(2));
  if (found.outcome !== 'missed') throw new Error(found.outcome);
  // 2 / 2 over the floor of 0.2
  expect(found.misses[0].beyond).toBeCloseTo(5, 6);
  expect(found.misses[0].position![0]).toBeCloseTo(500, 6);
});

test('simple knots of a cubic are smooth enough, those of a parabola are looked at', () => {
  const many = (degree: 2 | 3): ControlNet =>
    fittedNet([degree, 3], [clampedKnots(degree, 3), clampedKnots(3)], (u, v) => [
      1000 * u,
      700 * v,
      -200 * u * u - 100 * v * v,
    ]);
  expect(innerBreaks(many(3), 2)).toEqual([]);
  const found = innerBreaks(many(2), 2);
  expect(found.length).toBe(2);
  for (const { mismatch } of found) expect(mismatch).toBeLessThan(1e-9);
});

import { describe, expect, test } from 'vitest';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { reversed, transposed, withMoves, type ControlNet } from '../../src/geometry/controlNet.ts';
import { placedNet } from '../../src/geometry/placement.ts';
import type { Spec } from '../../src/rules/spec.ts';
import type { Finding } from '../../src/verdict/finding.ts';
import { fixtureNets, joinedNets } from './seamTable.ts';

const spec: Spec = { symmetry: { axis: 'y', at: 0 } };
const told = (net: ControlNet, units: 'mm' | 'in' = 'mm', own: Spec = spec) =>
  joinedNets([['half', net]], 'centre-plane', units, own);
const findings = (...of: Parameters<typeof told>): Finding[] =>
  told(...of).files.flatMap(({ panels }) => panels.flatMap((panel) => panel.findings));
const outcome = (...of: Parameters<typeof told>): string =>
  told(...of).files[0].panels[0].outcomes['centre-plane'];

const mirrored = (net: ControlNet): ControlNet =>
  placedNet(net, {
    rotation: [
      [1, 0, 0],
      [0, -1, 0],
      [0, 0, 1],
    ],
    shift: [0, 0, 0],
  });

const [met] = fixtureNets('centre-plane', 'met');
const [missed] = fixtureNets('centre-plane', 'missed');

describe.each([
  ['as it is', (net: ControlNet) => net, 'mm', { kind: 'row', row: 0 }],
  ['on the other side', mirrored, 'mm', { kind: 'row', row: 0 }],
  ['with rows as columns', transposed, 'mm', { kind: 'column', column: 0 }],
  ['run backwards', reversed, 'mm', { kind: 'row', row: 0 }],
  ['in inches', (net: ControlNet) => net, 'in', { kind: 'row', row: 0 }],
] as const)('centre-plane, %s', (_, change, units, site) => {
  test('meets its limit where the mirrored half runs on', () => {
    expect(outcome(change(met), units)).toBe('met');
  });

  test('misses it by the angle that the second row makes, and its nudge mends that', () => {
    const found = findings(change(missed), units);
    expect(found.map(({ rule, miss }) => [rule, miss.site])).toEqual([['centre-plane', site]]);
    // four times 0.5 mm over 400 mm, in the plane across the border; the border itself slopes
    const steepest = (Math.atan((4 * 0.5) / 400) * 180) / Math.PI;
    expect(found[0].miss.value).toBeLessThanOrEqual(steepest + 1e-6);
    expect(found[0].miss.value).toBeGreaterThan(0.98 * steepest);
    const moves = found[0].nudge!.moves.map(({ by, ...spot }) => ({ spot, by }));
    const mended = withMoves(change(missed), moves);
    expect(outcome(mended, units)).toBe('met');
    expect(found[0].nudge!.leaves).toBeLessThan(0.025);
    for (const { by } of moves) expect(Math.hypot(...by)).toBeCloseTo(0.5, 1);
  });
});

test('a border beside the plane is missed by how far it lies off', () => {
  const off = placedNet(met, {
    rotation: [
      [1, 0, 0],
      [0, 1, 0],
      [0, 0, 1],
    ],
    shift: [0, 0.03, 0],
  });
  const [found] = findings(off);
  expect(found.miss.evidence!.distance).toBeCloseTo(0.03, 9);
  expect(found.beyond).toBeCloseTo(3, 6);
});

test('a square meeting whose curvature changes across is missed as well: its rate turns over', () => {
  const leaning = fittedNet([4, 4], [clampedKnots(4), clampedKnots(4)], (u, v) => [
    1000 * u,
    400 * v,
    -150 * (u - 0.45) ** 2 - 120 * v * v + 60 * v * v * v,
  ]);
  const [found] = findings(leaning);
  // z''' = 360 / 400^3 on one side and its opposite on the other, z'' = -240 / 400^2
  const pace = (100 * 2 * (360 / 400 ** 3)) / (240 / 400 ** 2);
  expect(found.miss.evidence!.pace / pace).toBeCloseTo(1, 1);
  expect(found.miss.value).toBeLessThan(1e-6);
});

test('without a plane in the spec, or away from it, it does not apply; a border in it is not open', () => {
  expect(outcome(met, 'mm', {})).toBe('not-applicable');
  expect(outcome(met, 'mm', { symmetry: { axis: 'y', at: 900 } })).toBe('not-applicable');
  const open = (own: Spec): number =>
    joinedNets([['half', met]], null, 'mm', own).openBorders.length;
  expect([open({}), open(spec)]).toEqual([4, 3]);
});

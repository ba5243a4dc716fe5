import { describe, expect, test } from 'vitest';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { families } from '../../fixtures/panelFamilies.ts';
import { ruleFixtures } from '../../fixtures/rules/makeRuleFixtures.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import type { ControlNet } from '../../src/geometry/controlNet.ts';
import { keptBox } from '../../src/geometry/keptPart.ts';
import { pieces } from '../../src/geometry/pieces.ts';
import { ellipseArc, polyline } from '../../src/geometry/splineCurve.ts';
import type { Vector } from '../../src/geometry/vector.ts';
import { normalFlips, type NormalFlip } from '../../src/measure/normalFlips.ts';
import { surfaceLook, type Kept } from '../../src/measure/surfaceLook.ts';
import { tightRadii } from '../../src/measure/tightRadii.ts';
import { revolvedNet, sphere } from '../geometry/revolvedNet.ts';

function flipsOf(net: ControlNet, kept: Kept = null): NormalFlip[] {
  const look = surfaceLook(net, keptBox(net, null), kept);
  return normalFlips(look, kept, tightRadii(look, kept));
}

/** A surface of degree 5 in u and 4 in v that holds polynomials of these degrees exactly. */
const surface = (shape: (u: number, v: number) => Vector): ControlNet =>
  fittedNet([5, 4], [clampedKnots(5), clampedKnots(4)], shape);

const degrees = (radians: number): number => (radians * 180) / Math.PI;

describe('turns over', () => {
  const cases: readonly [string, ControlNet, number, number][] = [
    [
      'a cusp along a column',
      surface((u, v) => [800 * (u - 0.31) ** 3, 500 * v, 400 * (u - 0.31) ** 2]),
      175,
      180,
    ],
    [
      // on a line of the look: no normal there
      'a cusp in the very middle',
      surface((u, v) => [800 * (u - 0.5) ** 3, 500 * v, 400 * (u - 0.5) ** 2]),
      175,
      180,
    ],
    ['a cusp in one place alone', ruleFixtures['normal-flip'].missed, 175, 180],
    ['a sheet folded flat', surface((u, v) => [900 * u * (1 - u), 500 * v, 0]), 180, 180],
    [
      'a sheet folded flat along a slanting line',
      surface((u, v) => [900 * (u - 0.4 - 0.2 * v) ** 2, 500 * v, 0]),
      180,
      180,
    ],
    [
      // x turns back and forth again between two looks; round, but far within the length that counts
      'a narrow pleat',
      surface((u, v) => {
        const s = u - 0.53;
        return [3000 * (s ** 3 - 3e-6 * s), 500 * v, 900 * s ** 4 + 40 * s * s];
      }),
      150,
      180,
    ],
    [
      // the sides meet at 2 atan(1/2), in points that lie together at a knot
      'a corner without a break of its knots',
      fittedNet([3, 1], [clampedKnots(3, [0.5, 0.5]), clampedKnots(1)], (u, v) => [
        200 * (2 * u - 1) ** 3,
        300 * v,
        100 * Math.abs(2 * u - 1) ** 3,
      ]),
      degrees(2 * Math.atan(1 / 2)) - 0.5,
      degrees(2 * Math.atan(1 / 2)),
    ],
  ];
  test.each(cases)('%s', (_, net, least, most) => {
    const [flip] = flipsOf(net);
    expect(degrees(flip.angle)).toBeGreaterThan(least - 1e-6);
    expect(degrees(flip.angle)).toBeLessThan(most + 1e-6);
  });

  test('only where it is kept', () => {
    const net = surface((u, v) => [800 * (u - 0.31) ** 3, 500 * v, 400 * (u - 0.31) ** 2]);
    expect(flipsOf(net, (u) => (u > 0.33 ? 'inside' : 'outside'))).toEqual([]);
    expect(flipsOf(net, (u) => (u < 0.33 ? 'inside' : 'outside'))).toHaveLength(1);
  });
});

describe('does not turn over', () => {
  const everyPiece = (net: ControlNet): NormalFlip[] =>
    pieces(net).flatMap((piece) => flipsOf(piece.net));
  test.each([
    ['a sphere, closed and with its poles', sphere(100)],
    [
      'a cone, up to its tip',
      revolvedNet(
        polyline([
          [0, 0],
          [300, 300],
        ]),
      ),
    ],
    [
      'a needle',
      revolvedNet(
        polyline([
          [0, 0],
          [10, 900],
        ]),
      ),
    ],
    ['a pipe bent to a ring', revolvedNet(ellipseArc([50, 0], [8, 0], [0, 8], 0, 2 * Math.PI))],
    [
      'a tube of 0.05 mm on a panel of 500',
      revolvedNet(
        polyline([
          [0.05, 0],
          [0.05, 500],
        ]),
      ),
    ],
    ['an egg with a pointed end', revolvedNet(ellipseArc([0, 0], [0, -400], [4, 0], 0, Math.PI))],
    [
      // as tight as 0.2 mm
      'a panel with a tight ridge',
      surface((u, v) => [20 * u, 400 * v, -1000 * (u - 0.4) ** 2]),
    ],
    ['a flat sheet', surface((u, v) => [800 * u, 500 * v, 0])],
    ['a net folded over by a point, whose surface stays round', ruleFixtures['quad-fold'].missed],
    [
      'a sheet that stands still at a line and goes on',
      surface((u, v) => [800 * (u - 0.37) ** 3, 500 * v, 30 * (u - 0.37) ** 3]),
    ],
  ])('%s', (_, net) => {
    expect(everyPiece(net)).toEqual([]);
  });

  test.each(Object.keys(families))('panels as they are built: %s', (name) => {
    const random = seededRandom(17);
    for (let k = 0; k < 10; k++) expect(everyPiece(families[name](random))).toEqual([]);
  });
});

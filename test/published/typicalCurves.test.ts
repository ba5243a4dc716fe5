import { describe, expect, test } from 'vitest';
import type { ControlNet } from '../../src/geometry/controlNet.ts';
import { surfaceJet } from '../../src/geometry/evaluation.ts';
import { netNormals } from '../../src/measure/outwardSide.ts';
import { sights, type Sight } from '../../src/measure/sights.ts';
import { spacingRatios } from '../../src/measure/spacingRatios.ts';
import { turningJumps } from '../../src/measure/turningJumps.ts';

const ends = (degree: number): Float64Array =>
  Float64Array.from({ length: 2 * degree + 2 }, (_, k) => (k <= degree ? 0 : 1));

/** Each leg is the one before it turned by `turn` and scaled by `scale`; first leg (0,0) to (1,0). */
function typicalPolygon(degree: number, scale: number, turn: number): [number, number][] {
  const points: [number, number][] = [[0, 0]];
  for (let k = 0; k < degree; k++) {
    const [x, y] = points[k];
    points.push([x + scale ** k * Math.cos(k * turn), y + scale ** k * Math.sin(k * turn)]);
  }
  return points;
}

const swept = (degree: number, polygon: [number, number][]): ControlNet => ({
  degree: [degree, 1],
  knots: [ends(degree), ends(1)],
  columns: degree + 1,
  rows: 2,
  points: Float64Array.from([0, 1].flatMap((z) => polygon.flatMap(([x, y]) => [x, y, z]))),
  weights: null,
});

const rowsOf = (net: ControlNet): Sight[] =>
  sights(net, netNormals(net)).filter((s) => s.along === 'row');

/** Signed curvature of the swept curve at t. */
function curvature(net: ControlNet, t: number): number {
  const { u, uu } = surfaceJet(net, t, 0);
  return (u[0] * uu[1] - u[1] * uu[0]) / Math.hypot(u[0], u[1]) ** 3;
}

// Typical curves: Mineur, Lichah, Castelain, Giaume, CAGD 15 (1998) 879-891 (from memory); the
// curvatures at 0, 1/2 and 1 follow from the closed form and were checked with sympy.
describe.each([
  [2, 1.25, 30, 0.3125, 0.243211413, 0.16],
  [3, 1.25, 30, 0.416666667, 0.298286774, 0.170666667],
  [3, 0.8, 30, 0.266666667, 0.466073084, 0.651041667],
  [3, 1.0, 30, 0.333333333, 0.382916105, 0.333333333],
  [3, 1.1, 30, 0.366666667, 0.346415825, 0.250438267],
  [3, 2, 60, 1.154700538, 0.377045074, 0.072168784],
  [3, 0.5, 60, 0.288675135, 1.508180295, 4.618802154],
  [4, 1.2, 20, 0.307818129, 0.206202785, 0.123705202],
  [5, 1.1, 15, 0.22776076, 0.178928906, 0.128565011],
  [5, 1.0, 10, 0.138918542, 0.14213298, 0.138918542],
])('typical curve of degree %d, scale %d, turn %d degrees', (degree, scale, turn, k0, k1, k2) => {
  const net = swept(degree, typicalPolygon(degree, scale, (turn * Math.PI) / 180));

  test('every spacing ratio is the scale', () => {
    const ratios = spacingRatios(rowsOf(net));
    expect(ratios).toHaveLength(2 * (degree - 1));
    for (const { ratio } of ratios) expect(ratio).toBeCloseTo(scale, 12);
  });

  test('every bend is the turn, bulge only, and no bend jumps', () => {
    for (const { turnings } of rowsOf(net))
      for (const bend of turnings.slice(1, -1)) {
        expect(Math.abs((bend!.bulge * 180) / Math.PI)).toBeCloseTo(turn, 10);
        expect(bend!.sway).toBeCloseTo(0, 12);
      }
    for (const { jump } of turningJumps(rowsOf(net), 'bulge')) expect(jump).toBeCloseTo(0, 12);
  });

  test('its curvature at 0, 1/2 and 1', () => {
    expect(curvature(net, 0)).toBeCloseTo(k0, 8);
    expect(curvature(net, 0.5)).toBeCloseTo(k1, 8);
    expect(curvature(net, 1)).toBeCloseTo(k2, 8);
  });
});

test('control points of the second typical curve', () => {
  const points = typicalPolygon(3, 1.25, Math.PI / 6);
  [
    [0, 0],
    [1, 0],
    [2.082531755, 0.625],
    [2.863781755, 1.978164693],
  ].forEach(([x, y], k) => {
    expect(points[k][0]).toBeCloseTo(x, 8);
    expect(points[k][1]).toBeCloseTo(y, 8);
  });
});

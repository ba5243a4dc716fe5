import { describe, expect, test } from 'vitest';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { diagonal, transposed, type ControlNet } from '../../src/geometry/controlNet.ts';
import { surfaceJet, surfaceNormal } from '../../src/geometry/evaluation.ts';
import { footFinder } from '../../src/geometry/foot.ts';
import { domain } from '../../src/geometry/knots.ts';
import { sheetOf } from '../../src/geometry/sheet.ts';
import { surfaceFeet } from '../../src/geometry/surfaceFeet.ts';
import { distance, dot, scaled, sum, vectorAt, type Vector } from '../../src/geometry/vector.ts';

/** A panel bent both ways, its parameters uneven. */
const panel = (spans: number): ControlNet =>
  fittedNet([4, 3], [clampedKnots(4, spans), clampedKnots(3, spans)], (u, v) => {
    const [x, y] = [600 * (u + 0.15 * u * u), 400 * (v - 0.1 * v * v)];
    return [x, y, 60 * Math.sin(x / 260) + 25 * Math.cos(y / 140)];
  });

/** A rational half of a torus' outside about the z axis: 300 mm from the axis, 60 mm thick. */
const ring: ControlNet = (() => {
  const c = Math.SQRT1_2;
  const circle = [
    [1, 0, 1],
    [1, 1, c],
    [0, 1, 1],
    [-1, 1, c],
    [-1, 0, 1],
    [-1, -1, c],
    [0, -1, 1],
    [1, -1, c],
    [1, 0, 1],
  ] as const;
  const arc = [
    [300, -60, 1],
    [360, -60, c],
    [360, 0, 1],
    [360, 60, c],
    [300, 60, 1],
  ] as const;
  return {
    degree: [2, 2],
    knots: [
      Float64Array.of(0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4),
      Float64Array.of(0, 0, 0, 1, 1, 2, 2, 2),
    ],
    columns: 9,
    rows: 5,
    points: Float64Array.from(
      arc.flatMap(([r, z]) => circle.flatMap(([x, y]) => [r * x, r * y, z])),
    ),
    weights: Float64Array.from(arc.flatMap(([, , a]) => circle.map(([, , b]) => a * b))),
  };
})();

/** Points off places of the surface around one of them, along the normal; the places where they stood. */
function pointsOff(net: ControlNet, at: readonly [number, number], radius: number, count: number) {
  const random = seededRandom(11);
  const middle = surfaceJet(net, at[0], at[1]).point;
  const [us, vs] = ([0, 1] as const).map((k) => domain(net.knots[k], net.degree[k]));
  const places: number[] = [];
  const offs: number[] = [];
  while (offs.length < count) {
    const jet = surfaceJet(net, random.between(...us), random.between(...vs));
    const off = random.between(-3, 3);
    if (distance(jet.point, middle) > radius) continue;
    places.push(...sum(jet.point, scaled(surfaceNormal(jet)!, off)));
    offs.push(off);
  }
  return { places: Float64Array.from(places), offs };
}

describe('the feet of many points', () => {
  test.each<[string, ControlNet, readonly [number, number], number]>([
    ['a panel of one span', panel(1), [0.4, 0.6], 250],
    ['a panel of many spans', panel(9), [0.5, 0.5], 90],
    ['a panel, near its corner', panel(4), [0.05, 0.93], 150],
    ['a panel with u and v changed over', transposed(panel(4)), [0.5, 0.3], 200],
    ['a closed ring, over the line where it closes', ring, [0.02, 1], 150],
    ['a closed ring, over its knots', ring, [2, 0.9], 100],
  ])('on %s are where the points stand', (_, net, at, radius) => {
    const sheet = sheetOf(net, 1e-7 * diagonal(net));
    const { places, offs } = pointsOff(net, at, radius, 400);
    const feet = surfaceFeet(sheet, places, { at, radius });
    expect([...feet.isFoot].filter((is) => is === 0)).toEqual([]);
    const find = footFinder(sheet);
    offs.forEach((off, k) => {
      expect(feet.distances[k]).toBeCloseTo(off, 6);
      const point = vectorAt(places, k);
      const own = vectorAt(feet.points, k);
      expect(distance(own, point)).toBeLessThanOrEqual(find(point).gap + 1e-4);
      const normal = vectorAt(feet.normals, k);
      expect(dot(normal, normal)).toBeCloseTo(1, 12);
    });
  });

  test('are none beyond the border', () => {
    const net = panel(3);
    const sheet = sheetOf(net, 1e-7 * diagonal(net));
    const edge = surfaceJet(net, 1, 0.5);
    const away = scaled(edge.u, 1 / Math.hypot(...edge.u));
    const places = [-5, -1, 1, 5, 30].flatMap((way): Vector => sum(edge.point, scaled(away, way)));
    const feet = surfaceFeet(sheet, Float64Array.from(places), { at: [0.97, 0.5], radius: 100 });
    expect([...feet.isFoot]).toEqual([1, 1, 0, 0, 0]);
  });
});

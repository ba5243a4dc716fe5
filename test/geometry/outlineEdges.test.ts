import { describe, expect, test } from 'vitest';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { basisRow } from '../../src/geometry/basis.ts';
import { curveJets } from '../../src/geometry/curveJets.ts';
import type { ControlNet } from '../../src/geometry/controlNet.ts';
import { edgeImage } from '../../src/geometry/edgeImage.ts';
import { pointFromRows, surfaceJet, tangentsFromRows } from '../../src/geometry/evaluation.ts';
import { keptPart, type HalfSpace } from '../../src/geometry/keptPart.ts';
import { domain } from '../../src/geometry/knots.ts';
import type { OutlineEdge } from '../../src/geometry/outlineEdge.ts';
import { outlineEdges } from '../../src/geometry/outlineEdges.ts';
import {
  curveDomain,
  curvePoint,
  ellipseArc,
  polyline,
  type SplineCurve,
} from '../../src/geometry/splineCurve.ts';
import { tangentPlanes } from '../../src/geometry/tangentPlanes.ts';
import { trimmedRegion, type TrimRegion } from '../../src/geometry/trimRegion.ts';
import { distance, dot, scaled, sum, unit, type Vector } from '../../src/geometry/vector.ts';
import { edgeTrace } from '../../src/measure/edgeTrace.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { randomNet } from '../../fixtures/randomNet.ts';
import { revolvedNet, sphere } from './revolvedNet.ts';

/** A plane square of 1000 mm, x = 1000 u, y = 1000 v. */
const square: ControlNet = {
  degree: [1, 1],
  knots: [Float64Array.of(0, 0, 1, 1), Float64Array.of(0, 0, 1, 1)],
  columns: 2,
  rows: 2,
  points: Float64Array.of(0, 0, 0, 1000, 0, 0, 0, 1000, 0, 1000, 1000, 0),
  weights: null,
};

/** A tube of radius 200 mm and height 600 mm, once round in u. */
const tube = revolvedNet(
  polyline([
    [200, 0],
    [200, 600],
  ]),
);

function regionOf(net: ControlNet, ...borders: readonly (readonly SplineCurve[])[]): TrimRegion {
  const region = trimmedRegion(
    net,
    borders.map((border) => border.map((plane) => ({ plane, space: null }))),
    1e-3,
  );
  if ('trouble' in region) throw new Error(region.trouble);
  return region;
}

const circle = (u: number, v: number, ru: number, rv = ru): SplineCurve =>
  ellipseArc([u, v], [ru, 0], [0, rv], 0, 2 * Math.PI);

const box = (u0: number, v0: number, u1: number, v1: number): SplineCurve[] => {
  const corners = [
    [u0, v0],
    [u1, v0],
    [u1, v1],
    [u0, v1],
  ];
  return corners.map((corner, k) => polyline([corner, corners[(k + 1) % 4]]));
};

const plane = (normal: Vector, most: number): HalfSpace => ({ normal: unit(normal)!, most });

const lengthOf = (net: ControlNet, { curve }: OutlineEdge): number => {
  const { s } = edgeTrace(edgeImage(net, curve))!;
  return s[s.length - 1];
};

/** Lengths, rounded to 1e-6 mm, rising: of rims, then of other edges. */
const lengths = (net: ControlNet, edges: readonly OutlineEdge[]): [number[], number[]] => {
  const of = (some: readonly OutlineEdge[]): number[] =>
    some.map((edge) => Math.round(lengthOf(net, edge) * 1e6) / 1e6).sort((a, b) => a - b);
  return [of(edges.filter(({ rim }) => rim)), of(edges.filter(({ rim }) => !rim))];
};

/**
 * Beside each edge the kept part lies where it says, and not on the other side, and edges hang together:
 * from the ends of each another goes on.
 */
function expectOutline(
  net: ControlNet,
  region: TrimRegion | null,
  keep: readonly HalfSpace[],
  edges: readonly OutlineEdge[],
): void {
  const kept = keptPart(net, region, keep);
  const ends = [0, 1].map((side) => domain(net.knots[side], net.degree[side]));
  const tips: Vector[] = [];
  for (const { curve, keptOnLeft, rim } of edges) {
    const [from, to] = curveDomain(curve);
    const jets = curveJets(curve);
    const image = edgeImage(net, curve);
    tips.push(image.at(from).point, image.at(to).point);
    for (const share of [0.1, 0.4, 0.5, 0.9]) {
      const { point, slope } = jets.at(from + share * (to - from));
      const jet = surfaceJet(net, point[0], point[1]);
      const along = unit(sum(scaled(jet.u, slope[0]), scaled(jet.v, slope[1])))!;
      // half a millimetre to the left on the surface
      const left = [-dot(along, jet.v), dot(along, jet.u)];
      const far = 0.5 / Math.hypot(...sum(scaled(jet.u, left[0]), scaled(jet.v, left[1])));
      const standing = (sign: number): string => {
        const at = [0, 1].map((side) => point[side] + sign * far * left[side]);
        const isInside = at.every((x, side) => x >= ends[side][0] && x <= ends[side][1]);
        return isInside ? kept(at[0], at[1]) : 'outside';
      };
      expect(standing(keptOnLeft ? 1 : -1)).toBe('inside');
      expect(standing(keptOnLeft ? -1 : 1)).toBe('outside');
      if (rim) expect(point[rim.side]).toBe(ends[rim.side][rim.end]);
    }
  }
  for (const [k, tip] of tips.entries())
    expect(tips.some((other, at) => at !== k && distance(tip, other) < 0.05)).toBe(true);
}

describe('the outline of', () => {
  test('a surface without trim: its four rims', () => {
    const net = fittedNet([3, 4], [clampedKnots(3, 2), clampedKnots(4)], (u, v) => [
      800 * u,
      500 * v,
      60 * u * u + 40 * u * v,
    ]);
    const edges = outlineEdges(net, { region: null, keep: [] });
    expect(edges.map(({ rim }) => rim)).toEqual([
      { side: 1, end: 0 },
      { side: 1, end: 1 },
      { side: 0, end: 0 },
      { side: 0, end: 1 },
    ]);
    expectOutline(net, null, [], edges);
  });

  test('a rim with a corner: parted there', () => {
    const roof = fittedNet([1, 1], [clampedKnots(1, 2), clampedKnots(1)], (u, v) => [
      400 * u,
      300 * v,
      100 * Math.abs(u - 0.5),
    ]);
    const edges = outlineEdges(roof, { region: null, keep: [] });
    expect(edges.map(({ rim }) => 2 * rim!.side + rim!.end)).toEqual([2, 2, 3, 3, 0, 1]);
    expectOutline(roof, null, [], edges);
  });

  test('a sphere: the seam on both sides, its poles are none', () => {
    const net = sphere(100);
    const edges = outlineEdges(net, { region: null, keep: [] });
    expect(edges.map(({ rim }) => rim)).toEqual([
      { side: 0, end: 0 },
      { side: 0, end: 1 },
    ]);
    expect(lengths(net, edges)[0]).toEqual([314.159265, 314.159265]);
  });

  test('a sphere with a border told around its whole domain: the same', () => {
    const net = sphere(100);
    const [[u0, u1], [v0, v1]] = [0, 1].map((side) => domain(net.knots[side], net.degree[side]));
    const region = regionOf(net, box(u0, v0, u1, v1));
    const edges = outlineEdges(net, { region, keep: [] });
    expect(lengths(net, edges)).toEqual([[314.159265, 314.159265], []]);
    expectOutline(net, region, [], edges);
  });

  test('half a sphere, trimmed at a parallel', () => {
    const net = sphere(100);
    const [[u0, u1], [v0, v1]] = [0, 1].map((side) => domain(net.knots[side], net.degree[side]));
    const region = regionOf(net, box(u0, (v0 + v1) / 2, u1, v1));
    const edges = outlineEdges(net, { region, keep: [] });
    expect(lengths(net, edges)).toEqual([[157.079633, 157.079633], [628.318531]]);
    expectOutline(net, region, [], edges);
  });

  test('a square with a hole: the hole is one edge', () => {
    const region = regionOf(square, box(0, 0, 1, 1), [circle(0.5, 0.5, 0.2)]);
    const edges = outlineEdges(square, { region, keep: [] });
    expect(lengths(square, edges)).toEqual([[1000, 1000, 1000, 1000], [1256.637061]]);
    expectOutline(square, region, [], edges);
  });

  test('a border in one curve with corners, on two rims and off them', () => {
    const region = regionOf(square, [
      polyline([
        [0, 0],
        [1, 0],
        [1, 0.5],
        [0.5, 0.5],
        [0.5, 1],
        [0, 1],
        [0, 0],
      ]),
    ]);
    const edges = outlineEdges(square, { region, keep: [] });
    expect(lengths(square, edges)).toEqual([
      [500, 500, 1000, 1000],
      [500, 500],
    ]);
    expectOutline(square, region, [], edges);
  });

  test('a disc that runs over the rim: what is left of both', () => {
    const region = regionOf(square, [circle(0.5, 0.1, 0.2)]);
    const edges = outlineEdges(square, { region, keep: [] });
    const half = Math.acos(-0.5);
    expect(lengths(square, edges)).toEqual([
      [Math.round(400 * Math.sin(half) * 1e6) / 1e6],
      [Math.round(400 * half * 1e6) / 1e6],
    ]);
    expectOutline(square, region, [], edges);
  });

  test('a border of which sides run along the rim: rims where it does, in many pieces chained', () => {
    const region = regionOf(square, [
      polyline([
        [0.2, 0],
        [0.7, 0],
      ]),
      polyline([
        [0.7, 0],
        [1, 0],
      ]),
      polyline([
        [1, 0],
        [1, 0.6],
      ]),
      polyline([
        [1, 0.6],
        [0.8, 0.6],
      ]),
      polyline([
        [0.8, 0.6],
        [0.5, 0.6],
      ]),
      polyline([
        [0.5, 0.6],
        [0.2, 0],
      ]),
    ]);
    const edges = outlineEdges(square, { region, keep: [] });
    expect(lengths(square, edges)).toEqual([
      [600, 800],
      [500, Math.round(Math.hypot(300, 600) * 1e6) / 1e6],
    ]);
    expectOutline(square, region, [], edges);
  });

  test('a tube: the seam and both ends; trimmed between two lines round it: what they leave', () => {
    const round = Math.round(2 * Math.PI * 200 * 1e6) / 1e6;
    const whole = outlineEdges(tube, { region: null, keep: [] });
    expect(lengths(tube, whole)).toEqual([[600, 600, round, round], []]);
    const [from, to] = domain(tube.knots[0], 2);
    const region = regionOf(
      tube,
      [
        polyline([
          [from, 0.25],
          [to, 0.25],
        ]),
      ],
      [
        polyline([
          [to, 0.75],
          [from, 0.75],
        ]),
      ],
    );
    const edges = outlineEdges(tube, { region, keep: [] });
    expect(lengths(tube, edges)).toEqual([
      [300, 300],
      [round, round],
    ]);
    expectOutline(tube, region, [], edges);
  });

  test('a patch across the seam of a tube: parted at the seam', () => {
    const [from, to] = domain(tube.knots[0], 2);
    const quarter = (to - from) / 4;
    const region = regionOf(tube, box(from - quarter, 0.25, from + quarter, 0.75));
    const edges = outlineEdges(tube, { region, keep: [] });
    const side = Math.round(Math.PI * 100 * 1e6) / 1e6;
    expect(lengths(tube, edges)).toEqual([
      [300, 300],
      [300, 300, side, side, side, side],
    ]);
    expectOutline(tube, region, [], edges);
  });

  test('what planes of the spec keep of a disc', () => {
    const region = regionOf(square, [circle(0.5, 0.5, 0.4)]);
    const keep = [plane([1, 0, 0], 500), plane([0, -1, 0], -300)];
    const edges = outlineEdges(square, { region, keep });
    const low = Math.sqrt(400 ** 2 - 200 ** 2);
    const arc = 400 * (Math.PI / 2 + Math.asin(0.5));
    expect(lengths(square, edges)[0]).toEqual([]);
    [low, 600, arc].forEach((wanted, k) =>
      expect(lengths(square, edges)[1][k]).toBeCloseTo(wanted, 4),
    );
    expectOutline(square, region, keep, edges);
  });

  test('planes told twice, in a rim, in a border, and beside the surface', () => {
    const region = regionOf(square, box(0.25, 0, 1, 1));
    const keep = [
      plane([-1, 0, 0], -250),
      plane([0, 1, 0], 1000),
      plane([0, 1, 0], 600),
      plane([0, 2, 0], 600),
      plane([0, 0, 1], 5),
      plane([1, 0, 0], 2000),
    ];
    const edges = outlineEdges(square, { region, keep });
    expect(lengths(square, edges)).toEqual([
      [600, 750],
      [600, 750],
    ]);
    expectOutline(square, region, keep, edges);
  });

  test('a plane across a crowned surface: the edge lies in it, to a millionth of the size', () => {
    const net = fittedNet([4, 3], [clampedKnots(4, 3), clampedKnots(3, 2)], (u, v) => [
      1000 * u,
      700 * v,
      150 * Math.sin(3 * u) + 90 * v * v * u,
    ]);
    const keep = [plane([1, 0.4, 0.8], 640)];
    const edges = outlineEdges(net, { region: null, keep });
    expectOutline(net, null, keep, edges);
    const cuts = edges.filter(({ rim }) => !rim);
    expect(cuts.length).toBe(1);
    const image = edgeImage(net, cuts[0].curve);
    const [from, to] = curveDomain(cuts[0].curve);
    for (let k = 0; k <= 200; k++) {
      const { point } = image.at(from + (k / 200) * (to - from));
      expect(Math.abs(dot(keep[0].normal, point) - keep[0].most)).toBeLessThan(1e-3);
    }
  });

  test.each(Array.from({ length: 30 }, (_, seed) => seed))(
    'crowned surfaces with borders and planes by chance: kept beside each edge, and closed (%i)',
    (seed) => {
      const random = seededRandom(seed);
      const bend = [0, 1, 2].map(() => random.between(-150, 150));
      const net = fittedNet(
        [3, 3],
        [clampedKnots(3, 1 + random.index(3)), clampedKnots(3)],
        (u, v) => [
          1000 * u,
          700 * v + 40 * Math.sin(3 * u),
          bend[0] * u * u + bend[1] * v * v + bend[2] * u * v,
        ],
      );
      // an ellipse that may stand over the rims, one in it, and planes across
      const [u, v] = [random.between(0.35, 0.65), random.between(0.35, 0.65)];
      const outer = circle(u, v, random.between(0.3, 0.6), random.between(0.3, 0.6));
      const hole = circle(u, v, random.between(0.05, 0.2), random.between(0.05, 0.2));
      const region = random.uniform() < 0.8 ? regionOf(net, [outer], [hole]) : null;
      const middle = surfaceJet(net, u, v).point;
      const keep = Array.from({ length: random.index(3) }, () => {
        const away: Vector = [
          random.between(-1, 1),
          random.between(-1, 1),
          random.between(-0.2, 0.2),
        ];
        const own = unit(away)!;
        return plane(own, dot(own, middle) + random.between(-120, 120));
      });
      const edges = outlineEdges(net, { region, keep });
      expect(edges.length).toBeGreaterThan(0);
      expectOutline(net, region, keep, edges);
    },
  );

  test('nothing that is kept: no edges', () => {
    expect(outlineEdges(square, { region: null, keep: [plane([0, 0, 1], -5)] })).toEqual([]);
  });
});

test('an image is the curve of the surface, and its slope the derivative', () => {
  const random = seededRandom(7);
  for (const rational of [false, true])
    for (let time = 0; time < 20; time++) {
      const net = randomNet(random, rational);
      const at = tangentPlanes(net);
      const [u, v] = [random.uniform(), random.uniform()];
      const bu = basisRow(net.knots[0], net.degree[0], u, 1);
      const bv = basisRow(net.knots[1], net.degree[1], v, 1);
      const own = at(u, v);
      const wanted = { point: pointFromRows(net, bu, bv), ...tangentsFromRows(net, bu, bv) };
      for (const key of ['point', 'u', 'v'] as const)
        expect(distance(own[key], wanted[key])).toBeLessThan(
          1e-9 * (1 + Math.hypot(...wanted[key])),
        );
      for (const curve of [
        polyline([
          [0.1, v],
          [0.9, v],
        ]),
        circle(0.5, 0.5, 0.3, 0.4),
      ]) {
        const image = edgeImage(net, curve);
        const [from, to] = curveDomain(curve);
        const t = random.between(from + 0.01, to - 0.01);
        const [cu, cv] = curvePoint(curve, t);
        expect(distance(image.at(t).point, surfaceJet(net, cu, cv).point)).toBeLessThan(1e-9);
        const step = 1e-6;
        const [low, high] = [image.at(t - step).point, image.at(t + step).point];
        const slope = scaled(sum(high, scaled(low, -1)), 0.5 / step);
        const isAtBreak = image.breaks.some((end) => Math.abs(end - t) <= step);
        if (!isAtBreak)
          expect(distance(slope, image.at(t).slope)).toBeLessThan(
            1e-3 * (1 + Math.hypot(...slope)),
          );
      }
    }
});

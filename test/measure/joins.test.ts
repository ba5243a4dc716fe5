import { describe, expect, test } from 'vitest';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { panelNetwork, type PanelNetwork } from '../../fixtures/panelNetworks.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { reversed, transposed, type ControlNet } from '../../src/geometry/controlNet.ts';
import { edgeImage } from '../../src/geometry/edgeImage.ts';
import { outlineEdges } from '../../src/geometry/outlineEdges.ts';
import { ellipseArc, polyline } from '../../src/geometry/splineCurve.ts';
import { trimmedRegion } from '../../src/geometry/trimRegion.ts';
import { distance, type Vector } from '../../src/geometry/vector.ts';
import { joins, type EdgeStretch, type Join, type Outline } from '../../src/measure/joins.ts';
import { openStretches } from '../../src/measure/openStretches.ts';
import { revolvedNet } from '../geometry/revolvedNet.ts';

const reach = 0.5;

const outlineOf = (net: ControlNet): Outline => ({
  net,
  edges: outlineEdges(net, { region: null, keep: [] }),
});

const outlinesOf = ({ panels }: Pick<PanelNetwork, 'panels'>): Outline[] =>
  panels.map(({ net, region }) => ({ net, edges: outlineEdges(net, { region, keep: [] }) }));

/** The ends of a stretch in space, in the order from, to. */
function endsOf(outlines: readonly Outline[], { panel, edge, from, to }: EdgeStretch): Vector[] {
  const { net, edges } = outlines[panel];
  const image = edgeImage(net, edges[edge].curve);
  return [image.at(from).point, image.at(to).point];
}

describe('40 generated networks', () => {
  test.each(Array.from({ length: 40 }, (_, seed) => seed))(
    'network %i: every join is found, none invented',
    (seed) => {
      const astray = seed % 4 === 3 ? 0.2 * reach : 0;
      const network = panelNetwork(seededRandom(seed), {
        panels: 20,
        isWarped: seed % 2 === 1,
        astray,
      });
      const outlines = outlinesOf(network);
      const found = joins(outlines, reach);
      const close = astray > 0 ? 2 * reach : 1e-5;
      expect(network.joins.length).toBeGreaterThan(25);
      const left = [...found];
      for (const join of network.joins) {
        const at = left.findIndex(({ a, b }) => {
          if (a.panel !== join.panels[0] || b.panel !== join.panels[1]) return false;
          const ends = endsOf(outlines, a);
          return [ends, ends.toReversed()].some((own) =>
            own.every((end, k) => distance(end, join.ends[k]) <= close),
          );
        });
        expect(at, `of panels ${join.panels.join(' and ')}, ${join.length} mm`).not.toBe(-1);
        const [{ a, b, length, gap }] = left.splice(at, 1);
        expect(Math.abs(length - join.length)).toBeLessThan(close);
        expect(gap).toBeLessThan(astray > 0 ? 2 * astray : 1e-6);
        const [one, other] = [endsOf(outlines, a), endsOf(outlines, b)];
        one.forEach((end, k) => expect(distance(end, other[k])).toBeLessThanOrEqual(gap + 1e-9));
      }
      expect(left).toEqual([]);
    },
  );
});

/** Joins as they are without the order of panels: by name of panel, sides in order. */
function named(found: readonly Join[], names: readonly number[]): unknown[] {
  const side = (own: EdgeStretch) => ({ ...own, panel: names[own.panel] });
  const turned = ({ from, to, ...rest }: EdgeStretch): EdgeStretch => ({
    ...rest,
    from: to,
    to: from,
  });
  return found
    .map(({ a, b, length, gap }) => {
      let sides = [side(a), side(b)];
      if (sides[0].panel > sides[1].panel) sides.reverse();
      if (sides[0].from > sides[0].to) sides = sides.map(turned);
      return { sides, length, gap };
    })
    .toSorted((one, other) => (JSON.stringify(one) < JSON.stringify(other) ? -1 : 1));
}

test.each([3, 4, 5])(
  'joins and open stretches do not depend on the order of panels, to the last bit: network %i',
  (seed) => {
    const random = seededRandom(seed);
    const network = panelNetwork(random, { panels: 20, isWarped: seed === 5, astray: 0.1 });
    const outlines = outlinesOf(network);
    const found = joins(outlines, reach);
    const open = openStretches(outlines, found, reach);
    expect(found.length).toBeGreaterThan(30);
    expect(open.length).toBeGreaterThan(5);
    const names = outlines.map((_, k) => k);
    for (let time = 0; time < 3; time++) {
      const order = names.toSorted(() => random.uniform() - 0.5);
      const moved = order.map((k) => outlines[k]);
      const again = joins(moved, reach);
      expect(named(again, order)).toEqual(named(found, names));
      const openAgain = openStretches(moved, again, reach).map((own) => ({
        ...own,
        panel: order[own.panel],
      }));
      expect(openAgain.toSorted((a, b) => a.panel - b.panel || a.edge - b.edge)).toEqual(open);
    }
  },
);

/** A plane rectangle of the plane z = `height`, from one corner to the other. */
const rectangle = (
  [x0, y0]: readonly [number, number],
  [x1, y1]: readonly [number, number],
  height = 0,
): ControlNet => ({
  degree: [1, 1],
  knots: [Float64Array.of(0, 0, 1, 1), Float64Array.of(0, 0, 1, 1)],
  columns: 2,
  rows: 2,
  points: Float64Array.of(x0, y0, height, x1, y0, height, x0, y1, height, x1, y1, height),
  weights: null,
});

const lengthsOf = (found: readonly { readonly length: number }[]): number[] =>
  found.map(({ length }) => Math.round(length * 1e6) / 1e6).sort((a, b) => a - b);

const joinsOf = (...nets: readonly ControlNet[]): Join[] => joins(nets.map(outlineOf), reach);

describe('joins', () => {
  test('of a long edge against three short ones, with a gap of 0.3 mm and a panel that stands over', () => {
    const nets = [
      rectangle([0, 0], [1000, 400]),
      rectangle([-100, -300], [300, -0.3]),
      reversed(rectangle([300, -300], [650, -0.3])),
      transposed(rectangle([650, -300], [1000, -0.3])),
    ];
    const outlines = nets.map(outlineOf);
    const found = joins(outlines, reach);
    const across = found.filter(({ a }) => a.panel === 0);
    expect(new Set(across.map(({ b }) => b.panel))).toEqual(new Set([1, 2, 3]));
    expect(lengthsOf(across)).toEqual([300, 350, 350]);
    for (const join of across) {
      expect(join.gap).toBeCloseTo(0.3, 9);
      const [one, other] = [endsOf(outlines, join.a), endsOf(outlines, join.b)];
      one.forEach(([x], k) => expect(x).toBeCloseTo(other[k][0], 6));
    }
    // the three among themselves
    expect(lengthsOf(found.filter(({ a }) => a.panel > 0))).toEqual([299.7, 299.7]);
    const open = openStretches(outlines, found, reach);
    // 100 mm of the first short one stand over, and nothing is told of what lies between joins
    expect(lengthsOf(open)).toEqual([100, 299.7, 299.7, 350, 350, 400, 400, 400, 1000]);
  });

  test('of none: apart by three times the reach, end to end, at an angle, and across each other', () => {
    const first = rectangle([0, 0], [1000, 400]);
    expect(joinsOf(first, rectangle([0, -300], [1000, -3 * reach]))).toEqual([]);
    expect(joinsOf(first, rectangle([0, 0], [1000, 400], 3 * reach))).toEqual([]);
    // only corners meet
    expect(joinsOf(first, rectangle([1000, 400], [1500, 700]))).toEqual([]);
    expect(joinsOf(first, rectangle([999.8, -300], [1500, -0.1]))).toEqual([]);
    // from one corner at 6 degrees, and across at 14
    const wedge = (slope: number, from: number): ControlNet => {
      const net = rectangle([from, -300], [1000, 0]);
      return {
        ...net,
        points: net.points.map((x, k) => (k % 3 === 1 ? x - slope * net.points[k - 1] : x)),
      };
    };
    expect(joinsOf(first, wedge(Math.tan(0.105), 0))).toEqual([]);
    expect(joinsOf(first, wedge(Math.tan(0.25), -500))).toEqual([]);
  });

  test('that end where two edges drift apart: at the place where they are farther than the reach', () => {
    const first = rectangle([0, 0], [1000, 400]);
    // a parabola that touches the first edge at x = 100 and leaves it
    const parabola = fittedNet([2, 1], [clampedKnots(2), clampedKnots(1)], (u, v) => [
      100 + 900 * u,
      -200 * v - 5 * u * u,
      0,
    ]);
    const outlines = [first, parabola].map(outlineOf);
    const [join, ...others] = joins(outlines, reach);
    expect(others).toEqual([]);
    const [, end] = endsOf(outlines, join.a);
    const [start, opposite] = endsOf(outlines, join.b);
    expect(distance(start, [100, 0, 0])).toBeLessThan(1e-9);
    expect(distance(end, opposite)).toBeCloseTo(reach, 9);
    // square to one of them, which differs from square to the other by a part of 1e-4
    expect(Math.abs(5 * join.b.to ** 2 - reach)).toBeLessThan(1e-4 * reach);
    expect(join.gap).toBeCloseTo(reach, 9);
  });

  test('of panels on one another, of three on one edge, and of one with itself', () => {
    const first = rectangle([0, 0], [1000, 400]);
    expect(lengthsOf(joinsOf(first, transposed(first)))).toEqual([400, 400, 1000, 1000]);
    const three = joinsOf(first, rectangle([0, 0], [1000, -300]), {
      ...first,
      points: Float64Array.of(0, 0, 0, 1000, 0, 0, 0, 0, 200, 1000, 0, 200),
    });
    expect(three.map(({ a, b }) => [a.panel, b.panel])).toEqual([
      [0, 1],
      [0, 2],
      [1, 2],
    ]);
    const tube = revolvedNet(
      polyline([
        [200, 0],
        [200, 600],
      ]),
    );
    const [own, ...none] = joinsOf(tube);
    expect(none).toEqual([]);
    expect([own.a.panel, own.b.panel, own.a.edge === own.b.edge]).toEqual([0, 0, false]);
    expect(own.length).toBeCloseTo(600, 9);
  });

  test('of edges of which the ends stand still, one opposite to the middle of the other', () => {
    const still = (net: ControlNet): ControlNet => {
      const rows = [0, 1].map((row) => [...net.points.subarray(6 * row, 6 * row + 6)]);
      return {
        ...net,
        degree: [3, 1],
        knots: [clampedKnots(3), net.knots[1]],
        columns: 4,
        points: Float64Array.from(
          rows.flatMap((row) => [
            ...row.slice(0, 3),
            ...row.slice(0, 3),
            ...row.slice(3),
            ...row.slice(3),
          ]),
        ),
      };
    };
    const found = joinsOf(
      still(rectangle([0, 0], [1000, 400])),
      still(rectangle([0, -300], [1000, -0.2])),
      still(rectangle([300, 400.3], [1700, 700])),
    );
    expect(lengthsOf(found)).toEqual([700, 1000]);
    for (const { a, b } of found)
      for (const end of [a.to, b.to]) expect(end).toBeLessThanOrEqual(1);
  });

  test('of a strip narrower than the reach with itself: none', () => {
    expect(joinsOf(rectangle([0, 0], [1000, 0.4 * reach]))).toEqual([]);
  });

  test('of a disc in its hole, wherever both begin: all round, in as many joins as there are begins', () => {
    const plate = rectangle([0, 0], [1000, 1000]);
    const hole = trimmedRegion(
      plate,
      [
        [
          polyline([
            [0, 0],
            [1, 0],
            [1, 1],
            [0, 1],
            [0, 0],
          ]),
        ],
        [ellipseArc([0.5, 0.5], [0.2, 0], [0, 0.2], 1, 1 + 2 * Math.PI)],
      ].map((border) => border.map((curve) => ({ plane: curve, space: null }))),
      1e-3,
    );
    const disc = trimmedRegion(
      plate,
      [[{ plane: ellipseArc([0.5, 0.5], [0, 0.1999], [0.1999, 0], 0, 2 * Math.PI), space: null }]],
      1e-3,
    );
    if ('trouble' in hole || 'trouble' in disc) throw new Error('no region');
    const outlines = [hole, disc].map((region) => ({
      net: plate,
      edges: outlineEdges(plate, { region, keep: [] }),
    }));
    const found = joins(outlines, reach);
    expect(found.length).toBe(2);
    const total = found.reduce((sum, { length }) => sum + length, 0);
    expect(total).toBeCloseTo((Math.PI * (400 + 399.8)) / 2, 3);
    for (const { gap } of found) expect(gap).toBeCloseTo(0.1, 6);
    expect(lengthsOf(openStretches(outlines, found, reach))).toEqual([1000, 1000, 1000, 1000]);
  });

  test('of nothing: none', () => {
    expect(joins([], reach)).toEqual([]);
    expect(openStretches([], [], reach)).toEqual([]);
    const point = rectangle([3, 3], [3, 3]);
    expect(joinsOf(point, point)).toEqual([]);
  });
});

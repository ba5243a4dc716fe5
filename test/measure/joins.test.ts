import { describe, expect, test } from 'vitest';
import { panelNetwork, type PanelNetwork } from '../../fixtures/panelNetworks.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { edgeImage } from '../../src/geometry/edgeImage.ts';
import { outlineEdges } from '../../src/geometry/outlineEdges.ts';
import { distance, type Vector } from '../../src/geometry/vector.ts';
import { joins, type EdgeStretch, type Join, type Outline } from '../../src/measure/joins.ts';
import { openStretches } from '../../src/measure/openStretches.ts';

const reach = 0.5;

const outlinesOf = ({ panels }: Pick<PanelNetwork, 'panels'>): Outline[] =>
  panels.map(({ net, region }) => ({ net, edges: outlineEdges(net, { region, keep: [] }) }));

/** The ends of a stretch in space, in the order from, to. */
function endsOf(outlines: readonly Outline[], { panel, edge, from, to }: EdgeStretch): Vector[] {
  const { net, edges } = outlines[panel];
  const image = edgeImage(net, edges[edge].curve);
  return [image.at(from).point, image.at(to).point];
}

describe.each(Array.from({ length: 40 }, (_, seed) => seed))('network %i', (seed) => {
  const astray = seed % 4 === 3 ? 0.2 * reach : 0;
  const network = panelNetwork(seededRandom(seed), {
    panels: 20,
    isWarped: seed % 2 === 1,
    astray,
  });
  const outlines = outlinesOf(network);
  const found = joins(outlines, reach);

  test('every join is found, none invented', () => {
    const close = astray > 0 ? 2 * reach : 1e-5;
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
      one.forEach((end, k) => expect(distance(end, other[k])).toBeLessThanOrEqual(reach));
    }
    expect(left).toEqual([]);
  });
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

test.each([3, 4])(
  'joins and open stretches do not depend on the order of panels: network %i',
  (seed) => {
    const random = seededRandom(seed);
    const network = panelNetwork(random, { panels: 20, isWarped: false, astray: 0.1 });
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

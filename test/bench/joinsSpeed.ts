import { panelNetwork, type NetworkPanel } from '../../fixtures/panelNetworks.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { outlineEdges } from '../../src/geometry/outlineEdges.ts';
import { joins, type Outline } from '../../src/measure/joins.ts';
import { durations } from './durations.ts';
import { figureOf, type Figure } from './figure.ts';

/** mm */
const reach = 0.5;
/** Panels of the largest model; the smaller ones have a half, a quarter and an eighth of them. */
const most = 1000;
/** Panels of one network; networks stand side by side, so that a model grows as a body in parts does. */
const perNetwork = 125;
/** mm from one network to the next. */
const pitch = 9000;

/** Panels of networks side by side, about 40 % of them trimmed. */
function panels(count: number): NetworkPanel[] {
  return Array.from({ length: count / perNetwork }, (_, k) =>
    panelNetwork(seededRandom(100 + k), { panels: perNetwork, isWarped: false, astray: 0.1 }),
  ).flatMap((network, k) =>
    network.panels.map(({ net, region }) => ({
      net: { ...net, points: net.points.map((x, at) => (at % 3 === 0 ? x + k * pitch : x)) },
      region,
    })),
  );
}

const outlinesOf = (some: readonly NetworkPanel[]): Outline[] =>
  some.map(({ net, region }) => ({ net, edges: outlineEdges(net, { region, keep: [] }) }));

/** How the time to find all joins, outlines among it, grows with the number of panels. */
export function joinsFigures(rounds: number): Figure[] {
  const whole = panels(most);
  const counts = [most / 8, most / 4, most / 2, most];
  const found = new Map<number, number>();
  const tasks = Object.fromEntries(
    counts.map((count) => {
      const some = whole.slice(0, count);
      const run = (): void => void found.set(count, joins(outlinesOf(some), reach).length);
      return [String(count), { run }];
    }),
  );
  const taken = durations(tasks, rounds);
  const side = (count: number) => ({
    name: `${count} panels, ${found.get(count)} joins`,
    taken: taken[String(count)],
    amount: { value: count, unit: 'panels' },
  });
  return counts
    .slice(1)
    .map((count) =>
      figureOf(
        `joins: panels a second of ${count}, against a model of ${counts[0]}`,
        'as fast',
        side(count),
        side(counts[0]),
        'at least 0.8: cost near linear in the number of panels',
      ),
    );
}

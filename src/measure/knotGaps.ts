import type { ControlNet } from '../geometry/controlNet.ts';
import { domain, interiorBreakpoints } from '../geometry/knots.ts';

/** The shortest span of one direction. */
export interface KnotGap {
  readonly along: 'row' | 'column';
  /** Shortest span over the mean span; no unit; 1 where all spans are alike. */
  readonly share: number;
  /** Where the shortest span starts, parameter units. */
  readonly at: number;
  readonly spans: number;
}

/** The shortest span of each direction, within the domain. */
export const knotGaps = (net: ControlNet): KnotGap[] =>
  ([0, 1] as const).map((side) => {
    const [low, high] = domain(net.knots[side], net.degree[side]);
    const inner = interiorBreakpoints(net.knots[side], net.degree[side]);
    const ends = [low, ...inner.map(({ value }) => value), high];
    let shortest = { gap: Infinity, at: low };
    for (let k = 1; k < ends.length; k++) {
      const gap = ends[k] - ends[k - 1];
      if (gap < shortest.gap) shortest = { gap, at: ends[k - 1] };
    }
    const spans = ends.length - 1;
    return {
      along: side === 0 ? 'row' : 'column',
      share: (shortest.gap * spans) / (high - low),
      at: shortest.at,
      spans,
    };
  });

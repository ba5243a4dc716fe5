import { edgeImage } from '../geometry/edgeImage.ts';
import { edgeTrace, lengthAt } from './edgeTrace.ts';
import type { EdgeStretch, Join, Outline } from './joins.ts';

/** A stretch of an edge along which no join was found, from < to. */
export interface OpenStretch extends EdgeStretch {
  /** mm */
  readonly length: number;
}

/**
 * What is left of all edges between the joins found within `reach` mm, in the order of panels and edges.
 * Beside a join, what is no longer than twice the reach is left out: it lies within the reach of an end.
 */
export function openStretches(
  outlines: readonly Outline[],
  found: readonly Join[],
  reach: number,
): OpenStretch[] {
  const taken = new Map<string, (readonly [number, number])[]>();
  const key = (panel: number, edge: number): string => `${panel} ${edge}`;
  for (const join of found)
    for (const { panel, edge, from, to } of [join.a, join.b]) {
      const own = taken.get(key(panel, edge)) ?? [];
      own.push(from < to ? [from, to] : [to, from]);
      taken.set(key(panel, edge), own);
    }
  return outlines.flatMap(({ net, edges }, panel) =>
    edges.flatMap(({ curve }, edge): OpenStretch[] => {
      const trace = edgeTrace(edgeImage(net, curve));
      if (!trace) return [];
      const last = trace.t[trace.t.length - 1];
      const own = (taken.get(key(panel, edge)) ?? []).toSorted((a, b) => a[0] - b[0]);
      let from = trace.t[0];
      const open: OpenStretch[] = [];
      const add = (to: number): void => {
        if (!(to > from)) return;
        const length = lengthAt(trace, to) - lengthAt(trace, from);
        if (own.length === 0 || length > 2 * reach) open.push({ panel, edge, from, to, length });
      };
      for (const [start, end] of own) {
        add(start);
        from = Math.max(from, end);
      }
      add(last);
      return open;
    }),
  );
}

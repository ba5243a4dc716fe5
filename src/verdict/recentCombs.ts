import { planeCombs, type SectionComb } from '../measure/sectionCombs.ts';
import { keptOf } from '../rules/subject.ts';
import type { PlacedPanel } from './placedPanel.ts';

/** Panels whose combs are kept: a panel's seams follow each other, so that its neighbours come again soon. */
const mostKept = 64;

/** Gives panels' plane combs at a spacing, signed by S_u x S_v, and keeps those asked for last. */
export function recentCombs(): (placed: PlacedPanel, spacing: number) => readonly SectionComb[] {
  const kept = new Map<PlacedPanel, { readonly spacing: number; readonly combs: SectionComb[] }>();
  return (placed, spacing) => {
    const { net, keptRegion } = placed.body;
    const known = kept.get(placed);
    const own =
      known?.spacing === spacing
        ? known
        : { spacing, combs: planeCombs(net, spacing, 1, keptOf(net, keptRegion)) };
    // the first of a map is the one that was set longest ago
    kept.delete(placed);
    kept.set(placed, own);
    for (const [oldest] of kept) {
      if (kept.size <= mostKept) break;
      kept.delete(oldest);
    }
    return own.combs;
  };
}

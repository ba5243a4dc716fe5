import type { Spot } from '../geometry/controlNet.ts';
import type { Influence } from './rule.ts';

/** As many as a person can try in turn. */
const told = 3;

/** The control points that sway a quantity most, with their shares of what all do together. */
export function influences(sways: readonly (Spot & { readonly sway: number })[]): Influence[] {
  const total = sways.reduce((all, { sway }) => all + Math.abs(sway), 0);
  if (!(total > 0)) return [];
  return sways
    .map(({ row, column, sway }) => ({ row, column, share: Math.abs(sway) / total }))
    .toSorted(
      (a, b) =>
        // alike but for rounding: the choice is made by place
        Math.round(1e9 * (b.share - a.share)) || a.row - b.row || a.column - b.column,
    )
    .slice(0, told);
}

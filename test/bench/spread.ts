/** How a repeated measurement came out. */
export interface Spread {
  readonly median: number;
  readonly least: number;
  readonly greatest: number;
  readonly runs: number;
}

/** Spread of one value or more. */
export function spreadOf(values: readonly number[]): Spread {
  const sorted = values.toSorted((a, b) => a - b);
  const half = sorted.length >> 1;
  const median = sorted.length % 2 === 1 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
  return { median, least: sorted[0], greatest: sorted[sorted.length - 1], runs: sorted.length };
}

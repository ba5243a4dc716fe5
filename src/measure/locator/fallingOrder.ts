/** Indices of the values from the largest down; equal ones in the order they stand. */
export const fallingOrder = (values: ArrayLike<number>): number[] =>
  Array.from({ length: values.length }, (_, k) => k).sort((a, b) => values[b] - values[a]);

/** Index of the largest value; the first of equals. */
export function indexOfMost(values: ArrayLike<number>): number {
  let best = 0;
  for (let k = 1; k < values.length; k++) if (values[k] > values[best]) best = k;
  return best;
}

/** Values that differ by less than this share are alike: rounding must not choose between them. */
const alike = 1e-6;

/** Index of the largest value; of those alike to it the one in the middle. */
export function middleOfMost(values: readonly number[]): number {
  const least = Math.max(...values) * (1 - alike);
  const most = values.flatMap((value, k) => (value >= least ? [k] : []));
  return most[(most.length - 1) >> 1] ?? 0;
}

/** Indices of the `most` largest values from the largest down; of equals the first ones. */
export function leaders(values: ArrayLike<number>, most: number): number[] {
  if (most >= values.length) return fallingOrder(values);
  const chosen: number[] = [];
  for (let k = 0; k < values.length; k++) {
    const value = values[k];
    if (chosen.length === most && !(value > values[chosen[most - 1]])) continue;
    let at = chosen.length < most ? chosen.length : most - 1;
    for (; at > 0 && value > values[chosen[at - 1]]; at--) chosen[at] = chosen[at - 1];
    chosen[at] = k;
  }
  return chosen;
}

/** Indices of the `most` largest values of several lists together, each once, rising. */
export const mergedLeaders = (lists: readonly ArrayLike<number>[], most: number): number[] =>
  [...new Set(lists.flatMap((values) => leaders(values, most)))].sort((a, b) => a - b);

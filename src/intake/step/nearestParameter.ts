/** Dips looked into where several parameters come about as near: a curve may pass a point twice. */
const mostDips = 4;
/** Steps of golden section: the bracket shrinks by 0.618 at each, 60 reach the end of a double. */
const steps = 60;
const ratio = (Math.sqrt(5) - 1) / 2;

/** Where `away` is least between `from` and `to`, where it has one dip there. */
function lowest(away: (t: number) => number, from: number, to: number): number {
  let [a, b] = [from, to];
  let [x1, x2] = [b - ratio * (b - a), a + ratio * (b - a)];
  let [f1, f2] = [away(x1), away(x2)];
  for (let step = 0; step < steps && a < b; step++) {
    if (f1 <= f2) {
      [b, x2, f2] = [x2, x1, f1];
      x1 = b - ratio * (b - a);
      f1 = away(x1);
    } else {
      [a, x1, f1] = [x1, x2, f2];
      x2 = a + ratio * (b - a);
      f2 = away(x2);
    }
  }
  return f1 <= f2 ? x1 : x2;
}

/**
 * The parameter at which a distance `away` is least: sampled at `samples` (rising, at least two), then
 * searched about the lowest of them. The first of equals.
 */
export function nearestParameter(
  away: (t: number) => number,
  samples: readonly number[],
): { readonly t: number; readonly distance: number } {
  const heights = samples.map(away);
  const last = samples.length - 1;
  const dips = heights
    .flatMap((height, k) =>
      (k === 0 || heights[k - 1] > height) && (k === last || heights[k + 1] >= height) ? [k] : [],
    )
    .sort((a, b) => heights[a] - heights[b] || a - b)
    .slice(0, mostDips);
  let best = { t: samples[0], distance: heights[0] };
  for (const k of dips) {
    const inner = lowest(away, samples[Math.max(k - 1, 0)], samples[Math.min(k + 1, last)]);
    for (const t of [samples[k], inner]) {
      const distance = away(t);
      if (distance < best.distance) best = { t, distance };
    }
  }
  return best;
}

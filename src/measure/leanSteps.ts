/**
 * By how much the mean lean over `width` places differs from that over as many before, at each place;
 * NaN where either is not seen.
 */
export function leanSteps(leans: Float64Array, width: number): Float64Array {
  const steps = new Float64Array(leans.length).fill(NaN);
  let [after, before, seen] = [0, 0, 0];
  for (let k = 0; k < leans.length; k++) {
    if (Number.isNaN(leans[k])) {
      [after, before, seen] = [0, 0, 0];
      continue;
    }
    seen++;
    after += leans[k];
    if (seen > width) {
      after -= leans[k - width];
      before += leans[k - width];
    }
    if (seen > 2 * width) before -= leans[k - 2 * width];
    if (seen >= 2 * width) steps[k - width + 1] = (after - before) / width;
  }
  return steps;
}

/** Where the steps of stretches over a least amount are largest. */
export function suspects(steps: Float64Array, least: number): number[] {
  const found: number[] = [];
  let best = -1;
  steps.forEach((step, k) => {
    if (!(Math.abs(step) > least)) {
      if (best >= 0) found.push(best);
      best = -1;
    } else if (best < 0 || Math.abs(step) > Math.abs(steps[best])) best = k;
  });
  if (best >= 0) found.push(best);
  return found;
}

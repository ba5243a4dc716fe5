import type { ControlNet, Spot } from '../geometry/controlNet.ts';

/** Largest weight over smallest, at least 1, and where the largest stands; null for no weights. */
export function weightRange(
  net: ControlNet,
): { readonly ratio: number; readonly spot: Spot } | null {
  const { weights } = net;
  if (!weights) return null;
  let [low, high, at] = [Infinity, 0, 0];
  weights.forEach((weight, index) => {
    low = Math.min(low, weight);
    if (weight > high) [high, at] = [weight, index];
  });
  return {
    ratio: high / low,
    spot: { row: Math.floor(at / net.columns), column: at % net.columns },
  };
}

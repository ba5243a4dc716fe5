const view = new Float64Array(1);
const bits = new BigInt64Array(view.buffer);

/** The double `steps` after a value away from zero (or before it, where negative). */
function neighbour(value: number, steps: bigint): number {
  view[0] = value;
  bits[0] += steps;
  return view[0];
}

/**
 * A length of `mm` in a unit of so many millimetres. Readers multiply by the unit: of the doubles near
 * the quotient that give `mm` again to the last bit, the one with the fewest digits is taken, which is
 * what stood in a file of that unit. Where none does the quotient stands, and reading it back is off by
 * less than 2.3e-16 of the value.
 */
export function ownNumber(mm: number, millimetres: number): number {
  if (millimetres === 1 || mm === 0) return mm;
  const quotient = mm / millimetres;
  let best = quotient;
  let digits = Infinity;
  for (const steps of [0n, 1n, -1n, 2n, -2n]) {
    const candidate = neighbour(quotient, steps);
    if (candidate * millimetres !== mm) continue;
    const length = String(candidate).length;
    if (length < digits) {
      best = candidate;
      digits = length;
    }
  }
  return best;
}

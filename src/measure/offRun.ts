/**
 * How far a value lies off the straight run between its neighbours, over their abscissae: zero for
 * any values that change evenly. Used on turning rates and second differences, which change evenly
 * along a good row.
 */
export function offRun(
  before: number,
  at: number,
  after: number,
  abscissae: readonly [number, number, number],
): number {
  const [a, b, c] = abscissae;
  const share = c > a ? (b - a) / (c - a) : 0.5;
  return at - (before + share * (after - before));
}

/** ln(sum of exp(values)) without overflow; -Infinity for no values or none above it. */
export function logSum(values: ArrayLike<number>): number {
  let most = -Infinity;
  for (let k = 0; k < values.length; k++) if (values[k] > most) most = values[k];
  if (most === -Infinity) return most;
  let total = 0;
  for (let k = 0; k < values.length; k++) total += Math.exp(values[k] - most);
  return most + Math.log(total);
}

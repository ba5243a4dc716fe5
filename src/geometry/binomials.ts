const rows = new Map<number, Float64Array>();

/** The binomial coefficients n over 0 to n over n, kept from call to call. */
export function binomials(n: number): Float64Array {
  const known = rows.get(n);
  if (known) return known;
  const row = new Float64Array(n + 1).fill(1);
  for (let k = 1; k <= n; k++) row[k] = (row[k - 1] * (n - k + 1)) / k;
  rows.set(n, row);
  return row;
}

/** Lower triangle L with L L^T = H, of a symmetric positive definite matrix, row by row. */
export function choleskyFactor(matrix: Float64Array, size: number): Float64Array {
  const lower = new Float64Array(size * size);
  for (let i = 0; i < size; i++)
    for (let j = 0; j <= i; j++) {
      let rest = matrix[i * size + j];
      for (let k = 0; k < j; k++) rest -= lower[i * size + k] * lower[j * size + k];
      lower[i * size + j] =
        i === j ? Math.sqrt(Math.max(rest, 1e-300)) : rest / lower[j * size + j];
    }
  return lower;
}

/** x with L L^T x = right. */
export function solution(lower: Float64Array, right: ArrayLike<number>): Float64Array {
  const size = right.length;
  const x = Float64Array.from(right);
  for (let i = 0; i < size; i++) {
    for (let k = 0; k < i; k++) x[i] -= lower[i * size + k] * x[k];
    x[i] /= lower[i * size + i];
  }
  for (let i = size - 1; i >= 0; i--) {
    for (let k = i + 1; k < size; k++) x[i] -= lower[k * size + i] * x[k];
    x[i] /= lower[i * size + i];
  }
  return x;
}

/** ln det(L L^T). */
export function logDeterminant(lower: Float64Array, size: number): number {
  let total = 0;
  for (let i = 0; i < size; i++) total += 2 * Math.log(lower[i * size + i]);
  return total;
}

/** Square root of one diagonal element of the inverse of L L^T: a standard deviation. */
export function deviation(lower: Float64Array, size: number, at: number): number {
  const one = new Float64Array(size);
  one[at] = 1;
  return Math.sqrt(solution(lower, one)[at]);
}

/**
 * Adds one axis to the normal equations of the strengths of a set of atoms: sum w P P^T to `matrix`
 * (row by row), sum w P x to `right`; `pattern` holds a row of coefficients for every atom.
 */
export function addAxis(
  matrix: Float64Array,
  right: Float64Array,
  set: readonly number[],
  pattern: Float64Array,
  weights: Float64Array,
  values: Float64Array,
): void {
  const size = set.length;
  const count = values.length;
  for (let s = 0; s < size; s++) {
    const from = set[s] * count;
    let pull = 0;
    for (let c = 0; c < count; c++) pull += pattern[from + c] * weights[c] * values[c];
    right[s] += pull;
    for (let t = 0; t <= s; t++) {
      const other = set[t] * count;
      let total = 0;
      for (let c = 0; c < count; c++) total += pattern[from + c] * weights[c] * pattern[other + c];
      matrix[s * size + t] += total;
      if (t < s) matrix[t * size + s] += total;
    }
  }
}

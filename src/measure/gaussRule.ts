/** Nodes in (-1, 1) and weights that sum to 2. */
export interface GaussRule {
  readonly nodes: Float64Array;
  readonly weights: Float64Array;
}

/**
 * Gauss-Legendre quadrature, exact to degree 2*count-1, by Newton's method on the Legendre
 * polynomial. Source: Abramowitz & Stegun, 25.4.29 and 22.7.10.
 */
export function gaussRule(count: number): GaussRule {
  const nodes = new Float64Array(count);
  const weights = new Float64Array(count);
  for (let k = 0; k < count; k++) {
    let x = Math.cos((Math.PI * (k + 0.75)) / (count + 0.5));
    let slope = 1;
    for (let step = 0; step < 8; step++) {
      let [before, value] = [1, x];
      for (let n = 2; n <= count; n++)
        [before, value] = [value, ((2 * n - 1) * x * value - (n - 1) * before) / n];
      slope = (count * (x * value - before)) / (x * x - 1);
      x -= value / slope;
    }
    nodes[k] = x;
    weights[k] = 2 / ((1 - x * x) * slope * slope);
  }
  return { nodes, weights };
}

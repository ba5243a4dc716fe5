import { gaussRule } from '../../src/measure/gaussRule.ts';

const binomial = (n: number, k: number): number =>
  Array.from({ length: k }).reduce<number>((value, _, i) => (value * (n - i)) / (i + 1), 1);

/** Derivatives by arc length to the third of the clothoid with tangent angle k s + c s^2 / 2. */
function clothoidJet(k: number, c: number, s: number): readonly [number, number][] {
  const angle = (t: number): number => k * t + (c * t * t) / 2;
  const { nodes, weights } = gaussRule(24);
  let [x, y] = [0, 0];
  nodes.forEach((node, i) => {
    const t = (s / 2) * (1 + node);
    x += (s / 2) * weights[i] * Math.cos(angle(t));
    y += (s / 2) * weights[i] * Math.sin(angle(t));
  });
  const [cos, sin] = [Math.cos(angle(s)), Math.sin(angle(s))];
  const bend = k + c * s;
  return [
    [x, y],
    [cos, sin],
    [-bend * sin, bend * cos],
    [-c * sin - bend * bend * cos, c * cos - bend * bend * sin],
  ];
}

/**
 * Bezier points of degree 7 in the plane that have, at both ends, the point and three derivatives of a
 * clothoid with curvature `k` and rate `c` at the origin (Hermite), in the order of rising x: over arc
 * lengths 0 to `to`, or `to` to 0. At the origin curvature and rate are those of the clothoid exactly.
 */
export function clothoidRow(k: number, c: number, to: number): readonly [number, number][] {
  const degree = 7;
  const width = Math.abs(to);
  const [start, end] = [clothoidJet(k, c, Math.min(0, to)), clothoidJet(k, c, Math.max(0, to))];
  /** Point i from the i-th differences, which are derivatives times (n - i)! / n!. */
  const points = (jet: readonly (readonly [number, number])[], step: number): [number, number][] =>
    [0, 1, 2, 3].map((i) => {
      let [x, y] = [0, 0];
      let factor = 1;
      for (let d = 0; d <= i; d++) {
        x += binomial(i, d) * factor * jet[d][0];
        y += binomial(i, d) * factor * jet[d][1];
        factor *= step / (degree - d);
      }
      return [x, y];
    });
  return [...points(start, width), ...points(end, -width).reverse()];
}

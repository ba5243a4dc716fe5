import type { ScanBody } from '../geometry/scanBody.ts';
import { surfaceCurvature } from '../geometry/surfaceCurvature.ts';
import {
  axes,
  cross,
  difference,
  dot,
  scaled,
  sum,
  unit,
  vectorAt,
  type Vector,
} from '../geometry/vector.ts';
import { verticesWithin } from '../geometry/verticesWithin.ts';

/** How a scan bends at one place, by its own vertices. */
export interface ScanCurvature {
  /** Unit normal, on the side of the one that was given. */
  readonly normal: Vector;
  /** Principal curvatures, 1/mm, signed with the normal; the one of larger amount first. */
  readonly principal: readonly [number, number];
  /** Unit tangent along which the scan bends most; any where it bends alike in all. */
  readonly direction: Vector;
  /** Standard error of the larger principal curvature, 1/mm, from what the vertices leave. */
  readonly error: number;
  /** What the vertices leave, mm, root of the mean square. */
  readonly noise: number;
}

/** Windows in edges of the scan, tried until the error is small enough. */
const windows = [2.5, 3.5, 5];
/** A quadric has six coefficients; with fewer vertices than this its residuals tell no error. */
const fewestVertices = 10;
/** Rounds of Tukey's weights, and where they end in median residuals (some four standard deviations). */
const rounds = 2;
const tukeyEnd = 6;

/** Solution of a small symmetric system and the inverse of its matrix, by Gauss and Jordan; null where singular. */
function solved(matrix: readonly number[][], right: readonly number[]) {
  const n = right.length;
  const rows = matrix.map((row, i) => [
    ...row,
    right[i],
    ...Array.from({ length: n }, (_, j) => (i === j ? 1 : 0)),
  ]);
  for (let k = 0; k < n; k++) {
    let best = k;
    for (let i = k + 1; i < n; i++) if (Math.abs(rows[i][k]) > Math.abs(rows[best][k])) best = i;
    [rows[k], rows[best]] = [rows[best], rows[k]];
    const pivot = rows[k][k];
    if (!(Math.abs(pivot) > 1e-9)) return null;
    for (let j = k; j < rows[k].length; j++) rows[k][j] /= pivot;
    for (let i = 0; i < n; i++) {
      const factor = rows[i][k];
      if (i === k || factor === 0) continue;
      for (let j = k; j < rows[i].length; j++) rows[i][j] -= factor * rows[k][j];
    }
  }
  return { values: rows.map((row) => row[n]), inverse: rows.map((row) => row.slice(n + 1)) };
}

/** Heights over a plane through a place, as a quadric of both coordinates in shares of the window. */
interface Quadric {
  /** Of 1, x, y, x^2/2, xy, y^2/2. */
  readonly values: readonly number[];
  readonly inverse: readonly number[][];
  readonly variance: number;
}

function quadric(local: readonly Vector[]): Quadric | null {
  const terms = local.map(([x, y]) => [1, x, y, (x * x) / 2, x * y, (y * y) / 2]);
  let weights = local.map(() => 1);
  let found: Quadric | null = null;
  for (let round = 0; round <= rounds; round++) {
    const matrix = Array.from({ length: 6 }, () => [0, 0, 0, 0, 0, 0]);
    const right = [0, 0, 0, 0, 0, 0];
    terms.forEach((row, k) => {
      for (let i = 0; i < 6; i++) {
        right[i] += weights[k] * row[i] * local[k][2];
        for (let j = 0; j < 6; j++) matrix[i][j] += weights[k] * row[i] * row[j];
      }
    });
    const solution = solved(matrix, right);
    if (!solution) return found;
    const { values, inverse } = solution;
    const rests = terms.map((row, k) =>
      row.reduce((rest, term, i) => rest - term * values[i], local[k][2]),
    );
    const freedom = weights.reduce((total, w) => total + w, 0) - 6;
    if (!(freedom > 1)) return found;
    const squares = rests.reduce((total, rest, k) => total + weights[k] * rest * rest, 0);
    found = { values, inverse, variance: squares / freedom };
    const sizes = rests.map(Math.abs).sort((a, b) => a - b);
    const end = tukeyEnd * sizes[sizes.length >> 1];
    if (!(end > 0)) return found;
    weights = rests.map((rest) => Math.max(0, 1 - (rest / end) ** 2) ** 2);
  }
  return found;
}

/** The fit in one window, in the frame of a normal. */
function fitted(
  { tree }: ScanBody,
  place: Vector,
  normal: Vector,
  window: number,
): ScanCurvature | null {
  const numbers = verticesWithin(tree, place, window);
  if (numbers.length < fewestVertices) return null;
  const e1 = unit(cross(normal, Math.abs(normal[0]) < 0.6 ? axes.x : axes.y))!;
  const e2 = cross(normal, e1);
  const local = Array.from(numbers, (k): Vector => {
    const off = scaled(difference(vectorAt(tree.mesh.vertices, k), place), 1 / window);
    return [dot(off, e1), dot(off, e2), dot(off, normal)];
  });
  const fit = quadric(local);
  if (!fit) return null;
  const [, a, b, ...seconds] = fit.values;
  const [uu, uv, vv] = seconds.map((value) => scaled(normal, value / window));
  const curvature = surfaceCurvature({
    point: place,
    u: sum(e1, scaled(normal, a)),
    v: sum(e2, scaled(normal, b)),
    uu,
    uv,
    vv,
  });
  if (!curvature) return null;
  const [k1, k2] = curvature.principal;
  const isFirst = Math.abs(k1) >= Math.abs(k2);
  const direction = curvature.directions?.[isFirst ? 0 : 1] ?? e1;
  const [c, s] = [dot(direction, e1), dot(direction, e2)];
  const by = [c * c, 2 * c * s, s * s];
  let variance = 0;
  for (let i = 0; i < 3; i++)
    for (let j = 0; j < 3; j++) variance += by[i] * by[j] * fit.inverse[3 + i][3 + j];
  return {
    normal: curvature.normal,
    principal: isFirst ? [k1, k2] : [k2, k1],
    direction,
    error: Math.sqrt(Math.max(0, variance * fit.variance)) / window,
    noise: Math.sqrt(fit.variance) * window,
  };
}

/**
 * How a scan bends at a place of it, by a quadric of least squares through its vertices about the place,
 * outliers weighted down: heights z = a + bx + cy + dx^2/2 + exy + fy^2/2 over the plane of `normal` (a
 * unit vector; where the quadric leans, its own curvature formulas count). The window is the smallest in
 * which the curvature is known to `wanted` 1/mm, 2.5 to 5 edges of the scan, and no smaller
 * than `least` mm. Null where too few vertices
 * lie about the place. A bend that is shorter than the window is told flatter than it is. Source: the
 * quadratic fit of Goldfeather and Interrante, A novel cubic-order algorithm for approximating principal
 * direction vectors, ACM Transactions on Graphics 23 (2004), section 3 (from memory); curvature of a
 * height field: any textbook; Tukey's biweight: any textbook on robust fits.
 */
export function scanCurvature(
  body: ScanBody,
  place: Vector,
  normal: Vector,
  wanted: number,
  least = 0,
): ScanCurvature | null {
  let best: ScanCurvature | null = null;
  for (const edges of windows) {
    const next = fitted(body, place, normal, Math.max(least, edges * body.spacing));
    if (next && (!best || next.error < best.error)) best = next;
    if (best && best.error <= wanted) break;
  }
  return best;
}

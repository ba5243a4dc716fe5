import { basisRow } from '../geometry/basis.ts';
import type { ControlNet, Spot } from '../geometry/controlNet.ts';
import { jetFromRows, surfaceNormal } from '../geometry/evaluation.ts';
import { domain } from '../geometry/knots.ts';
import { dot, type Vector } from '../geometry/vector.ts';

/** What moving one control point does to the surface. */
export interface VisibleEffect {
  /** Largest movement of the surface along its own normal, mm. */
  readonly peak: number;
  /** Largest turn of the surface normal, radians. */
  readonly tilt: number;
}

const stations = 12;

/** Parameters spread over the support of one basis function, clear of its ends. */
function supportParameters(knots: Float64Array, degree: number, index: number): number[] {
  const [start, end] = domain(knots, degree);
  const low = Math.max(start, knots[index]);
  const high = Math.min(end, knots[index + degree + 1]);
  return Array.from({ length: stations + 1 }, (_, k) => low + ((high - low) * k) / stations);
}

/**
 * The effect of moving the control point at `spot` by `displacement` (mm): f = (d . n) N_i M_j over
 * the support, its largest amount and its largest slope on the surface. For a move along the normal
 * the peak is the bound |d| max N_i max M_j; for a move within the surface it is what the curvature
 * of the panel makes of it. Sampled on a grid of 13 by 13, which finds the peak of a polynomial bump
 * to about a hundredth. Weights are taken as equal.
 */
export function visibleEffect(net: ControlNet, spot: Spot, displacement: Vector): VisibleEffect {
  const indices = [spot.column, spot.row] as const;
  const [rowsU, rowsV] = ([0, 1] as const).map((side) =>
    supportParameters(net.knots[side], net.degree[side], indices[side]).map((w) =>
      basisRow(net.knots[side], net.degree[side], w, 2),
    ),
  );
  let [peak, tilt] = [0, 0];
  for (const bv of rowsV) {
    for (const bu of rowsU) {
      const jet = jetFromRows(net, bu, bv);
      const normal = surfaceNormal(jet);
      if (!normal) continue;
      const height = dot(displacement, normal);
      const [i, j] = [spot.column - bu.first, spot.row - bv.first];
      const share = (ku: 0 | 1, kv: 0 | 1): number =>
        (bu.values[ku][i] ?? 0) * (bv.values[kv][j] ?? 0);
      const [fu, fv] = [height * share(1, 0), height * share(0, 1)];
      const [e, f, g] = [dot(jet.u, jet.u), dot(jet.u, jet.v), dot(jet.v, jet.v)];
      const slope = Math.sqrt(
        Math.max(0, (g * fu * fu - 2 * f * fu * fv + e * fv * fv) / (e * g - f * f)),
      );
      peak = Math.max(peak, Math.abs(height * share(0, 0)));
      tilt = Math.max(tilt, Math.atan(slope));
    }
  }
  return { peak, tilt };
}

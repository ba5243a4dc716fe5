import { diagonal, type ControlNet } from '../../geometry/controlNet.ts';
import { isClamped, type Knots } from '../../geometry/knots.ts';
import type { SplineCurve } from '../../geometry/splineCurve.ts';
import type { Border } from '../../geometry/trimRegion.ts';
import type { TrimSheet } from './trimSheet.ts';

/** A line this share of the domain off an edge of it lies on that edge; knots agree within it. */
const onEdge = 1e-6;

/** Row (along 0) or column (along 1) of the net that is one of its four edges, at its low or high end. */
interface NetEdge {
  readonly along: 0 | 1;
  readonly high: boolean;
}

/** In the order in which edges are counted: v low, v high, u low, u high. */
const netEdges: readonly NetEdge[] = [
  { along: 0, high: false },
  { along: 0, high: true },
  { along: 1, high: false },
  { along: 1, high: true },
];

/** Where point k of an edge stands in the net's points. */
function spotOf({ rows, columns }: ControlNet, { along, high }: NetEdge, k: number): number {
  if (along === 0) return (high ? rows - 1 : 0) * columns + k;
  return k * columns + (high ? columns - 1 : 0);
}

const pointsOf = ({ rows, columns }: ControlNet, { along }: NetEdge): number =>
  along === 0 ? columns : rows;

/** How far point `a` of one list is from point `b` of another. */
const gap = (one: Float64Array, a: number, other: Float64Array, b: number): number =>
  Math.hypot(
    one[3 * a] - other[3 * b],
    one[3 * a + 1] - other[3 * b + 1],
    one[3 * a + 2] - other[3 * b + 2],
  );

function isCollapsed(net: ControlNet, edge: NetEdge, tolerance: number): boolean {
  const first = spotOf(net, edge, 0);
  for (let k = pointsOf(net, edge) - 1; k > 0; k--)
    if (gap(net.points, first, net.points, spotOf(net, edge, k)) > tolerance) return false;
  return true;
}

/** Knot `at` with the knots from 0 to 1, counted from the other end where `back`. */
function share(knots: Knots, at: number, back: boolean): number {
  const last = knots.length - 1;
  const value = (knots[back ? last - at : at] - knots[0]) / (knots[last] - knots[0]);
  return back ? 1 - value : value;
}

/** Whether a space curve is the whole of an edge, point by point, run that way or backwards. */
function isEdge(
  curve: SplineCurve,
  net: ControlNet,
  edge: NetEdge,
  tolerance: number,
  back: boolean,
): boolean {
  const count = pointsOf(net, edge);
  const { degree, points, weights } = curve;
  if (degree !== net.degree[edge.along] || points.length !== 3 * count) return false;
  if ((weights === null) !== (net.weights === null)) return false;
  const first = spotOf(net, edge, 0);
  for (let k = 0; k < count; k++) {
    const own = back ? count - 1 - k : k;
    const spot = spotOf(net, edge, k);
    if (gap(points, own, net.points, spot) > tolerance) return false;
    if (!weights || !net.weights) continue;
    const from = weights[back ? count - 1 : 0];
    if (Math.abs(net.weights[spot] / net.weights[first] - weights[own] / from) > onEdge)
      return false;
  }
  const knots = net.knots[edge.along];
  return knots.every(
    (_, k) => Math.abs(share(knots, k, false) - share(curve.knots, k, back)) < 1e-9,
  );
}

/** Which edge of the domain a line in the plane lies on, and how much of it; null where on none. */
function domainEdge(
  { points }: SplineCurve,
  { domain }: TrimSheet,
): { readonly edge: number; readonly share: number } | null {
  for (const along of [0, 1] as const) {
    const [low, high] = domain[along];
    const across = domain[1 - along];
    for (const [k, border] of across.entries()) {
      let lies = true;
      for (let at = 1 - along; at < points.length && lies; at += 2)
        lies = Math.abs(points[at] - border) <= onEdge * (across[1] - across[0]);
      if (lies) {
        const length = Math.abs(points[points.length - 2 + along] - points[along]);
        return { edge: 2 * along + k, share: length / (high - low) };
      }
    }
  }
  return null;
}

/**
 * Whether borders are just the surface's own edges, so that nothing is cut off: one border whose pieces
 * lie on the edges and cover each once. An edge that has collapsed to a point may be left out.
 */
export function isUncut(borders: readonly Border[], sheet: TrimSheet, tolerance: number): boolean {
  if (borders.length !== 1) return false;
  const { net } = sheet;
  const near = Math.min(tolerance, onEdge * diagonal(net));
  // Only where the net is clamped across an edge its points are those of the surface's edge.
  const clamped = [1, 0].map((across) => isClamped(net.knots[across], net.degree[across]));
  const covered = [0, 0, 0, 0];
  for (const { plane, space } of borders[0]) {
    if (plane) {
      const found = domainEdge(plane, sheet);
      if (!found) return false;
      covered[found.edge] += found.share;
    } else {
      const found = netEdges.findIndex(
        (edge, k) =>
          covered[k] === 0 &&
          clamped[edge.along] &&
          space &&
          [false, true].some((back) => isEdge(space, net, edge, near, back)),
      );
      if (found < 0) return false;
      covered[found] = 1;
    }
  }
  return covered.every(
    (part, k) =>
      Math.abs(part - 1) <= 2 * onEdge || (part === 0 && isCollapsed(net, netEdges[k], tolerance)),
  );
}

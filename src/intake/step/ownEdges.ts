import { diagonal, pointAt, type ControlNet } from '../../geometry/controlNet.ts';
import { isClamped, type Knots } from '../../geometry/knots.ts';
import type { SplineCurve } from '../../geometry/splineCurve.ts';
import type { Border } from '../../geometry/trimRegion.ts';
import { distance, type Vector } from '../../geometry/vector.ts';
import type { TrimSheet } from './trimSheet.ts';

/** A line this share of the domain off an edge of it lies on that edge; knots agree within it. */
const onEdge = 1e-6;

/** One of the four edges of a net: what runs along it. */
interface NetEdge {
  readonly degree: number;
  readonly knots: Knots;
  readonly points: readonly Vector[];
  readonly weights: readonly number[] | null;
  /** Its points are those of the surface's own edge. */
  readonly isClamped: boolean;
  readonly isCollapsed: boolean;
}

/** v low, v high (points of a row, in u), then u low, u high. */
function netEdges(net: ControlNet, tolerance: number): NetEdge[] {
  const edge = (along: 0 | 1, spots: readonly (readonly [number, number])[]): NetEdge => {
    const points = spots.map(([row, column]) => pointAt(net, row, column));
    return {
      degree: net.degree[along],
      knots: net.knots[along],
      points,
      weights:
        net.weights && spots.map(([row, column]) => net.weights![row * net.columns + column]),
      isClamped: isClamped(net.knots[1 - along], net.degree[1 - along]),
      isCollapsed: points.every((point) => distance(point, points[0]) <= tolerance),
    };
  };
  const row = (at: number): NetEdge =>
    edge(
      0,
      Array.from({ length: net.columns }, (_, column) => [at, column]),
    );
  const column = (at: number): NetEdge =>
    edge(
      1,
      Array.from({ length: net.rows }, (_, line) => [line, at]),
    );
  return [row(0), row(net.rows - 1), column(0), column(net.columns - 1)];
}

const last = <T>(list: ArrayLike<T>): T => list[list.length - 1];

/** Knots from 0 to 1, run backwards where `back`. */
const share = (knots: Knots, at: number, back: boolean): number => {
  const value = (knots[back ? knots.length - 1 - at : at] - knots[0]) / (last(knots) - knots[0]);
  return back ? 1 - value : value;
};

/** Whether a space curve is the whole of an edge, point by point, run either way. */
function isEdge(curve: SplineCurve, edge: NetEdge, tolerance: number): boolean {
  const { degree, points, knots, weights } = edge;
  const count = points.length;
  if (curve.degree !== degree || curve.points.length !== 3 * count) return false;
  if ((curve.weights === null) !== (weights === null)) return false;
  const own = (k: number): Vector => [
    curve.points[3 * k],
    curve.points[3 * k + 1],
    curve.points[3 * k + 2],
  ];
  return [false, true].some((back) => {
    const at = (k: number): number => (back ? count - 1 - k : k);
    return (
      points.every((point, k) => distance(point, own(at(k))) <= tolerance) &&
      knots.every(
        (_, k) => Math.abs(share(knots, k, false) - share(curve.knots, k, back)) < 1e-9,
      ) &&
      (!weights ||
        weights.every(
          (w, k) =>
            Math.abs(w / weights[0] - curve.weights![at(k)] / curve.weights![at(0)]) < onEdge,
        ))
    );
  });
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
  const near = Math.min(tolerance, onEdge * diagonal(sheet.net));
  const edges = netEdges(sheet.net, tolerance);
  const covered = [0, 0, 0, 0];
  for (const { plane, space } of borders[0]) {
    if (plane) {
      const found = domainEdge(plane, sheet);
      if (!found) return false;
      covered[found.edge] += found.share;
    } else {
      const found = edges.findIndex(
        (edge, k) => covered[k] === 0 && edge.isClamped && space && isEdge(space, edge, near),
      );
      if (found < 0) return false;
      covered[found] = 1;
    }
  }
  return edges.every(
    ({ isCollapsed }, k) =>
      Math.abs(covered[k] - 1) <= 2 * onEdge || (isCollapsed && covered[k] === 0),
  );
}

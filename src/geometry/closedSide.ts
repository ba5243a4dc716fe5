import { pointAt, type ControlNet } from './controlNet.ts';
import { surfacePoint } from './evaluation.ts';
import { domain, grevilleAbscissae } from './knots.ts';
import { distance, type Vector } from './vector.ts';

/**
 * The first and last control point of the first row (u) or column (v), where the knots are clamped so
 * that both lie on the surface: what tells most surfaces open at a glance.
 */
function endPoints(net: ControlNet, side: 0 | 1): readonly [Vector, Vector] | null {
  const isClampedAlong = ([0, 1] as const).every((k) => {
    const { length } = net.knots[k];
    const [start, end] = domain(net.knots[k], net.degree[k]);
    return net.knots[k][0] === start && net.knots[k][length - 1] === end;
  });
  if (!isClampedAlong) return null;
  const last = side === 0 ? { row: 0, column: net.columns - 1 } : { row: net.rows - 1, column: 0 };
  return [pointAt(net, 0, 0), pointAt(net, last.row, last.column)];
}

/** True where the edges at both ends of a direction lie on each other, within `tolerance` mm. */
export function isClosed(net: ControlNet, side: 0 | 1, tolerance: number): boolean {
  const ends = endPoints(net, side);
  if (ends && distance(...ends) > tolerance) return false;
  const other = side === 0 ? 1 : 0;
  const [from, to] = domain(net.knots[side], net.degree[side]);
  const [low, high] = domain(net.knots[other], net.degree[other]);
  const at = (end: number, along: number) =>
    side === 0 ? surfacePoint(net, end, along) : surfacePoint(net, along, end);
  return [low, ...grevilleAbscissae(net.knots[other], net.degree[other]), high].every((value) => {
    const along = Math.min(Math.max(value, low), high);
    return distance(at(from, along), at(to, along)) <= tolerance;
  });
}

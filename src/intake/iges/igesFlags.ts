import { pointAt, type ControlNet } from '../../geometry/controlNet.ts';
import { surfacePoint } from '../../geometry/evaluation.ts';
import { domain, grevilleAbscissae } from '../../geometry/knots.ts';
import { distance, type Vector } from '../../geometry/vector.ts';
import type { Notice, Place } from '../fault.ts';

/** PROP1 to PROP5 of a rational B-spline surface, as they stand in the file. */
export type Flags = readonly number[];

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
function isClosed(net: ControlNet, side: 0 | 1, tolerance: number): boolean {
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

/**
 * Flags that say otherwise than the surface: PROP1 and PROP2, closed in u and v; PROP4 and PROP5,
 * periodic, which no surface with a gap can be (IGES 5.3, 4.24). The surface is believed. That a closed
 * one is not called periodic says nothing against it. PROP3 is igesNet's.
 */
export function flagNotices(
  net: ControlNet,
  flags: Flags,
  place: Place,
  tolerance: number,
): Notice[] {
  return ([0, 1] as const).flatMap((side): Notice[] => {
    const closed = isClosed(net, side, tolerance);
    const found = closed ? 'edges that meet' : 'edges that do not meet';
    const told = (what: string, flag: number): Notice => ({
      code: 'flag-contradicts',
      place,
      data: { what, flag, found },
    });
    const [closedFlag, periodicFlag] = [flags[side], flags[3 + side]];
    return [
      ...(closed === (closedFlag === 1) ? [] : [told(`PROP${side + 1}`, closedFlag)]),
      ...(periodicFlag === 1 && !closed ? [told(`PROP${side + 4}`, periodicFlag)] : []),
    ];
  });
}

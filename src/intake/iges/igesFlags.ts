import { isClosed } from '../../geometry/closedSide.ts';
import type { ControlNet } from '../../geometry/controlNet.ts';
import type { Notice, Place } from '../fault.ts';

/** PROP1 to PROP5 of a rational B-spline surface, as they stand in the file. */
export type Flags = readonly number[];

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

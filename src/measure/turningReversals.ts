import { spotOnLine, type Spot } from '../geometry/controlNet.ts';
import type { Sight } from './sights.ts';

/** A row or column that bends one way, then the other. */
export interface TurningReversal {
  readonly along: 'row' | 'column';
  readonly index: number;
  /** The points at which the bend first goes the other way, in order. */
  readonly spots: readonly Spot[];
  /** Number of reversals. */
  readonly count: number;
  /** The largest bend against the run of the bends before it, radians. */
  readonly largest: number;
}

/**
 * Reversals of the bulge along each line. A bend counts as going the other way only when it exceeds
 * `dead` radians, so that rounding and the hand's unevenness on a nearly straight row do not count.
 */
export const turningReversals = (sights: readonly Sight[], dead: number): TurningReversal[] =>
  sights.map((sight) => {
    const spots: Spot[] = [];
    let sense = 0;
    let largest = 0;
    sight.turnings.forEach((bend, at) => {
      if (!bend || Math.abs(bend.bulge) <= dead) return;
      const now = Math.sign(bend.bulge);
      if (sense !== 0 && now !== sense) {
        spots.push(spotOnLine(sight, at));
        largest = Math.max(largest, Math.abs(bend.bulge));
      }
      sense = now;
    });
    return { along: sight.along, index: sight.index, spots, count: spots.length, largest };
  });

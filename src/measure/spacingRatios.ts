import { spotOnLine, type Spot } from '../geometry/controlNet.ts';
import type { Sight } from './sights.ts';

/** How a leg compares with the one before it, at the point between them. */
export interface SpacingRatio {
  readonly along: 'row' | 'column';
  readonly spot: Spot;
  /** Leg after over leg before, each first divided by its Greville gap; no unit. */
  readonly ratio: number;
}

/**
 * Spacing ratios at the inner points of each row and column. Dividing by the Greville gap makes the
 * shorter legs of a clamped end even: a leg over its gap is the control point of the first
 * derivative (maths: Piegl & Tiller, The NURBS Book, eq. 3.4, from memory). Points beside a leg of no
 * length have no ratio and are left out.
 */
export const spacingRatios = (sights: readonly Sight[]): SpacingRatio[] =>
  sights.flatMap((sight) => {
    const rate = sight.legs.map((leg, k) => leg / (sight.abscissae[k + 1] - sight.abscissae[k]));
    return rate.slice(1).flatMap((after, k) => {
      const before = rate[k];
      return before > 0 && after > 0 && Number.isFinite(after / before)
        ? [{ along: sight.along, spot: spotOnLine(sight, k + 1), ratio: after / before }]
        : [];
    });
  });

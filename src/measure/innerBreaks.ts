import type { ControlNet } from '../geometry/controlNet.ts';
import { surfacePoint } from '../geometry/evaluation.ts';
import { domain, interiorBreakpoints } from '../geometry/knots.ts';
import { polyline } from '../geometry/splineCurve.ts';
import type { Vector } from '../geometry/vector.ts';
import type { SeamSide } from './seamCrossings.ts';
import { seamProfile, type SeamMeasure } from './seamProfile.ts';
import { seamStations } from './seamStations.ts';

/** A knot inside the panel across which the surface may have a gap, a corner, or a break of its curvature. */
export interface InnerBreak {
  /** Direction in which the knot stands: a break in a row (u) runs along a column. */
  readonly along: 'row' | 'column';
  /** The control point line on (or just before) the break. */
  readonly index: number;
  /** Knot value, parameter units, and its multiplicity. */
  readonly value: number;
  readonly multiplicity: number;
  /** Largest distance between the two sides, mm. */
  readonly gap: number;
  /** Largest angle between the normals of the two sides, radians. */
  readonly angle: number;
  /** Largest relative difference of the normal curvatures across, 0 to 2. */
  readonly mismatch: number;
  /** Where the angle is largest, and where the difference of the curvatures is, mm. */
  readonly position: Vector;
  readonly bendPosition: Vector;
  /** True where no station has a normal on both sides. */
  readonly isBlind: boolean;
}

/** How far inside the domain its ends are measured, as a share of it: a collapsed edge has no normal. */
const justInside = 1e-3;

const most = ({ peak }: SeamMeasure): number => (peak ? Math.abs(peak.value) : 0);

/**
 * Gap, corner and break of curvature at every interior knot at which the derivatives up to `order` need
 * not be continuous (1: multiplicity p or more; 2: p - 1 or more), measured as along a seam between the
 * surface before the knot and the one behind it. `flatRadius`: radii beyond it count as flat, mm.
 */
export function innerBreaks(net: ControlNet, order: 1 | 2, flatRadius = Infinity): InnerBreak[] {
  return ([0, 1] as const).flatMap((side) => {
    const other = side === 0 ? 1 : 0;
    const degree = net.degree[side];
    const [low, high] = domain(net.knots[other], net.degree[other]);
    const [first, last] = [low + justInside * (high - low), high - justInside * (high - low)];
    return interiorBreakpoints(net.knots[side], degree)
      .filter((b) => b.multiplicity > degree - order)
      .map((b): InnerBreak => {
        const at = (w: number): [number, number] => (side === 0 ? [b.value, w] : [w, b.value]);
        const curve = polyline([at(first), at(last)]);
        const [from, to] = [curve.knots[0], curve.knots[curve.knots.length - 1]];
        const half = (keptOnLeft: boolean): SeamSide => ({
          net,
          edge: { curve, keptOnLeft, rim: null },
          from,
          to,
        });
        const { stations } = seamStations(half(true), half(false), flatRadius);
        const { gap, angle, mismatch } = seamProfile(stations);
        const middle = surfacePoint(net, ...at((first + last) / 2));
        return {
          along: side === 0 ? 'row' : 'column',
          index: b.first - 1,
          value: b.value,
          multiplicity: b.multiplicity,
          gap: most(gap),
          angle: most(angle),
          mismatch: most(mismatch),
          position: angle.peak?.station.points[0] ?? middle,
          bendPosition: mismatch.peak?.station.points[0] ?? middle,
          isBlind: angle.peak === null,
        };
      });
  });
}

import { shiftedCurve } from '../../../src/geometry/closedLoop.ts';
import type { ControlNet } from '../../../src/geometry/controlNet.ts';
import { polyline } from '../../../src/geometry/splineCurve.ts';
import type { TrimLoop, TrimRegion } from '../../../src/geometry/trimRegion.ts';

/** A profile [radius, height, weight] turned round z by rational quarters: exact circles. */
export function revolved(
  profile: readonly (readonly [number, number, number])[],
  knots: readonly number[],
): ControlNet {
  const s = Math.SQRT1_2;
  const ring = [
    [1, 0],
    [1, 1],
    [0, 1],
    [-1, 1],
    [-1, 0],
    [-1, -1],
    [0, -1],
    [1, -1],
    [1, 0],
  ];
  return {
    degree: [2, 2],
    knots: [Float64Array.of(0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4), Float64Array.from(knots)],
    columns: 9,
    rows: profile.length,
    points: Float64Array.from(
      profile.flatMap(([radius, z]) => ring.flatMap(([x, y]) => [radius * x, radius * y, z])),
    ),
    weights: Float64Array.from(
      profile.flatMap(([, , w]) => ring.map((_, k) => (k % 2 ? s * w : w))),
    ),
  };
}

/** Closed in u, whose period is 4; v runs from 0 to 1. */
export const tube: ControlNet = revolved(
  [
    [50, 0, 1],
    [60, 50, 1],
    [40, 120, 1],
  ],
  [0, 0, 0, 1, 1, 1],
);
/** Closed in u, collapsed at both ends of v, which runs from 0 to 2. */
export const ball: ControlNet = revolved(
  [
    [0, -50, 1],
    [50, -50, Math.SQRT1_2],
    [50, 0, 1],
    [50, 50, Math.SQRT1_2],
    [0, 50, 1],
  ],
  [0, 0, 0, 1, 1, 2, 2, 2],
);

/** A ring round, which ends a period on from where it began. */
const ring = (height: (share: number) => number, sense: 1 | -1, from = 0): TrimLoop => {
  const count = 24;
  const points = Array.from({ length: count + 1 }, (_, k) => [
    from + (sense * 4 * k) / count,
    height(k / count),
  ]);
  return { curves: [polyline(points)], winds: [sense, 0] };
};
const wavy = (middle: number) => (share: number) => middle + 0.05 * Math.sin(2 * Math.PI * share);
const hole: TrimLoop = {
  curves: [
    polyline([
      [0.8, 0.45],
      [0.9, 0.45],
      [0.9, 0.55],
      [0.8, 0.45],
    ]),
  ],
  winds: [0, 0],
};
const period = [4, null] as const;
const region = (...loops: TrimLoop[]): TrimRegion => ({ loops, period, tolerance: 0.01 });

/** Regions of the tube and the ball whose borders run round them. */
export const roundRegions: readonly (readonly [string, ControlNet, TrimRegion])[] = [
  [
    'a band between two level rings',
    tube,
    region(
      ring(() => 0.25, 1),
      ring(() => 0.75, -1),
    ),
  ],
  [
    'a band between two wavy rings that start apart, with a hole a period away',
    tube,
    region(ring(wavy(0.7), -1, 3.3), ring(wavy(0.25), 1, 1.2), {
      ...hole,
      curves: hole.curves.map((curve) => shiftedCurve(curve, [4, 0])),
    }),
  ],
  ['what is above one ring', tube, region(ring(wavy(0.5), 1, 0.5))],
  ['what is below one ring', tube, region(ring(wavy(0.5), -1, 0.5))],
  ['a cap of a ball, its pole kept', ball, region(ring(wavy(1.4), 1, 2))],
  ['a ball without that cap, with a hole', ball, region(ring(wavy(1.4), -1, 2), hole)],
];

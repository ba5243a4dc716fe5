import type { ControlNet } from '../../geometry/controlNet.ts';
import type { SplineCurve } from '../../geometry/splineCurve.ts';
import { trimmedRegion } from '../../geometry/trimRegion.ts';
import type { Notice, Place } from '../fault.ts';
import { borderTolerance } from '../joinTolerance.ts';
import type { LengthUnit } from '../lengthUnit.ts';
import type { Trim } from '../panel.ts';
import { trimNotice } from '../trimNotice.ts';

interface NetCurve {
  readonly degree: number;
  readonly knots: readonly number[];
  readonly points: readonly (readonly [number, number])[];
  readonly weights?: readonly number[] | null;
}

/** The `trim` of a panel (net.schema.json); `tolerance` is in the file's units. */
export interface NetTrim {
  readonly tolerance?: number;
  readonly loops: readonly (readonly NetCurve[])[];
}

const curveOf = ({ degree, knots, points, weights }: NetCurve): SplineCurve => ({
  dimension: 2,
  degree,
  knots: Float64Array.from(knots),
  points: Float64Array.from(points.flat()),
  weights: weights ? Float64Array.from(weights) : null,
});

/** The part of a net that is kept, and what to tell where its borders give none. */
export function netTrim(
  { tolerance, loops }: NetTrim,
  net: ControlNet,
  { millimetres }: LengthUnit,
  place: Place,
): { readonly trim: Trim; readonly notices: readonly Notice[] } {
  const borders = loops.map((curves) =>
    curves.map((curve) => ({ plane: curveOf(curve), space: null })),
  );
  const close = tolerance === undefined ? borderTolerance(net, 0) : tolerance * millimetres;
  const region = trimmedRegion(net, borders, close);
  return 'trouble' in region
    ? { trim: { kind: 'unread', place }, notices: [trimNotice(region, place)] }
    : { trim: { kind: 'part', region, place }, notices: [] };
}

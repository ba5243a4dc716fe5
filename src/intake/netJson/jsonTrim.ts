import type { ControlNet } from '../../geometry/controlNet.ts';
import type { SplineCurve } from '../../geometry/splineCurve.ts';
import { trimmedRegion, type Border } from '../../geometry/trimRegion.ts';
import type { Notice, Place } from '../fault.ts';
import { borderTolerance } from '../joinTolerance.ts';
import type { LengthUnit } from '../lengthUnit.ts';
import type { Trim } from '../panel.ts';
import { trimNotice } from '../trimNotice.ts';

/** A curve in the parameter plane, as net.schema.json has it. */
interface JsonCurve {
  readonly degree: number;
  readonly knots: readonly number[];
  readonly points: readonly (readonly [number, number])[];
  readonly weights?: readonly number[] | null;
}

/** The trim of a panel: loops of curves that follow each other, and a tolerance in the file's unit. */
export interface JsonTrim {
  readonly tolerance?: number;
  readonly loops: readonly (readonly JsonCurve[])[];
}

const planeCurve = ({ degree, knots, points, weights }: JsonCurve): SplineCurve => ({
  dimension: 2,
  degree,
  knots: Float64Array.from(knots),
  points: Float64Array.from(points.flat()),
  weights: weights ? Float64Array.from(weights) : null,
});

/** The region that the loops cut from a net, or `unread` with a notice that says why there is none. */
export function jsonTrim(
  net: ControlNet,
  { tolerance = 0, loops }: JsonTrim,
  unit: LengthUnit,
  place: Place,
): { readonly trim: Trim; readonly notices: readonly Notice[] } {
  const borders = loops.map((loop): Border =>
    loop.map((curve) => ({ plane: planeCurve(curve), space: null })),
  );
  const region = trimmedRegion(net, borders, borderTolerance(net, tolerance * unit.millimetres));
  return 'trouble' in region
    ? { trim: { kind: 'unread', place }, notices: [trimNotice(region, place)] }
    : { trim: { kind: 'part', region, place }, notices: [] };
}

import type { SplineCurve } from '../geometry/splineCurve.ts';
import type { Place } from './fault.ts';
import type { LengthUnit } from './lengthUnit.ts';

/** A B-spline curve in space that a file holds by itself, and that bounds or makes nothing. */
export interface FreeCurve {
  readonly name: string;
  readonly place: Place;
  readonly unit: LengthUnit;
  /** Millimetres, in its own frame. */
  readonly curve: SplineCurve;
}

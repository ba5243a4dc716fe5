import { difference, dot, length, type Vector } from './vector.ts';

/** What lies on one side of a plane: all points p with (p - at) . goes <= 0, mm. */
export interface HalfSpace {
  /** A point of the plane. */
  readonly at: Vector;
  /** A direction of any length, towards what goes. */
  readonly goes: Vector;
}

/** How far a point lies beyond the plane, mm; negative where it is kept. */
export const beyond = ({ at, goes }: HalfSpace, point: Vector): number =>
  dot(difference(point, at), goes) / length(goes);

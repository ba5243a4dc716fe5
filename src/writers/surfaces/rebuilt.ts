import type { ControlNet } from '../../geometry/controlNet.ts';
import { inPlace, unplacedPoint, type Placement } from '../../geometry/placement.ts';
import type { SplineCurve } from '../../geometry/splineCurve.ts';
import { scaled, type Vector } from '../../geometry/vector.ts';
import type { FreeCurve } from '../../intake/freeCurve.ts';
import type { NetChange, Refusal } from './netChange.ts';

/** A curve as it was read, and what is to stand in its place, mm in its own frame. */
export interface CurveChange {
  readonly free: FreeCurve;
  readonly curve: SplineCurve;
}

/** What is to be built anew in a file. */
export interface Rebuilding {
  readonly nets: readonly NetChange[];
  readonly curves: readonly CurveChange[];
}

/** The file with what could be built anew, and the panels for which that could not be. */
export interface RebuiltFile {
  readonly bytes: Uint8Array;
  readonly refused: readonly Refusal[];
}

/**
 * The net in the frame in which a file holds it, still in millimetres; null where that cannot be told. In
 * IGES the placement comes before the unit, which is the same for a length as after it.
 */
export function unplacedNet(
  net: ControlNet,
  placement: Placement,
  millimetres: number,
  apply: 'unit-first' | 'placement-first',
): ControlNet | null {
  if (placement === inPlace) return net;
  const points = new Float64Array(net.points.length);
  for (let at = 0; at < points.length; at += 3) {
    const p: Vector = [net.points[at], net.points[at + 1], net.points[at + 2]];
    const own =
      apply === 'unit-first'
        ? unplacedPoint(placement, p)
        : unplacedPoint(placement, scaled(p, 1 / millimetres));
    if (!own || !own.every(Number.isFinite)) return null;
    points.set(apply === 'unit-first' ? own : scaled(own, millimetres), at);
  }
  return { ...net, points };
}

/** The changes by record, each once: panels cut from one surface share its net. */
export const netsByRecord = (nets: readonly NetChange[]): ReadonlyMap<string, NetChange> =>
  new Map(
    nets.flatMap((change) =>
      change.panel.place.record === undefined ? [] : [[change.panel.place.record, change]],
    ),
  );

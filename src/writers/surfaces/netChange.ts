import type { Spot } from '../../geometry/controlNet.ts';
import type { ControlNet } from '../../geometry/controlNet.ts';
import { inPlace, unplacedPoint, type Placement } from '../../geometry/placement.ts';
import { scaled, type Vector } from '../../geometry/vector.ts';
import type { Panel } from '../../intake/panel.ts';
import { ownNumber } from './ownNumber.ts';

/** A panel as it was read, and its net with other points: in millimetres, in the model's frame. */
export interface NetChange {
  readonly panel: Panel;
  readonly net: ControlNet;
}

/**
 * Why a net cannot be put back into its file. `build`: more than points is new. `missing`: the file does
 * not hold it where it was read. `places`: it stands in several places, which would all change. `shared`:
 * another entity has the same records. `two-nets`: two panels cut from one surface have unlike nets.
 * `kind`: the file does not hold its points as numbers.
 */
export interface Refusal {
  readonly panel: string;
  readonly why: 'build' | 'missing' | 'places' | 'shared' | 'two-nets' | 'kind';
}

/** The file with the nets changed, or why it is not: then nothing of it is. */
export type ChangedFile = Uint8Array | readonly Refusal[];

const areAlike = (one: Float64Array | null, other: Float64Array | null): boolean =>
  one === other ||
  (one !== null &&
    other !== null &&
    one.length === other.length &&
    one.every((value, k) => Object.is(value, other[k])));

function isSameBuild(one: ControlNet, other: ControlNet): boolean {
  return (
    one.columns === other.columns &&
    one.rows === other.rows &&
    ([0, 1] as const).every(
      (side) =>
        one.degree[side] === other.degree[side] && areAlike(one.knots[side], other.knots[side]),
    ) &&
    areAlike(one.weights, other.weights)
  );
}

/** The changes by the record they belong to, each record once; refusals besides. */
export function changesByRecord(changes: readonly NetChange[]): {
  readonly byRecord: ReadonlyMap<string, NetChange>;
  readonly refused: readonly Refusal[];
} {
  const byRecord = new Map<string, NetChange>();
  const refused: Refusal[] = [];
  for (const change of changes) {
    const { panel, net } = change;
    const { record } = panel.place;
    const known = record === undefined ? undefined : byRecord.get(record);
    if (record === undefined) refused.push({ panel: panel.name, why: 'missing' });
    else if (!isSameBuild(panel.net, net)) refused.push({ panel: panel.name, why: 'build' });
    else if (known && !areAlike(known.net.points, net.points))
      refused.push({ panel: panel.name, why: 'two-nets' });
    else byRecord.set(record, change);
  }
  return { byRecord, refused };
}

/** One coordinate that is new, in the file's unit and frame. */
export interface MovedCoordinate extends Spot {
  readonly axis: 0 | 1 | 2;
  readonly value: number;
}

/**
 * The coordinates that a file has to hold instead. Where the file places the surface, all three of a
 * moved point are new: they read back to some units in the last place of the largest coordinate. Else
 * those that differ are, and they read back as `ownNumber` says. `apply` is how the reader goes from the
 * file's numbers to the model: unit first (STEP) or placement first (IGES).
 */
export function movedCoordinates(
  { panel, net }: NetChange,
  placement: Placement,
  apply: 'unit-first' | 'placement-first',
): MovedCoordinate[] {
  const { columns, points } = net;
  const { millimetres } = panel.unit;
  const moved: MovedCoordinate[] = [];
  for (let at = 0; at < points.length; at += 3) {
    const axes = ([0, 1, 2] as const).filter(
      (axis) => points[at + axis] !== panel.net.points[at + axis],
    );
    if (axes.length === 0) continue;
    const spot: Spot = { row: Math.floor(at / 3 / columns), column: (at / 3) % columns };
    const p: Vector = [points[at], points[at + 1], points[at + 2]];
    if (placement === inPlace)
      for (const axis of axes)
        moved.push({ ...spot, axis, value: ownNumber(p[axis], millimetres) });
    else {
      const own =
        apply === 'unit-first'
          ? unplacedPoint(placement, p)?.map((mm) => ownNumber(mm, millimetres))
          : unplacedPoint(placement, scaled(p, 1 / millimetres));
      for (const axis of [0, 1, 2] as const)
        moved.push({ ...spot, axis, value: own?.[axis] ?? NaN });
    }
  }
  return moved;
}

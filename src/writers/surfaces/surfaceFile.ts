import { diagonal } from '../../geometry/controlNet.ts';
import type { LengthUnit } from '../../intake/lengthUnit.ts';
import type { Panel } from '../../intake/panel.ts';

/** What a file of surfaces is made of. */
export interface SurfaceFile {
  readonly panels: readonly Panel[];
  /** The unit its numbers are to be in; a form that does not know it is written in millimetres. */
  readonly unit: LengthUnit;
  /** Name of the file, for its header. */
  readonly name: string;
  /** Version of this program, for its header. */
  readonly tool: string;
  readonly at: Date;
}

/** The bytes of a file, and what of it is other than what was to be written. */
export interface WrittenSurfaces {
  readonly bytes: Uint8Array;
  /** The unit its numbers are in. */
  readonly unit: LengthUnit;
  readonly remarks: Remarks;
}

/** What a writer notices on its way that a person should know. */
export class Remarks {
  /** mm by which a border in space may leave the one in the parameter plane, at most. */
  departure = 0;
  /** Panels whose region falls into several faces. */
  readonly parted: string[] = [];
  /** Names with letters that the format has no rule for. */
  oddNames = 0;
}

/** Share of the size of all panels that a file without trims tells apart. */
const finestShare = 1e-6;

/**
 * The smallest distance a file is to tell apart, mm: the coarsest tolerance of its trims, else a
 * millionth of its largest panel.
 */
export function resolution(panels: readonly Panel[]): number {
  const trims = panels.flatMap(({ trim }) => (trim.kind === 'part' ? [trim.region.tolerance] : []));
  return trims.length > 0
    ? Math.max(...trims)
    : finestShare * panels.reduce((most, { net }) => Math.max(most, diagonal(net)), 0);
}

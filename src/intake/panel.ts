import type { ControlNet } from '../geometry/controlNet.ts';
import type { TrimRegion } from '../geometry/trimRegion.ts';
import type { Fault, Notice, Place } from './fault.ts';
import type { LengthUnit } from './lengthUnit.ts';

/**
 * What part of the surface is kept. `whole`: the file says nothing else. `part`: what its borders
 * enclose. `unread`: the file trims the surface, and no region could be made of it, which a notice
 * says. Net rules judge the whole net in any case.
 */
export type Trim =
  | { readonly kind: 'whole' }
  | { readonly kind: 'part'; readonly region: TrimRegion; readonly place: Place }
  | { readonly kind: 'unread'; readonly place: Place };

/**
 * One surface to be judged. The net is in millimetres in the model's frame. Where a file trims one
 * surface in several ways, each is a panel, and they hold the same net object: it is judged once.
 */
export interface Panel {
  readonly name: string;
  readonly place: Place;
  /** The file's own unit, for giving coordinates back. */
  readonly unit: LengthUnit;
  readonly net: ControlNet;
  readonly trim: Trim;
  /** Names of the groups and layers of the file that it belongs to, in order of their code points. */
  readonly groups?: readonly string[];
}

/** Surfaces a file holds that no rule here can judge, by kind. */
export interface Unjudged {
  /** "IGES 122", "STEP CYLINDRICAL_SURFACE". */
  readonly kind: string;
  /** The standard's name of the kind: "tabulated cylinder". */
  readonly label: string;
  readonly count: number;
  readonly places: readonly Place[];
}

/** All that one file gives. A file may give panels and faults at once; format null: not recognised. */
export interface Intake {
  readonly format: 'iges' | 'step' | 'vda-fs' | 'obj' | 'net-json' | null;
  readonly unit: LengthUnit;
  readonly panels: readonly Panel[];
  readonly unjudged: readonly Unjudged[];
  readonly faults: readonly Fault[];
  readonly notices: readonly Notice[];
}

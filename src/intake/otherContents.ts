import type { Format } from './format.ts';
import { igesOtherContents } from './iges/igesOtherContents.ts';
import { netNotes } from './netJson/netNotes.ts';
import { objOtherContents } from './obj/objOtherContents.ts';
import { stepOtherContents } from './step/stepOtherContents.ts';
import { vdaOtherContents } from './vdafs/vdaOtherContents.ts';

/** Things of one kind that a file holds besides its surfaces and what places, trims and names them. */
export interface OtherContent {
  /** "IGES 212", "STEP STYLED_ITEM". */
  readonly kind: string;
  /** What a person calls it: "general note". */
  readonly label: string;
  readonly count: number;
}

const counters: Readonly<Record<Format, (bytes: Uint8Array) => OtherContent[]>> = {
  iges: igesOtherContents,
  step: stepOtherContents,
  'vda-fs': vdaOtherContents,
  obj: objOtherContents,
  'net-json': netNotes,
};

/** What a file that was read in this format holds and no panel carries; surfaces are told by the intake. */
export const otherContents = (format: Format, bytes: Uint8Array): OtherContent[] =>
  counters[format](bytes);

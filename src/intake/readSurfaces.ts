import type { Fault } from './fault.ts';
import { recognisedFormat, type Format } from './format.ts';
import { readIges } from './iges/readIges.ts';
import { millimetre } from './lengthUnit.ts';
import { readNetJson } from './netJson/readNetJson.ts';
import { readObjSurfaces } from './obj/readObjSurfaces.ts';
import type { Intake } from './panel.ts';
import { readStep } from './step/readStep.ts';
import { readVdaFs } from './vdafs/readVdaFs.ts';

const readers: Readonly<Record<Format, (bytes: Uint8Array) => Intake>> = {
  iges: readIges,
  step: readStep,
  'vda-fs': readVdaFs,
  obj: readObjSurfaces,
  'net-json': readNetJson,
};

/** What a file gave that could not be read at all. */
export const unreadIntake = (fault: Fault): Intake => ({
  format: null,
  unit: millimetre,
  panels: [],
  unjudged: [],
  faults: [fault],
  notices: [],
});

/** The panels of one file, or faults. `name` is only looked at for its ending. Never throws. */
export function readSurfaces(name: string, bytes: Uint8Array): Intake {
  const format = recognisedFormat(name, bytes);
  return typeof format === 'string' ? readers[format](bytes) : unreadIntake(format);
}

import type { Format } from '../../intake/format.ts';
import { changedIges } from './changedIges.ts';
import { changedNetJson } from './changedNetJson.ts';
import { changedStep } from './changedStep.ts';
import type { ChangedFile, NetChange } from './netChange.ts';

/** Formats that are written. */
export type WrittenFormat = Extract<Format, 'iges' | 'step' | 'net-json'>;

const forms: Readonly<
  Record<WrittenFormat, (bytes: Uint8Array, changes: readonly NetChange[]) => ChangedFile>
> = { iges: changedIges, step: changedStep, 'net-json': changedNetJson };

/**
 * A file with the points of some of its nets changed and all else kept byte for byte; without changes
 * the file itself. `panels` of the changes are those that reading these bytes gave.
 */
export const changedFile = (
  format: WrittenFormat,
  bytes: Uint8Array,
  changes: readonly NetChange[],
): ChangedFile => forms[format](bytes, changes);

import { endings } from '../intake/format.ts';
import { isThere } from './isThere.ts';
import { hasGlob } from './listedFiles.ts';
import { UsageFault } from './usageFault.ts';
import { isOneFile } from './writtenFile.ts';

/** A name and the ending of a format that is read; any other ending belongs to the name. */
export function nameParts(name: string): { readonly stem: string; readonly ending: string } {
  const lower = name.toLowerCase();
  const end = Object.values(endings)
    .flat()
    .find((known) => lower.endsWith(known) && lower.length > known.length);
  const cut = name.length - (end?.length ?? 0);
  return { stem: name.slice(0, cut), ending: name.slice(cut) };
}

/** Refuses a pattern where one file is to be named. `verb` is what is done to it. */
export function refusePattern(file: string, verb: string): void {
  if (hasGlob(file) && !isThere(file))
    throw new UsageFault(
      `${verb} takes one file by its name, no pattern. Give the name of a file.`,
    );
}

/** Refuses to write where the file that is read, or anything else, is. `verb` is what is done to that file. */
export function refuseTaken(path: string, file: string, verb: string): void {
  if (isOneFile(path, file))
    throw new UsageFault(
      `${path} is the file to ${verb}. Give another name with --output: nothing that was read is written over.`,
    );
  if (isThere(path))
    throw new UsageFault(
      `${path} is there already and is not written over. Give another name with --output, or remove it first.`,
    );
}

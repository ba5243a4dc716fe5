import { unreadIntake, readSurfaces } from './intake/readSurfaces.ts';
import type { Fault } from './intake/fault.ts';
import type { Brief } from './rules/brief.ts';
import { judgedFile, type JudgedFile } from './verdict/judgedFile.ts';

/** A file as the audit gets it: its name for the verdict, and its bytes or why there are none. */
export type Source = { readonly name: string } & (
  { readonly bytes: Uint8Array } | { readonly fault: Fault }
);

/**
 * The pipeline for one file: bytes -> panels -> quantities -> judgements -> nudges -> findings. A
 * verdict (verdict/verdict.ts) gathers the files of a run, and a writer puts it into words.
 */
export function auditedFile(source: Source, brief: Brief): JudgedFile {
  if ('fault' in source) return judgedFile(source.name, null, unreadIntake(source.fault), brief);
  return judgedFile(source.name, source.bytes, readSurfaces(source.name, source.bytes), brief);
}

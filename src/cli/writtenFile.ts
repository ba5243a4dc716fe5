import {
  closeSync,
  mkdirSync,
  openSync,
  realpathSync,
  renameSync,
  rmSync,
  writeFileSync,
  writeSync,
} from 'node:fs';
import { dirname, resolve } from 'node:path';
import { UsageFault } from './usageFault.ts';

const real = (path: string): string => {
  try {
    return realpathSync(path);
  } catch {
    return resolve(path);
  }
};

/** Whether two paths lead to one file. */
export const isOneFile = (one: string, other: string): boolean => real(one) === real(other);

/** Refuses to write over one of the files that are read, before any work is done. */
export function keepApart(path: string, read: readonly string[]): void {
  if (read.some((other) => isOneFile(path, other)))
    throw new UsageFault(
      `--output ${path} is one of the files being audited. Give another name: nothing that was read is written over.`,
    );
}

function removed(path: string): void {
  try {
    rmSync(path, { force: true });
  } catch {
    // Where it could not be made it need not go.
  }
}

/** Writes pieces one after the other. */
function writePieces(path: string, pieces: readonly Uint8Array[]): void {
  const descriptor = openSync(path, 'w');
  try {
    for (const piece of pieces)
      for (let at = 0; at < piece.length;) at += writeSync(descriptor, piece, at);
  } finally {
    closeSync(descriptor);
  }
}

/**
 * Writes a file at once: beside it first, then by renaming, so that a reader never sees
 * half of it.
 */
export function writtenFile(
  path: string,
  content: string | Uint8Array | readonly Uint8Array[],
): void {
  const beside = `${path}.${process.pid}.part`;
  try {
    mkdirSync(dirname(path), { recursive: true });
    if (Array.isArray(content)) writePieces(beside, content as readonly Uint8Array[]);
    else writeFileSync(beside, content as string | Uint8Array);
    renameSync(beside, path);
  } catch (error) {
    removed(beside);
    throw new UsageFault(
      `${path} cannot be written (${(error as NodeJS.ErrnoException).code}). Give --output a file in a folder you may write to.`,
    );
  }
}

import { closeSync, openSync, readFileSync, readSync, statSync } from 'node:fs';
import { isScan, largestBytes, type Source } from '../audit.ts';
import type { ByteSource } from '../intake/byteSource.ts';
import { fault } from '../intake/fault.ts';
import { systemFault, type ListedFile } from './listedFiles.ts';

/** An open file as a source; reads at any place. */
const fileSource = (descriptor: number, size: number): ByteSource => ({
  size,
  read: (into, at) => readSync(descriptor, into, 0, into.length, at),
});

/**
 * Hands a listed file to `use`, with its bytes, or with why there are none; a scan is read piece by
 * piece while `use` runs, and its mesh may take `most` bytes. What the system says of a file, also while
 * it is read, is a fault.
 */
export function openedFile<T>(
  { path, name, fault: known }: ListedFile,
  most: number,
  use: (source: Source) => T,
): T {
  if (known) return use({ name, fault: known });
  let descriptor: number | null = null;
  try {
    const found = statSync(path);
    // Opening a pipe would wait for a writer that may never come.
    if (!found.isFile()) return use({ name, fault: fault('not-a-file', {}) });
    const { size } = found;
    if (isScan(name)) {
      descriptor = openSync(path, 'r');
      return use({ name, scan: fileSource(descriptor, size), most });
    }
    if (size > largestBytes)
      return use({ name, fault: fault('file-too-large', {}, { bytes: size, most: largestBytes }) });
    return use({ name, bytes: readFileSync(path) });
  } catch (error) {
    // Any other error is a defect, and no word on the file.
    if (!(error instanceof Error && 'syscall' in error)) throw error;
    return use({ name, fault: systemFault(error) });
  } finally {
    if (descriptor !== null) closeSync(descriptor);
  }
}

import { readFileSync, statSync } from 'node:fs';
import type { Source } from '../audit.ts';
import { fault } from '../intake/fault.ts';
import { systemFault, type ListedFile } from './listedFiles.ts';

/** Larger files are refused before they are opened: readers index bytes with 32 bits. */
const largestBytes = 2 ** 31 - 1;

/** A listed file with its bytes, or why there are none. */
export function openedFile({ path, name, fault: known }: ListedFile): Source {
  if (known) return { name, fault: known };
  try {
    const found = statSync(path);
    // Opening a pipe would wait for a writer that may never come.
    if (!found.isFile()) return { name, fault: fault('not-a-file', {}) };
    const { size } = found;
    if (size > largestBytes)
      return { name, fault: fault('file-too-large', {}, { bytes: size, most: largestBytes }) };
    return { name, bytes: readFileSync(path) };
  } catch (error) {
    return { name, fault: systemFault(error) };
  }
}

import { scanDecimal, scanned } from '../decimal.ts';

const backslash = 92;

/** Blanks are all bytes up to the space; a text from another world may hold any of them. */
export const blank = 32;

/** Offset of the end of the word at `at`; `to` is behind a line end. */
export function wordEnd(bytes: Uint8Array, at: number): number {
  let end = at;
  while (bytes[end] > blank) end++;
  return end;
}

/** Numbers that are none, as the run-time libraries of C write them: nan, -nan(ind), inf, 1.#QNAN. */
const noNumber = /^[-+]?(nan|inf|\d\.#)/i;

export const wordText = (bytes: Uint8Array, at: number, end: number): string =>
  Buffer.from(bytes.buffer, bytes.byteOffset + at, Math.min(end - at, 40)).toString('latin1');

/**
 * Reads the word at `at` as a number into `scanned`; NaN for a word that says so. False where the word
 * is no number as a whole: `scanned.end` is then its end.
 */
export function scanCoordinate(bytes: Uint8Array, at: number, to: number): boolean {
  if (scanDecimal(bytes, at, to)) {
    const c = bytes[scanned.end];
    if (c <= blank || c === backslash) return true;
  }
  scanned.end = wordEnd(bytes, at);
  scanned.value = NaN;
  return noNumber.test(wordText(bytes, at, scanned.end));
}

import { scanDecimal, scanned } from '../decimal.ts';

const [backslash, zero, nine] = [92, 48, 57];
const [lineFeed, carriageReturn] = [10, 13];

/** Blanks are all bytes up to the space; a text from another world may hold any of them. */
export const blank = 32;

/** Offset of the end of the word at `at`; `to` is behind a line end. */
export function wordEnd(bytes: Uint8Array, at: number): number {
  let end = at;
  while (bytes[end] > blank) end++;
  return end;
}

export const isLineEnd = (c: number): boolean => c === lineFeed || c === carriageReturn;

/** Offset of the next word on the line, or of the line end where there is none. */
export function wordOnLine(bytes: Uint8Array, at: number): number {
  let i = at;
  while (bytes[i] <= blank && bytes[i] !== lineFeed && bytes[i] !== carriageReturn) i++;
  return i;
}

/** Offset of the end of the line. */
export function lineEnd(bytes: Uint8Array, at: number): number {
  let end = at;
  while (bytes[end] !== lineFeed && bytes[end] !== carriageReturn) end++;
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

/** As scanCoordinate, quicker for words of a few digits, which numbers of vertices are. */
export function scanCount(bytes: Uint8Array, at: number, to: number): boolean {
  let value = 0;
  let i = at;
  let c = bytes[i];
  // Below 2^31, so that it is computed in whole numbers.
  while (c >= zero && c <= nine && i < at + 9) {
    value = (value * 10 + (c - zero)) | 0;
    c = bytes[++i];
  }
  if (c > blank || i === at) return scanCoordinate(bytes, at, to);
  scanned.value = value;
  scanned.end = i;
  return true;
}

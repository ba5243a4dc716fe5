import { filledBytes, type ByteSource } from '../byteSource.ts';
import { isLineEnd } from './coordinate.ts';

const lineFeed = 10;
const carriageReturn = 13;
const backslash = 92;

const blockLength = 2 ** 18;

/** Line ends added to a text: a backslash may take back the first. */
const added = 2;

/** A line longer than this many bytes is not read: no mesh has one. */
export const longestLine = 2 ** 24;

/**
 * Takes the lines of bytes[from..to), which ends with a line end; `at` is the offset of bytes[0] in
 * the source. Gives false where it wants no more.
 */
type TakeLines = (bytes: Uint8Array, from: number, to: number, at: number) => boolean;

/** Whether the line end at `at` is taken back by a backslash before it. */
function isContinued(bytes: Uint8Array, at: number): boolean {
  const before = bytes[at] === lineFeed && bytes[at - 1] === carriageReturn ? at - 2 : at - 1;
  return before >= 0 && bytes[before] === backslash;
}

/** Offset behind the last line end below `end`, 0 where there is none. */
function wholeLines(bytes: Uint8Array, end: number, continued: boolean): number {
  for (let at = end - 1; at >= 0; at--)
    if (isLineEnd(bytes[at]) && !(continued && isContinued(bytes, at))) return at + 1;
  return 0;
}

/**
 * Hands a text from offset `start` on to `take`, in blocks of whole lines; line ends are added to the
 * last, so that it has one. `continued`: a backslash before a line end joins two lines. Gives the offset
 * of a line that is too long to be read, where the reading ended; else null.
 */
export function takeTextBlocks(
  source: ByteSource,
  start: number,
  continued: boolean,
  take: TakeLines,
): number | null {
  let block = new Uint8Array(Math.min(blockLength, source.size - start + added));
  let kept = 0;
  let at = start;
  for (;;) {
    const room = block.length - kept - added;
    const read = filledBytes(source, block.subarray(kept, kept + room), at + kept);
    const end = kept + read;
    if (read < room || at + end >= source.size) {
      block.fill(lineFeed, end, end + added);
      if (end > 0) take(block, 0, end + added, at);
      return null;
    }
    const whole = wholeLines(block, end, continued);
    if (whole > 0) {
      if (!take(block, 0, whole, at)) return null;
      block.copyWithin(0, whole, end);
      at += whole;
    } else if (block.length >= longestLine) return at;
    else {
      const longer = new Uint8Array(2 * block.length);
      longer.set(block);
      block = longer;
    }
    kept = end - whole;
  }
}

/** Line, from 1, of a byte of a text: line ends are LF, CR LF, or CR. */
export function lineAt(source: ByteSource, byte: number): number {
  const block = new Uint8Array(Math.min(blockLength, byte + 1));
  let line = 1;
  let last = 0;
  for (let at = 0; at < byte; at += block.length) {
    const count = filledBytes(source, block.subarray(0, Math.min(block.length, byte - at)), at);
    for (let k = 0; k < count; k++) {
      const c = block[k];
      if (c === carriageReturn || (c === lineFeed && last !== carriageReturn)) line++;
      last = c;
    }
    if (count < block.length) break;
  }
  return line;
}

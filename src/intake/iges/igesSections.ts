import { fault, type Fault } from '../fault.ts';
import { fixedInteger } from './fixedInteger.ts';

/** The records (lines) of one section: where each starts in the file, and its line from 1. */
export interface Records {
  readonly starts: readonly number[];
  readonly lines: readonly number[];
}

/** A file in fixed-length ASCII form, cut into its sections (IGES 5.3, 2.2 and 2.2.4). */
export interface Sections {
  readonly bytes: Uint8Array;
  readonly global: Records;
  readonly directory: Records;
  readonly parameter: Records;
  readonly terminate: Records;
  readonly faults: readonly Fault[];
}

/** Columns of a record; the section's letter stands in the 73rd (IGES 5.3, 2.2). */
const columns = 80;
const letterColumn = 72;

const lineFeed = 10;
const carriageReturn = 13;
const space = 32;
const letterB = 66;
const letterC = 67;
const letters = 'SGDPT';

interface Growing {
  readonly starts: number[];
  readonly lines: number[];
}
const none = (): Growing => ({ starts: [], lines: [] });

/**
 * Gives the end of the line that starts at an offset: that of its line end, or of the file. Offsets
 * asked for must not fall, so that each kind of line end is searched for once.
 */
function lineEnds(bytes: Uint8Array): (from: number) => number {
  // Buffer.indexOf is several times as fast as that of a plain array
  const text = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.length);
  const next = (c: number, from: number): number => {
    const found = text.indexOf(c, from);
    return found < 0 ? bytes.length : found;
  };
  let feed = -1;
  let back = -1;
  return (from) => {
    if (feed < from) feed = next(lineFeed, from);
    if (back < from) back = next(carriageReturn, from);
    return Math.min(feed, back);
  };
}

function isBlank(bytes: Uint8Array, from: number, to: number): boolean {
  for (let at = from; at < to; at++) if (bytes[at] !== space) return false;
  return true;
}

/** True where records follow each other without line ends: a first line of two records or more. */
const isUnbroken = (bytes: Uint8Array, start: number, end: number): boolean =>
  end - start >= 2 * columns &&
  letters.includes(String.fromCharCode(bytes[start + columns + letterColumn]));

/**
 * What the file is, where it is not of the fixed-length form. The compressed form begins with a
 * record marked C (IGES 5.3, 2.3), the binary form with the letter B (appendix H; from memory).
 */
function otherForm(start: number, letter: number, isKnown: boolean): string | null {
  if (letter === letterC) return 'compressed';
  if (isKnown) return null;
  return start === letterB || letter === letterB ? 'binary' : 'unknown';
}

/** Records the terminate record states (IGES 5.3, 2.2.4.6) and the file does not have. */
function countFaults(bytes: Uint8Array, start: number, line: number, found: Growing[]): Fault[] {
  return ['D', 'P'].flatMap((section, k) => {
    const expected = fixedInteger(bytes, start + 17 + 8 * k, 7) ?? 0;
    const count = found[k].starts.length;
    return count < expected
      ? [fault('iges-count', { line, record: 'T1' }, { what: section, found: count, expected })]
      : [];
  });
}

/**
 * Cuts a file into sections by the letter in column 73. Lines may end in line feed, carriage return
 * or both, or not at all (80-column blocks). Everything after the terminate record is left unread,
 * as the standard asks (2.2).
 */
export function igesSections(bytes: Uint8Array): Sections {
  const found: Record<string, Growing> = { S: none(), G: none(), D: none(), P: none(), T: none() };
  const faults: Fault[] = [];
  const marked = bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf;
  let at = marked ? 3 : 0;
  const lineEnd = lineEnds(bytes);
  const blocks = isUnbroken(bytes, at, lineEnd(at));
  let stray = 0;
  let strayLine = 0;
  let first: { readonly start: number; readonly letter: number } | null = null;
  for (let line = 1; at < bytes.length && found['T'].starts.length === 0; line++) {
    const end = blocks ? Math.min(at + columns, bytes.length) : lineEnd(at);
    const letter = at + letterColumn < end ? bytes[at + letterColumn] : 0;
    const section = letter > 0 ? letters.indexOf(String.fromCharCode(letter)) : -1;
    if (section >= 0) {
      const { starts, lines } = found[letters[section]];
      starts.push(at);
      lines.push(line);
    } else if (!isBlank(bytes, at, end)) {
      if (stray++ === 0) strayLine = line;
    }
    if (!first && !isBlank(bytes, at, end)) first = { start: bytes[at], letter };
    at = blocks
      ? end
      : end + (bytes[end] === carriageReturn && bytes[end + 1] === lineFeed ? 2 : 1);
  }
  const isKnown = ['G', 'D', 'P'].some((section) => found[section].starts.length > 0);
  const form = otherForm(first?.start ?? 0, first?.letter ?? 0, isKnown);
  if (form !== null) {
    const empty = { global: none(), directory: none(), parameter: none(), terminate: none() };
    return { bytes, ...empty, faults: [fault('iges-form', { line: 1 }, { form })] };
  }
  if (stray > 0)
    faults.push(fault('iges-record', { line: strayLine }, { what: 'section', found: stray }));
  for (const section of 'GDPT')
    if (found[section].starts.length === 0) faults.push(fault('iges-section', {}, { section }));
  const { T } = found;
  if (T.starts.length > 0)
    faults.push(...countFaults(bytes, T.starts[0], T.lines[0], [found['D'], found['P']]));
  return {
    bytes,
    global: found['G'],
    directory: found['D'],
    parameter: found['P'],
    terminate: T,
    faults,
  };
}

/** The records of a section by their sequence numbers, and the numbers by position from 0. */
export interface Numbering {
  /** -1 where no record has the number. */
  readonly positionOf: (sequence: number) => number;
  readonly sequenceAt: (position: number) => number;
}

/**
 * A record's number is its count from the section's start (IGES 5.3, 2.2). Where a file was thinned
 * out and kept its numbers they are followed; where they are in no order the count alone is.
 */
export function recordNumbering(bytes: Uint8Array, starts: readonly number[]): Numbering {
  const count = starts.length;
  const counted: Numbering = {
    positionOf: (sequence) =>
      Number.isInteger(sequence) && sequence >= 1 && sequence <= count ? sequence - 1 : -1,
    sequenceAt: (position) => position + 1,
  };
  const stated = (k: number): number => fixedInteger(bytes, starts[k] + letterColumn + 1, 7) ?? 0;
  if (count === 0 || (stated(0) === 1 && stated(count - 1) === count)) return counted;
  const positions = new Map<number, number>();
  let before = 0;
  for (let k = 0; k < count; k++) {
    const sequence = stated(k);
    if (sequence <= before) return counted;
    positions.set(sequence, k);
    before = sequence;
  }
  return { positionOf: (sequence) => positions.get(sequence) ?? -1, sequenceAt: stated };
}

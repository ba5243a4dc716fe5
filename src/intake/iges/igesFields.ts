import { scanDecimal, scanned } from '../decimal.ts';

/** The characters that end a parameter and a record (IGES 5.3, 2.2.3). */
export interface Delimiters {
  readonly parameter: number;
  readonly record: number;
}

/** Free-formatted data, read from front to back. */
export interface Cursor {
  readonly bytes: Uint8Array;
  readonly end: number;
  readonly delimiters: Delimiters;
  at: number;
  /** True behind the record delimiter. */
  ended: boolean;
}

/** One parameter; null where it is empty and its default holds. */
export type Field = number | string | null;

/** Why reading stopped, and at which byte of the cursor. */
export interface Trouble {
  readonly what: 'number' | 'string' | 'unended' | 'short';
  readonly at: number;
  /** Parameters read before it. */
  readonly read: number;
}

const space = 32;
const letterH = 72;

function skipBlanks(cursor: Cursor, from: number): number {
  const { bytes, end } = cursor;
  let at = from;
  while (at < end && bytes[at] === space) at++;
  return at;
}

/** Steps over the delimiter at `at`; false where none stands there. */
function delimited(cursor: Cursor, at: number): boolean {
  if (at >= cursor.end) return false;
  const c = cursor.bytes[at];
  if (c === cursor.delimiters.record) cursor.ended = true;
  else if (c !== cursor.delimiters.parameter) return false;
  cursor.at = at + 1;
  return true;
}

/**
 * Fills `target` with numbers; an empty parameter is 0, the implicit default (IGES 5.3, 2.2.2.1 and
 * 2.2.2.2). Null when all were read. The hot loop of the reader: nothing is allocated in it.
 */
export function numbersInto(cursor: Cursor, target: Float64Array): Trouble | null {
  const { bytes, end } = cursor;
  const { parameter, record } = cursor.delimiters;
  let at = cursor.at;
  for (let read = 0; read < target.length; read++) {
    if (cursor.ended) return { what: 'short', at, read };
    while (at < end && bytes[at] === space) at++;
    const start = at;
    if (at < end && bytes[at] !== parameter && bytes[at] !== record) {
      if (!scanDecimal(bytes, at, end)) return { what: 'number', at, read };
      target[read] = scanned.value;
      at = scanned.end;
      while (at < end && bytes[at] === space) at++;
    }
    if (at >= end) return { what: 'unended', at: start, read };
    if (bytes[at] === record) cursor.ended = true;
    else if (bytes[at] !== parameter) return { what: 'number', at: start, read };
    cursor.at = ++at;
  }
  return null;
}

const utf8 = new TextDecoder('utf-8', { fatal: true });

/** Text of a string; the standard allows ASCII only, files in use carry UTF-8 or Latin-1 as well. */
export function decoded(bytes: Uint8Array): string {
  try {
    return utf8.decode(bytes);
  } catch {
    return Buffer.from(bytes).toString('latin1');
  }
}

/** The next parameter of any type: number, string (nH..., IGES 5.3, 2.2.2.3), bare text, or empty. */
function nextField(cursor: Cursor, read: number): Field | Trouble {
  const { bytes, end } = cursor;
  const start = skipBlanks(cursor, cursor.at);
  if (delimited(cursor, start)) return null;
  if (start >= end) return { what: 'unended', at: start, read };
  if (scanDecimal(bytes, start, end)) {
    const { value, end: behind } = scanned;
    if (delimited(cursor, skipBlanks(cursor, behind))) return value;
    if (bytes[behind] === letterH && Number.isInteger(value) && value >= 0) {
      const from = behind + 1;
      if (value > end - from) return { what: 'string', at: start, read };
      return delimited(cursor, skipBlanks(cursor, from + value))
        ? decoded(bytes.subarray(from, from + value))
        : { what: from + value >= end ? 'unended' : 'string', at: start, read };
    }
  }
  let at = start;
  while (at < end && !delimited(cursor, at)) at++;
  return at < end ? decoded(bytes.subarray(start, at)) : { what: 'unended', at: start, read };
}

/** All parameters up to the record delimiter. */
export function fields(cursor: Cursor): {
  readonly fields: Field[];
  readonly trouble: Trouble | null;
} {
  const found: Field[] = [];
  while (!cursor.ended) {
    const next = nextField(cursor, found.length);
    if (typeof next === 'object' && next !== null) return { fields: found, trouble: next };
    found.push(next);
  }
  return { fields: found, trouble: null };
}

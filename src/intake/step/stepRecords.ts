import { pastBlanks, pastComment } from './blanks.ts';
import { keywords, type StepKeyword } from './stepKeywords.ts';

/** Something wrong with the form of the file, by the byte where it stands. */
interface FormProblem {
  readonly code: 'step-syntax' | 'step-truncated' | 'step-duplicate';
  readonly byte: number;
  /** n of #n, where the record has one. */
  readonly id: number | null;
  /** For a duplicate: the byte of the first. */
  readonly firstByte: number;
}

/**
 * Where every record of the data sections stands. Nothing of it is parsed: a file of a million
 * records costs 22 bytes each.
 */
export interface StepRecords {
  readonly bytes: Uint8Array;
  readonly count: number;
  /** n of #n. */
  readonly ids: Float64Array;
  /** Byte of the #. */
  readonly starts: Uint32Array;
  /** Byte of the keyword, or of the opening bracket of a complex instance. */
  readonly bodies: Uint32Array;
  /** Byte of the semicolon. */
  readonly ends: Uint32Array;
  /** 0: a type the reader has no use for. `complex`: several types. */
  readonly kinds: Uint16Array;
  readonly problems: readonly FormProblem[];
}

export const complex = 0xffff;
/** A file may be wrong in every line; beyond this many places no more are kept. */
const mostProblems = 1000;

const semicolon = 59;
const hash = 35;
const quote = 39;
const slash = 47;
const equals = 61;
const doubleQuote = 34;
const open = 40;

/** 1 for the bytes at which a scan of a record has to stop and look. */
const stops = new Uint8Array(256);
for (const c of [semicolon, quote, slash, equals, doubleQuote]) stops[c] = 1;

const isDigit = (c: number): boolean => c >= 48 && c <= 57;
const isKeywordByte = (c: number): boolean => (c >= 65 && c <= 90) || isDigit(c) || c === 95;

const numberOf = new Map<StepKeyword, number>(keywords.map((word, k) => [word, k + 1]));
export const keywordNumber = (keyword: StepKeyword): number => numberOf.get(keyword)!;

const hashed = (bytes: Uint8Array, at: number, end: number): number => {
  let sum = 0;
  for (let i = at; i < end; i++) sum = (Math.imul(sum, 31) + bytes[i]) | 0;
  return sum;
};
const keywordBytes = keywords.map((word) => Buffer.from(word, 'latin1'));
/** Numbers of the keywords by the hash of their bytes; no two of them share one (tested). */
const byHash = new Map<number, number>(
  keywordBytes.map((word, k) => [hashed(word, 0, word.length), k + 1]),
);

/** Number of the keyword at `at`, or 0 where it is none of ours. */
export function keywordAt(bytes: Uint8Array, at: number, limit: number): number {
  let end = at;
  let sum = 0;
  while (end < limit && isKeywordByte(bytes[end])) {
    sum = (Math.imul(sum, 31) + bytes[end]) | 0;
    end++;
  }
  const number = byHash.get(sum);
  if (number === undefined) return 0;
  const word = keywordBytes[number - 1];
  if (word.length !== end - at) return 0;
  for (let i = 0; i < word.length; i++) if (word[i] !== bytes[at + i]) return 0;
  return number;
}

/** The byte of the # of an instance name that ends just before the equals sign at `at`, or -1. */
function nameBefore(bytes: Uint8Array, at: number): number {
  let i = at - 1;
  while (i >= 0 && at - i < 40 && bytes[i] <= 32) i--;
  const last = i;
  while (i >= 0 && at - i < 40 && isDigit(bytes[i])) i--;
  return i >= 0 && i < last && bytes[i] === hash ? i : -1;
}

/** Whether "#12 =" stands at `at`: the next record begins there, whatever came before. */
function startsRecord(bytes: Uint8Array, at: number): boolean {
  let i = at;
  if (bytes[i] !== hash) return false;
  while (isDigit(bytes[++i]) && i - at < 20);
  if (i === at + 1) return false;
  while (bytes[i] === 32 && i - at < 30) i++;
  return bytes[i] === equals;
}

/** How a statement ended: at a semicolon, where the next record begins unannounced, or with the file. */
interface StatementEnd {
  at: number;
  how: 'semicolon' | 'next-record' | 'file';
}

/**
 * The end of the statement that goes on at `from`, past strings, comments and binaries. In a record
 * (`inRecord`) an "#n =" outside a string, or at the start of a line inside one, means that the
 * semicolon or the closing quote is missing: the scan takes up there, so that one slip costs one record.
 */
function statementEnd(bytes: Uint8Array, from: number, inRecord: boolean): StatementEnd {
  const limit = bytes.length;
  let i = from;
  for (;;) {
    while (i < limit && stops[bytes[i]] === 0) i++;
    if (i >= limit) return { at: limit, how: 'file' };
    const c = bytes[i];
    if (c === semicolon) return { at: i, how: 'semicolon' };
    if (c === quote) {
      i++;
      while (i < limit && bytes[i] !== quote) {
        if (bytes[i] === 10 && inRecord && startsRecord(bytes, i + 1))
          return { at: i + 1, how: 'next-record' };
        i++;
      }
      i++;
    } else if (c === slash) {
      i = bytes[i + 1] === 42 ? pastComment(bytes, i, limit) : i + 1;
    } else if (c === doubleQuote) {
      i++;
      while (i < limit && bytes[i] !== doubleQuote && bytes[i] !== semicolon) i++;
      if (bytes[i] === doubleQuote) i++;
    } else {
      const name = inRecord ? nameBefore(bytes, i) : -1;
      if (name >= from) return { at: name, how: 'next-record' };
      i++;
    }
  }
}

const wordAt = (bytes: Uint8Array, at: number): string =>
  /^[A-Z0-9-]*/.exec(Buffer.from(bytes.subarray(at, at + 24)).toString('latin1'))![0];

/** Whether the bytes begin as an exchange file must: ISO 10303-21, exchange structure. */
export function startsAsStep(bytes: Uint8Array): boolean {
  const start = bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf ? 3 : 0;
  return wordAt(bytes, pastBlanks(bytes, start, bytes.length)) === 'ISO-10303-21';
}

/**
 * Indexes the records of all data sections in one pass. Header, anchor, reference and signature
 * sections (edition 3) are passed over.
 */
export function stepRecords(bytes: Uint8Array): StepRecords {
  let room = Math.max(16, bytes.length >> 6);
  let ids = new Float64Array(room);
  let starts = new Uint32Array(room);
  let bodies = new Uint32Array(room);
  let ends = new Uint32Array(room);
  let kinds = new Uint16Array(room);
  let count = 0;
  const problems: FormProblem[] = [];
  const note = (code: FormProblem['code'], byte: number, id: number | null = null): void => {
    if (problems.length < mostProblems) problems.push({ code, byte, id, firstByte: byte });
  };
  const grow = (): void => {
    room *= 2;
    const wider = <T extends Float64Array | Uint32Array | Uint16Array>(next: T, old: T): T => {
      next.set(old);
      return next;
    };
    ids = wider(new Float64Array(room), ids);
    starts = wider(new Uint32Array(room), starts);
    bodies = wider(new Uint32Array(room), bodies);
    ends = wider(new Uint32Array(room), ends);
    kinds = wider(new Uint16Array(room), kinds);
  };

  const limit = bytes.length;
  let inData = false;
  let ended = false;
  let at = bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf ? 3 : 0;
  while (!ended) {
    at = pastBlanks(bytes, at, limit);
    if (at >= limit) break;
    if (inData && bytes[at] === hash) {
      let id = 0;
      let i = at + 1;
      while (i < limit && isDigit(bytes[i])) id = id * 10 + bytes[i++] - 48;
      const named = i > at + 1 && id <= Number.MAX_SAFE_INTEGER;
      i = pastBlanks(bytes, i, limit);
      const assigned = named && bytes[i] === equals;
      if (assigned) i = pastBlanks(bytes, i + 1, limit);
      const end = statementEnd(bytes, i, true);
      if (end.how === 'file') break;
      if (!assigned || end.how === 'next-record') note('step-syntax', at, named ? id : null);
      else {
        if (count === room) grow();
        ids[count] = id;
        starts[count] = at;
        bodies[count] = i;
        ends[count] = end.at;
        kinds[count] = bytes[i] === open ? complex : keywordAt(bytes, i, end.at);
        count++;
      }
      at = end.how === 'semicolon' ? end.at + 1 : end.at;
      continue;
    }
    const word = wordAt(bytes, at);
    const end = statementEnd(bytes, at, inData);
    if (end.how === 'file') break;
    if (word === 'DATA') inData = true;
    else if (word === 'ENDSEC' || /^(HEADER|ANCHOR|REFERENCE|SIGNATURE)$/.test(word))
      inData = false;
    else if (word === 'END-ISO-10303-21') ended = true;
    else if (inData) note('step-syntax', at);
    at = end.how === 'semicolon' ? end.at + 1 : end.at;
  }
  if (!ended)
    problems.push({ code: 'step-truncated', byte: Math.min(at, limit), id: null, firstByte: at });
  return {
    bytes,
    count,
    ids: ids.subarray(0, count),
    starts: starts.subarray(0, count),
    bodies: bodies.subarray(0, count),
    ends: ends.subarray(0, count),
    kinds: kinds.subarray(0, count),
    problems,
  };
}

/** The keyword numbers of a complex instance, in order of the file, each once. */
export function complexKinds(records: StepRecords, record: number): number[] {
  const { bytes, ends } = records;
  const limit = ends[record];
  const found: number[] = [];
  let depth = 0;
  for (let i = records.bodies[record]; i < limit; i++) {
    const c = bytes[i];
    if (c === open) depth++;
    else if (c === 41) depth--;
    else if (c === quote) {
      i++;
      while (i < limit && bytes[i] !== quote) i++;
    } else if (c === slash && bytes[i + 1] === 42) i = pastComment(bytes, i, limit) - 1;
    else if (depth === 1 && isKeywordByte(c)) {
      const number = keywordAt(bytes, i, limit);
      if (number > 0) found.push(number);
      while (i + 1 < limit && isKeywordByte(bytes[i + 1])) i++;
    }
  }
  return [...new Set(found)];
}

/** Finds a record by n of #n; -1 where there is none. The first of several with one name is kept. */
export interface RecordFinder {
  readonly find: (id: number) => number;
  readonly duplicates: readonly FormProblem[];
}

/**
 * Names that run densely go into a table; others are sorted and searched, so that no choice of
 * names can make the search slow.
 */
export function recordFinder(records: StepRecords): RecordFinder {
  const { ids, starts, count } = records;
  const duplicates: FormProblem[] = [];
  const clash = (first: number, second: number): void => {
    if (duplicates.length < mostProblems)
      duplicates.push({
        code: 'step-duplicate',
        byte: starts[second],
        id: ids[second],
        firstByte: starts[first],
      });
  };
  let highest = 0;
  for (let k = 0; k < count; k++) if (ids[k] > highest) highest = ids[k];
  if (highest <= 8 * count + 65536) {
    const table = new Int32Array(highest + 1).fill(-1);
    for (let k = 0; k < count; k++)
      if (table[ids[k]] < 0) table[ids[k]] = k;
      else clash(table[ids[k]], k);
    return { find: (id) => (id <= highest ? table[id] : -1), duplicates };
  }
  const order = Uint32Array.from({ length: count }, (_, k) => k);
  order.sort((a, b) => ids[a] - ids[b] || a - b);
  for (let k = 1, first = 0; k < count; k++)
    if (ids[order[k]] === ids[order[first]]) clash(order[first], order[k]);
    else first = k;
  const find = (id: number): number => {
    let low = 0;
    let high = count;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (ids[order[middle]] < id) low = middle + 1;
      else high = middle;
    }
    return low < count && ids[order[low]] === id ? order[low] : -1;
  };
  return { find, duplicates };
}

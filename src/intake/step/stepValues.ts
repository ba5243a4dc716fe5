import { scanDecimal, scanned } from '../decimal.ts';
import { pastBlanks } from './blanks.ts';
import { stepText } from './stepText.ts';

/**
 * One parameter of a record. Lists of nothing but references, which are the bulk of a file, are kept
 * as plain numbers.
 */
export type StepValue =
  | { readonly kind: 'number'; readonly value: number }
  | { readonly kind: 'reference'; readonly id: number }
  | { readonly kind: 'references'; readonly ids: readonly number[] }
  | { readonly kind: 'text'; readonly text: string }
  | { readonly kind: 'enumeration'; readonly name: string }
  | { readonly kind: 'list'; readonly items: readonly StepValue[] }
  | { readonly kind: 'typed'; readonly type: string; readonly items: readonly StepValue[] }
  | { readonly kind: 'binary' }
  /** `$`: no value. */
  | { readonly kind: 'none' }
  /** `*`: derived from others. */
  | { readonly kind: 'derived' };

/** One entity type of a record with its parameters; a complex instance has several. */
export interface StepPart {
  readonly type: string;
  readonly values: readonly StepValue[];
}

/** Why a record cannot be read, and at which byte. */
export interface StepProblem {
  readonly code: 'step-syntax' | 'too-deep';
  readonly byte: number;
}

/** Brackets open at once, at most; the schemas need four. */
export const deepest = 200;

const none: StepValue = { kind: 'none' };
const derived: StepValue = { kind: 'derived' };
const binary: StepValue = { kind: 'binary' };
const yes: StepValue = { kind: 'enumeration', name: 'T' };
const no: StepValue = { kind: 'enumeration', name: 'F' };

const open = 40;
const close = 41;
const comma = 44;
const hash = 35;
const quote = 39;
const doubleQuote = 34;
const dot = 46;
const letterT = 84;
const letterF = 70;

const isDigit = (c: number): boolean => c >= 48 && c <= 57;
const isNameByte = (c: number): boolean =>
  (c >= 65 && c <= 90) || (c >= 97 && c <= 122) || isDigit(c) || c === 95 || c === 45;

/** Words met before, by a hash of their bytes: a file says few different ones, and many times. */
const words = new Map<number, string>();
const mostWords = 4096;

/** The word of these bytes in capitals. */
function wordOf(bytes: Uint8Array, start: number, end: number, hash31: number): string {
  const known = words.get(hash31);
  if (known?.length === end - start) {
    let at = 0;
    while (at < known.length && known.charCodeAt(at) === bytes[start + at]) at++;
    if (at === known.length) return known;
  }
  const word = Buffer.from(bytes.buffer, bytes.byteOffset + start, end - start).toString('latin1');
  if (words.size < mostWords) words.set(hash31, word.toUpperCase());
  return word.toUpperCase();
}

class Reader {
  problem: StepProblem | null = null;

  constructor(
    readonly bytes: Uint8Array,
    public at: number,
    readonly end: number,
  ) {}

  fail(code: StepProblem['code'] = 'step-syntax'): null {
    this.problem ??= { code, byte: this.at };
    return null;
  }

  /** The next byte that counts, or -1 at the end. */
  peek(): number {
    this.at = pastBlanks(this.bytes, this.at, this.end);
    return this.at < this.end ? this.bytes[this.at] : -1;
  }

  word(): string {
    const { bytes, end } = this;
    const start = this.at;
    let at = start;
    let hash31 = 0;
    while (at < end && isNameByte(bytes[at])) hash31 = (Math.imul(hash31, 31) + bytes[at++]) | 0;
    this.at = at;
    return wordOf(bytes, start, at, hash31);
  }

  reference(): number | null {
    const start = ++this.at;
    let id = 0;
    while (this.at < this.end && isDigit(this.bytes[this.at]))
      id = id * 10 + this.bytes[this.at++] - 48;
    return this.at === start || id > Number.MAX_SAFE_INTEGER ? this.fail() : id;
  }

  text(): StepValue | null {
    const start = ++this.at;
    for (; this.at < this.end; this.at++) {
      if (this.bytes[this.at] !== quote) continue;
      if (this.bytes[this.at + 1] === quote) this.at++;
      else {
        const text = start === this.at ? '' : stepText(this.bytes.subarray(start, this.at));
        this.at++;
        return { kind: 'text', text };
      }
    }
    return this.fail();
  }

  /** The values between brackets; `at` stands on the opening one. */
  values(depth: number): StepValue[] | null {
    if (depth > deepest) return this.fail('too-deep');
    this.at++;
    const items: StepValue[] = [];
    if (this.peek() === close) {
      this.at++;
      return items;
    }
    for (;;) {
      const item = this.value(depth);
      if (!item) return null;
      items.push(item);
      const next = this.peek();
      this.at++;
      if (next === close) return items;
      if (next !== comma) return this.fail();
    }
  }

  /** A list of references only, or null with `at` back where it was. */
  referenceList(): StepValue | null {
    const start = this.at++;
    const ids: number[] = [];
    for (;;) {
      if (this.peek() !== hash) break;
      let id = 0;
      const first = ++this.at;
      while (this.at < this.end && isDigit(this.bytes[this.at]))
        id = id * 10 + this.bytes[this.at++] - 48;
      if (this.at === first || id > Number.MAX_SAFE_INTEGER) break;
      ids.push(id);
      const next = this.peek();
      this.at++;
      if (next === close) return { kind: 'references', ids };
      if (next !== comma) break;
    }
    this.at = start;
    return null;
  }

  list(depth: number): StepValue | null {
    const references = this.referenceList();
    if (references) return references;
    const items = this.values(depth + 1);
    return items && { kind: 'list', items };
  }

  value(depth: number): StepValue | null {
    const c = this.peek();
    if (c === hash) {
      const id = this.reference();
      return id === null ? null : { kind: 'reference', id };
    }
    if (c === open) return this.list(depth);
    if (c === quote) return this.text();
    if (c === 36 || c === 42) {
      this.at++;
      return c === 36 ? none : derived;
    }
    if (scanDecimal(this.bytes, this.at, this.end)) {
      this.at = scanned.end;
      return { kind: 'number', value: scanned.value };
    }
    if (c === 46) return this.enumeration();
    if (c === doubleQuote) return this.skippedBinary();
    if (c < 0 || !isNameByte(c)) return this.fail();
    const type = this.word();
    if (this.peek() !== open) return this.fail();
    const items = this.values(depth + 1);
    return items && { kind: 'typed', type, items };
  }

  enumeration(): StepValue | null {
    this.at++;
    // Senses and flags are by far the most.
    if (this.bytes[this.at + 1] === dot) {
      const flag =
        this.bytes[this.at] === letterT ? yes : this.bytes[this.at] === letterF ? no : null;
      if (flag) this.at += 2;
      if (flag) return flag;
    }
    const name = this.word();
    if (name === '' || this.bytes[this.at] !== 46) return this.fail();
    this.at++;
    return { kind: 'enumeration', name };
  }

  skippedBinary(): StepValue | null {
    const close = this.bytes.indexOf(doubleQuote, this.at + 1);
    if (close < 0 || close >= this.end) return this.fail();
    this.at = close + 1;
    return binary;
  }

  part(): StepPart | null {
    const c = this.peek();
    if (c === 33) this.at++;
    const type = this.word();
    if (type === '' || this.peek() !== open) return this.fail();
    const values = this.values(1);
    return values && { type, values };
  }
}

/**
 * The parts of the record whose keyword or opening bracket stands at `at` and whose semicolon stands
 * at `end`; one part, or several where the record is a complex instance (ISO 10303-21, external
 * mapping).
 */
export function stepParts(
  bytes: Uint8Array,
  at: number,
  end: number,
): readonly StepPart[] | StepProblem {
  const reader = new Reader(bytes, at, end);
  const parts: StepPart[] = [];
  const complex = reader.peek() === open;
  if (complex) reader.at++;
  do {
    const part = reader.part();
    if (part) parts.push(part);
  } while (!reader.problem && complex && reader.peek() !== close);
  if (complex) reader.at++;
  if (!reader.problem && reader.peek() !== -1) reader.fail();
  return reader.problem ?? parts;
}

export const isProblem = (result: readonly StepPart[] | StepProblem): result is StepProblem =>
  'code' in result;

/** Every record a value points at, in order, at any depth. */
export function referencesIn(value: StepValue | undefined): readonly number[] {
  if (value?.kind === 'references') return value.ids;
  if (value?.kind === 'reference') return [value.id];
  return value?.kind === 'list' || value?.kind === 'typed' ? value.items.flatMap(referencesIn) : [];
}

export const referenceIn = (value: StepValue | undefined): number | null =>
  value?.kind === 'reference' ? value.id : null;

export const textIn = (value: StepValue | undefined): string =>
  value?.kind === 'text' ? value.text : '';

export const enumerationIn = (value: StepValue | undefined): string | null =>
  value?.kind === 'enumeration' ? value.name : null;

/** A number, bare or in a type such as LENGTH_MEASURE(1.). */
export function numberIn(value: StepValue | undefined): number | null {
  if (value?.kind === 'number') return value.value;
  return value?.kind === 'typed' && value.items.length === 1 ? numberIn(value.items[0]) : null;
}

/** The numbers of a list of nothing but numbers. */
export function numbersIn(value: StepValue | undefined): readonly number[] | null {
  if (value?.kind !== 'list') return null;
  const numbers = value.items.map(numberIn);
  return numbers.every((n) => n !== null) ? numbers : null;
}

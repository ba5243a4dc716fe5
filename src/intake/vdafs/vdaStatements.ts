import { scanDecimal, scanned } from '../decimal.ts';
import { fault, type Fault, type Place } from '../fault.ts';
import { lineEndOf, VdaLine } from './vdaLine.ts';

/** The statements of VDA-FS 2.0 (DIN 66301) that have parameters, then those that have none. */
const withParameters = [
  'HEADER',
  'POINT',
  'PSET',
  'MDI',
  'CIRCLE',
  'CURVE',
  'SURF',
  'CONS',
  'FACE',
  'TOP',
  'GROUP',
  'TMAT',
  'TLIST',
] as const;
const bare = ['BEGINSET', 'ENDSET', 'END'] as const;
export type VdaCommand = (typeof withParameters)[number] | (typeof bare)[number];

const isBare = (word: string): boolean => (bare as readonly string[]).includes(word);
const isCommand = (word: string): word is VdaCommand =>
  isBare(word) || (withParameters as readonly string[]).includes(word);

/** One statement: NAME = COMMAND / parameters. */
export interface VdaStatement {
  readonly name: string;
  readonly command: VdaCommand;
  /** Line of the name, from 1. */
  readonly line: number;
  /** Behind the slash, and the line on which that is. */
  readonly from: number;
  readonly fromLine: number;
  /** Behind the last byte that can belong to it. */
  readonly to: number;
  /** Names of the sets that are open where it stands, the innermost last. */
  readonly sets: readonly string[];
}

export const placeOf = ({ name, line }: VdaStatement): Place => ({ line, record: name });

export interface VdaStatements {
  readonly bytes: Uint8Array;
  /** The byte that ends a line. */
  readonly lineEnd: number;
  readonly statements: readonly VdaStatement[];
  readonly faults: readonly Fault[];
}

const equals = 61;
const slash = 47;
const comma = 44;
const space = 32;

/** Sets deeper in each other than this are not made by any writer. */
const deepestSet = 64;

/** Longest name or command that is looked for; the standard's names have 8 characters at most. */
const longestWord = 255;

const isLetter = (c: number): boolean => {
  const small = c | 32;
  return small >= 97 && small <= 122;
};

/** Behind the word that starts at `at`: up to a blank, a comma, an equals sign or a slash. */
function wordEnd(bytes: Uint8Array, at: number, end: number): number {
  let i = at;
  const last = Math.min(end, at + longestWord);
  for (; i < last; i++) {
    const c = bytes[i];
    if (c <= 32 || c === equals || c === slash || c === comma) break;
  }
  return i;
}

/** The head of a statement: its name, its command as written in capitals, and what stands behind. */
interface Head {
  readonly name: string;
  readonly word: string;
  readonly hasSlash: boolean;
  readonly from: number;
  readonly fromLine: number;
}

/**
 * Steps from line to line. A statement begins where the first word of a line is followed by an
 * equals sign; the command and the slash may stand on later lines.
 */
class StatementFinder {
  private readonly line: VdaLine;
  /** The same bytes, for reading words. */
  private readonly text: Buffer;

  constructor(
    private readonly bytes: Uint8Array,
    lineEnd: number,
  ) {
    this.line = new VdaLine(bytes, lineEnd);
    this.text = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.length);
  }

  /** Where the line behind that at `start` begins. */
  nextOf(start: number): number {
    this.line.moveTo(start);
    return this.line.next;
  }

  isBlank(start: number): boolean {
    this.line.moveTo(start);
    return this.line.pastBlanks(start) === this.line.end;
  }

  /** The data of a line, as far as a fault shows them. */
  textOf(start: number): string {
    this.line.moveTo(start);
    return this.text.toString('latin1', start, Math.min(this.line.end, start + 24)).trim();
  }

  /** The head of the statement that begins on the line at `start`, or null. */
  headAt(start: number, number: number): Head | null {
    const { bytes, line } = this;
    // most lines are numbers: these are told without looking for their end
    let first = start;
    while (bytes[first] === space) first++;
    if (bytes[first] > space && !isLetter(bytes[first])) return null;
    line.moveTo(start);
    first = line.pastBlanks(start);
    if (first === line.end || !isLetter(bytes[first])) return null;
    const nameEnd = wordEnd(bytes, first, line.end);
    const sign = line.pastBlanks(nameEnd);
    if (sign === line.end || bytes[sign] !== equals) return null;
    let lineNumber = number;
    const onward = (at: number): number => {
      let next = line.pastBlanks(at);
      while (next === line.end && line.next < bytes.length) {
        lineNumber++;
        const begin = line.next;
        line.moveTo(begin);
        next = line.pastBlanks(begin);
      }
      return next;
    };
    const word = onward(sign + 1);
    const behind = wordEnd(bytes, word, line.end);
    const found = this.text.toString('latin1', word, behind).toUpperCase();
    const next = isBare(found) ? line.end : onward(behind);
    const hasSlash = next < line.end && bytes[next] === slash;
    return {
      name: this.text.toString('latin1', first, nameEnd),
      word: found,
      hasSlash,
      from: hasSlash ? next + 1 : behind,
      fromLine: lineNumber,
    };
  }

  /** The count that a header gives of its lines; 0 where it gives none. */
  headerCount({ from }: Head): number {
    const { bytes, line } = this;
    line.moveTo(from);
    const at = line.pastBlanks(from);
    const isCount = scanDecimal(bytes, at, line.end) && Number.isInteger(scanned.value);
    return isCount ? Math.max(scanned.value, 0) : 0;
  }
}

/** The sets that are open at a place of the file, by BEGINSET and ENDSET. */
class OpenSets {
  /** The innermost last. Never changed, so that statements may keep it. */
  names: readonly string[] = [];
  private depth = 0;

  /** A set that is not kept for its depth is told once for each time that depth is reached. */
  begin(name: string, place: Place): Fault | null {
    this.depth++;
    if (this.depth <= deepestSet) this.names = this.names.concat(name);
    return this.depth === deepestSet + 1
      ? fault('too-deep', place, { what: 'sets', most: deepestSet })
      : null;
  }

  end(): void {
    this.depth = Math.max(this.depth - 1, 0);
    this.names = this.names.slice(0, this.depth);
  }
}

/**
 * The statements of a text in order, each with the bytes that are its parameters: those up to the
 * next line that begins a statement. Behind HEADER / n stand n lines of free text; where a statement
 * with parameters begins among them, the count is wrong, which is told, and reading goes on there.
 * Text that belongs to no statement, and commands that are not known, are told as well.
 */
export function vdaStatements(bytes: Uint8Array): VdaStatements {
  const lineEnd = lineEndOf(bytes);
  const finder = new StatementFinder(bytes, lineEnd);
  const statements: VdaStatement[] = [];
  const faults: Fault[] = [];
  let open: { -readonly [key in keyof VdaStatement]: VdaStatement[key] } | null = null;
  const sets = new OpenSets();
  let hasEnd = false;
  /** Whether lines without a statement belong to something: to one that was told, or behind the end. */
  let isTold = false;
  let at = bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf ? 3 : 0;
  let number = 1;

  function skipHeader(head: Head, place: Place): void {
    const expected = finder.headerCount(head);
    // the head itself may stand on several lines
    while (number < head.fromLine) [at, number] = [finder.nextOf(at), number + 1];
    for (let found = 0; found < expected; found++) {
      const start = finder.nextOf(at);
      if (start >= bytes.length) {
        faults.push(fault('count-beyond-file', place, { what: 'header lines', found, expected }));
        return;
      }
      const next = finder.headAt(start, number + 1);
      if (next && next.hasSlash && isCommand(next.word)) {
        faults.push(fault('wrong-count', place, { what: 'header lines', found, expected }));
        return;
      }
      [at, number] = [start, number + 1];
    }
  }

  for (; at < bytes.length; at = finder.nextOf(at), number++) {
    const head = finder.headAt(at, number);
    if (!head) {
      if (!open && !isTold && !finder.isBlank(at)) {
        isTold = true;
        faults.push(
          fault('vda-statement', { line: number }, { what: 'text', found: finder.textOf(at) }),
        );
      }
      continue;
    }
    if (open) open.to = at;
    open = null;
    const { name, word } = head;
    const place = { line: number, record: name };
    if (!isCommand(word) || !(head.hasSlash || isBare(word))) {
      const what = isCommand(word) ? 'slash' : 'command';
      faults.push(fault('vda-statement', place, { what, found: word }));
      isTold = true;
      continue;
    }
    isTold = word === 'END';
    hasEnd ||= word === 'END';
    if (word === 'BEGINSET') {
      const wrong = sets.begin(name, place);
      if (wrong) faults.push(wrong);
    }
    if (word === 'ENDSET') sets.end();
    if (word === 'HEADER') skipHeader(head, place);
    else if (!isBare(word)) {
      const { from, fromLine } = head;
      const { line } = place;
      open = { name, command: word, line, from, fromLine, to: bytes.length, sets: sets.names };
      statements.push(open);
    }
  }
  if (statements.length === 0 && faults.length === 0)
    faults.push(fault('vda-statement', { line: 1 }, { what: 'none' }));
  if (!hasEnd)
    faults.push(fault('vda-truncated', { line: number - 1 }, { read: statements.length }));
  return { bytes, lineEnd, statements, faults };
}

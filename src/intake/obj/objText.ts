import { scanDecimal, scanned } from '../decimal.ts';

const [lineFeed, carriageReturn, blank, hash, slash, backslash] = [10, 13, 32, 35, 47, 92];
const [zero, nine, minus, plus] = [48, 57, 45, 43];

/** Bytes shown of a word that cannot be read. */
const longestShown = 40;

/**
 * An OBJ file read from front to back, word by word. A statement is a line; a backslash at the end of a
 * line, blanks behind it or not, joins it to the next ("General statement" and the examples of the
 * format's description). A word that begins with # begins a comment, which ends with its line whatever
 * stands there. All bytes up to the space are blanks.
 */
export class ObjText {
  at = 0;

  constructor(readonly bytes: Uint8Array) {
    const [a, b, c] = bytes;
    if (a === 0xef && b === 0xbb && c === 0xbf) this.at = 3;
  }

  /** Steps to the first word of the next statement; false at the end of the file. */
  nextStatement(): boolean {
    const { bytes } = this;
    for (;;) {
      while (bytes[this.at] <= blank) this.at++;
      if (this.at >= bytes.length) return false;
      if (bytes[this.at] === hash) this.skipLine();
      else if (!this.skipContinuation()) return true;
    }
  }

  /** Steps to the next word of the statement; false where it has no more. */
  hasWord(): boolean {
    const { bytes } = this;
    for (;;) {
      const c = bytes[this.at];
      if (c > blank) {
        if (c === hash) return false;
        if (c !== backslash || !this.skipContinuation()) return true;
      } else if (c === lineFeed || c === carriageReturn || this.at >= bytes.length) return false;
      else this.at++;
    }
  }

  /** The word here, which is stepped over. */
  word(): string {
    const from = this.at;
    this.skipWord();
    return Buffer.from(this.bytes.subarray(from, this.at)).toString('latin1');
  }

  /** The number here, which is stepped over; NaN where the word is no number as a whole. */
  number(): number {
    const { bytes } = this;
    if (scanDecimal(bytes, this.at, bytes.length) && this.isWordEnd(scanned.end)) {
      this.at = scanned.end;
      return scanned.value;
    }
    this.skipWord();
    return NaN;
  }

  /**
   * The whole number here, a slash and what follows it left aside (v/vt/vn), which is stepped over; NaN
   * where the word does not begin with one.
   */
  index(): number {
    const { bytes } = this;
    let i = this.at;
    const isNegative = bytes[i] === minus;
    if (isNegative || bytes[i] === plus) i++;
    const first = i;
    let value = 0;
    for (let c = bytes[i]; c >= zero && c <= nine; c = bytes[++i]) value = 10 * value + (c - zero);
    const isIndex = i > first && (bytes[i] === slash || this.isWordEnd(i));
    this.at = i;
    if (!this.isWordEnd(i)) this.skipWord();
    return isIndex ? (isNegative ? -value : value) : NaN;
  }

  /** What is left of the statement, as its bytes stand. */
  rest(): Uint8Array {
    const from = this.at;
    let to = from;
    while (this.hasWord()) {
      this.skipWord();
      to = this.at;
    }
    return this.bytes.subarray(from, to);
  }

  /** Steps to the end of the statement. */
  skipStatement(): void {
    const { bytes } = this;
    for (let c = bytes[this.at]; this.at < bytes.length; c = bytes[this.at]) {
      if (c === lineFeed || c === carriageReturn) return;
      if (c === hash && bytes[this.at - 1] <= blank) {
        this.skipLine();
        return;
      }
      if (c !== backslash || !this.skipContinuation()) this.at++;
    }
  }

  /** The word from `from` up to here, as far as a person needs to see it. */
  shown(from: number): string {
    const end = Math.min(this.at, from + longestShown);
    return Buffer.from(this.bytes.subarray(from, end)).toString('latin1');
  }

  private skipLine(): void {
    const { bytes } = this;
    while (this.at < bytes.length) {
      const c = bytes[this.at];
      if (c === lineFeed || c === carriageReturn) return;
      this.at++;
    }
  }

  private isWordEnd(at: number): boolean {
    const c = this.bytes[at];
    return !(c > blank) || c === backslash;
  }

  /** A backslash within a word is part of it; one that joins lines ends it. */
  private skipWord(): void {
    const { bytes } = this;
    do this.at++;
    while (bytes[this.at] > blank && !(bytes[this.at] === backslash && this.behindLine() >= 0));
  }

  private skipContinuation(): boolean {
    const behind = this.bytes[this.at] === backslash ? this.behindLine() : -1;
    if (behind < 0) return false;
    this.at = behind;
    return true;
  }

  /** Offset of the line behind the backslash here; -1 where more of its own line follows. */
  private behindLine(): number {
    const { bytes } = this;
    let i = this.at + 1;
    while (bytes[i] <= blank && bytes[i] !== lineFeed && bytes[i] !== carriageReturn) i++;
    if (i >= bytes.length) return i;
    if (bytes[i] === carriageReturn) return bytes[i + 1] === lineFeed ? i + 2 : i + 1;
    return bytes[i] === lineFeed ? i + 1 : -1;
  }
}

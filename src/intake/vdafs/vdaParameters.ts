import { scanDecimal, scanned } from '../decimal.ts';
import { fault, type Fault, type Place } from '../fault.ts';
import { VdaLine } from './vdaLine.ts';
import type { VdaStatement, VdaStatements } from './vdaStatements.ts';

const comma = 44;
const dollar = 36;

/** Of a text that cannot be read this much is told. */
const toldBytes = 24;

/** What can stand in a number, so that one can go on in the next line. */
const isNumeric = (c: number): boolean =>
  (c >= 48 && c <= 57) || c === 43 || c === 45 || c === 46 || (c | 32) === 101 || (c | 32) === 100;

/**
 * The parameters of one statement, read from front to back: separated by a comma, a blank or the end
 * of a line; a value that reaches column 72 goes on in column 1 of the next line where one stands
 * there (from memory). After the first trouble, kept in `fault`, nothing more is read: numbers are 0,
 * lists empty. Nothing is reserved for a count that the statement's bytes cannot hold.
 */
export class VdaParameters {
  fault: Fault | null = null;
  private at: number;
  private readonly to: number;
  private readonly bytes: Uint8Array;
  private readonly line: VdaLine;
  private lineNumber: number;
  private readonly record: string;
  /** Parameters read so far. */
  private read = 0;
  /** Whether the comma that separates from the next value is behind us. */
  private isSeparated = true;
  private readonly single = new Float64Array(1);

  constructor({ bytes, lineEnd }: VdaStatements, statement: VdaStatement) {
    this.bytes = bytes;
    this.at = statement.from;
    this.to = statement.to;
    this.lineNumber = statement.fromLine;
    this.record = statement.name;
    this.line = new VdaLine(bytes, lineEnd);
    // the statement may begin anywhere on its line, whose columns count from the line's start
    let start = statement.from;
    while (start > 0 && bytes[start - 1] !== lineEnd) start--;
    this.line.moveTo(start);
  }

  private get place(): Place {
    return { line: this.lineNumber, record: this.record };
  }

  /** Most parameters that can still come: each takes a byte, and one more that separates it. */
  private get mostLeft(): number {
    return Math.max(Math.ceil((this.to - this.at) / 2), 0);
  }

  private fail(code: Fault['code'], data: Fault['data']): void {
    this.fault ??= fault(code, this.place, data);
  }

  private failAt(at: number, what: string): void {
    const end = Math.min(at + toldBytes, Math.max(this.line.end, at + 1));
    const text = Buffer.from(this.bytes.subarray(at, end)).toString('latin1').trim();
    this.fail('bad-number', { what, found: this.read, text });
  }

  /** Goes to the next value; false where the statement has no more. */
  private toValue(): boolean {
    const { bytes, line } = this;
    for (;;) {
      this.at = line.pastBlanks(this.at);
      if (this.at < line.end) {
        if (this.isSeparated || bytes[this.at] !== comma) return true;
        this.isSeparated = true;
        this.at++;
      } else if (!this.toNextLine()) return false;
    }
  }

  private toNextLine(): boolean {
    if (this.line.next >= this.to) return false;
    this.at = this.line.next;
    this.line.moveTo(this.at);
    this.lineNumber++;
    return true;
  }

  /** Behind the value that starts at `at` on this line. */
  private valueEnd(at: number): number {
    const { bytes, line } = this;
    let end = at;
    while (end < line.end && bytes[end] > 32 && bytes[end] !== comma) end++;
    return end;
  }

  /** Steps behind a value that ends at `end`, and over the comma there. */
  private pass(end: number): void {
    this.isSeparated = end < this.line.end && this.bytes[end] === comma;
    this.at = this.isSeparated ? end + 1 : end;
    this.read++;
  }

  /** Reads the number at `at` to `scanned`; false where none stands there. */
  private scan(): boolean {
    const { bytes, line, at } = this;
    if (scanDecimal(bytes, at, line.end)) {
      const { end } = scanned;
      const c = end < line.end ? bytes[end] : 0;
      if (end < line.end ? c === comma || c <= 32 || c === dollar : !line.isFull) {
        this.pass(end);
        return true;
      }
    }
    return this.scanBroken();
  }

  /** As scan, for a number that may go on in the next line. */
  private scanBroken(): boolean {
    const { bytes, line, at } = this;
    const end = this.valueEnd(at);
    const next = line.next;
    const goesOn =
      line.isFull && end === line.end && next < this.to && isNumeric(bytes[next]) && end > at;
    if (!goesOn) {
      const isWhole = scanDecimal(bytes, at, line.end) && scanned.end === end;
      if (isWhole) this.pass(end);
      return isWhole;
    }
    this.toNextLine();
    const behind = this.valueEnd(this.at);
    const whole = Buffer.concat([bytes.subarray(at, end), bytes.subarray(this.at, behind)]);
    if (!scanDecimal(whole, 0, whole.length) || scanned.end !== whole.length) return false;
    this.pass(behind);
    return true;
  }

  /** `count` numbers in a row; an empty list after trouble. */
  numbers(count: number): Float64Array {
    if (count > this.mostLeft)
      this.fail('wrong-count', { what: 'parameters', found: '', expected: this.read + count });
    const values = new Float64Array(this.fault ? 0 : count);
    this.readInto(values);
    return this.fault ? new Float64Array(0) : values;
  }

  /** Fills a list as far as there is no trouble. The hot loop of the reader. */
  private readInto(values: Float64Array): void {
    if (this.fault) return;
    const expected = this.read + values.length;
    for (let k = 0; k < values.length; k++) {
      if (!this.toValue()) {
        this.fail('wrong-count', { what: 'parameters', found: this.read, expected });
        return;
      }
      const start = this.at;
      if (!this.scan()) {
        this.failAt(start, 'number');
        return;
      }
      const { value } = scanned;
      if (value - value !== 0) {
        this.fail('not-finite', { what: `parameter ${this.read}` });
        return;
      }
      values[k] = value;
    }
  }

  /** One number; 0 after trouble. */
  number(): number {
    this.single[0] = 0;
    this.readInto(this.single);
    return this.single[0];
  }

  integer(): number {
    const value = this.number();
    if (Number.isInteger(value)) return value;
    this.fail('bad-number', { what: 'integer', found: this.read, text: String(value) });
    return 0;
  }

  /** A whole number of things that take at least `least` parameters each; 0 after trouble. */
  count(what: string, least: number): number {
    const expected = this.integer();
    this.expect(what, expected, least);
    return this.fault ? 0 : expected;
  }

  /** Fails where the statement cannot hold so many things of at least `least` parameters each. */
  expect(what: string, expected: number, least: number): void {
    const found = Math.floor(this.mostLeft / least);
    if (expected < 0 || expected > found) this.fail('count-beyond-file', { what, found, expected });
  }

  /** A name; empty where the parameter is left out, or after trouble. */
  name(): string {
    if (this.fault) return '';
    if (!this.toValue()) {
      this.fail('wrong-count', { what: 'parameters', found: this.read, expected: this.read + 1 });
      return '';
    }
    const start = this.at;
    const end = this.valueEnd(start);
    this.pass(end);
    return Buffer.from(this.bytes.subarray(start, end)).toString('latin1');
  }

  /** Tells parameters that are left over. */
  end(): void {
    const expected = this.read;
    while (!this.fault && this.toValue()) this.pass(this.valueEnd(this.at));
    if (this.read > expected)
      this.fail('wrong-count', { what: 'parameters', found: this.read, expected });
  }
}

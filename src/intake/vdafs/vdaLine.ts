/** Columns of data; 73 to 80 hold a sequence number or a remark (DIN 66301; from memory). */
const dataColumns = 72;
const recordColumns = 80;

const lineFeed = 10;
const carriageReturn = 13;
const dollar = 36;

/** What ends the lines of a text: line feed, or carriage return where there is no line feed at all. */
export const lineEndOf = (bytes: Uint8Array): number =>
  bytes.includes(lineFeed) ? lineFeed : carriageReturn;

/**
 * The data of one line, moved from line to line. A line of more than 80 columns is none of the
 * standard's records, so all of it is taken for data. A tab counts as one column.
 */
export class VdaLine {
  /** Behind the last byte of data. */
  end = 0;
  /** Where the next line starts; the text's length where there is none. */
  next = 0;
  /** Whether something stands in column 72, so that a value may go on in the next line. */
  isFull = false;

  constructor(
    readonly bytes: Uint8Array,
    private readonly lineEnd: number,
  ) {}

  moveTo(start: number): void {
    const { bytes } = this;
    const found = bytes.indexOf(this.lineEnd, start);
    let end = found < 0 ? bytes.length : found;
    this.next = found < 0 ? end : found + 1;
    while (end > start && bytes[end - 1] <= 32) end--;
    const columns = end - start;
    const isRecord = columns >= dataColumns && columns <= recordColumns;
    this.end = isRecord ? start + dataColumns : end;
    this.isFull = isRecord && bytes[this.end - 1] > 32;
  }

  /** The first byte of data at or after `at` that is neither blank nor in a remark ($$); else `end`. */
  pastBlanks(at: number): number {
    const { bytes, end } = this;
    let i = at;
    while (i < end && bytes[i] <= 32) i++;
    return i < end && bytes[i] === dollar && bytes[i + 1] === dollar ? end : Math.min(i, end);
  }
}

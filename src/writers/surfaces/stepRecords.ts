/** The data section as it grows: `add` gives the reference of the new instance. */
export class StepRecords {
  readonly lines: string[] = [];
  /** `last` is the highest name in use before. */
  constructor(private readonly last = 0) {}
  add(record: string): string {
    this.lines.push(`#${this.last + this.lines.length + 1}=${record};`);
    return `#${this.last + this.lines.length}`;
  }
}

/**
 * A real number: the shortest digits that read back as the same double, always with a point, exponent E
 * (ISO 10303-21, 6.4.2).
 */
export function stepReal(value: number): string {
  const [mantissa, exponent] = (Object.is(value, -0) ? '-0' : String(value)).split('e');
  const pointed = mantissa.includes('.') ? mantissa : `${mantissa}.`;
  return exponent === undefined ? pointed : `${pointed}E${Number(exponent)}`;
}

const hex = (code: number, digits: number): string =>
  code.toString(16).toUpperCase().padStart(digits, '0');

/**
 * A string: quotes and backslashes doubled, what is not printable ASCII as \X2\ (UTF-16) or \X4\
 * (ISO 10303-21, 6.4.3).
 */
export function stepString(text: string): string {
  const written = text
    .replaceAll('\\', '\\\\')
    .replaceAll("'", "''")
    .replace(/[^ -~]+/gu, (run) =>
      Array.from(run)
        .map((letter) => {
          const code = letter.codePointAt(0)!;
          return code > 0xffff ? `\\X4\\${hex(code, 8)}\\X0\\` : `\\X2\\${hex(code, 4)}\\X0\\`;
        })
        .join(''),
    );
  return `'${written}'`;
}

export const stepList = (items: readonly string[]): string => `(${items.join(',')})`;

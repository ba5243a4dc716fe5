/** One entity of an IGES file before it has a place: what its directory entry and parameters say. */
export interface IgesEntity {
  readonly type: number;
  readonly form: number;
  /** Blank status, subordinate switch, use flag and hierarchy, two digits each. */
  readonly status: string;
  /** Up to 8 characters. */
  readonly label: string;
  /** Parameters behind the type number, as text. */
  readonly fields: readonly string[];
}

/** Last data columns of a global and of a parameter record (IGES 5.3, 2.2.3 and 2.2.4.5). */
const globalWidth = 72;
const parameterWidth = 64;

/**
 * A real constant: the shortest digits that read back as the same double, with a decimal point; an
 * exponent is marked D, double precision (IGES 5.3, 2.2.2.2).
 */
export function igesReal(value: number): string {
  const [mantissa, exponent] = (Object.is(value, -0) ? '-0' : String(value)).split('e');
  const pointed = mantissa.includes('.') ? mantissa : `${mantissa}.`;
  return exponent === undefined ? pointed : `${pointed}D${Number(exponent)}`;
}

/**
 * A string constant: its length in bytes, H, its bytes (IGES 5.3, 2.2.2.3), one character of the result a
 * byte. Letters outside ASCII, for which the standard has no place, are written as UTF-8.
 */
export function igesString(text: string): string {
  const bytes = Buffer.from(text, 'utf8').toString('latin1');
  return `${bytes.length}H${bytes}`;
}

/** Fields with their delimiters in lines of at most `width`; a string may run over, a number does not. */
function filled(fields: readonly string[], width: number): string[] {
  const lines: string[] = [];
  let line = '';
  fields.forEach((field, k) => {
    let text = field + (k === fields.length - 1 ? ';' : ',');
    if (line !== '' && line.length + text.length > width) {
      lines.push(line);
      line = '';
    }
    for (; text.length > width; text = text.slice(width)) lines.push(text.slice(0, width));
    line += text;
  });
  return [...lines, line];
}

const cells = (...values: readonly (string | number)[]): string =>
  values.map((value) => String(value).padStart(8)).join('');

/**
 * A file in fixed-length ASCII form (IGES 5.3, 2.2): start, global, directory and parameter section
 * and the terminate record. Entity k has the directory entry 2 k + 1, which is what points to it.
 */
export function igesRecords(
  start: string,
  globals: readonly string[],
  entities: readonly IgesEntity[],
): Uint8Array {
  const directory: string[] = [];
  const parameters: string[] = [];
  entities.forEach(({ type, form, status, label, fields }, at) => {
    const lines = filled([String(type), ...fields], parameterWidth);
    directory.push(
      cells(type, parameters.length + 1, 0, 0, 0, 0, 0, 0, status),
      cells(type, 0, 0, lines.length, form, '', '', label, 0),
    );
    for (const line of lines)
      parameters.push(line.padEnd(parameterWidth + 1) + String(2 * at + 1).padStart(7));
  });
  const sections = [
    ['S', [start]],
    ['G', filled(globals, globalWidth)],
    ['D', directory],
    ['P', parameters],
  ] as const;
  const counts = sections.map(([letter, lines]) => letter + String(lines.length).padStart(7));
  const records = [...sections, ['T', [counts.join('')]] as const].flatMap(([letter, lines]) =>
    lines.map((line, k) => line.padEnd(72) + letter + String(k + 1).padStart(7)),
  );
  return Buffer.from(`${records.join('\n')}\n`, 'latin1');
}

/**
 * Makes small files in fixed-length ASCII form for the tests, by IGES 5.3 (ANS US PRO/IPO-100-1996),
 * section 2.2: nothing here knows the reader.
 */
export interface MadeEntity {
  readonly type: number;
  /** Parameters behind the type number, as they are to stand in the file. */
  readonly fields: readonly (string | number)[];
  readonly form?: number;
  /** Number of the entity (from 1) that is its transformation matrix. */
  readonly matrix?: number;
  /** Field 5: a level, or minus the number of the entity that lists levels. */
  readonly level?: number;
  readonly status?: string;
  readonly label?: string;
  readonly subscript?: number;
}

export interface Layout {
  readonly parameter?: string;
  readonly record?: string;
  /** Global parameters 1 and 2 as written; by default in full. */
  readonly delimiters?: string;
  /** Global parameters 13 to 15 as written. */
  readonly scale?: string;
  readonly unit?: string;
  /** Global parameter 19 as written. */
  readonly resolution?: string;
  readonly lineEnd?: string;
  /** Last column that parameter data takes; 65 puts a delimiter there that does not fit in 64. */
  readonly width?: 64 | 65;
}

/** Pointer to the k-th entity (from 1): the number of the first of its two directory records. */
export const pointer = (k: number): number => 2 * k - 1;

export const hollerith = (text: string): string => `${Buffer.byteLength(text, 'latin1')}H${text}`;

const right = (value: string | number, width: number): string => String(value).padStart(width);

const record = (text: string, letter: string, sequence: number): string =>
  text.padEnd(72) + letter + right(sequence, 7);

/**
 * Fields put into lines of 64 columns. A string may run over line ends (2.2.2.3), a number keeps its
 * delimiter on its own line (2.2.3), in column 65 where the layout says so.
 */
function filled(fields: readonly (string | number)[], layout: Required<Layout>): string[] {
  const lines = [''];
  const put = (text: string, last: number): void => {
    if (lines[lines.length - 1].length + text.length > last) lines.push('');
    lines[lines.length - 1] += text;
  };
  fields.forEach((field, at) => {
    const text = String(field);
    const end = at === fields.length - 1 ? layout.record : layout.parameter;
    if (/^\d+H/.test(text)) {
      for (const c of text) put(c, 64);
      put(end, layout.width);
    } else put(text + end, layout.width);
  });
  return lines;
}

const defaults: Required<Layout> = {
  parameter: ',',
  record: ';',
  delimiters: '',
  scale: '1.',
  unit: '2,2HMM',
  resolution: '1E-5',
  lineEnd: '\n',
  width: 64,
};

/** The records of a file, without line ends. */
export function igesRecords(entities: readonly MadeEntity[], given: Layout = {}): string[] {
  const layout = { ...defaults, ...given };
  const { parameter, record: ended } = layout;
  const delimiters = given.delimiters ?? `1H${parameter}${parameter}1H${ended}${parameter}`;
  const middle = ['4HDemo', '8Hdemo.igs', '4HTest', '1H1', '32', '38', '6', '308', '15', ''];
  const units = `${layout.scale},${layout.unit}`.replaceAll(',', parameter);
  const rest = [
    '1',
    '0.01',
    '15H20260101.000000',
    layout.resolution,
    '1000.',
    '',
    '',
    '11',
    '0',
    '',
    '',
  ];
  const globalText =
    delimiters +
    middle.join(parameter) +
    parameter +
    units +
    parameter +
    rest.join(parameter) +
    ended;
  const global = globalText.match(/.{1,72}/gs) ?? [];
  const directory: string[] = [];
  const data: string[] = [];
  entities.forEach((entity, k) => {
    const lines = filled([entity.type, ...entity.fields], layout);
    const matrix = entity.matrix ? pointer(entity.matrix) : 0;
    const level = entity.level ?? 0;
    const levels = level < 0 ? -pointer(-level) : level;
    const first = [entity.type, data.length + 1, 0, 0, levels, 0, matrix, 0];
    const second = [entity.type, 0, 0, lines.length, entity.form ?? 0];
    directory.push(
      first.map((value) => right(value, 8)).join('') + (entity.status ?? '00000000'),
      second.map((value) => right(value, 8)).join('') +
        ''.padEnd(16) +
        right(entity.label ?? '', 8) +
        right(entity.subscript ?? '', 8),
    );
    for (const line of lines) data.push(line.padEnd(65) + right(pointer(k + 1), 7));
  });
  const counts = [1, global.length, directory.length, data.length];
  const end = ['S', 'G', 'D', 'P'].map((letter, k) => letter + right(counts[k], 7)).join('');
  return [
    record('A small file made for a test', 'S', 1),
    ...global.map((text, k) => record(text, 'G', k + 1)),
    ...directory.map((text, k) => record(text, 'D', k + 1)),
    ...data.map((text, k) => record(text, 'P', k + 1)),
    record(end, 'T', 1),
  ];
}

export const bytesOf = (records: readonly string[], lineEnd = '\n'): Uint8Array =>
  Buffer.from(records.map((line) => line + lineEnd).join(''), 'latin1');

export const igesFile = (entities: readonly MadeEntity[], layout: Layout = {}): Uint8Array =>
  bytesOf(igesRecords(entities, layout), layout.lineEnd ?? '\n');

/** A surface of degree 2 x 1 with 3 x 2 points; its height falls and rises, so no two are alike. */
export interface MadeSurface {
  readonly points?: readonly (readonly [number, number, number])[];
  /** Coordinates as written, instead of points. */
  readonly written?: readonly string[];
  readonly weights?: readonly number[];
  readonly polynomial?: 0 | 1;
  readonly range?: readonly (string | number)[];
  readonly additional?: readonly (string | number)[];
}

/** u runs fastest (IGES 5.3, 4.24): the first three are the first row. */
export const madePoints = [
  [0, 0, 0],
  [50, 0, 12.5],
  [100, 0, 0.25],
  [0, 80, 1],
  [50, 80, 20],
  [100, 80, -3],
] as const;

/** Parameters of a rational B-spline surface (128) behind the type number: IGES 5.3, section 4.24. */
export function surfaceFields(made: MadeSurface = {}): (string | number)[] {
  const real = (value: number): string => (Number.isInteger(value) ? `${value}.` : `${value}`);
  const weights = made.weights ?? [1, 1, 1, 1, 1, 1];
  return [
    // K1, K2, M1, M2, PROP1, PROP2
    2,
    1,
    2,
    1,
    0,
    0,
    made.polynomial ?? (weights.every((weight) => weight === weights[0]) ? 1 : 0),
    0,
    0,
    ...[0, 0, 0, 1, 1, 1].map(real),
    ...[0, 0, 1, 1].map(real),
    ...weights.map(real),
    ...(made.written ?? (made.points ?? madePoints).flat().map(real)),
    ...(made.range ?? ['0.', '1.', '0.', '1.']),
    ...(made.additional ?? []),
  ];
}

export const surface = (made: MadeSurface = {}, entity: Partial<MadeEntity> = {}): MadeEntity => ({
  type: 128,
  fields: surfaceFields(made),
  ...entity,
});

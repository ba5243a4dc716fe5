import fc from 'fast-check';
import { Matrix } from 'ml-matrix';
import { describe, expect, test } from 'vitest';
import { diagonal, pointAt } from '../../src/geometry/controlNet.ts';
import { readIges } from '../../src/intake/iges/readIges.ts';
import type { Intake } from '../../src/intake/panel.ts';
import { corpusBytes, corpusFolder } from '../corpus.ts';
import {
  bytesOf,
  hollerith,
  igesFile,
  igesRecords,
  madePoints,
  pointer,
  surface,
  surfaceFields,
  type Layout,
  type MadeEntity,
} from './igesFile.ts';

// Sections cited are those of IGES 5.3 (ANS US PRO/IPO-100-1996).

const codes = (intake: Intake): string[] => intake.faults.map(({ code }) => code);
const noticed = (intake: Intake): string[] => intake.notices.map(({ code }) => code);
const names = (intake: Intake): string[] => intake.panels.map(({ name }) => name);
const read = (entities: readonly MadeEntity[], layout: Layout = {}): Intake =>
  readIges(igesFile(entities, layout));
const coordinates = (intake: Intake, panel = 0): number[] =>
  Array.from(intake.panels[panel].net.points);
const close = (found: readonly number[], expected: readonly number[]): void => {
  expect(found.length).toBe(expected.length);
  found.forEach((value, k) => expect(value).toBeCloseTo(expected[k], 9));
};

const plain = madePoints.flat();
const sound = (intake: Intake): void => {
  expect(intake.faults).toEqual([]);
  expect(intake.notices).toEqual([]);
};

describe('sections and records: 2.2, 2.2.4', () => {
  test.each<[string, string]>([
    ['line feed', '\n'],
    ['carriage return and line feed', '\r\n'],
    ['carriage return', '\r'],
    ['none: 80-column blocks (common practice on older systems)', ''],
  ])('line end: %s', (_, lineEnd) => {
    const intake = read([surface()], { lineEnd });
    sound(intake);
    expect(coordinates(intake)).toEqual(plain);
  });

  test('no line end after the last record, a byte-order mark, blank lines, trailing blanks gone', () => {
    const records = igesRecords([surface()]).map((record) => record.trimEnd());
    const text = `\ufeff${records.slice(0, 3).join('\n')}\n\n${records.slice(3).join('\n')}`;
    const intake = readIges(Buffer.from(text, 'utf8'));
    sound(intake);
    expect(coordinates(intake)).toEqual(plain);
  });

  test('lines after the terminate record are not read', () => {
    const records = igesRecords([surface()]);
    sound(readIges(bytesOf([...records, 'not a record', ...records])));
  });

  test.each<[string, (sequence: string) => string]>([
    ['blank', () => '       '],
    ['all alike', () => '      9'],
    ['led by zeros', (sequence) => sequence.trim().padStart(7, '0')],
  ])('sequence numbers %s do no harm', (_, change) => {
    const records = igesRecords([surface({}, { label: 'HOOD' }), surface({}, { label: 'NOSE' })]);
    const intake = readIges(
      bytesOf(records.map((record) => record.slice(0, 73) + change(record.slice(73)))),
    );
    expect(intake.faults).toEqual([]);
    expect(names(intake)).toEqual(['HOOD', 'NOSE']);
  });

  test('a thinned file that kept its numbers is read by them', () => {
    const records = igesRecords([
      { type: 116, fields: ['1.', '2.', '3.', 0] },
      surface({}, { label: 'HOOD', matrix: 3 }),
      {
        type: 124,
        fields: ['1.', '0.', '0.', '7.', '0.', '1.', '0.', '0.', '0.', '0.', '1.', '0.'],
      },
    ]);
    const thinned = records.filter(
      (record) => !/^\s+116/.test(record) && !record.startsWith('116') && record[72] !== 'T',
    );
    const intake = readIges(bytesOf(thinned));
    expect(codes(intake)).toEqual(['iges-section']);
    expect(intake.panels[0].place).toEqual({ line: 4, record: 'D3' });
    close(coordinates(intake).slice(0, 3), [7, 0, 0]);
  });

  test.each<[string, string]>([
    ['G', 'iges-section'],
    ['D', 'iges-section'],
    ['P', 'iges-section'],
    ['T', 'iges-section'],
  ])('section %s missing', (section, code) => {
    const records = igesRecords([surface()]).filter((record) => record[72] !== section);
    const intake = readIges(bytesOf(records));
    expect(intake.faults).toContainEqual({ code, place: {}, data: { section } });
    expect(intake.panels.length).toBe(section === 'G' || section === 'T' ? 1 : 0);
  });

  test('fewer records than the terminate record states (2.2.4.6)', () => {
    const records = igesRecords([{ type: 116, fields: ['1.', '2.', '3.', 0] }, surface()]);
    const cut = records.filter((record) => record[72] !== 'P' || Number(record.slice(73)) < 4);
    const intake = readIges(bytesOf(cut));
    expect(intake.faults[0]).toMatchObject({
      code: 'iges-count',
      place: { record: 'T1' },
      data: { what: 'P', found: 3 },
    });
  });

  test.each<[string, Buffer]>([
    ['compressed', Buffer.from(`${''.padEnd(72)}C      1\n${igesRecords([surface()]).join('\n')}`)],
    ['binary', Buffer.from([66, 0, 0, 0, 72, ...Array.from({ length: 200 }, (_, k) => k % 7)])],
    ['unknown', Buffer.from('solid made of facets\n')],
  ])('the %s form is told, not read', (form, bytes) => {
    const intake = readIges(bytes);
    expect(intake.faults).toEqual([{ code: 'iges-form', place: { line: 1 }, data: { form } }]);
    expect(intake.panels).toEqual([]);
  });

  test('a line of no section and a lost directory record are told; the rest is read', () => {
    const records = igesRecords([surface({}, { label: 'NOSE' }), surface({}, { label: 'HOOD' })]);
    const at = records.findIndex((record) => record[72] === 'D');
    const stray = [...records.slice(0, at), 'torn', ...records.slice(at)];
    expect(readIges(bytesOf(stray)).faults).toEqual([
      { code: 'iges-record', place: { line: at + 1 }, data: { what: 'section', found: 1 } },
    ]);
    const intake = readIges(bytesOf(records.filter((_, k) => k !== at)));
    expect(codes(intake)).toEqual(['iges-count', 'iges-record']);
    expect(names(intake)).toEqual(['HOOD']);
  });
});

describe('free-formatted data: 2.2.2, 2.2.3', () => {
  const first = (text: string): number[] =>
    coordinates(read([surface({ written: [text, ...plain.slice(1).map((x) => `${x}E0`)] })])).slice(
      0,
      1,
    );

  // The standard's own examples of real values, 2.2.2.2.
  test.each<[string, number]>([
    ['256.091', 256.091],
    ['0.', 0],
    ['-0.58', -0.58],
    ['+4.21', 4.21],
    ['1.36E1', 13.6],
    ['-1.3E-02', -0.013],
    ['0.1E-3', 0.0001],
    ['1.E+4', 10000],
    ['145.98763D4', 1459876.3],
    ['-2145.980001D-5', -0.02145980001],
    ['0.123456789D+09', 123456789],
    ['-.43E2', -43],
    ['   7.5', 7.5],
    ['7.5  ', 7.5],
    ['', 0],
    ['   ', 0],
  ])('real "%s"', (text, value) => expect(first(text)).toEqual([value]));

  test.each<[string, string]>([
    ['1.2.3', 'bad-number'],
    ['1 2', 'bad-number'],
    ['3Habc', 'bad-number'],
    ['nan', 'bad-number'],
    ['1.E999', 'not-finite'],
    ['1.E20', 'beyond-range'],
  ])('"%s" is no coordinate', (text, code) => {
    const intake = read([
      surface({ written: [text, ...plain.slice(1).map((x) => `${x}E0`)] }),
      surface({}, { label: 'HOOD' }),
    ]);
    expect(codes(intake)).toEqual([code]);
    expect(intake.faults[0].place.record).toBe('D1');
    expect(names(intake)).toEqual(['HOOD']);
  });

  test('a bad number is placed on its line', () => {
    const records = igesRecords([surface()]);
    const at = records.findIndex((record) => record.includes('12.5'));
    records[at] = records[at].replace('12.5', '12x5');
    expect(readIges(bytesOf(records)).faults[0]).toMatchObject({
      code: 'bad-number',
      place: { line: at + 1, record: 'D1' },
    });
  });

  // The four combinations of 2.2.3.1.
  test.each<[string, Layout]>([
    [',,', { delimiters: ',,' }],
    ['1H||1H~|', { parameter: '|', record: '~' }],
    ['1H|||', { parameter: '|', record: ';', delimiters: '1H|||' }],
    [',1H~,', { parameter: ',', record: '~', delimiters: ',1H~,' }],
  ])('delimiters %s', (_, layout) => {
    const intake = read([surface()], layout);
    sound(intake);
    expect(coordinates(intake)).toEqual(plain);
  });

  test.each(['0', '+', '.', 'E', ' '])('"%s" may not delimit (2.2.3.1)', (parameter) => {
    const intake = read([surface()], { delimiters: `1H${parameter}${parameter}${parameter}` });
    expect(intake.faults.map(({ data }) => data)).toContainEqual({ what: 'delimiters' });
    expect(intake.panels).toEqual([]);
  });

  test.each<[string]>([['flank; left, lower'], ['x'.repeat(150)], ['a '.repeat(60) + 'z']])(
    'a string keeps delimiters and runs over records: "%s"',
    (name) => {
      const intake = read([
        surface({ additional: [0, 1, pointer(2)] }),
        { type: 406, form: 15, fields: [1, hollerith(name)] },
      ]);
      sound(intake);
      expect(names(intake)).toEqual([name]);
    },
  );

  test('a string that says it is longer than the file is no name', () => {
    const intake = read([
      surface({ additional: [0, 1, pointer(2)] }),
      { type: 406, form: 15, fields: [1, '999999999Hhood'] },
    ]);
    expect(names(intake)).toEqual(['surface-D1']);
  });

  // Column 65 is to be blank (2.2.4.5.1); files in use put a delimiter there. Which numbers end in
  // column 64 depends on their lengths, so the first is made longer step by step.
  const isFull = (record: string): boolean => record[72] === 'P' && record[64] === ',';
  const wide = Array.from({ length: 13 }, (_, digits) =>
    plain.map((__, k) => `${k * k}.${'5'.repeat(k === 0 ? digits : 1 + (k % 9))}`),
  );
  test('a delimiter in column 65 ends its number; without it two numbers would be one', () => {
    let full = 0;
    for (const written of wide) {
      const records = igesRecords([surface({ written })], { width: 65 });
      close(coordinates(readIges(bytesOf(records))), written.map(Number));
      if (!records.some(isFull)) continue;
      full++;
      const cut = records.map((record) =>
        isFull(record) ? `${record.slice(0, 64)} ${record.slice(65)}` : record,
      );
      expect(codes(readIges(bytesOf(cut)))).toHaveLength(1);
    }
    expect(full).toBeGreaterThan(3);
  });

  test('numbers that end in column 63 at the latest need no column 65', () => {
    for (const written of wide) {
      const records = igesRecords([surface({ written })], { width: 64 });
      expect(records.some(isFull)).toBe(false);
      close(coordinates(readIges(bytesOf(records))), written.map(Number));
    }
  });

  test('anything else in column 65 is not data', () => {
    const records = igesRecords([surface()]).map((record) =>
      record[72] === 'P' ? `${record.slice(0, 64)}0${record.slice(65)}` : record,
    );
    const intake = readIges(bytesOf(records));
    sound(intake);
    expect(coordinates(intake)).toEqual(plain);
  });
});

describe('units: 2.2.4.3.14 and 2.2.4.3.15', () => {
  // Lengths: NIST SP 811 (2008), appendix B.8; the international inch, foot and mile are exact.
  test.each<[string, string, number]>([
    ['1,4HINCH', 'in', 25.4],
    ['1,2HIN', 'in', 25.4],
    ['2,2HMM', 'mm', 1],
    ['3,2HCM', 'cm', 10],
    ['3,2Hcm', 'cm', 10],
    ['4,2HFT', 'ft', 304.8],
    ['5,2HMI', 'mile', 1609344],
    ['6,1HM', 'm', 1000],
    ['7,2HKM', 'km', 1e6],
    ['8,3HMIL', 'mil', 0.0254],
    ['9,2HUM', 'um', 0.001],
    ['10,2HCM', 'cm', 10],
    ['11,3HUIN', 'microinch', 0.0000254],
  ])('%s', (unit, name, millimetres) => {
    const intake = read([surface()], { unit });
    expect(intake.faults).toEqual([]);
    expect(intake.unit.name).toBe(name);
    close(
      coordinates(intake).map((value) => value / millimetres),
      plain,
    );
  });

  test.each([
    ['3,6HCUBITS', 3, 'CUBITS'],
    ['3,', 3, ''],
    ['12,2HMM', 12, 'MM'],
    ['3,11Hconstructor', 3, 'CONSTRUCTOR'],
  ])('unknown: %s', (unit, flag, name) => {
    const intake = read([surface()], { unit });
    expect(intake.faults).toMatchObject([{ code: 'unit-unknown', data: { flag, name } }]);
    expect(intake.panels).toEqual([]);
  });

  test.each([',', ',2HMM'])('an empty flag means inches, and is told: "%s"', (unit) => {
    const intake = read([surface()], { unit });
    expect(intake.unit.name).toBe('in');
    expect(noticed(intake)).toEqual(['unit-missing']);
  });

  test('the flag is believed over the name', () => {
    const intake = read([surface()], { unit: '2,4HINCH' });
    expect(intake.unit.name).toBe('mm');
    expect(intake.notices).toMatchObject([
      { code: 'flag-contradicts', data: { what: 'unit', flag: 'mm', found: 'in' } },
    ]);
  });

  test.each([
    ['metres under a millimetre flag', 0.001, true],
    ['a panel', 10, false],
    ['a stadium', 1e4, true],
  ])('size: %s', (_, factor, doubtful) => {
    const points = madePoints.map(([x, y, z]) => [x * factor, y * factor, z * factor] as const);
    const intake = read([surface({ points: points.map(([x, y, z]) => [x, y, z]) })]);
    expect(noticed(intake)).toEqual(doubtful ? ['unit-doubtful'] : []);
    expect(intake.unit.name).toBe('mm');
    close(coordinates(intake), points.flat());
  });

  test('a model scale is told and the model left as it is (2.2.4.3.13)', () => {
    const intake = read([surface()], { scale: '0.25' });
    expect(intake.notices).toMatchObject([{ code: 'model-scale', data: { scale: 0.25 } }]);
    expect(coordinates(intake)).toEqual(plain);
  });
});

describe('rational B-spline surface: 4.24', () => {
  test('u runs fastest, weights and points apart', () => {
    const weights = [1, 0.5, 1, 1, 0.75, 2];
    const intake = read([surface({ weights })]);
    sound(intake);
    const { net } = intake.panels[0];
    expect([net.columns, net.rows, net.degree]).toEqual([3, 2, [2, 1]]);
    expect(pointAt(net, 0, 1)).toEqual([50, 0, 12.5]);
    expect(pointAt(net, 1, 0)).toEqual([0, 80, 1]);
    expect(Array.from(net.weights ?? [])).toEqual(weights);
    expect(net.knots.map((knots) => Array.from(knots))).toEqual([
      [0, 0, 0, 1, 1, 1],
      [0, 0, 1, 1],
    ]);
  });

  // "If all weights are equal to each other, the surface is polynomial and PROP3 shall be set to 1."
  test.each<[number[], 0 | 1, boolean]>([
    [[1, 1, 1, 1, 1, 1], 1, false],
    [[1, 1, 1, 1, 1, 1], 0, true],
    [[1, 2, 1, 1, 1, 1], 0, false],
    [[1, 2, 1, 1, 1, 1], 1, true],
    [[3, 3, 3, 3, 3, 3], 1, false],
  ])('weights %j with PROP3 = %i', (weights, polynomial, contradicts) => {
    const intake = read([surface({ weights, polynomial })]);
    expect(noticed(intake)).toEqual(contradicts ? ['flag-contradicts'] : []);
    expect(intake.panels[0].net.weights === null).toBe(new Set(weights).size === 1);
  });

  test.each<[string[], string]>([
    [['0.', '1.', '0.', '1.'], 'whole'],
    [['0.', '0.9999999', '0.', '1.'], 'whole'],
    [['0.', '0.75', '0.', '1.'], 'part'],
    [['0.', '1.', '0.25', '1.'], 'part'],
    [[], 'whole'],
    [['', '', '', ''], 'whole'],
  ])('parameter ranges %j', (range, kind) => {
    const intake = read([surface({ range })]);
    sound(intake);
    expect(intake.panels[0].trim.kind).toBe(kind);
  });

  const changed = (at: number, value: string | number): MadeEntity => {
    const fields = surfaceFields();
    fields[at] = value;
    return { type: 128, fields };
  };

  test.each<[string, MadeEntity, string]>([
    ['K1 beyond the file', changed(0, 2000000000), 'count-beyond-file'],
    ['K1 far beyond the file', changed(0, '9.E300'), 'count-beyond-file'],
    ['K1 too large', changed(0, 3), 'iges-count'],
    ['K1 negative', changed(0, -5), 'too-few-points'],
    ['K1 not whole', changed(0, 2.5), 'bad-number'],
    ['degree 0', changed(2, 0), 'degree-range'],
    ['degree 90', changed(2, 9), 'iges-count'],
    ['knots that fall', changed(12, '-1.'), 'knots-decrease'],
    ['weight 0', changed(20, '0.'), 'weights-not-positive'],
    ['weight below 0', changed(20, '-1.'), 'weights-not-positive'],
    ['ends early', { type: 128, fields: surfaceFields().slice(0, 30) }, 'iges-count'],
    ['ends in the head', { type: 128, fields: [2, 1, 2] }, 'iges-count'],
    ['another type in its data', { type: 128, fields: [] }, 'iges-count'],
    ['one point', surface({ points: madePoints.map(() => [1, 2, 3]) }), 'no-extent'],
  ])('%s: a fault with its place, and the others are read', (_, entity, code) => {
    const intake = read([entity, surface({}, { label: 'HOOD' })]);
    expect(codes(intake)).toEqual([code]);
    expect(intake.faults[0].place.record).toBe('D1');
    expect(names(intake)).toEqual(['HOOD']);
  });

  test('a record without its end, and data of another type', () => {
    const records = igesRecords([surface(), surface()]);
    const unended = records.map((record) =>
      record[72] === 'P' && Number(record.slice(65, 72)) === 1 ? record.replace(';', ',') : record,
    );
    expect(readIges(bytesOf(unended)).panels.length).toBe(2);
    const cut = unended.map((record) =>
      record[72] === 'P' && Number(record.slice(65, 72)) === 1 && /80\.,1\./.test(record)
        ? `${''.padEnd(64)}${record.slice(64)}`
        : record,
    );
    expect(codes(readIges(bytesOf(cut)))).toHaveLength(1);
    const other = records.map((record) =>
      record[72] === 'P' ? record.replace(/^128,/, '126,') : record,
    );
    expect(readIges(bytesOf(other)).faults).toMatchObject([
      { code: 'iges-pointer', data: { what: 'parameter type', found: 126 } },
      { code: 'iges-pointer' },
    ]);
  });
});

/** Row by row with the shift behind each row: 4.21. Here from a homogeneous 4 x 4 of ml-matrix. */
const matrixEntity = (m: Matrix, more: Partial<MadeEntity> = {}): MadeEntity => ({
  type: 124,
  fields: m
    .to2DArray()
    .slice(0, 3)
    .flat()
    .map((x) => x.toExponential(16)),
  ...more,
});
const moved = (m: Matrix): number[] =>
  madePoints.flatMap(([x, y, z]) =>
    m
      .mmul(Matrix.columnVector([x, y, z, 1]))
      .to1DArray()
      .slice(0, 3),
  );
const turn = (angle: number, shift: [number, number, number]): Matrix =>
  new Matrix([
    [Math.cos(angle), -Math.sin(angle), 0, shift[0]],
    [Math.sin(angle), Math.cos(angle), 0, shift[1]],
    [0, 0, 1, shift[2]],
    [0, 0, 0, 1],
  ]);
const tilt = (angle: number, shift: [number, number, number]): Matrix =>
  new Matrix([
    [1, 0, 0, shift[0]],
    [0, Math.cos(angle), -Math.sin(angle), shift[1]],
    [0, Math.sin(angle), Math.cos(angle), shift[2]],
    [0, 0, 0, 1],
  ]);
const mirror = Matrix.diag([1, -1, 1, 1]);
const [m1, m2, m3] = [turn(0.3, [5, 6, 7]), tilt(1.1, [-20, 3, 0.5]), turn(-2, [100, 0, 9])];
const sizedBy = (s: number): Matrix => Matrix.diag([s, s, s, 1]);
const shiftedBy = (x: number, y: number, z: number): Matrix =>
  new Matrix([
    [1, 0, 0, x],
    [0, 1, 0, y],
    [0, 0, 1, z],
    [0, 0, 0, 1],
  ]);

const dependent = '00010000';
const trimmed = (child: number, more: Partial<MadeEntity> = {}): MadeEntity => ({
  type: 144,
  fields: [pointer(child), 0, 0, 0],
  ...more,
});

describe('where a surface stands: 2.2.4.4.9.2, 3.2.3, 4.21', () => {
  test.each<[string, MadeEntity[], Matrix]>([
    ['its matrix', [surface({}, { matrix: 2 }), matrixEntity(m1)], m1],
    ['a mirror, form 1', [surface({}, { matrix: 2 }), matrixEntity(mirror, { form: 1 })], mirror],
    [
      'the matrix of its matrix after it',
      [surface({}, { matrix: 2 }), matrixEntity(m1, { matrix: 3 }), matrixEntity(m2)],
      m2.mmul(m1),
    ],
    [
      'the matrix of its face after it',
      [
        surface({}, { matrix: 3, status: dependent }),
        trimmed(1, { matrix: 4 }),
        matrixEntity(m1),
        matrixEntity(m2),
      ],
      m2.mmul(m1),
    ],
    [
      'not that of its face, where it is only logically dependent',
      [
        surface({}, { matrix: 3, status: '00020000' }),
        trimmed(1, { matrix: 4 }),
        matrixEntity(m1),
        matrixEntity(m2),
      ],
      m1,
    ],
    [
      'face, shell and solid',
      [
        surface({}, { status: dependent }),
        { type: 510, fields: [pointer(1), 0, 1], status: dependent },
        { type: 514, form: 1, fields: [1, pointer(2), 1], status: dependent, matrix: 5 },
        { type: 186, fields: [pointer(3), 1, 0], matrix: 6 },
        matrixEntity(m1),
        matrixEntity(m2),
      ],
      m2.mmul(m1),
    ],
    [
      // The example of 2.2.4.4.9.2: M1, M2 of A; M3 of B; scale, M4 and shift of the instance D.
      'the worked example',
      [
        surface({}, { matrix: 5, status: dependent }),
        trimmed(1, { matrix: 7, status: dependent }),
        { type: 308, fields: [0, hollerith('B'), 1, pointer(2)], status: '00000200' },
        { type: 408, fields: [pointer(3), '10.', '20.', '30.', '1.5'], matrix: 8 },
        matrixEntity(m1, { matrix: 6 }),
        matrixEntity(m2),
        matrixEntity(m3),
        matrixEntity(mirror, { form: 1 }),
      ],
      shiftedBy(10, 20, 30).mmul(mirror).mmul(sizedBy(1.5)).mmul(m3).mmul(m2).mmul(m1),
    ],
    [
      'the scale of an instance is 1 by default',
      [
        surface({}, { status: dependent }),
        { type: 308, fields: [0, hollerith('B'), 1, pointer(1)] },
        { type: 408, fields: [pointer(2), '1.', '2.', '3.'] },
      ],
      shiftedBy(1, 2, 3),
    ],
    [
      'a network subfigure with a factor for each axis',
      [
        surface({}, { status: dependent }),
        { type: 320, fields: [0, hollerith('B'), 1, pointer(1)] },
        { type: 420, fields: [pointer(2), '1.', '2.', '3.', '2.', '', '4.'] },
      ],
      shiftedBy(1, 2, 3).mmul(Matrix.diag([2, 2, 4, 1])),
    ],
    [
      'an instance of a solid',
      [
        surface({}, { status: dependent }),
        { type: 510, fields: [pointer(1), 0, 1], status: dependent },
        { type: 514, form: 1, fields: [1, pointer(2), 1], status: dependent },
        { type: 186, fields: [pointer(3), 1, 0], status: dependent },
        { type: 430, form: 1, fields: [pointer(4)], matrix: 6 },
        matrixEntity(m1),
      ],
      m1,
    ],
  ])('%s', (_, entities, expected) => {
    const intake = read(entities);
    sound(intake);
    expect(intake.panels.length).toBe(1);
    close(coordinates(intake), moved(expected));
  });

  test('millimetres after the matrix: its shift is in the file’s unit too', () => {
    const intake = read([surface({}, { matrix: 2 }), matrixEntity(m1)], { unit: '6,1HM' });
    close(
      coordinates(intake).map((value) => value / 1000),
      moved(m1),
    );
  });

  const flank = [
    surface({}, { status: dependent, label: 'FLANK' }),
    { type: 308, fields: [0, hollerith('flank'), 1, pointer(1)] },
  ];
  test('one panel an instance, nested ones too; a definition never instanced once', () => {
    expect(read(flank).panels.length).toBe(1);
    const two = read([
      ...flank,
      { type: 408, fields: [pointer(2), '0.', '0.', '0.', '1.'] },
      { type: 408, fields: [pointer(2), '500.', '0.', '0.', '1.'] },
    ]);
    expect(names(two)).toEqual(['FLANK', 'FLANK~2']);
    close(coordinates(two, 1), moved(shiftedBy(500, 0, 0)));
    const nested = read([
      ...flank,
      { type: 408, fields: [pointer(2), '0.', '700.', '0.', '1.'], status: dependent },
      { type: 308, fields: [1, hollerith('side'), 2, pointer(1), pointer(3)] },
      { type: 408, fields: [pointer(4), '0.', '0.', '0.', '2.'] },
      { type: 408, fields: [pointer(4), '0.', '0.', '9.', '1.'] },
    ]);
    sound(nested);
    expect(nested.panels.length).toBe(4);
    close(coordinates(nested, 0), moved(sizedBy(2).mmul(shiftedBy(0, 700, 0))));
    close(coordinates(nested, 2), moved(sizedBy(2)));
  });

  test('two faces on one surface are one panel', () => {
    expect(names(read([surface(), trimmed(1), trimmed(1)]))).toEqual(['surface-D1']);
  });

  const cyclic: MadeEntity[] = [
    { type: 308, fields: [0, hollerith('a'), 2, pointer(3), pointer(2)] },
    { type: 408, fields: [pointer(1), '1.', '0.', '0.', '1.'] },
    surface({}, { status: dependent }),
  ];
  const doubling = (levels: number): MadeEntity[] => [
    surface({}, { status: dependent }),
    ...Array.from({ length: levels }, (_, k): MadeEntity[] => [
      {
        type: 308,
        fields: [
          k,
          hollerith('d'),
          k === 0 ? 1 : 2,
          pointer(Math.max(3 * k - 1, 1)),
          ...(k === 0 ? [] : [pointer(3 * k)]),
        ],
      },
      { type: 408, fields: [pointer(3 * k + 2), '1.', '0.', '0.', '1.'] },
      { type: 408, fields: [pointer(3 * k + 2), `${3 ** k + 1}.`, '0.', '0.', '1.'] },
    ]).flat(),
  ];
  test.each<[string, MadeEntity[], string]>([
    [
      'a flat matrix',
      [surface({}, { matrix: 2 }), matrixEntity(Matrix.diag([1, 0, 1, 1]))],
      'placement',
    ],
    ['an empty matrix', [surface({}, { matrix: 2 }), { type: 124, fields: ['', ''] }], 'placement'],
    ['a matrix that is none', [surface({}, { matrix: 1 })], 'iges-pointer'],
    ['a matrix beyond the file', [surface({}, { matrix: 400 })], 'iges-pointer'],
    [
      'matrices in a circle',
      [
        surface({}, { matrix: 2 }),
        matrixEntity(m1, { matrix: 3 }),
        matrixEntity(m2, { matrix: 2 }),
      ],
      'too-deep',
    ],
    ['instances in a circle', cyclic, 'too-deep'],
  ])('%s: a fault, and no panel in a wrong place', (_, entities, code) => {
    const intake = read([...entities, surface({}, { label: 'HOOD' })]);
    expect(codes(intake)).toEqual([code]);
    expect(names(intake)).toEqual(['HOOD']);
  });

  test('instances of instances that would fill the memory are refused', () => {
    const entities = doubling(30).map((entity, k): MadeEntity =>
      entity.type === 308 && k > 1
        ? { ...entity, fields: [1, hollerith('d'), 2, pointer(k - 1), pointer(k)] }
        : entity,
    );
    const intake = read(entities);
    expect(codes(intake)).toEqual(['iges-instances']);
  });
});

describe('names: 2.2.4.4.18, 2.2.4.5.2, 406 form 15', () => {
  const named = (name: string): MadeEntity => ({
    type: 406,
    form: 15,
    fields: [1, hollerith(name)],
  });
  const face = (
    more: Partial<MadeEntity> = {},
    additional: (string | number)[] = [],
  ): MadeEntity => ({
    type: 144,
    fields: [pointer(1), 0, 0, 0, ...additional],
    ...more,
  });
  test.each<[string, MadeEntity[], string]>([
    [
      'its own property first',
      [
        surface({ additional: [0, 1, pointer(3)] }, { label: 'LABEL' }),
        face({ label: 'FACE' }, [0, 1, pointer(4)]),
        named('hood'),
        named('other'),
      ],
      'hood',
    ],
    [
      'the property of its face',
      [surface({}, { label: 'LABEL' }), face({}, [1, pointer(2), 1, pointer(3)]), named('nose')],
      'nose',
    ],
    [
      'the property of a face with boundaries',
      [
        surface(),
        { type: 144, fields: [pointer(1), 1, 2, 0, 0, 0, 0, 1, pointer(3)] },
        named('spine'),
      ],
      'spine',
    ],
    [
      'of a bounded surface',
      [surface(), { type: 143, fields: [1, pointer(1), 1, 0, 0, 1, pointer(3)] }, named('tail')],
      'tail',
    ],
    [
      'of a face of a solid',
      [surface(), { type: 510, fields: [pointer(1), 2, 1, 0, 0, 0, 1, pointer(3)] }, named('tail')],
      'tail',
    ],
    ['its label', [surface({}, { label: 'LABEL' }), face({ label: 'FACE' })], 'LABEL'],
    ['its label with subscript', [surface({}, { label: 'HOOD', subscript: 12 })], 'HOOD-12'],
    ['the label of its face', [surface({}, { label: '0' }), face({ label: 'FACE' })], 'FACE'],
    ['its place', [surface({}, { label: '0', subscript: 4 }), face({ label: '  ' })], 'surface-D1'],
    [
      'a property that is no name',
      [surface({ additional: [0, 1, pointer(2)] }), { type: 406, form: 3, fields: [1, '2Hno'] }],
      'surface-D1',
    ],
    [
      'no control characters in a name',
      [surface({ additional: [0, 1, pointer(2)] }), named('\u001b[31mhood\u0007')],
      '[31mhood',
    ],
    [
      'pointers that point nowhere',
      [surface({ additional: [0, 5, 99, -3, 1] }, { label: 'HOOD' })],
      'HOOD',
    ],
  ])('%s', (_, entities, name) => expect(names(read(entities))).toEqual([name]));

  test('each once in a file', () => {
    const hoods = ['HOOD', 'HOOD', 'HOOD~2', 'HOOD'].map((label) => surface({}, { label }));
    const found = names(read(hoods));
    expect(new Set(found).size).toBe(4);
    expect(found.slice(0, 2)).toEqual(['HOOD', 'HOOD~2']);
  });
});

describe('trims: 143, 144, 510', () => {
  test.each<[string, MadeEntity[], string]>([
    ['alone', [], 'whole'],
    ['144 with an outer boundary', [{ type: 144, fields: [pointer(1), 1, 0, 0] }], 'unread'],
    ['144 with a hole', [{ type: 144, fields: [pointer(1), 0, 1, 0, 0] }], 'unread'],
    ['144 along the edges of the surface', [{ type: 144, fields: [pointer(1), 0, 0, 0] }], 'whole'],
    ['143', [{ type: 143, fields: [0, pointer(1), 1, 0] }], 'unread'],
    ['510', [{ type: 510, fields: [pointer(1), 1, 1, 0] }], 'unread'],
  ])('%s', (_, faces, kind) => {
    const { trim } = read([surface(), ...faces]).panels[0];
    expect(trim.kind).toBe(kind);
    if (trim.kind === 'unread') expect(trim.place.record).toBe('D3');
  });
});

describe('surfaces that no rule judges: 3.2.1, table 3', () => {
  test('each once by type, a plane only where it bounds something', () => {
    const zeros = (count: number): string[] => Array.from({ length: count }, () => '0.');
    const intake = read([
      { type: 120, fields: [0, 0, '0.', '1.'] },
      { type: 144, fields: [pointer(1), 1, 0, 0] },
      { type: 144, fields: [pointer(1), 1, 0, 0] },
      { type: 108, fields: ['0.', '0.', '1.', '0.', 0] },
      { type: 108, form: 1, fields: ['0.', '0.', '1.', '0.', 0] },
      { type: 108, fields: ['0.', '0.', '1.', '5.', 0] },
      { type: 143, fields: [0, pointer(6), 1, 0] },
      { type: 122, fields: [0, ...zeros(3)] },
      { type: 190, fields: [0, 0] },
      { type: 158, fields: ['4.', ...zeros(3)] },
      { type: 100, fields: zeros(7) },
    ]);
    expect(intake.faults).toEqual([]);
    expect(intake.unjudged.map(({ kind, label, count }) => [kind, label, count])).toEqual([
      ['IGES 108', 'plane', 2],
      ['IGES 120', 'surface of revolution', 1],
      ['IGES 122', 'tabulated cylinder', 1],
      ['IGES 158', 'sphere', 1],
      ['IGES 190', 'plane surface', 1],
    ]);
    expect(intake.unjudged[1].places).toEqual([{ line: 4, record: 'D1' }]);
  });

  test.each<[string, MadeEntity, string]>([
    ['nothing', { type: 144, fields: [0, 1, 0, 0] }, 'iges-pointer'],
    ['beyond the file', { type: 143, fields: [0, 4711, 0] }, 'iges-pointer'],
    ['no surface', { type: 510, fields: [pointer(1), 0, 1] }, 'iges-pointer'],
    ['a string', { type: 144, fields: [hollerith('D1'), 1, 0, 0] }, 'iges-pointer'],
    ['a count beyond the record', { type: 308, fields: [0, '1Hx', 99999999] }, 'count-beyond-file'],
    ['a negative count', { type: 514, fields: [-1] }, 'count-beyond-file'],
  ])('a face or group over %s is told', (_, entity, code) => {
    const intake = read([entity, surface({}, { label: 'HOOD' })]);
    expect(intake.faults).toMatchObject([{ code, place: { record: 'D1' } }]);
    expect(names(intake)).toEqual(['HOOD']);
  });
});

describe('nothing in a file hurts the reader', () => {
  test('entries that all claim the same parameter records are refused before they cost time', () => {
    const [start, global, ...rest] = igesRecords([surface()]);
    const head = [start, global, ...rest.filter((record) => record[72] === 'G')];
    const data = rest.filter((record) => record[72] === 'P');
    const pair = rest.filter((record) => record[72] === 'D');
    const many = Array.from({ length: 3000 }, () => pair).flat();
    const filler = Array.from({ length: 3000 }, () => data[data.length - 1].replace(';', ','));
    const claimed = many.map((record, k) =>
      k % 2 === 0 ? record : record.slice(0, 24) + '   99999' + record.slice(32),
    );
    const begun = performance.now();
    const intake = readIges(bytesOf([...head, ...claimed, ...data, ...filler]));
    // 3000 entries of 3000 records would be 9 million records, over ten seconds
    expect(performance.now() - begun).toBeLessThan(3000);
    expect(codes(intake)).toContain('iges-pointer');
  });

  const whole = igesRecords([
    surface({ additional: [0, 1, pointer(6)] }, { matrix: 5, status: dependent }),
    trimmed(1, { label: 'HOOD' }),
    { type: 308, fields: [0, hollerith('B'), 1, pointer(2)] },
    { type: 408, fields: [pointer(3), '10.', '20.', '30.', '1.5'] },
    matrixEntity(m1),
    { type: 406, form: 15, fields: [1, hollerith('hood, left')] },
    surface({ weights: [1, 2, 1, 1, 1, 1] }),
  ]);
  const sample = Buffer.from(bytesOf(whole));

  // borders in all their forms, patches, groups and layers
  const square = ['.2', '.2', '0.', '.8', '.2', '0.', '.8', '.8', '0.', '.2', '.2', '0.'];
  const bordered = Buffer.from(
    igesFile([
      surface({}, { level: -12 }),
      { type: 100, fields: ['0.', '.5', '.5', '.7', '.5', '.7', '.5'], matrix: 13 },
      { type: 102, fields: [1, pointer(2)] },
      { type: 142, fields: [0, pointer(1), pointer(3), pointer(5), 3] },
      { type: 106, form: 12, fields: [2, 4, ...square] },
      { type: 144, fields: [pointer(1), 0, 1, 0, pointer(4)], label: 'HOOD', level: 3 },
      { type: 141, fields: [1, 1, pointer(1), 1, pointer(5), 2, 1, pointer(5)] },
      { type: 143, fields: [1, pointer(1), 1, pointer(7)] },
      { type: 504, form: 1, fields: [1, pointer(5), 1, 1, 1, 1] },
      { type: 508, form: 1, fields: [1, 0, pointer(9), 1, 1, 1, 0, pointer(5)] },
      { type: 510, form: 1, fields: [pointer(1), 1, 1, pointer(10)] },
      { type: 406, form: 1, fields: [2, 4, 7] },
      matrixEntity(shiftedBy(0.1, 0, 0)),
      { type: 402, form: 7, fields: [2, pointer(6), pointer(15)], label: 'BODY' },
      {
        type: 114,
        fields: [3, 1, 1, 1, 0, '100.', 0, '80.'].concat(
          ['0.', '1.', ...Array.from({ length: 18 }, () => '0.')],
          ['1.', ...Array.from({ length: 11 }, () => '0.')],
          ['3.', '.1', '.01', '.001', '.1', ...Array.from({ length: 11 }, () => '-.0001')],
        ),
      },
      { type: 406, form: 3, fields: [2, 7, hollerith('skin')], level: 3 },
      {
        type: 126,
        fields: [1, 1, 0, 0, 1, 0, '0.', '0.', '1.', '1.', '1.', '1.'].concat([
          '.2',
          '.2',
          '0.',
          '.8',
          '.8',
          '0.',
          '0.',
          '1.',
        ]),
      },
      { type: 104, form: 1, fields: ['4.', 0, '9.', 0, 0, '-1.', 0, '.5', 0, '-.5', 0] },
      { type: 112, fields: [3, 1, 2, 1, '0.', '1.', '-.5', '1.', ...Array(22).fill('0.')] },
      { type: 102, fields: [3, pointer(17), pointer(18), pointer(19)] },
      { type: 142, fields: [0, pointer(15), pointer(20), 0, 1] },
      { type: 144, fields: [pointer(15), 1, 0, pointer(21)] },
    ]),
  );

  /** What every intake must hold, whatever the bytes were. */
  function sane(bytes: Uint8Array): void {
    const intake = readIges(bytes);
    expect(intake.format).toBe('iges');
    for (const { net, trim } of intake.panels) {
      if (trim.kind === 'part')
        for (const { curves } of trim.region.loops)
          for (const { points, knots } of curves)
            expect([...points, ...knots].every((value) => Number.isFinite(value))).toBe(true);
      expect(net.points.every((value) => Number.isFinite(value))).toBe(true);
      expect(net.points.length).toBe(3 * net.columns * net.rows);
    }
    for (const { data } of intake.faults)
      for (const value of Object.values(data))
        expect(typeof value === 'string' || Number.isFinite(value)).toBe(true);
    expect(readIges(bytes)).toEqual(intake);
  }

  test('the sample itself is read', () => {
    const intake = readIges(sample);
    sound(intake);
    expect(names(intake)).toEqual(['hood, left', 'surface-D13']);
  });

  test('any bytes give an intake', () => {
    fc.assert(fc.property(fc.uint8Array({ maxLength: 2000 }), sane), { numRuns: 300 });
  });

  test('any file of records gives an intake', () => {
    const record = fc
      .tuple(fc.string({ maxLength: 72 }), fc.constantFrom('S', 'G', 'D', 'P', 'T'), fc.nat(99))
      .map(([text, letter, k]) => text.slice(0, 72).padEnd(72) + letter + String(k).padStart(7));
    const file = fc.array(record, { maxLength: 30 });
    fc.assert(
      fc.property(file, (records) => sane(bytesOf(records))),
      { numRuns: 300 },
    );
  });

  test('the sample of borders is read', () => {
    const intake = readIges(bordered);
    expect(intake.faults).toEqual([]);
    expect(intake.panels.map(({ name, trim, groups }) => [name, trim.kind, groups])).toEqual([
      ['HOOD', 'part', ['BODY', 'layer 4', 'layer 7', 'skin']],
      ['surface-D1', 'part', ['layer 4', 'layer 7']],
      ['surface-D1~2', 'part', ['layer 4', 'layer 7']],
      ['surface-D29', 'part', ['BODY']],
    ]);
  });

  const spot = fc.nat(Math.max(sample.length, bordered.length) - 1);
  const change = fc.oneof(
    fc.record({ kind: fc.constant('cut' as const), at: spot }),
    fc.record({ kind: fc.constant('flip' as const), at: spot, to: fc.nat(255) }),
    fc.record({
      kind: fc.constant('digit' as const),
      at: spot,
      to: fc.integer({ min: 45, max: 57 }),
    }),
    fc.record({ kind: fc.constant('splice' as const), at: spot, from: spot, size: fc.nat(400) }),
  );
  test.each([
    ['placed surfaces', sample],
    ['borders', bordered],
  ])('any mutation of a file gives an intake: %s', (_, original) => {
    fc.assert(
      fc.property(fc.array(change, { minLength: 1, maxLength: 6 }), (changes) => {
        let bytes = Buffer.from(original);
        for (const one of changes) {
          if (one.kind === 'cut') bytes = bytes.subarray(0, Math.max(one.at, original.length / 2));
          else if (one.kind === 'splice')
            bytes = Buffer.concat([
              bytes.subarray(0, one.at),
              original.subarray(one.from, one.from + one.size),
              bytes.subarray(one.at),
            ]);
          else if (one.at < bytes.length) bytes[one.at] = one.to;
        }
        sane(bytes);
      }),
      { numRuns: 300 },
    );
  });
});

describe.skipIf(corpusFolder === null)('real files (corpus)', () => {
  const file = (name: string): Intake => readIges(corpusBytes(`surfaces/${name}`));
  const shapes = (intake: Intake): string[] =>
    intake.panels.map(({ net }) => `${net.degree.join('x')} ${net.columns}x${net.rows}`);
  const unjudged = (intake: Intake): [string, number][] =>
    intake.unjudged.map(({ kind, count }) => [kind, count]);

  // Sizes and names as the index of the corpus gives them.
  test.each<[string, string, string[], [string, number][]]>([
    ['ship-bow.iges', 'm', ['3x3 19x14'], []],
    ['ship-half.iges', 'm', ['3x3 19x14', '3x5 4x81', '3x3 16x10'], []],
    ['slim-hull.iges', 'm', ['3x4 4x11'], []],
    ['wing-metre.iges', 'm', ['1x1 2x2', '3x1 69x2', '3x1 69x2', '1x1 2x2'], []],
    ['side-inch.iges', 'in', [], [['IGES 122', 1]]],
    [
      'pipe-no-bspline.iges',
      'm',
      [],
      [
        ['IGES 108', 2],
        ['IGES 120', 4],
      ],
    ],
    ['pipe-rational.iges', 'mm', ['2x1 33x31', '2x1 33x31', '1x1 31x31', '1x1 31x31'], []],
  ])('%s', (name, unit, panels, others) => {
    const intake = file(name);
    // its surfaces were bent, its borders apart from them: these lie up to 18 mm off
    if (name === 'pipe-rational.iges')
      expect(intake.notices.map(({ code }) => code)).toEqual([
        'trim-off-surface',
        'trim-off-surface',
        'trim-off-surface',
      ]);
    else sound(intake);
    expect(intake.unit.name).toBe(unit);
    expect(shapes(intake)).toEqual(panels);
    expect(unjudged(intake)).toEqual(others);
  });

  // Curves of the outer border, as the loops (508) and composites (102) of each file list them; what
  // they keep is held against a kernel in test/published.
  test.each<[string, number, number[]]>([
    ['ship-bow.iges', 0.014463, [4]],
    ['ship-half.iges', 0.0144629, [4, 4, 4]],
    ['slim-hull.iges', 0.01, [4]],
    ['wing-metre.iges', 0.01, [2, 4, 4, 2]],
    ['airliner-wing.igs', 0.01, [4, 4, 4, 4, 4, 4]],
  ])('%s: every face is trimmed within %d mm or its share of the size', (name, stated, counts) => {
    const { panels } = file(name);
    const regions = panels.map(({ trim }) => (trim.kind === 'part' ? trim.region : null));
    expect(regions.map((region) => region?.loops.length)).toEqual(counts.map(() => 1));
    regions.forEach((region, k) => {
      expect(region?.tolerance).toBeCloseTo(Math.max(stated, 1e-5 * diagonal(panels[k].net)), 9);
      // straight pieces close what is apart within the tolerance
      expect(region?.loops[0].curves.length).toBeGreaterThanOrEqual(counts[k]);
    });
  });

  test('airliner-wing.igs: six nets with the names of their faces, in a solid', () => {
    const intake = file('airliner-wing.igs');
    sound(intake);
    expect(names(intake)).toEqual(['Bottom', 'Top', 'Bottom~2', 'Top~2', 'Bottom~3', 'Top~3']);
    expect(intake.panels.every(({ trim }) => trim.kind === 'part')).toBe(true);
    expect(unjudged(intake)).toEqual([['IGES 190', 2]]);
  });

  test('wing-metre.iges is in millimetres: its largest coordinate is that of global parameter 20', () => {
    const largest = Math.max(
      ...file('wing-metre.iges').panels.flatMap(({ net }) => Array.from(net.points, Math.abs)),
    );
    // 2.505358 m, stated over the whole model and rounded up by its writer
    expect(largest).toBeLessThanOrEqual(2505.358);
    expect(largest).toBeGreaterThan(2000);
  });

  test('pipe-rational.iges: the round walls have weights, the flat ones have none', () => {
    const weights = file('pipe-rational.iges').panels.map(({ net }) => net.weights !== null);
    expect(weights).toEqual([true, true, false, false]);
  });
});

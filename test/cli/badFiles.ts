import type { FaultCode } from '../../src/intake/fault.ts';
import {
  bytesOf,
  hollerith,
  igesFile,
  igesRecords,
  madePoints,
  pointer,
  surface,
  surfaceFields,
  type MadeEntity,
} from '../intake/igesFile.ts';
import { StepRecordsMaker } from '../intake/stepFile.ts';
import { vdaText } from './badVdaFiles.ts';

/** A file that is wrong: what it is, its name, its bytes, and the fault that says so. */
export interface BadFile {
  readonly given: string;
  readonly name: string;
  readonly bytes: Uint8Array;
  readonly code: FaultCode;
}

/** One panel of degree 2 x 1 in each format; heights rise and fall, so no two points are alike. */
const hood = {
  name: 'hood',
  degree: [2, 1],
  knots: [
    [0, 0, 0, 1, 1, 1],
    [0, 0, 1, 1],
  ],
  rows: [madePoints.slice(0, 3), madePoints.slice(3)],
};

type Shape = Readonly<Record<string, unknown>>;
export const jsonText = (panel: Shape = {}, file: Shape = {}): string =>
  JSON.stringify(
    {
      format: 'hullsight-net',
      version: 1,
      units: 'mm',
      panels: [{ ...hood, ...panel }],
      ...file,
    },
    null,
    1,
  );
const json = (panel: Shape, file: Shape = {}): Uint8Array => Buffer.from(jsonText(panel, file));
const jsonWith = (from: string | RegExp, to: string): Uint8Array =>
  Buffer.from(exchanged(jsonText(), from, to));

/** The text with the first `from` exchanged; a table row whose edit does nothing must not pass. */
function exchanged(text: string, from: string | RegExp, to: string): string {
  const next = text.replace(from, () => to);
  if (next === text) throw new Error(`"${String(from)}" is not in the text`);
  return next;
}

const hoodNet = {
  degree: [2, 1] as [number, number],
  knots: [Float64Array.of(0, 0, 0, 1, 1, 1), Float64Array.of(0, 0, 1, 1)] as [
    Float64Array,
    Float64Array,
  ],
  columns: 3,
  rows: 2,
  points: Float64Array.from(madePoints.flat()),
  weights: null,
};

export const stepText: string = ((): string => {
  const maker = new StepRecordsMaker();
  const context = maker.context();
  maker.representation([maker.surface(hoodNet, 'hood')], context);
  return Buffer.from(maker.file()).toString('latin1');
})();
const stepWith = (from: string | RegExp, to: string): Uint8Array =>
  Buffer.from(exchanged(stepText, from, to), 'latin1');
const stepShift = ((): Uint8Array => {
  const maker = new StepRecordsMaker();
  const context = maker.context();
  const part = maker.representation([maker.surface(hoodNet, 'hood')], context);
  // The axis and the reference direction are one, so they span no plane.
  const flat = maker.axes([0, 0, 0], [0, 0, 1], [0, 0, 1]);
  maker.placed(part, maker.representation([flat], context), flat, flat);
  return maker.file();
})();

export const igesText: string = Buffer.from(igesFile([surface()])).toString('latin1');
const iges = (fields: readonly (string | number)[], more: Partial<MadeEntity> = {}): Uint8Array =>
  igesFile([{ type: 128, fields, ...more }]);
/** The surface with the k-th parameter behind the type number (from 0) as given. */
const igesField = (k: number, value: string | number): Uint8Array =>
  iges(surfaceFields().map((field, at) => (at === k ? value : field)));
/** The file with columns of the first record of a section (from 0) overwritten. */
const igesColumns = (section: string, row: number, column: number, text: string): Uint8Array => {
  const records = igesRecords([surface()]);
  const at = records.findIndex((record) => record[72] === section) + row;
  const old = records[at];
  return bytesOf(records.with(at, old.slice(0, column) + text + old.slice(column + text.length)));
};
const igesWithout = (section: string): Uint8Array =>
  bytesOf(igesRecords([surface()]).filter((record) => record[72] !== section));
// Positions of the parameters of entity 128: IGES 5.3, section 4.24.
const at = { k1: 0, k2: 1, m1: 2, m2: 3, knotU: 9, knotV: 15, weight: 19, point: 25 } as const;

const utf16 = (text: string, mark: boolean, swapped: boolean): Uint8Array => {
  const bytes = Buffer.from(mark ? `\ufeff${text}` : text, 'utf16le');
  return swapped ? bytes.swap16() : bytes;
};

/** Bytes that no text has, the same each time; the first is none that a format begins with. */
const rubbish = Uint8Array.from({ length: 3000 }, (_, k) => (k * 167 + (k >> 3) * 41) & 255);

const texts = {
  'hood.igs': igesText,
  'hood.stp': stepText,
  'hood.vda': vdaText,
  'hood.net.json': jsonText(),
} as const;
const inEach = (
  rows: (name: keyof typeof texts, text: string) => readonly BadFile[],
): readonly BadFile[] =>
  (Object.keys(texts) as (keyof typeof texts)[]).flatMap((name) => rows(name, texts[name]));

const row = (given: string, name: string, code: FaultCode, bytes: Uint8Array): BadFile => ({
  given,
  name,
  bytes,
  code,
});

export const badContents: readonly BadFile[] = [
  ...inEach((name, text) => [
    row('no bytes', name, 'file-empty', new Uint8Array()),
    row('binary rubbish', name, 'binary-content', rubbish),
    row('UTF-16 with its mark', name, 'text-encoding', utf16(text, true, false)),
    row('UTF-16 without a mark', name, 'text-encoding', utf16(text, false, false)),
    row('UTF-16, other byte order, with its mark', name, 'text-encoding', utf16(text, true, true)),
    row('UTF-16, other byte order, no mark', name, 'text-encoding', utf16(text, false, true)),
  ]),
  row(
    'not UTF-8',
    'hood.net.json',
    'text-encoding',
    Buffer.from(jsonText({ name: 'gr\u00fcn' }), 'latin1'),
  ),

  row('STEP in a file named .igs', 'hood.igs', 'wrong-extension', Buffer.from(stepText)),
  row('JSON in a file named .igs', 'hood.iges', 'wrong-extension', Buffer.from(jsonText())),
  row('IGES in a file named .stp', 'hood.stp', 'wrong-extension', Buffer.from(igesText)),
  row('JSON in a file named .stp', 'hood.step', 'wrong-extension', Buffer.from(jsonText())),
  row('STEP in a file named .net.json', 'hood.net.json', 'wrong-extension', Buffer.from(stepText)),
  row('IGES in a file named .net.json', 'hood.net.json', 'wrong-extension', Buffer.from(igesText)),
  row('VDA-FS in a file named .igs', 'hood.igs', 'wrong-extension', Buffer.from(vdaText)),
  row('IGES in a file named .vda', 'hood.vda', 'wrong-extension', Buffer.from(igesText)),
  row('STEP in a file named .txt', 'hood.txt', 'wrong-extension', Buffer.from(stepText)),
  row('a letter named .txt', 'letter.txt', 'unknown-format', Buffer.from('Dear modeller,\n')),
  row('a letter without ending', 'letter', 'unknown-format', Buffer.from('Dear modeller,\n')),
  row('a letter named .igs', 'letter.igs', 'iges-form', Buffer.from('Dear modeller,\n')),
  row('a letter named .vda', 'letter.vda', 'vda-statement', Buffer.from('Dear modeller,\n')),
  row('a letter named .stp', 'letter.stp', 'step-syntax', Buffer.from('Dear modeller,\n')),
  row(
    'a letter named .net.json',
    'letter.net.json',
    'json-syntax',
    Buffer.from('Dear modeller,\n'),
  ),
  row('blanks', 'blank.net.json', 'json-syntax', Buffer.from(' \n ')),
  row('blanks', 'blank.stp', 'step-syntax', Buffer.from(' \n ')),
  row('blanks', 'blank.igs', 'iges-form', Buffer.from(' \n ')),
  row('blanks', 'blank.vda', 'vda-statement', Buffer.from(' \n ')),
];

export const badIges: readonly BadFile[] = [
  ...(
    [
      ['cut in the start section', 40, 'iges-form'],
      ['cut in the global section', 130, 'iges-form'],
      ['cut in the directory', 420, 'iges-section'],
      ['cut in the parameters', 700, 'iges-section'],
      ['cut in the terminate record', igesText.length - 60, 'iges-record'],
    ] as const
  ).map(([given, end, code]) =>
    row(given, 'hood.igs', code, Buffer.from(igesText.slice(0, end), 'latin1')),
  ),
  ...['G', 'D', 'P', 'T'].map((section) =>
    row(`section ${section} missing`, 'hood.igs', 'iges-section', igesWithout(section)),
  ),
  row(
    'the compressed form',
    'hood.igs',
    'iges-form',
    Buffer.from(`${''.padEnd(72)}C      1\n${igesText}`),
  ),
  row('a torn line', 'hood.igs', 'iges-record', Buffer.from(exchanged(igesText, '\n', '\ntorn\n'))),
  row(
    'delimiters that are digits',
    'hood.igs',
    'iges-record',
    igesFile([surface()], { delimiters: '1H00' }),
  ),
  row(
    'a global section without end',
    'hood.igs',
    'iges-record',
    Buffer.from(exchanged(igesText, ';', ',')),
  ),
  row(
    'a unit nobody knows',
    'hood.igs',
    'unit-unknown',
    igesFile([surface()], { unit: '3,6HCUBITS' }),
  ),

  row('NaN as a coordinate', 'hood.igs', 'bad-number', igesField(at.point, 'NaN')),
  row('Infinity as a coordinate', 'hood.igs', 'bad-number', igesField(at.point, 'Infinity')),
  row('1E999 as a coordinate', 'hood.igs', 'not-finite', igesField(at.point, '1E999')),
  row('1D999 as a knot', 'hood.igs', 'not-finite', igesField(at.knotU + 5, '1D999')),
  row('-1E999 as a weight', 'hood.igs', 'not-finite', igesField(at.weight, '-1E999')),
  row('a coordinate of 1e12', 'hood.igs', 'beyond-range', igesField(at.point, '1.E12')),
  row('weight 0', 'hood.igs', 'weights-not-positive', igesField(at.weight + 1, '0.')),
  row('a weight below 0', 'hood.igs', 'weights-not-positive', igesField(at.weight + 1, '-2.')),
  row('knots that decrease', 'hood.igs', 'knots-decrease', igesField(at.knotV + 1, '2.')),
  row(
    'points that all coincide',
    'hood.igs',
    'no-extent',
    igesFile([surface({ points: madePoints.map(() => [1, 2, 3]) })]),
  ),
  row(
    'degree 0',
    'hood.igs',
    'degree-range',
    iges([2, 1, 0, 1, 0, 0, 1, 0, 0, ...Array.from({ length: 60 }, () => '1.')]),
  ),
  row(
    'one point in a row',
    'hood.igs',
    'too-few-points',
    iges([0, 1, 2, 1, 0, 0, 1, 0, 0, ...Array.from({ length: 60 }, () => '1.')]),
  ),

  row('K1 one more than there is', 'hood.igs', 'iges-count', igesField(at.k1, 3)),
  row('K2 one more than there is', 'hood.igs', 'iges-count', igesField(at.k2, 2)),
  row('M1 one more than there is', 'hood.igs', 'too-few-points', igesField(at.m1, 3)),
  row('M2 one more than there is', 'hood.igs', 'too-few-points', igesField(at.m2, 2)),
  row('K1 below 0', 'hood.igs', 'too-few-points', igesField(at.k1, -5)),
  row('K1 a fraction', 'hood.igs', 'bad-number', igesField(at.k1, '1.5')),
  row(
    'a parameter pointer beyond the file',
    'hood.igs',
    'iges-pointer',
    igesColumns('D', 0, 8, '  999999'),
  ),
  row(
    'fewer records than the end says',
    'hood.igs',
    'iges-count',
    igesColumns('T', 0, 24, 'P9999999'),
  ),
  row(
    'a damaged directory entry',
    'hood.igs',
    'iges-record',
    bytesOf(
      igesRecords([surface(), surface()]).filter(
        (record, _, all) => record !== all.find((r) => r[72] === 'D'),
      ),
    ),
  ),
  row(
    'a pointer to a matrix that is none',
    'hood.igs',
    'iges-pointer',
    igesFile([surface({}, { matrix: 1 })]),
  ),
  row(
    'a matrix that flattens',
    'hood.igs',
    'placement',
    igesFile([
      surface({}, { matrix: 2 }),
      {
        type: 124,
        fields: ['1.', '0.', '0.', '0.', '0.', '0.', '0.', '0.', '0.', '0.', '1.', '0.'],
      },
    ]),
  ),
  row(
    'matrices in a circle',
    'hood.igs',
    'too-deep',
    igesFile([
      surface({}, { matrix: 2 }),
      ...[3, 2].map((matrix): MadeEntity => ({
        type: 124,
        matrix,
        fields: ['1.', '0.', '0.', '5.', '0.', '1.', '0.', '0.', '0.', '0.', '1.', '0.'],
      })),
    ]),
  ),
  row(
    'instances of instances, doubled thirty times',
    'hood.igs',
    'iges-instances',
    igesFile(doubled(30)),
  ),
];

/** A surface in a definition, instanced twice in the next, and so on (308 and 408: 4.123, 4.129). */
function doubled(levels: number): MadeEntity[] {
  const entities: MadeEntity[] = [
    surface({}, { status: '00010000' }),
    { type: 308, fields: [0, hollerith('part'), 1, pointer(1)] },
  ];
  for (let level = 0; level < levels; level++) {
    const definition = entities.length;
    for (const shift of [0, 2 ** level])
      entities.push({
        type: 408,
        fields: [pointer(definition), `${shift}.`, '0.', '0.', '1.'],
        status: '00010000',
      });
    entities.push({
      type: 308,
      fields: [level + 1, hollerith('part'), 2, pointer(definition + 1), pointer(definition + 2)],
    });
  }
  entities.push({ type: 408, fields: [pointer(entities.length), '0.', '0.', '0.', '1.'] });
  return entities;
}

export const badStep: readonly BadFile[] = [
  ...(
    [
      ['cut in the header', 60],
      ['cut in a point', stepText.indexOf('CARTESIAN') + 20],
      ['cut in the surface', stepText.indexOf('B_SPLINE') + 40],
      ['cut before the last line', stepText.indexOf('END-ISO')],
    ] as const
  ).map(([given, end]) =>
    row(given, 'hood.stp', 'step-truncated', Buffer.from(stepText.slice(0, end))),
  ),
  row('cut in the first line', 'hood.stp', 'step-syntax', Buffer.from('ISO-10303')),
  row('a bracket that is not closed', 'hood.stp', 'step-syntax', stepWith('((#3,#4)', '((#3,#4')),
  row('a reference to nothing', 'hood.stp', 'step-reference', stepWith('((#3,', '((#99,')),
  row('a control point that is a unit', 'hood.stp', 'step-argument', stepWith('((#3,', '((#1,')),
  row('a number used twice', 'hood.stp', 'step-duplicate', stepWith('#4=', '#3=')),
  row(
    'a unit nobody knows',
    'hood.stp',
    'unit-unknown',
    stepWith('SI_UNIT(.MILLI.,.METRE.)', 'SI_UNIT(.SOME.,.METRE.)'),
  ),
  row('a placement that is none', 'hood.stp', 'placement', stepShift),

  row('NaN as a coordinate', 'hood.stp', 'step-syntax', stepWith('(50.,', '(NaN,')),
  row('Infinity as a coordinate', 'hood.stp', 'step-syntax', stepWith('(50.,', '(Infinity,')),
  row('1.E999 as a coordinate', 'hood.stp', 'not-finite', stepWith('(50.,', '(1.E999,')),
  row('1.E999 as a knot', 'hood.stp', 'not-finite', stepWith('(0.,1.)', '(0.,1.E999)')),
  row('a coordinate of 1e12', 'hood.stp', 'beyond-range', stepWith('(50.,', '(1.E12,')),
  row('knots that decrease', 'hood.stp', 'knots-decrease', stepWith('(0.,1.)', '(1.,0.)')),
  row('too few knots', 'hood.stp', 'knots-count', stepWith('(3,3)', '(2,3)')),
  row(
    'points that all coincide',
    'hood.stp',
    'no-extent',
    stepWith('((#3,#4),(#5,#6),(#7,#8))', '((#3,#3),(#3,#3),(#3,#3))'),
  ),
  row('degree 0', 'hood.stp', 'degree-range', stepWith("'hood',2,1", "'hood',0,1")),
  row('degree 31', 'hood.stp', 'degree-range', stepWith("'hood',2,1", "'hood',31,1")),
  row(
    'one point in a row',
    'hood.stp',
    'too-few-points',
    stepWith('((#3,#4),(#5,#6),(#7,#8))', '((#3,#4))'),
  ),
  row('rows of different length', 'hood.stp', 'wrong-count', stepWith('(#5,#6)', '(#5)')),
  row('one multiplicity too many', 'hood.stp', 'wrong-count', stepWith('(3,3)', '(3,2,1)')),
  row('a multiplicity of 0', 'hood.stp', 'step-argument', stepWith('(3,3)', '(6,0)')),
  row(
    'a weight of 0',
    'hood.stp',
    'weights-not-positive',
    rationalStep('((1.,1.),(0.,1.),(1.,1.))'),
  ),
  row(
    'a weight below 0',
    'hood.stp',
    'weights-not-positive',
    rationalStep('((1.,1.),(-1.,1.),(1.,1.))'),
  ),
  row('a weight missing', 'hood.stp', 'wrong-count', rationalStep('((1.,1.),(1.),(1.,1.))')),
  row(
    'brackets 300 deep',
    'hood.stp',
    'too-deep',
    stepWith('((#3,#4)', `${'('.repeat(300)}#3${')'.repeat(300)},((#3,#4)`),
  ),
];

/** The surface as a complex instance with weights, u outer (ISO 10303-42, rational_b_spline_surface). */
function rationalStep(weights: string): Uint8Array {
  const inner = /B_SPLINE_SURFACE_WITH_KNOTS\('hood',(.*\.F\.),(\(3.*)\);/.exec(stepText)!;
  return stepWith(
    inner[0],
    `(BOUNDED_SURFACE()B_SPLINE_SURFACE(${inner[1]})B_SPLINE_SURFACE_WITH_KNOTS(${inner[2]})` +
      `GEOMETRIC_REPRESENTATION_ITEM()RATIONAL_B_SPLINE_SURFACE(${weights})REPRESENTATION_ITEM('hood')SURFACE());`,
  );
}

export const badJson: readonly BadFile[] = [
  ...[1, 40, 120, jsonText().length - 1].map((end) =>
    row(`cut at ${end}`, 'hood.net.json', 'json-syntax', Buffer.from(jsonText().slice(0, end))),
  ),
  row('a comment', 'hood.net.json', 'json-syntax', jsonWith('{', '{ // ours')),
  row('a comma at the end', 'hood.net.json', 'json-syntax', jsonWith(/\}\s*\]\s*\}$/, '},]}')),
  row('NaN as a coordinate', 'hood.net.json', 'json-syntax', jsonWith('12.5', 'NaN')),
  row('Infinity as a coordinate', 'hood.net.json', 'json-syntax', jsonWith('12.5', '-Infinity')),
  row('1e999 as a coordinate', 'hood.net.json', 'not-finite', jsonWith('12.5', '1e999')),
  row('"Infinity" as a coordinate', 'hood.net.json', 'json-shape', jsonWith('12.5', '"Infinity"')),
  row('a list instead of a file', 'hood.net.json', 'json-shape', Buffer.from('[1, 2]')),
  row('an unknown key', 'hood.net.json', 'json-shape', json({ wieghts: null })),
  row('an unknown key at the top', 'hood.net.json', 'json-shape', json({}, { unit: 'mm' })),
  row('a key missing', 'hood.net.json', 'json-shape', json({ knots: undefined })),
  row('a name that is a number', 'hood.net.json', 'json-shape', json({ name: 7 })),
  row('a blank name', 'hood.net.json', 'json-shape', json({ name: ' ' })),
  row('a unit nobody knows', 'hood.net.json', 'json-shape', json({}, { units: 'cubit' })),
  row('another version', 'hood.net.json', 'json-shape', json({}, { version: 2 })),
  row('a degree of 1.5', 'hood.net.json', 'json-shape', json({ degree: [1.5, 1] })),
  row('a point of two coordinates', 'hood.net.json', 'json-shape', json({ rows: [[[1, 2]]] })),
  row(
    'a point of four coordinates',
    'hood.net.json',
    'json-shape',
    json({ rows: [[[1, 2, 3, 1]]] }),
  ),
  row('weights that are a word', 'hood.net.json', 'json-shape', json({ weights: 'equal' })),
  row('a weight that is a word', 'hood.net.json', 'json-shape', json({ weights: [[1, 'one', 1]] })),
  row(
    'rows of different length',
    'hood.net.json',
    'wrong-count',
    json({ rows: [madePoints.slice(0, 3), madePoints.slice(3, 5)] }),
  ),
  row(
    'weights of different length',
    'hood.net.json',
    'wrong-count',
    json({
      weights: [
        [1, 1, 1],
        [1, 1],
      ],
    }),
  ),
  row('a row of weights missing', 'hood.net.json', 'wrong-count', json({ weights: [[1, 1, 1]] })),
  row('no rows', 'hood.net.json', 'too-few-points', json({ rows: [] })),
  row(
    'one point in a row',
    'hood.net.json',
    'too-few-points',
    json({ rows: [[[0, 0, 0]], [[0, 1, 0]]] }),
  ),
  row('degree 0', 'hood.net.json', 'degree-range', json({ degree: [0, 1] })),
  row('a degree of 2 billion', 'hood.net.json', 'degree-range', json({ degree: [2147483647, 1] })),
  row(
    'a knot missing',
    'hood.net.json',
    'knots-count',
    json({
      knots: [
        [0, 0, 0, 1, 1],
        [0, 0, 1, 1],
      ],
    }),
  ),
  row(
    'a knot too many',
    'hood.net.json',
    'knots-count',
    json({
      knots: [
        [0, 0, 0, 1, 1, 1],
        [0, 0, 0, 1, 1],
      ],
    }),
  ),
  row(
    'knots that decrease',
    'hood.net.json',
    'knots-decrease',
    json({
      knots: [
        [0, 0, 0, 1, 1, 1],
        [0, 1, 0, 1],
      ],
    }),
  ),
  row(
    'a knot too often',
    'hood.net.json',
    'knots-multiplicity',
    json({
      degree: [1, 1],
      knots: [
        [0, 0, 0, 1, 1],
        [0, 0, 1, 1],
      ],
    }),
  ),
  row(
    'knots that are all one',
    'hood.net.json',
    'no-extent',
    json({
      knots: [
        [0, 0, 0, 0, 0, 0],
        [0, 0, 1, 1],
      ],
    }),
  ),
  row(
    'points that all coincide',
    'hood.net.json',
    'no-extent',
    json({ rows: Array.from({ length: 2 }, () => Array.from({ length: 3 }, () => [5, 5, 5])) }),
  ),
  row(
    'a weight of 0',
    'hood.net.json',
    'weights-not-positive',
    json({
      weights: [
        [1, 1, 1],
        [1, 0, 1],
      ],
    }),
  ),
  row(
    'a weight below 0',
    'hood.net.json',
    'weights-not-positive',
    json({
      weights: [
        [1, 1, 1],
        [1, -1, 1],
      ],
    }),
  ),
  row('a coordinate of 1e12', 'hood.net.json', 'beyond-range', jsonWith('12.5', '1e12')),
  row(
    'brackets 100,000 deep',
    'hood.net.json',
    'too-deep',
    jsonWith('12.5', '['.repeat(1e5) + ']'.repeat(1e5)),
  ),
  row(
    'brackets 100,000 deep, none closed',
    'hood.net.json',
    'too-deep',
    Buffer.from(`{"panels":${'['.repeat(1e5)}`),
  ),
  row('objects 100,000 deep', 'hood.net.json', 'too-deep', Buffer.from('{"a":'.repeat(1e5))),
  ...['"x\n', '/* " */ ', '// "\n', '"a\\\n": '].map((before) =>
    row(
      `lists 100,000 deep behind ${JSON.stringify(before)}`,
      'hood.net.json',
      'too-deep',
      Buffer.from(`{${before}${'['.repeat(1e5)}`),
    ),
  ),
];

const huge = ['2147483647', '4294967296', '1000000000000000000', '999999999999999999999999'];

/** Counts that no memory could hold, in every place that counts something. */
export const hugeCounts: readonly BadFile[] = [
  ...huge.flatMap((count) => [
    row(`K1 ${count}`, 'hood.igs', 'count-beyond-file', igesField(at.k1, count)),
    row(`K2 ${count}`, 'hood.igs', 'count-beyond-file', igesField(at.k2, count)),
    row(
      `K1 and K2 ${count}`,
      'hood.igs',
      'count-beyond-file',
      iges([count, count, ...surfaceFields().slice(2)]),
    ),
    row(`M1 ${count}`, 'hood.igs', 'count-beyond-file', igesField(at.m1, count)),
    row(`M2 ${count}`, 'hood.igs', 'count-beyond-file', igesField(at.m2, count)),
    row(
      `all four ${count}`,
      'hood.igs',
      'count-beyond-file',
      iges([count, count, count, count, ...surfaceFields().slice(4)]),
    ),
    row(
      `entries of a definition ${count}`,
      'hood.igs',
      'count-beyond-file',
      igesFile([surface(), { type: 308, fields: [0, hollerith('part'), count, pointer(1)] }]),
    ),
    row(
      `multiplicity ${count}`,
      'hood.stp',
      'count-beyond-file',
      stepWith('(3,3)', `(3,${count})`),
    ),
    row(`degree ${count}`, 'hood.stp', 'degree-range', stepWith("'hood',2,1", `'hood',${count},1`)),
    row(
      `degree ${count}`,
      'hood.net.json',
      'degree-range',
      jsonWith(/"degree": \[\s*2,/, `"degree": [${count},`),
    ),
  ]),
  row(
    'records of the terminate section 9999999',
    'hood.igs',
    'iges-count',
    igesColumns('T', 0, 16, 'D9999999'),
  ),
];

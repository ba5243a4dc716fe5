import type { Fault, FaultCode, Notice, NoticeCode, Place } from '../intake/fault.ts';
import { jsonErrorText } from './jsonErrorText.ts';
import { printable } from './shown.ts';

/** What a fault knows, as text; a reader may leave out what it does not know. */
type Data = Readonly<Record<string, string | undefined>>;

/** "12 were found where 16 are needed", as far as the numbers are known. */
const foundOf = ({ found, expected }: Data): string =>
  expected ? `${found || 'too few'} found, ${expected} expected` : `${found} found`;

const entity = (data: Data): string =>
  data['entity'] && data['entity'] !== '0' ? `entity ${data['entity']}: ` : '';

const surface = 'Send the surface out again, or repair it where it was made.';
const sendAgain = 'Send the file out again.';

const igesRecord = (data: Data): string => {
  switch (data['what']) {
    case 'section':
      return `${data['found']} ${data['found'] === '1' ? 'line has' : 'lines have'} no section letter (S, G, D, P, T) in column 73 and could not be used, this being the first. ${sendAgain}`;
    case 'entry':
      return `${data['found']} directory ${data['found'] === '1' ? 'entry is' : 'entries are'} damaged, this being the first. ${sendAgain}`;
    case 'delimiters':
      return `the global section's delimiters cannot be made out. ${sendAgain}`;
    case 'unended':
      return `${entity(data)}its parameters do not end with the record delimiter. ${sendAgain}`;
    default:
      return `${entity(data)}a ${data['what']} stands where it cannot be read. ${sendAgain}`;
  }
};

function vdaStatement({ what, found }: Data): string {
  switch (what) {
    case 'none':
      return `no statement (NAME = COMMAND / ...) was found. Send a VDA-FS file.`;
    case 'text':
      return `"${found}" belongs to no statement. ${sendAgain}`;
    case 'slash':
      return `the slash behind ${found} is missing, so its parameters were not read. ${sendAgain}`;
    default:
      return `"${found}" is no statement of VDA-FS 2.0; it was left out. ${sendAgain}`;
  }
}

const jsonTypes: Readonly<Record<string, string>> = {
  number: 'a number',
  integer: 'a whole number',
  string: 'text in quotes',
  array: 'a list in square brackets',
  object: 'an object in braces',
};

function jsonShape({ problem, key, nearest, expected, what }: Data): string {
  switch (problem) {
    case 'unknown-key':
      return `there is no key "${key}".${nearest ? ` Did you mean "${nearest}"?` : ' Take it out.'}`;
    case 'missing-key':
      return `the key "${key}" is missing. Add it.`;
    case 'type':
      return `this must be ${jsonTypes[expected ?? ''] ?? expected}. Mend it there.`;
    case 'few':
      return `at least ${expected} values are needed here. Mend it there.`;
    case 'many':
      return `no more than ${expected} values can stand here. Mend it there.`;
    case 'value':
      return `this must be ${expected?.includes(', ') ? 'one of ' : ''}${expected}. Mend it there.`;
    case 'blank':
      return 'the name is blank. Give the panel a name.';
    default:
      return `this ${what}. Mend it there.`;
  }
}

const sectionNames: Data = { G: 'global', D: 'directory', P: 'parameter', T: 'terminate' };

const formatNames: Readonly<Record<string, string>> = {
  iges: 'IGES',
  step: 'STEP',
  'vda-fs': 'VDA-FS',
  'net-json': 'net JSON',
  stl: 'STL',
  ply: 'PLY',
  obj: 'OBJ',
};

/** A format as a sentence names it. */
export const formatName = (format: string | undefined): string =>
  formatNames[format ?? ''] ?? format ?? '';

const valueKinds: Data = {
  integer: 'whole number',
  number: 'number',
  string: 'text',
  coordinate: 'number',
  corner: 'number of a vertex',
};

/** Up to the first mark that ends a value; readers give some more of what stands there. */
const firstWord = (text: string): string => text.split(/[,;\s]/, 1)[0] || text;

/** A reader may know how many there are, or how many there can be at most: the larger is the claim. */
function countBeyondFile(data: Data): string {
  const counts = [Number(data['expected']), Number(data['found'])];
  return `${entity(data)}${data['what']}: ${Math.max(...counts)} announced, where at most ${Math.min(...counts)} can be. ${sendAgain}`;
}

/** Limits up to this are depths, larger ones are numbers of things. */
const deepestLimit = 1000;

function tooDeep({ what, most }: Data): string {
  if (what === 'readings')
    return `long records are used so often that reading them would take over ${most} times the file's length. ${sendAgain}`;
  if (Number(most) > deepestLimit)
    return `the file comes to more than ${most} ${what}; the rest was not read. Send the parts by themselves.`;
  const circle = what === 'brackets' ? '' : ' or in a circle';
  return `${what} stand in each other more than ${most} deep${circle}; nothing real needs that. ${sendAgain}`;
}

const megabytes = (bytes: string | undefined): string => `${Math.ceil(Number(bytes) / 2 ** 20)} MB`;

/** A number of things in words: "1 triangle is", "3 triangles are". */
const plural = (count: string | undefined, noun: string, one: string, many: string): string =>
  count === '1' ? `1 ${noun} ${one}` : `${count} ${noun}s ${many}`;

/** What a header of PLY may lack, or hold too much of. */
function plyHeader({ what, text }: Data): string {
  switch (what) {
    case 'ply':
      return `the file does not begin with the word "ply". ${sendAgain}`;
    case 'end_header':
      return `the header does not end: there is no line "end_header". ${sendAgain}`;
    case 'vertex':
      return `the header tells of no element "vertex" with numbers x, y and z. ${sendAgain}`;
    default:
      return text
        ? `the header's line "${text}" cannot be understood. ${sendAgain}`
        : `the header has no line "${what}". ${sendAgain}`;
  }
}

const meshRow = ({ what, found, expected }: Data): string =>
  what === 'facet'
    ? `a facet has ${found} corners where ${expected} are needed, and was left out. ${sendAgain}`
    : `this line should give a ${what === 'v' ? 'vertex' : what}; ${found} of ${expected} values can be read. ${sendAgain}`;

/** One sentence a code: what is wrong, and what to do. Gaps are filled from the fault's data. */
const faults: Readonly<Record<FaultCode, (data: Data) => string>> = {
  'file-missing': () => 'there is no such file, or a link that leads nowhere. Check the path.',
  'file-unreadable': ({ system }) =>
    `it cannot be opened (${system}). Check that you may read it, and that no other program holds it.`,
  'file-empty': () => `the file holds no bytes. ${sendAgain}`,
  'file-too-large': ({ bytes, most }) =>
    `the file is too large to read (${bytes} bytes, at most ${most}). Split it by panels.`,
  'not-a-file': () =>
    'this is not a plain file (it is a pipe, a device or a link to a folder). Give a surface file.',
  'link-loop': () => 'the link leads back to itself. Mend or remove the link.',
  'nothing-to-read': () =>
    'nothing here ends in .igs, .iges, .stp, .step, .p21, .vda, .vdafs or .net.json, nor in .stl, .ply or .obj. Give a folder or pattern that holds surface files.',
  'unknown-format': () =>
    'this is no format that is read. Give IGES (.igs, .iges), STEP (.stp, .step, .p21), VDA-FS (.vda, .vdafs) or *.net.json; scans as STL, PLY or OBJ.',
  'wrong-extension': ({ meant, found }) =>
    `${formatNames[meant ?? ''] ? `the name says ${formatName(meant)}` : 'the ending of the name is not known'}, the content looks like ${formatName(found)}. Rename the file, or send the right one.`,
  'text-encoding': ({ expected }) =>
    `the text is not ${expected}. Save it as plain ${expected} text.`,
  'binary-content': ({ meant }) =>
    `the content is binary, not ${formatName(meant)} text. Send the text form of the format.`,
  'json-syntax': ({ what }) =>
    `the text is not JSON: ${jsonErrorText(what)}. Mend it there, or send the file out again.`,
  'json-shape': jsonShape,
  'iges-form': ({ form }) =>
    `${form === 'unknown' ? 'the lines are no records of IGES' : `this is the ${form} form of IGES`}. Send the fixed-length ASCII form (80 columns, a section letter in column 73).`,
  'iges-section': ({ section }) =>
    `the ${sectionNames[section ?? ''] ?? section} section is missing: the file is cut short or damaged. ${sendAgain}`,
  'iges-record': igesRecord,
  'iges-count': (data) =>
    `${entity(data)}${sectionNames[data['what'] ?? ''] ? `${sectionNames[data['what'] ?? '']} records` : data['what']}: ${foundOf(data)}. ${sendAgain}`,
  'iges-pointer': (data) =>
    `${entity(data)}its pointer to a ${data['what']} leads nowhere (${data['found']}). ${surface}`,
  'iges-instances': ({ most }) =>
    `the file places surfaces more than ${most} times; the rest was not read. Send the parts by themselves.`,
  'step-syntax': ({ near, expected }) =>
    expected
      ? `the file does not begin with "${expected}". ${sendAgain}`
      : `the text cannot be read near "${near}". ${sendAgain}`,
  'step-truncated': ({ read }) =>
    `the file ends before END-ISO-10303-21; ${read} whole records were read. ${sendAgain}`,
  'step-reference': ({ to }) => `it refers to ${to}, which the file does not hold. ${sendAgain}`,
  'step-argument': ({ what, expected }) => `${what}: ${expected} expected. ${surface}`,
  'step-duplicate': ({ firstLine }) =>
    `the number is used twice; the record on line ${firstLine} was kept. ${sendAgain}`,
  'vda-statement': vdaStatement,
  'vda-truncated': ({ read }) =>
    `the file ends before its END; ${read} statements were read. ${sendAgain}`,
  'vda-reference': ({ what, to }) =>
    `"${to}" is named as ${what === 'element' ? 'an element' : `its ${what}`}, and the file holds none of that name. ${sendAgain}`,
  'vda-duplicate': ({ firstLine }) =>
    `the name is used twice; the element on line ${firstLine} was kept. ${sendAgain}`,
  'obj-index': ({ what, found, held }) =>
    `${found} is the number of no ${what}; the file holds ${held} here. ${sendAgain}`,
  'obj-attribute': ({ what }) =>
    `"${what}", which this needs, is missing or cannot be used. ${sendAgain}`,
  'obj-unended': () => `its statement "end" is missing, and it was left out. ${sendAgain}`,
  'too-deep': tooDeep,
  'count-beyond-file': countBeyondFile,
  'bad-number': (data) =>
    `${entity(data)}"${firstWord(data['text'] ?? '')}" is no ${valueKinds[data['what'] ?? ''] ?? 'number'}. ${['coordinate', 'corner'].includes(data['what'] ?? '') ? sendAgain : surface}`,
  'unit-unknown': ({ unit, name, flag }) =>
    `the unit of length "${unit || name || flag}" is not known, so nothing can be measured. Send the file in mm, or with a standard unit.`,
  'mesh-too-large': ({ needed, most }) =>
    `the mesh would take ${megabytes(needed)} of memory while it is read; ${megabytes(most)} may be used. Send the scan with fewer triangles, or in parts, or read it on a larger machine.`,
  'mesh-empty': ({ faces }) =>
    faces === '0'
      ? 'there is no triangle and no point in the file. Send the scan out again.'
      : `none of the ${plural(faces, 'face', 'in the file', 'in the file')} can be used. Send the scan out again.`,
  'mesh-truncated': ({ what, read, expected }) =>
    `the file ends too early: ${read} ${what}${expected ? ` of ${expected}` : ''} were read, and kept. ${sendAgain}`,
  'mesh-row': meshRow,
  'mesh-index': ({ vertices }) =>
    `a face has a corner that is none of the file's ${vertices} vertices, and was left out. ${sendAgain}`,
  'mesh-face': ({ corners, most }) =>
    `a face has ${corners} corners, which are more than ${most} or come again and again; it was left out. Send the scan out as triangles.`,
  'line-too-long': ({ most }) =>
    `a line is longer than ${megabytes(most)}; reading ended there. ${sendAgain}`,
  'stl-form': () => `this is neither the text form of STL nor the binary one. ${sendAgain}`,
  'ply-header': plyHeader,
  'degree-range': ({ direction, found, most }) =>
    `degree ${found} in ${direction} is not a whole number from 1 to ${most}. ${surface}`,
  'too-few-points': ({ direction, found, least }) =>
    `points in ${direction}: ${found} found, at least ${least} needed for the degree. ${surface}`,
  'wrong-count': (data) => `${data['what']}: ${foundOf(data)}. ${surface}`,
  'knots-count': ({ direction, found, expected }) =>
    `${found} knots in ${direction}, ${expected} expected (points + degree + 1). ${surface}`,
  'knots-decrease': ({ direction, index, before, value }) =>
    `knot ${index} in ${direction} is ${value} after ${before}: knots must not decrease. ${surface}`,
  'knots-multiplicity': ({ direction, value, found, most }) =>
    `the knot ${value} in ${direction} stands ${found} times, at most ${most} is possible. ${surface}`,
  'not-finite': ({ what }) => `${what} is not a finite number. ${surface}`,
  'weights-not-positive': ({ where, value }) =>
    `the weight at ${where} is ${value}; weights must be over 0, and not vanish beside the others. ${surface}`,
  'beyond-range': ({ where, value }) =>
    `the point at ${where} has a coordinate of ${value} mm, farther than any panel. Check the unit, and the point.`,
  'no-extent': ({ what }) => `${what} has no extent. ${surface}`,
  placement: ({ what, entity: type }) =>
    `the placement (${type ? `entity ${type}` : what}) is not a rotation, mirror or shift that can be used. ${sendAgain}`,
};

const leftOut = ({ count, triangles }: Data, why: string): string =>
  `${count} ${count === '1' ? 'vertex' : 'vertices'} ${why} ${count === '1' ? 'was' : 'were'} left out${triangles === '0' ? '' : `, with ${triangles} ${triangles === '1' ? 'triangle' : 'triangles'}`}.`;
const untrimmed =
  'The net was taken whole; what asks for the trim stays undecided. Trim the surface again where it was made.';

const unreadBorders: Data = {
  kind: 'is no curve that is read',
  pointer: 'refers to something that is not there or does not belong there',
  data: 'holds numbers that make no curve',
  nesting: 'stands in itself, or in too many others',
  surface: 'has parameters of another surface, and no curve in space',
  apart: 'trims a surface whose patches do not meet',
};

const notices: Readonly<Record<NoticeCode, (data: Data) => string>> = {
  'unit-doubtful': ({ unit, size, smallest, largest }) =>
    `in the stated unit (${unit}) the size is ${size} mm, outside ${smallest} to ${largest} mm. Check the unit; it was taken as stated.`,
  'unit-missing': ({ assumed }) => `no unit of length is stated; ${assumed} was taken.`,
  'flag-contradicts': ({ what, flag, found }) =>
    `the flag ${what} says ${flag}, the data say ${found}; the data were followed.`,
  'model-scale': ({ scale }) =>
    `the file states a model scale of ${scale}; coordinates were read as they stand, which is full size.`,
  'points-only': ({ count }) =>
    `${plural(count, 'point', 'stands', 'stand')} alone, without faces: distances can be taken to points only, and neither the side of the surface nor its gaps are known. A scan as triangles tells more.`,
  'mesh-degenerate': ({ count }) =>
    `${plural(count, 'triangle', 'has', 'have')} no area and ${count === '1' ? 'was' : 'were'} left out.`,
  'mesh-duplicate': ({ count }) =>
    `${plural(count, 'triangle', 'has', 'have')} the corners of one before and ${count === '1' ? 'was' : 'were'} left out.`,
  'mesh-unused': ({ count }) =>
    `${plural(count, 'vertex', 'is', 'are').replace('vertexs', 'vertices')} the corner of no triangle that was kept and ${count === '1' ? 'was' : 'were'} left out.`,
  'mesh-not-finite': (data) => leftOut(data, 'with a coordinate that is no finite number'),
  'mesh-far': (data) => leftOut(data, `farther off than ${Number(data['most']) / 1e6} km`),
  'mesh-count': ({ what, stated, found }) =>
    `the header states ${stated} ${what}, the bytes hold ${found}; the bytes were followed.`,
  'mesh-bytes-after': ({ bytes }) =>
    `${plural(bytes, 'byte', 'stands', 'stand')} behind the mesh and ${bytes === '1' ? 'was' : 'were'} passed over.`,
  'mesh-text-unread': ({ count, text }) =>
    `${plural(count, 'line', 'is', 'are')} not of the format and ${count === '1' ? 'was' : 'were'} passed over, the first beginning with "${text}".`,
  'ply-element': ({ element: name, count }) =>
    `the element "${name}" (${plural(count, 'row', 'in all', 'in all')}) is nothing a mesh needs and was passed over.`,
  'obj-surfaces': ({ count }) =>
    `${plural(count, 'free-form surface', 'stands', 'stand')} in the file beside the mesh and ${count === '1' ? 'is' : 'are'} no part of the scan.`,
  'obj-faces': ({ count }) =>
    `${plural(count, 'polygon', 'stands', 'stand')} in the file beside the free-form surfaces and ${count === '1' ? 'is' : 'are'} no part of them.`,
  'obj-outside': ({ what, count }) =>
    `${plural(count, 'statement', 'calls', 'call')} another file or program ("${what}"); none was followed.`,
  'points-unread': ({ sets }) =>
    `it holds ${sets} ${sets === '1' ? 'set' : 'sets'} of points (PSET, MDI); points are no surface, and were left out.`,
  'coefficient-order': ({ coefficients, patches }) =>
    `the patches meet only where the coefficients are taken with ${coefficients}, and the patches with ${patches}, running fastest; they were read so. Look whether the panels are whole.`,
  'trim-open': ({ loop, gap, unit }) =>
    `loop ${loop} of the trim does not close: its curves lie ${gap} ${unit} apart. ${untrimmed}`,
  'trim-off-surface': ({ loop, gap, unit }) =>
    `loop ${loop} of the trim lies up to ${gap} ${unit} off the surface. ${untrimmed}`,
  'trim-empty': ({ loop }) => `loop ${loop} of the trim holds no curve with a length. ${untrimmed}`,
  'trim-unsound': ({ loop }) =>
    `loop ${loop} of the trim holds a curve whose knots, points or weights make no curve. ${untrimmed}`,
  'trim-unread': ({ entity: type, what }) =>
    `a border of the trim cannot be used: entity ${type} ${unreadBorders[what ?? ''] ?? what}. ${untrimmed}`,
  'patches-apart': ({ found, gap, unit }) =>
    `its patches do not meet, by up to ${gap} ${unit}; it was judged as ${found} panels. Join the patches where they were made, or send them as surfaces of their own.`,
  'trim-kind': ({ type }) => `the trim is made with ${type}, which is not read. ${untrimmed}`,
  'trim-damaged': ({ type }) =>
    `the trim cannot be followed beyond this ${type}: what it needs is missing or wrong. ${untrimmed}`,
};

/** A number as a sentence shows it: no more digits than help. */
const short = (value: string | number): string =>
  typeof value === 'number' && !Number.isInteger(value)
    ? String(Number(value.toPrecision(6)))
    : printable(String(value));

const shortened = (data: Fault['data']): Data =>
  Object.fromEntries(Object.entries(data).map(([key, value]) => [key, short(value)]));

/** Of many of one kind the last one that is told says how many there are besides. */
const further = (data: Fault['data']): string =>
  data['further'] ? ` ${data['further']} more of this kind follow.` : '';

/** What is wrong and what to do, without the place. */
export const faultSentence = ({ code, data }: Fault): string =>
  faults[code](shortened(data)) + further(data);

export const noticeSentence = ({ code, data }: Notice): string =>
  notices[code](shortened(data)) + further(data);

/** ", line 12, #40" */
export function shownPlace({ line, record, byte }: Place): string {
  const parts = [
    ...(line === undefined ? [] : [`line ${line}`]),
    ...(record === undefined ? [] : [record]),
    ...(line === undefined && byte !== undefined ? [`byte ${byte}`] : []),
  ];
  return parts.length > 0 ? `, ${parts.join(', ')}` : '';
}

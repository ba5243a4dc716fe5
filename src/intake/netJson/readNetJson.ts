import { constants, isUtf8 } from 'node:buffer';
import { checkedNet, isFault } from '../checkedNet.ts';
import { doubtfulUnit } from '../doubtfulUnit.ts';
import { fault, type Fault, type Notice, type Place } from '../fault.ts';
import { jsonError } from '../jsonError.ts';
import { lengthUnits, millimetre } from '../lengthUnit.ts';
import { netShape, type ShapeError } from '../net.generated.js';
import { nearestName } from '../nearestName.ts';
import type { Intake, Panel } from '../panel.ts';
import { uniquelyNamed } from '../uniqueNames.ts';
import { jsonSpots } from './jsonSpots.ts';
import { netTrim, type NetTrim } from './netTrim.ts';

interface NetPanel {
  readonly name: string;
  readonly degree: [number, number];
  readonly knots: [number[], number[]];
  readonly rows: [number, number, number][][];
  readonly weights?: number[][] | null;
  readonly trim?: NetTrim | null;
  readonly groups?: readonly string[];
}

interface NetFile {
  readonly units: string;
  readonly panels: readonly NetPanel[];
}

const deepest = 64;
const tooDeep = fault('too-deep', {}, { what: 'brackets', most: deepest });

/**
 * Brackets open at once, at most, outside strings and comments: a guard for a parser that recurses.
 * As there, a string ends at its line's end, whatever is missing.
 */
function nesting(text: string): number {
  let depth = 0;
  let most = 0;
  let quoted = false;
  const behind = (end: string, from: number): number => {
    const at = text.indexOf(end, from);
    return at < 0 ? text.length : at + end.length - 1;
  };
  for (let i = 0; i < text.length; i++) {
    const c = text[i];
    if (quoted) {
      if (c === '\n' || c === '\r' || c === '"') quoted = false;
      else if (c === '\\') i++;
    } else if (c === '"') quoted = true;
    else if (c === '/' && text[i + 1] === '/') i = behind('\n', i);
    else if (c === '/' && text[i + 1] === '*') i = behind('*/', i + 2);
    else if (c === '[' || c === '{') most = Math.max(most, ++depth);
    else if (c === ']' || c === '}') depth--;
  }
  return most;
}

function syntaxFault(text: string): Fault {
  const error = jsonError(text);
  return fault('json-syntax', error ? { line: error.line } : {}, { what: error?.what ?? '' });
}

/** The fault of a text that is not UTF-8, at the first line that is not. */
function encodingFault(bytes: Uint8Array): Fault {
  // No byte of a longer sequence is a line feed (RFC 3629), so each line can be looked at by itself.
  let from = 0;
  for (let line = 1; from < bytes.length; line++) {
    const end = bytes.indexOf(10, from);
    const next = end < 0 ? bytes.length : end + 1;
    if (!isUtf8(bytes.subarray(from, next)))
      return fault('text-encoding', { line }, { expected: 'UTF-8' });
    from = next;
  }
  return fault('text-encoding', {}, { expected: 'UTF-8' });
}

const knownKeys = [
  'format',
  'version',
  'units',
  'panels',
  'name',
  'degree',
  'knots',
  'rows',
  'weights',
  'trim',
  'tolerance',
  'loops',
  'points',
  'groups',
  'note',
];

/** The error that says most: of the branches of a choice the one that got deepest. */
const tellingError = (errors: readonly ShapeError[]): ShapeError =>
  errors
    .filter(({ keyword }) => keyword !== 'anyOf')
    .reduce((best, error) =>
      error.instancePath.length >= best.instancePath.length ? error : best,
    );

function shapeData({ keyword, message, params }: ShapeError): Fault['data'] {
  const key = params['additionalProperty'];
  if (typeof key === 'string')
    return { problem: 'unknown-key', key, nearest: nearestName(key, knownKeys) ?? '' };
  switch (keyword) {
    case 'required':
      return { problem: 'missing-key', key: String(params['missingProperty']) };
    case 'type':
      return { problem: 'type', expected: String(params['type']) };
    case 'minItems':
      return { problem: 'few', expected: Number(params['limit']) };
    case 'additionalItems':
      return { problem: 'many', expected: Number(params['limit']) };
    case 'const':
      return { problem: 'value', expected: JSON.stringify(params['allowedValue']) };
    case 'enum':
      return { problem: 'value', expected: (params['allowedValues'] as unknown[]).join(', ') };
    case 'pattern':
      return { problem: 'blank' };
    default:
      return { problem: 'other', what: message };
  }
}

function shapeFault(text: string, errors: readonly ShapeError[]): Fault {
  const error = tellingError(errors);
  const pointer = error.instancePath;
  const spot = jsonSpots(text, [pointer]).get(pointer);
  const place: Place = {
    ...(spot ? { line: spot.line } : {}),
    record: pointer === '' ? '/' : pointer,
  };
  // A number too large for a double is no number to the schema, but one in the text.
  return error.params['type'] === 'number' && spot?.number
    ? fault('not-finite', place, { what: `the number ${spot.number.slice(0, 24)}` })
    : fault('json-shape', place, shapeData(error));
}

/** A row or list whose length is not that of the first, as a fault. */
function unequalRow(
  what: 'points' | 'weights',
  rows: readonly (readonly unknown[])[],
  place: Place,
): Fault | null {
  const odd = rows.findIndex((row) => row.length !== rows[0].length);
  return odd < 0
    ? null
    : fault(
        'wrong-count',
        { ...place, record: `${place.record}/${odd}` },
        { what: `${what} in the row`, found: rows[odd].length, expected: rows[0].length },
      );
}

/** A panel, and what to tell of its trim. */
interface ReadPanel {
  readonly panel: Panel;
  readonly notices: readonly Notice[];
}

function panelOf(source: NetPanel, index: number, unitName: string): ReadPanel | Fault {
  const place: Place = { record: `/panels/${index}` };
  const unit = lengthUnits[unitName];
  const rows = source.rows;
  const uneven =
    unequalRow('points', rows, { record: `${place.record}/rows` }) ??
    (source.weights
      ? unequalRow('weights', source.weights, { record: `${place.record}/weights` })
      : null);
  if (uneven) return uneven;
  const columns = rows[0]?.length ?? 0;
  const points = new Float64Array(3 * rows.length * columns);
  rows.forEach((row, j) =>
    row.forEach((point, i) =>
      point.forEach((value, axis) => {
        points[3 * (j * columns + i) + axis] = value * unit.millimetres;
      }),
    ),
  );
  const net = checkedNet(
    {
      degree: source.degree,
      knots: [Float64Array.from(source.knots[0]), Float64Array.from(source.knots[1])],
      columns,
      rows: rows.length,
      points,
      weights: source.weights ? Float64Array.from(source.weights.flat()) : null,
    },
    place,
  );
  if (isFault(net)) return net;
  const groups = [...new Set(source.groups)].sort();
  const { trim, notices } = source.trim
    ? netTrim(source.trim, net, unit, { record: `${place.record}/trim` })
    : { trim: { kind: 'whole' } as const, notices: [] };
  const more = groups.length > 0 ? { groups } : {};
  return { panel: { name: source.name, place, unit, net, trim, ...more }, notices };
}

/** Faults that stand at a JSON pointer, with their lines. */
function withLines(text: string, faults: readonly Fault[]): Fault[] {
  if (faults.length === 0) return [];
  const spots = jsonSpots(
    text,
    faults.map(({ place }) => place.record ?? ''),
  );
  return faults.map((fault) => {
    const spot = spots.get(fault.place.record ?? '');
    return spot ? { ...fault, place: { line: spot.line, ...fault.place } } : fault;
  });
}

const nothing = (faults: readonly Fault[]): Intake => ({
  format: 'net-json',
  unit: millimetre,
  panels: [],
  unjudged: [],
  faults,
  notices: [],
});

/**
 * Reads a `*.net.json` file (schema: net.schema.json). Any bytes give an intake: what is wrong comes
 * as faults with a line and a JSON pointer (RFC 6901).
 */
export function readNetJson(bytes: Uint8Array): Intake {
  if (bytes.length > constants.MAX_STRING_LENGTH)
    return nothing([
      fault('file-too-large', {}, { bytes: bytes.length, most: constants.MAX_STRING_LENGTH }),
    ]);
  let text: string;
  try {
    text = new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    return nothing([encodingFault(bytes)]);
  }
  // Only what explains a fault recurses, so only then does depth matter.
  const explained = (fault: () => Fault): Intake =>
    nothing([nesting(text) > deepest ? tooDeep : fault()]);
  let content: unknown;
  try {
    content = JSON.parse(text);
  } catch {
    return explained(() => syntaxFault(text));
  }
  if (!netShape(content)) return explained(() => shapeFault(text, netShape.errors!));
  const file = content as NetFile;
  const read = file.panels.map((panel, index) => panelOf(panel, index, file.units));
  const sound = read.filter((result): result is ReadPanel => 'panel' in result);
  const panels = sound.map(({ panel }) => panel);
  const faults = withLines(
    text,
    read.filter((result): result is Fault => 'code' in result),
  );
  return {
    format: 'net-json',
    unit: lengthUnits[file.units],
    panels: uniquelyNamed(panels),
    unjudged: [],
    faults,
    notices: [...sound.flatMap(({ notices }) => notices), ...doubtfulUnit(panels)],
  };
}

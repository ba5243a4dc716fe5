import { findNodeAtLocation, parseTree, printParseErrorCode, type ParseError } from 'jsonc-parser';
import { checkedNet, isFault } from '../checkedNet.ts';
import { doubtfulUnit } from '../doubtfulUnit.ts';
import { fault, type Fault, type Place } from '../fault.ts';
import { lengthUnits, millimetre } from '../lengthUnit.ts';
import { lineOf } from '../lineNumber.ts';
import { netShape, type ShapeError } from '../net.generated.js';
import { nearestName } from '../nearestName.ts';
import type { Intake, Panel } from '../panel.ts';
import { uniquelyNamed } from '../uniqueNames.ts';

interface NetPanel {
  readonly name: string;
  readonly degree: [number, number];
  readonly knots: [number[], number[]];
  readonly rows: [number, number, number][][];
  readonly weights?: number[][] | null;
}

interface NetFile {
  readonly units: string;
  readonly panels: readonly NetPanel[];
}

const deepest = 64;
const tooDeep = fault('too-deep', {}, { what: 'brackets', most: deepest });

/** Brackets open at once, at most, outside strings: a guard for parsers that recurse. */
function nesting(text: string): number {
  let depth = 0;
  let most = 0;
  let quoted = false;
  for (let i = 0; i < text.length; i++) {
    const c = text[i];
    if (quoted) {
      if (c === '\\') i++;
      else if (c === '"') quoted = false;
    } else if (c === '"') quoted = true;
    else if (c === '[' || c === '{') most = Math.max(most, ++depth);
    else if (c === ']' || c === '}') depth--;
  }
  return most;
}

const lineInText = (text: string, offset: number): number =>
  lineOf(Buffer.from(text.slice(0, offset)), Infinity);

function syntaxFault(text: string): Fault {
  const errors: ParseError[] = [];
  parseTree(text, errors, { disallowComments: true, allowTrailingComma: false });
  const first = errors[0];
  return fault('json-syntax', first ? { line: lineInText(text, first.offset) } : {}, {
    what: first ? printParseErrorCode(first.error) : 'not JSON',
  });
}

/** "/panels/0/rows" as the path ['panels', 0, 'rows']. */
const pathOf = (pointer: string): (string | number)[] =>
  pointer
    .split('/')
    .slice(1)
    .map((key) => (/^\d+$/.test(key) ? Number(key) : key));

function placeOf(text: string, pointer: string): Place {
  const tree = parseTree(text);
  const node = tree && findNodeAtLocation(tree, pathOf(pointer));
  return {
    ...(node ? { line: lineInText(text, node.offset) } : {}),
    record: pointer === '' ? '/' : pointer,
  };
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
  'note',
];

function shapeFault(text: string, error: ShapeError): Fault {
  const place = placeOf(text, error.instancePath);
  const key = error.params['additionalProperty'];
  if (typeof key === 'string')
    return fault('json-shape', place, {
      what: `unknown key "${key}"`,
      nearest: nearestName(key, knownKeys) ?? '',
    });
  const allowed = error.params['allowedValues'] ?? error.params['allowedValue'];
  return fault('json-shape', place, {
    what: allowed === undefined ? error.message : `${error.message}: ${JSON.stringify(allowed)}`,
    nearest: '',
  });
}

/** A row or list whose length is not that of the first, as a fault. */
function unequalRow(rows: readonly (readonly unknown[])[], place: Place): Fault | null {
  const odd = rows.findIndex((row) => row.length !== rows[0].length);
  return odd < 0
    ? null
    : fault(
        'wrong-count',
        { ...place, record: `${place.record}/${odd}` },
        { what: 'points in the row', found: rows[odd].length, expected: rows[0].length },
      );
}

function panelOf(source: NetPanel, index: number, unitName: string): Panel | Fault {
  const place: Place = { record: `/panels/${index}` };
  const unit = lengthUnits[unitName];
  const rows = source.rows;
  const uneven =
    unequalRow(rows, { record: `${place.record}/rows` }) ??
    (source.weights ? unequalRow(source.weights, { record: `${place.record}/weights` }) : null);
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
  return isFault(net) ? net : { name: source.name, place, unit, net, trim: { kind: 'whole' } };
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
  let text: string;
  try {
    text = new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    return nothing([fault('text-encoding', {}, { expected: 'UTF-8' })]);
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
  if (!netShape(content)) return explained(() => shapeFault(text, netShape.errors![0]));
  const file = content as NetFile;
  const read = file.panels.map((panel, index) => panelOf(panel, index, file.units));
  const panels = read.filter((result): result is Panel => 'net' in result);
  const faults = read.filter((result): result is Fault => 'code' in result);
  return {
    format: 'net-json',
    unit: lengthUnits[file.units],
    panels: uniquelyNamed(panels),
    unjudged: [],
    faults,
    notices: doubtfulUnit(panels),
  };
}

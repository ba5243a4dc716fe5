import { fixedInteger } from '../../intake/iges/fixedInteger.ts';
import { igesDirectory, type Entity } from '../../intake/iges/igesDirectory.ts';
import type { Delimiters } from '../../intake/iges/igesFields.ts';
import { igesGlobals } from '../../intake/iges/igesGlobals.ts';
import { igesNet } from '../../intake/iges/igesNet.ts';
import { parameterColumns, parameterSource } from '../../intake/iges/igesParameters.ts';
import { igesSections, recordNumbering } from '../../intake/iges/igesSections.ts';
import { igesStructure } from '../../intake/iges/igesStructure.ts';
import { rationalSurface } from '../../intake/iges/igesUnjudged.ts';
import { editedBytes, type Edit } from './editedBytes.ts';
import { igesReal } from './igesRecords.ts';
import {
  changesByRecord,
  movedCoordinates,
  type ChangedFile,
  type MovedCoordinate,
  type NetChange,
  type Refusal,
} from './netChange.ts';

const lineFeed = 10;
const carriageReturn = 13;
const columns = 80;

/** Behind the line that starts at an offset, its end included; blocks of 80 columns have none. */
function lineEnd(bytes: Uint8Array, start: number, starts: ReadonlySet<number>): number {
  let at = start;
  while (at < bytes.length && bytes[at] !== lineFeed && bytes[at] !== carriageReturn) {
    if (at === start + columns && starts.has(at)) return at;
    at++;
  }
  return at + (bytes[at] === carriageReturn && bytes[at + 1] === lineFeed ? 2 : 1);
}

/** One parameter with its delimiter, as it stands in the record in which it begins. */
interface Token {
  text: string;
  readonly record: number;
  /** True where it runs over into the record behind. */
  readonly runsOver: boolean;
}

/** The parameters of an entity with blanks before them; what follows the record delimiter is the last. */
function tokensOf(
  bytes: Uint8Array,
  starts: readonly number[],
  [from, to]: readonly [number, number],
  { parameter, record }: Delimiters,
): Token[] {
  const tokens: Token[] = [];
  let text = '';
  let begun = from;
  let ended = false;
  for (let k = from; k < to; k++) {
    for (let at = 0; at <= parameterColumns; at++) {
      const c = bytes[starts[k] + at];
      const delimits = !ended && (c === parameter || c === record);
      // a delimiter that found no room may stand in the column behind the last
      if (at === parameterColumns && !delimits) break;
      if (text.trim() === '') begun = k;
      text += String.fromCharCode(c);
      if (!delimits) continue;
      const runsOver = begun !== k;
      tokens.push({ text: runsOver ? text.trimStart() : text, record: begun, runsOver });
      text = '';
      ended = c === record;
    }
    if (text.trim() === '') text = '';
    else if (ended) {
      tokens.push({ text: text.trimEnd(), record: k, runsOver: false });
      text = '';
    }
  }
  return tokens;
}

/** Texts in a line of at most 64 columns where blanks can make room, else in several. */
function filled(texts: readonly string[]): string[] {
  const whole = texts.join('');
  if (whole.length <= parameterColumns) return [whole];
  const lines = [''];
  for (const text of texts) {
    const bare = text.trimStart();
    if (lines[lines.length - 1].length + bare.length > parameterColumns) lines.push('');
    lines[lines.length - 1] += bare;
  }
  return lines;
}

/** The data of the records that are other than they were, by position: a record may become several. */
function newRecords(tokens: readonly Token[], changed: ReadonlySet<number>): Map<number, string[]> {
  const touched = new Set([...changed].map((k) => tokens[k].record));
  for (const { record, runsOver } of tokens)
    if (runsOver && touched.has(record)) touched.add(record + 1);
  const texts = new Map<number, string[]>([...touched].map((record) => [record, []]));
  for (const { record, text } of tokens) texts.get(record)?.push(text);
  return new Map([...texts].map(([record, own]) => [record, filled(own)]));
}

/** Columns of fields that hold numbers: where in the line, and how wide. */
const sequenceField = [73, 7] as const;
const pointerField = [8, 8] as const;
const countField = [24, 8] as const;
const terminateField = [25, 7] as const;

/** A number in a field of fixed width, with zeros before it where there were some. */
function fieldEdit(
  bytes: Uint8Array,
  line: number,
  [column, width]: readonly [number, number],
  value: number,
): Edit {
  const start = line + column;
  const filler = /^0\d/.test(Buffer.from(bytes.subarray(start, start + 2)).toString('latin1'))
    ? '0'
    : ' ';
  return { start, end: start + width, text: String(value).padStart(width, filler) };
}

/**
 * An IGES file with the points of some surfaces (128) changed. A record keeps its place where the new
 * numbers fit its 64 columns; where they do not it becomes two or more, and the parameter section, the
 * pointers and counts of the directory, and the terminate record are numbered anew behind it. All other
 * bytes stay.
 */
export function changedIges(bytes: Uint8Array, changes: readonly NetChange[]): ChangedFile {
  const { byRecord, refused: early } = changesByRecord(changes);
  if (early.length > 0) return early;
  if (byRecord.size === 0) return bytes;
  const sections = igesSections(bytes);
  const { delimiters } = igesGlobals(sections);
  const directory = igesDirectory(sections);
  const source = parameterSource(sections, directory, delimiters);
  const structure = igesStructure(directory, source);
  const { starts } = sections.parameter;
  const numbering = recordNumbering(bytes, starts);
  const byName = new Map(
    directory.entities.map((entity) => [directory.placeOf(entity).record, entity]),
  );
  const owners = new Map<number, Entity[]>();
  for (const entity of directory.entities) {
    const at = numbering.positionOf(entity.parameter);
    owners.set(at, [...(owners.get(at) ?? []), entity]);
  }
  const refused: Refusal[] = [];
  const records = new Map<number, { readonly entity: Entity; readonly lines: readonly string[] }>();

  /** Why a net cannot be changed; else null, and its new records stand in `records`. */
  function change(record: string, wanted: NetChange): Refusal['why'] | null {
    const entity = byName.get(record);
    if (!entity) return 'missing';
    if (entity.type !== rationalSurface) return 'kind';
    const range = source.recordsOf(entity);
    const net = igesNet(entity, directory, source);
    const standings = structure.standingsOf(entity);
    if (!range || 'code' in net || 'code' in standings) return 'missing';
    const [from, to] = range;
    for (let k = from; k < to; k++)
      if ((owners.get(k) ?? []).some((other) => other !== entity)) return 'shared';
    const places = new Set(standings.map(({ placement }) => placement));
    const [placement] = places;
    if (places.size !== 1) return 'places';
    const moved: readonly MovedCoordinate[] = movedCoordinates(
      wanted,
      placement,
      'placement-first',
    );
    const { knots, points } = net.net;
    if (
      points.length !== wanted.net.points.length ||
      moved.some(({ value }) => !Number.isFinite(value))
    )
      return 'missing';
    // the type, nine numbers, knots, and a weight a point stand before the points
    const first = 10 + knots[0].length + knots[1].length + points.length / 3;
    const tokens = tokensOf(bytes, starts, range, delimiters);
    const changed = new Set<number>();
    for (const { row, column, axis, value } of moved) {
      const k = first + 3 * (row * wanted.net.columns + column) + axis;
      const token = tokens[k];
      if (!token) return 'missing';
      token.text = igesReal(value) + token.text.slice(-1);
      changed.add(k);
    }
    for (const [position, lines] of newRecords(tokens, changed))
      records.set(position, { entity, lines });
    return null;
  }

  for (const [record, wanted] of byRecord) {
    const why = change(record, wanted);
    if (why) refused.push({ panel: wanted.panel.name, why });
  }
  if (refused.length > 0) return refused;

  const edits: Edit[] = [];
  const lineStarts = new Set([...starts, ...sections.terminate.starts]);
  const more = new Map<Entity, number>();
  let added = 0;
  for (let k = 0; k < starts.length; k++) {
    const start = starts[k];
    const record = records.get(k);
    // entries of entities that begin here point to where their records have gone
    if (added > 0) {
      for (const entity of owners.get(k) ?? [])
        edits.push(
          fieldEdit(
            bytes,
            sections.directory.starts[entity.position],
            pointerField,
            numbering.sequenceAt(k) + added,
          ),
        );
      edits.push(fieldEdit(bytes, start, sequenceField, numbering.sequenceAt(k) + added));
    }
    if (!record) continue;
    const { entity, lines } = record;
    // column 65 is blank
    edits.push({
      start,
      end: start + parameterColumns + 1,
      text: lines[0].padEnd(parameterColumns + 1),
    });
    const end = lineEnd(bytes, start, lineStarts);
    const tail = (from: number, to: number): string =>
      Buffer.from(bytes.subarray(start + from, to)).toString('latin1');
    const behind = lines.slice(1).map((line) => {
      added++;
      const [column, width] = sequenceField;
      const sequence = String(numbering.sequenceAt(k) + added).padStart(width);
      return (
        line.padEnd(parameterColumns + 1) +
        tail(parameterColumns + 1, start + column) +
        sequence +
        tail(column + width, end)
      );
    });
    if (behind.length > 0) {
      // a file may end without a line end, unless it is made of blocks
      const isOpen = end === bytes.length && bytes[end - 1] > carriageReturn;
      const lead = isOpen && !lineStarts.has(start - columns) ? '\n' : '';
      edits.push({ start: end, end, text: lead + behind.join('') });
      more.set(entity, (more.get(entity) ?? 0) + behind.length);
    }
  }
  for (const [entity, count] of more)
    if (entity.records > 0)
      edits.push(
        fieldEdit(
          bytes,
          sections.directory.starts[entity.position + 1],
          countField,
          entity.records + count,
        ),
      );
  const [end] = sections.terminate.starts;
  const stated =
    end === undefined ? null : fixedInteger(bytes, end + terminateField[0], terminateField[1]);
  if (added > 0 && stated) edits.push(fieldEdit(bytes, end, terminateField, stated + added));
  return editedBytes(bytes, edits);
}

import { fixedInteger } from '../../intake/iges/fixedInteger.ts';
import { igesDirectory, type Directory, type Entity } from '../../intake/iges/igesDirectory.ts';
import type { Delimiters } from '../../intake/iges/igesFields.ts';
import { igesGlobals } from '../../intake/iges/igesGlobals.ts';
import {
  parameterColumns,
  parameterSource,
  type ParameterSource,
} from '../../intake/iges/igesParameters.ts';
import { igesSections, recordNumbering, type Sections } from '../../intake/iges/igesSections.ts';
import { editedBytes, type Edit } from './editedBytes.ts';

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
export interface Token {
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
export function filled(texts: readonly string[]): string[] {
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

/** An IGES file as it is to be edited. */
export interface IgesParts {
  readonly bytes: Uint8Array;
  readonly sections: Sections;
  readonly directory: Directory;
  readonly source: ParameterSource;
  /** The entity that has a number in the directory. */
  readonly entityOf: (record: string) => Entity | null;
  /** Positions of its parameter records, from and up to; a word where none are its own. */
  readonly ownRecords: (entity: Entity) => readonly [number, number] | 'missing' | 'shared';
  readonly tokensOf: (range: readonly [number, number]) => Token[];
  readonly delimiters: Delimiters;
}

export function igesParts(bytes: Uint8Array): IgesParts {
  const sections = igesSections(bytes);
  const { delimiters } = igesGlobals(sections);
  const directory = igesDirectory(sections);
  const source = parameterSource(sections, directory, delimiters);
  const { starts } = sections.parameter;
  const byName = new Map(
    directory.entities.map((entity) => [directory.placeOf(entity).record, entity]),
  );
  const owners = ownersOf(bytes, sections, directory);
  return {
    bytes,
    sections,
    directory,
    source,
    delimiters,
    entityOf: (record) => byName.get(record) ?? null,
    ownRecords: (entity) => {
      const range = source.recordsOf(entity);
      if (!range) return 'missing';
      for (let k = range[0]; k < range[1]; k++)
        if ((owners.get(k) ?? []).some((other) => other !== entity)) return 'shared';
      return range;
    },
    tokensOf: (range) => tokensOf(bytes, starts, range, delimiters),
  };
}

/** Entities whose parameters begin at a position of the section. */
function ownersOf(
  bytes: Uint8Array,
  { parameter }: Sections,
  { entities }: Directory,
): ReadonlyMap<number, readonly Entity[]> {
  const numbering = recordNumbering(bytes, parameter.starts);
  const owners = new Map<number, Entity[]>();
  for (const entity of entities) {
    const at = numbering.positionOf(entity.parameter);
    owners.set(at, [...(owners.get(at) ?? []), entity]);
  }
  return owners;
}

/** What stands in place of one parameter record: as many lines as it takes, or none. */
export interface NewRecord {
  readonly entity: Entity;
  readonly lines: readonly string[];
}

/**
 * An IGES file with some parameter records, by their position, replaced. Behind a record that became
 * several, or none, the parameter section, the pointers and counts of the directory, and the terminate
 * record are numbered anew. All other bytes stay.
 */
export function withRecords(
  { bytes, sections, directory }: IgesParts,
  records: ReadonlyMap<number, NewRecord>,
): Uint8Array {
  const { starts } = sections.parameter;
  const numbering = recordNumbering(bytes, starts);
  const owners = ownersOf(bytes, sections, directory);
  const edits: Edit[] = [];
  const lineStarts = new Set([...starts, ...sections.terminate.starts]);
  const more = new Map<Entity, number>();
  let added = 0;
  for (let k = 0; k < starts.length; k++) {
    const start = starts[k];
    const record = records.get(k);
    // entries of entities that begin here point to where their records have gone
    if (added !== 0) {
      for (const entity of owners.get(k) ?? [])
        edits.push(
          fieldEdit(
            bytes,
            sections.directory.starts[entity.position],
            pointerField,
            numbering.sequenceAt(k) + added,
          ),
        );
      if (record?.lines.length !== 0)
        edits.push(fieldEdit(bytes, start, sequenceField, numbering.sequenceAt(k) + added));
    }
    if (!record) continue;
    const { entity, lines } = record;
    const end = lineEnd(bytes, start, lineStarts);
    if (lines.length === 0) {
      edits.push({ start, end, text: '' });
      added--;
      more.set(entity, (more.get(entity) ?? 0) - 1);
      continue;
    }
    // column 65 is blank
    edits.push({
      start,
      end: start + parameterColumns + 1,
      text: lines[0].padEnd(parameterColumns + 1),
    });
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
  if (added !== 0 && stated) edits.push(fieldEdit(bytes, end, terminateField, stated + added));
  return editedBytes(bytes, edits);
}

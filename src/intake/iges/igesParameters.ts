import { fault, type Fault } from '../fault.ts';
import { fixedInteger } from './fixedInteger.ts';
import type { Directory, Entity } from './igesDirectory.ts';
import {
  decoded,
  fields,
  numbersInto,
  type Cursor,
  type Delimiters,
  type Field,
  type Trouble,
} from './igesFields.ts';
import { recordNumbering, type Sections } from './igesSections.ts';

/** Columns of parameter data; the back pointer stands in 66 to 72 (IGES 5.3, 2.2.4.5.1). */
export const parameterColumns = 64;
const width = parameterColumns;

/** The parameter section with a buffer to read one entity at a time from. */
export interface ParameterSource {
  /** The entity's data behind its type number. The cursor is good until the next call. */
  readonly cursorOf: (entity: Entity) => Cursor | Fault;
  /** Positions in the section of the entity's first record, and behind its last; null: it has none. */
  readonly recordsOf: (entity: Entity) => readonly [number, number] | null;
  readonly troubled: (entity: Entity, cursor: Cursor, trouble: Trouble) => Fault;
  /** All parameters of a small entity, kept. */
  readonly fieldsOf: (entity: Entity) => readonly Field[] | Fault;
}

/** Copies one record's data to `to`; returns the offset behind it. */
function copyRecord(
  bytes: Uint8Array,
  start: number,
  buffer: Uint8Array,
  to: number,
  { parameter, record }: Delimiters,
): number {
  buffer.set(bytes.subarray(start, start + width), to);
  // Column 65 is to be blank. Files in use put the delimiter there that found no room in 64: without
  // it the numbers on both sides would run into one. Nothing else in that column is data.
  const next = bytes[start + width];
  if (next !== parameter && next !== record) return to + width;
  buffer[to + width] = next;
  return to + width + 1;
}

export function parameterSource(
  sections: Sections,
  directory: Directory,
  delimiters: Delimiters,
): ParameterSource {
  const { bytes, parameter } = sections;
  const { starts, lines } = parameter;
  const { positionOf } = recordNumbering(bytes, starts);
  // A record belongs to one entity; entries that share records must not make reading quadratic.
  let budget = 4 * starts.length + 64;
  let buffer = new Uint8Array(64 * (width + 1));
  const none = { bytes: buffer, end: 0, delimiters };

  /** One past the last record of an entity: as counted, and on while records point back to it. */
  function lastOf(entity: Entity, from: number): number {
    const back = starts.length > from ? fixedInteger(bytes, starts[from] + 65, 7) : null;
    let to = Math.min(from + Math.max(entity.records, 1), starts.length);
    while (to < starts.length && back && fixedInteger(bytes, starts[to] + 65, 7) === back) to++;
    return to;
  }

  function cursorOf(entity: Entity): Cursor | Fault {
    const place = directory.placeOf(entity);
    const from = positionOf(entity.parameter);
    if (from < 0)
      return fault('iges-pointer', place, {
        entity: entity.type,
        what: 'parameter record',
        found: entity.parameter,
      });
    if (budget < 0)
      return fault('iges-pointer', place, {
        entity: entity.type,
        what: 'shared parameter record',
        found: entity.parameter,
      });
    const to = lastOf(entity, from);
    budget -= to - from;
    if (buffer.length < (to - from) * (width + 1))
      buffer = new Uint8Array(2 * (to - from) * (width + 1));
    let end = 0;
    for (let k = from; k < to; k++) end = copyRecord(bytes, starts[k], buffer, end, delimiters);
    const cursor: Cursor = { ...none, bytes: buffer, end, at: 0, ended: false };
    const type = new Float64Array(1);
    const trouble = numbersInto(cursor, type);
    if (trouble) return troubled(entity, cursor, trouble);
    return type[0] === entity.type
      ? cursor
      : fault(
          'iges-pointer',
          { ...place, line: lines[from] },
          {
            entity: entity.type,
            what: 'parameter type',
            found: Math.min(type[0], Number.MAX_SAFE_INTEGER),
          },
        );
  }

  /** Line of the file on which a byte of the buffer stood. */
  function lineAt(entity: Entity, at: number): number | undefined {
    const from = positionOf(entity.parameter);
    let end = 0;
    for (let k = from; k < lastOf(entity, from); k++) {
      end = copyRecord(bytes, starts[k], buffer, end, delimiters);
      if (at < end) return lines[k];
    }
    return lines[lastOf(entity, from) - 1];
  }

  function troubled(entity: Entity, cursor: Cursor, trouble: Trouble): Fault {
    const line = lineAt(entity, trouble.at);
    const place = { ...directory.placeOf(entity), ...(line === undefined ? {} : { line }) };
    const text = decoded(cursor.bytes.subarray(trouble.at, Math.min(trouble.at + 24, cursor.end)));
    const data = { entity: entity.type, found: trouble.read };
    if (trouble.what === 'short')
      return fault('iges-count', place, { ...data, what: 'parameters' });
    if (trouble.what === 'unended')
      return fault('iges-record', place, { ...data, what: 'unended' });
    return fault('bad-number', place, { ...data, what: trouble.what, text: text.trim() });
  }

  function fieldsOf(entity: Entity): readonly Field[] | Fault {
    const cursor = cursorOf(entity);
    if ('code' in cursor) return cursor;
    const { fields: found, trouble } = fields(cursor);
    return trouble ? troubled(entity, cursor, trouble) : found;
  }

  function recordsOf(entity: Entity): readonly [number, number] | null {
    const from = positionOf(entity.parameter);
    return from < 0 ? null : [from, lastOf(entity, from)];
  }

  return { cursorOf, recordsOf, troubled, fieldsOf };
}

import { fault, type Fault, type Place } from '../fault.ts';
import { fixedInteger } from './fixedInteger.ts';
import { recordNumbering, type Sections } from './igesSections.ts';

/** One entry of the directory section: two records of ten fields each (IGES 5.3, 2.2.4.4). */
export interface Entity {
  readonly type: number;
  readonly form: number;
  /** Sequence number of the first parameter record, and how many there are. */
  readonly parameter: number;
  readonly records: number;
  /** Sequence number of the entry of a transformation matrix (124), or 0. */
  readonly matrix: number;
  /** Blank status, subordinate switch, use flag and hierarchy, two digits each. */
  readonly status: number;
  /** Position of the first of its two records in the section, from 0. */
  readonly position: number;
}

export interface Directory {
  readonly entities: readonly Entity[];
  /** The entity a pointer means, or null. */
  readonly entityAt: (pointer: number) => Entity | null;
  /** Field 5: a level from 1, 0 for none, or minus a pointer to a list of levels (IGES 5.3, 2.2.4.4.5). */
  readonly levelOf: (entity: Entity) => number;
  /** The entry's own number and line. */
  readonly placeOf: (entity: Entity) => Place;
  /** The name in fields 18 and 19, or ''. */
  readonly labelOf: (entity: Entity) => string;
  readonly faults: readonly Fault[];
}

const longestName = 255;

/** A name fit to print: no control characters, no blanks around it, of bounded length. */
export const printable = (text: string): string =>
  text
    .slice(0, longestName)
    .replace(/[\p{Cc}\p{Cf}\p{Zl}\p{Zp}\ufffd]/gu, ' ')
    .trim();

/** "HOOD" with subscript 2 is "HOOD-2". A label of zeros is what some writers put for none. */
function labelAt(bytes: Uint8Array, second: number): string {
  const label = printable(Buffer.from(bytes.subarray(second + 56, second + 64)).toString('latin1'));
  if (/^0*$/.test(label)) return '';
  const subscript = fixedInteger(bytes, second + 64, 8) ?? 0;
  return subscript > 0 ? `${label}-${subscript}` : label;
}

function entityOf({ bytes, directory }: Sections, position: number): Entity | null {
  const first = directory.starts[position];
  const second = directory.starts[position + 1];
  const type = fixedInteger(bytes, first, 8);
  const again = fixedInteger(bytes, second, 8);
  const parameter = fixedInteger(bytes, first + 8, 8);
  const matrix = fixedInteger(bytes, first + 48, 8);
  const records = fixedInteger(bytes, second + 24, 8);
  const form = fixedInteger(bytes, second + 32, 8);
  if (type === null || parameter === null || matrix === null || records === null || form === null)
    return null;
  if (again !== type && again !== 0) return null;
  const status = fixedInteger(bytes, first + 64, 8) ?? 0;
  return { type, form, parameter, records, matrix, status, position };
}

/**
 * Reads the directory. Both records of an entry give its type (fields 1 and 11) and their numbers
 * follow each other: where they do not, a record was lost or is damaged; that is told once, and
 * reading goes on with the next record.
 */
export function igesDirectory(sections: Sections): Directory {
  const { bytes, directory } = sections;
  const { starts, lines } = directory;
  const entities: Entity[] = [];
  const atPosition: (Entity | null)[] = Array.from({ length: starts.length }, () => null);
  const numbering = recordNumbering(bytes, starts);
  /** The first record of an entry has an odd number, the second the next (2.2.4.4.10). */
  const isPair = (position: number): boolean => {
    const sequence = numbering.sequenceAt(position);
    return (
      position + 1 < starts.length &&
      numbering.sequenceAt(position + 1) === sequence + 1 &&
      sequence % 2 === 1
    );
  };
  let damaged = 0;
  let firstDamaged = 0;
  for (let position = 0; position < starts.length;) {
    const entity = isPair(position) ? entityOf(sections, position) : null;
    if (entity) {
      entities.push(entity);
      atPosition[position] = entity;
    } else if (damaged++ === 0) firstDamaged = position;
    position += entity ? 2 : 1;
  }
  const placeAt = (position: number): Place => ({
    line: lines[position],
    record: `D${numbering.sequenceAt(position)}`,
  });
  return {
    entities,
    entityAt: (pointer) => atPosition[numbering.positionOf(pointer)] ?? null,
    levelOf: (entity) => fixedInteger(bytes, starts[entity.position] + 32, 8) ?? 0,
    placeOf: (entity) => placeAt(entity.position),
    labelOf: (entity) => labelAt(bytes, starts[entity.position + 1]),
    faults:
      damaged > 0
        ? [fault('iges-record', placeAt(firstDamaged), { what: 'entry', found: damaged })]
        : [],
  };
}

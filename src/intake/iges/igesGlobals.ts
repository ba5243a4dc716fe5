import { fault, type Fault, type Notice, type Place } from '../fault.ts';
import { lengthUnits, type LengthUnit } from '../lengthUnit.ts';
import { printable } from './igesDirectory.ts';
import { fields, type Cursor, type Delimiters, type Field } from './igesFields.ts';
import type { Sections } from './igesSections.ts';

/** What the global section says that matters here. */
export interface Globals {
  readonly delimiters: Delimiters;
  /** Null where the file names a unit nobody knows. */
  readonly unit: LengthUnit | null;
  /** Smallest distance that the sender tells apart (parameter 19), file units; 0 where it is not stated. */
  readonly resolution: number;
  readonly faults: readonly Fault[];
  readonly notices: readonly Notice[];
}

/** The last data column of a global record (IGES 5.3, 2.2.3). */
const width = 72;

const comma = 44;
const semicolon = 59;

/** Units by flag, global parameter 14 (IGES 5.3, 2.2.4.3.14); 3 means "by name". */
const flagged: Readonly<Record<number, string>> = {
  1: 'in',
  2: 'mm',
  4: 'ft',
  5: 'mile',
  6: 'm',
  7: 'km',
  8: 'mil',
  9: 'um',
  10: 'cm',
  11: 'microinch',
};

/** Units by name, global parameter 15 (IGES 5.3, 2.2.4.3.15). */
const named: Readonly<Record<string, string>> = {
  IN: 'in',
  INCH: 'in',
  MM: 'mm',
  FT: 'ft',
  MI: 'mile',
  M: 'm',
  KM: 'km',
  MIL: 'mil',
  UM: 'um',
  CM: 'cm',
  UIN: 'microinch',
};

/** Characters that may not delimit (IGES 5.3, 2.2.3.1): controls, blank, digits, + - . D E H. */
const isForbidden = (c: number): boolean =>
  c <= 32 || c === 127 || '0123456789+-.DEH'.includes(String.fromCharCode(c));

function joined({ bytes, global }: Sections): Uint8Array {
  const text = new Uint8Array(width * global.starts.length);
  global.starts.forEach((start, k) => text.set(bytes.subarray(start, start + width), width * k));
  return text;
}

/** The character a parameter "1Hx" gives, or null where the parameter is empty or something else. */
const given = (text: Uint8Array, at: number): number | null =>
  text[at] === 49 && text[at + 1] === 72 && at + 2 < text.length ? text[at + 2] : null;

/**
 * Delimiters, and the offset of the third parameter. The four combinations of IGES 5.3, 2.2.3.1:
 * ",,"  "1Hxx1Hyx"  "1Hxxx"  ",1Hy,".
 */
function delimitersOf(text: Uint8Array): { delimiters: Delimiters; at: number } | null {
  const blanks = text.findIndex((c) => c !== 32);
  let at = Math.max(blanks, 0);
  const parameter = given(text, at) ?? comma;
  if (given(text, at) !== null) at += 3;
  if (text[at] !== parameter) return null;
  at++;
  const record = given(text, at) ?? semicolon;
  if (given(text, at) !== null) at += 3;
  if (text[at] === parameter) at++;
  else if (text[at] !== record) return null;
  if (isForbidden(parameter) || isForbidden(record) || parameter === record) return null;
  return { delimiters: { parameter, record }, at };
}

function unitOf(
  flag: Field,
  name: Field,
  place: Place,
): Pick<Globals, 'unit' | 'faults' | 'notices'> {
  const spelt = typeof name === 'string' ? printable(name).toUpperCase() : '';
  const byName = Object.hasOwn(named, spelt) ? lengthUnits[named[spelt]] : null;
  // An empty flag means inches, whatever the name says (2.2.4.3.14 and 15).
  if (flag === null)
    return {
      unit: lengthUnits['in'],
      faults: [],
      notices: [{ code: 'unit-missing', place, data: { assumed: 'in', name: spelt } }],
    };
  if (flag === 3 && byName) return { unit: byName, faults: [], notices: [] };
  const byFlag = typeof flag === 'number' && flagged[flag] ? lengthUnits[flagged[flag]] : null;
  if (!byFlag)
    return {
      unit: null,
      faults: [
        fault('unit-unknown', place, {
          flag: Number.isSafeInteger(flag) ? Number(flag) : printable(String(flag)),
          name: spelt,
        }),
      ],
      notices: [],
    };
  const contradicts = byName !== null && byName !== byFlag;
  return {
    unit: byFlag,
    faults: [],
    notices: contradicts
      ? [
          {
            code: 'flag-contradicts',
            place,
            data: { what: 'unit', flag: byFlag.name, found: byName.name },
          },
        ]
      : [],
  };
}

/**
 * Reads the global section (IGES 5.3, 2.2.4.3). Model space scale (parameter 13) is the ratio of the
 * model to the real thing, and the unit flag is of model units: coordinates are left as they are,
 * since limits are signed off on the model that was built; a scale other than 1 is told as a notice.
 */
export function igesGlobals(sections: Sections): Globals {
  const standard: Delimiters = { parameter: comma, record: semicolon };
  if (sections.global.starts.length === 0)
    return { delimiters: standard, resolution: 0, ...unitOf(null, null, {}) };
  const place: Place = { line: sections.global.lines[0], record: 'G1' };
  const text = joined(sections);
  const start = delimitersOf(text);
  if (!start)
    return {
      delimiters: standard,
      unit: null,
      resolution: 0,
      faults: [fault('iges-record', place, { what: 'delimiters' })],
      notices: [],
    };
  const { delimiters } = start;
  const cursor: Cursor = { bytes: text, end: text.length, delimiters, at: start.at, ended: false };
  const { fields: rest, trouble } = fields(cursor);
  // rest[0] is parameter 3
  const parameter = (number: number): Field => rest[number - 3] ?? null;
  const unit = unitOf(parameter(14), parameter(15), place);
  const scale = parameter(13);
  const resolution = parameter(19);
  const scaled = typeof scale === 'number' && scale !== 1 && scale > 0 && Number.isFinite(scale);
  return {
    delimiters,
    unit: unit.unit,
    resolution: typeof resolution === 'number' && resolution > 0 ? resolution : 0,
    faults: trouble
      ? [
          ...unit.faults,
          fault('iges-record', place, { what: 'unended', entity: 0, found: rest.length + 2 }),
        ]
      : unit.faults,
    notices: scaled
      ? [...unit.notices, { code: 'model-scale', place, data: { scale } }]
      : unit.notices,
  };
}

import type { Vector } from '../../geometry/vector.ts';
import { scanDecimal, scanned } from '../decimal.ts';
import { pastBlanks } from './blanks.ts';
import type { StepFile } from './stepFile.ts';
import { keywordNumber } from './stepRecords.ts';
import { numbersIn } from './stepValues.ts';

const kindOfPoint = keywordNumber('CARTESIAN_POINT');
const pointKeywordLength = 'CARTESIAN_POINT'.length;

/** Coordinates of the last point read by `scanPoint`. One object, refilled by each call. */
const coordinates: [number, number, number] = [0, 0, 0];

/** How many coordinates a point has: in the parameter plane of a surface, or in space. */
type Dimension = 2 | 3;

/** The byte of `expected` after blanks, plus one; -1 where something else stands there. */
function past(bytes: Uint8Array, at: number, limit: number, expected: number): number {
  const i = bytes[at] === expected ? at : pastBlanks(bytes, at, limit);
  return i < limit && bytes[i] === expected ? i + 1 : -1;
}

/** A longer record than this is no usual point, and is parsed as any other record is. */
const longestPoint = 1024;

/** Reads CARTESIAN_POINT('name',(x,y,z)) straight from the bytes; false where it is not just that. */
function scanPoint(file: StepFile, record: number, dimension: Dimension): boolean {
  const { bytes } = file;
  const limit = file.records.ends[record];
  if (limit - file.records.bodies[record] > longestPoint) return false;
  let at = past(bytes, file.records.bodies[record] + pointKeywordLength, limit, 40);
  if (at < 0) return false;
  at = past(bytes, at, limit, 39);
  if (at < 0) return false;
  while (at < limit && bytes[at] !== 39) at++;
  at = past(bytes, at + 1, limit, 44);
  if (at < 0) return false;
  at = past(bytes, at, limit, 40);
  for (let axis = 0; axis < dimension; axis++) {
    if (at < 0) return false;
    if (!scanDecimal(bytes, pastBlanks(bytes, at, limit), limit)) return false;
    coordinates[axis] = scanned.value;
    at = past(bytes, scanned.end, limit, axis < dimension - 1 ? 44 : 41);
  }
  return at >= 0 && past(bytes, at, limit, 41) >= 0;
}

const pointLayout = [
  ['REPRESENTATION_ITEM', 1],
  ['CARTESIAN_POINT', 1],
] as const;

/**
 * The coordinates of a point in the file's unit, or null where the record is no point of so many
 * dimensions. The array may be refilled by the next call, and be longer: copy what is to be kept.
 */
export function stepCoordinates(
  file: StepFile,
  record: number,
  dimension: Dimension,
): readonly number[] | null {
  if (file.records.kinds[record] === kindOfPoint && scanPoint(file, record, dimension))
    return coordinates;
  if (!file.is(record, ['CARTESIAN_POINT'])) return null;
  const values = numbersIn(file.attributes(record, pointLayout)?.[1]);
  return values?.length === dimension ? values : null;
}

/**
 * The three coordinates of a point in the file's unit, or null where the record is no point of
 * space. The array may be refilled by the next call: copy what is to be kept.
 */
export const stepPoint = (file: StepFile, record: number): Vector | null =>
  stepCoordinates(file, record, 3) as Vector | null;

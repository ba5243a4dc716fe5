import type { LengthUnit } from '../lengthUnit.ts';
import type { StepFile } from './stepFile.ts';
import { representationTypes } from './stepKeywords.ts';
import { contextMeasures } from './stepUnits.ts';
import { referenceIn, referencesIn } from './stepValues.ts';

/** A representation of shape: the names of its items, and what its context says of its numbers. */
interface Representation {
  readonly record: number;
  readonly items: readonly number[];
  /** Null where it states none. */
  readonly unit: LengthUnit | null;
  /** Radians of its unit of plane angle. */
  readonly radians: number;
  /** Millimetres within which its points are one; null where it does not say. */
  readonly uncertainty: number | null;
}

/** The representations of a file by their record, in the order of the file. */
export interface StepRepresentations {
  readonly byRecord: ReadonlyMap<number, Representation>;
  /** Millimetres of one unit of a representation; 1 where it states none. */
  readonly millimetres: (record: number) => number;
  /** The one unit that every context of the file states; null where they differ or state none. */
  readonly agreed: LengthUnit | null;
}

const layout = [['REPRESENTATION', 3]] as const;

/** Source: ISO 10303-43, representation (name, items, context_of_items). */
export function stepRepresentations(file: StepFile): StepRepresentations {
  const measuresOf = contextMeasures(file);
  const unstated = { length: null, radians: 1, uncertainty: null };
  const byRecord = new Map<number, Representation>();
  for (const record of file.having(...representationTypes)) {
    const values = file.attributes(record, layout);
    if (!values) continue;
    const context = file.followed(record, referenceIn(values[2]));
    const { length: unit, ...rest } = context < 0 ? unstated : measuresOf(context);
    byRecord.set(record, { record, items: referencesIn(values[1]), unit, ...rest });
  }
  const stated = file
    .having('GLOBAL_UNIT_ASSIGNED_CONTEXT')
    .map((context) => measuresOf(context).length)
    .filter((unit) => unit !== null);
  const isAgreed = stated.every((unit) => unit.millimetres === stated[0].millimetres);
  return {
    byRecord,
    millimetres: (record) => byRecord.get(record)?.unit?.millimetres ?? 1,
    agreed: isAgreed ? (stated[0] ?? null) : null,
  };
}

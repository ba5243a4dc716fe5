import type { LengthUnit } from '../lengthUnit.ts';
import type { StepFile } from './stepFile.ts';
import { representationTypes } from './stepKeywords.ts';
import { contextUnits } from './stepUnits.ts';
import { referenceIn, referencesIn } from './stepValues.ts';

/** A representation of shape: the names of its items, and its unit of length where it states one. */
interface Representation {
  readonly record: number;
  readonly items: readonly number[];
  readonly unit: LengthUnit | null;
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
  const unitOf = contextUnits(file);
  const byRecord = new Map<number, Representation>();
  for (const record of file.having(...representationTypes)) {
    const values = file.attributes(record, layout);
    if (!values) continue;
    const context = file.followed(record, referenceIn(values[2]));
    const unit = context < 0 ? null : unitOf(context);
    byRecord.set(record, { record, items: referencesIn(values[1]), unit });
  }
  const stated = file
    .having('GLOBAL_UNIT_ASSIGNED_CONTEXT')
    .map(unitOf)
    .filter((unit) => unit !== null);
  const isAgreed = stated.every((unit) => unit.millimetres === stated[0].millimetres);
  return {
    byRecord,
    millimetres: (record) => byRecord.get(record)?.unit?.millimetres ?? 1,
    agreed: isAgreed ? (stated[0] ?? null) : null,
  };
}

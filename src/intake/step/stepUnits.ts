import { lengthUnits, type LengthUnit } from '../lengthUnit.ts';
import type { StepFile } from './stepFile.ts';
import {
  enumerationIn,
  numberIn,
  referenceIn,
  referencesIn,
  textIn,
  type StepPart,
  type StepValue,
} from './stepValues.ts';

/** Powers of ten of the prefixes of ISO 10303-41, si_prefix. */
const prefixes: Readonly<Record<string, number>> = {
  EXA: 18,
  PETA: 15,
  TERA: 12,
  GIGA: 9,
  MEGA: 6,
  KILO: 3,
  HECTO: 2,
  DECA: 1,
  DECI: -1,
  CENTI: -2,
  MILLI: -3,
  MICRO: -6,
  NANO: -9,
  PICO: -12,
  FEMTO: -15,
  ATTO: -18,
};

/** A unit told by another, told by another: at most so many; an inch is told by one. */
const longestChain = 8;

const partOf = (parts: readonly StepPart[], type: string): StepPart | undefined =>
  parts.find((part) => part.type === type);

/** The unit by our short name where it is a known one, else by the file's. */
function named(millimetres: number, name: string): LengthUnit {
  const known = Object.values(lengthUnits).find(
    (unit) => Math.abs(unit.millimetres - millimetres) <= 1e-12 * millimetres,
  );
  return known ?? { name, millimetres };
}

/** Null: this is no unit of length. A fault is told where it is one that cannot be used. */
function lengthUnitOf(file: StepFile, record: number, chain: number): LengthUnit | null {
  const parts = file.parts(record);
  if (!parts) return null;
  const si = partOf(parts, 'SI_UNIT');
  if (si) {
    // Simple: (dimensions, prefix, name); in a complex instance the dimensions are NAMED_UNIT's.
    const [prefix, name] = si.values.slice(-2).map(enumerationIn);
    if (name !== 'METRE') return null;
    const power = prefix === null ? 0 : prefixes[prefix];
    if (power !== undefined) return named(Number(`1e${power + 3}`), `1e${power} m`);
    file.tellAt('unit-unknown', record, { unit: `${prefix} METRE` });
    return null;
  }
  const conversion = partOf(parts, 'CONVERSION_BASED_UNIT');
  if (!conversion || !partOf(parts, 'LENGTH_UNIT')) return null;
  const name = textIn(conversion.values[0]).trim().toLowerCase();
  const factor = conversionFactor(file, record, referencesIn(conversion.values[1])[0], chain);
  if (factor !== null && factor > 0 && Number.isFinite(factor))
    return named(factor, name || 'unit');
  // One fault for a chain of units, at its beginning.
  if (chain === 0) file.tellAt('unit-unknown', record, { unit: name });
  return null;
}

/** Millimetres of a measure with unit: LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4), #millimetre). */
function conversionFactor(
  file: StepFile,
  from: number,
  id: number | undefined,
  chain: number,
): number | null {
  if (id === undefined || chain >= longestChain) return null;
  const record = file.follow(from, id);
  const parts = record < 0 ? null : file.parts(record);
  const measure =
    parts && (partOf(parts, 'MEASURE_WITH_UNIT') ?? partOf(parts, 'LENGTH_MEASURE_WITH_UNIT'));
  const value = numberIn(measure?.values[0]);
  const unitId = referenceIn(measure?.values[1]);
  if (value === null || unitId === null) return null;
  const unitRecord = file.follow(record, unitId);
  const unit = unitRecord < 0 ? null : lengthUnitOf(file, unitRecord, chain + 1);
  return unit && value * unit.millimetres;
}

/** Radians of a unit of plane angle, or null: this is none. */
function radiansOf(file: StepFile, record: number): number | null {
  const parts = file.parts(record);
  if (!parts || !partOf(parts, 'PLANE_ANGLE_UNIT')) return null;
  const conversion = partOf(parts, 'CONVERSION_BASED_UNIT');
  if (!conversion) return 1;
  const measure = file.followed(record, referencesIn(conversion.values[1])[0] ?? null);
  const factor = measure < 0 ? null : numberIn(file.parts(measure)?.[0]?.values[0]);
  return factor !== null && factor > 0 && Number.isFinite(factor) ? factor : null;
}

/** What a context says of the numbers in its representations. */
interface ContextMeasures {
  /** Null where it states none. */
  readonly length: LengthUnit | null;
  /** Radians of its unit of plane angle; 1 where it states none. */
  readonly radians: number;
  /** Millimetres within which points are one, as the largest it states; null where it states none. */
  readonly uncertainty: number | null;
}

const uncertaintyLayout = [
  ['MEASURE_WITH_UNIT', 2],
  ['UNCERTAINTY_MEASURE_WITH_UNIT', 2],
] as const;

/**
 * Gives the measures of a context by its record. Source: ISO 10303-41, global_unit_assigned_context;
 * ISO 10303-43, global_uncertainty_assigned_context, uncertainty_measure_with_unit.
 */
export function contextMeasures(file: StepFile): (context: number) => ContextMeasures {
  const known = new Map<number, ContextMeasures>();
  const lengths = new Map<number, LengthUnit | null>();
  const lengthOf = (record: number): LengthUnit | null => {
    let length = lengths.get(record);
    if (length === undefined) lengths.set(record, (length = lengthUnitOf(file, record, 0)));
    return length;
  };
  const targets = (from: number, value: StepValue | undefined): number[] =>
    referencesIn(value)
      .map((id) => file.follow(from, id))
      .filter((record) => record >= 0);
  const uncertaintyOf = (record: number): number => {
    const values = file.attributes(record, uncertaintyLayout) ?? [];
    const unit = file.followed(record, referenceIn(values[1]));
    const size = numberIn(values[0]) ?? 0;
    return size * ((unit < 0 ? null : lengthOf(unit)?.millimetres) ?? 0);
  };
  const read = (context: number): ContextMeasures => {
    const parts = file.parts(context) ?? [];
    const last = (type: string): StepValue | undefined => partOf(parts, type)?.values.at(-1);
    let length: LengthUnit | null = null;
    let radians: number | null = null;
    for (const unit of targets(context, last('GLOBAL_UNIT_ASSIGNED_CONTEXT'))) {
      length ??= lengthOf(unit);
      radians ??= radiansOf(file, unit);
    }
    const stated = targets(context, last('GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT'));
    const largest = stated.map(uncertaintyOf).reduce((most, size) => Math.max(most, size), 0);
    return {
      length,
      radians: radians ?? 1,
      uncertainty: largest > 0 && Number.isFinite(largest) ? largest : null,
    };
  };
  return (context) => {
    let measures = known.get(context);
    if (!measures) known.set(context, (measures = read(context)));
    return measures;
  };
}

import { profileTerms, spreads } from '../../src/measure/locator/spectrumTables.ts';
import type { LearnedProfiles, SpectrumTables } from '../../src/measure/locator/spectrumTables.ts';

/** Profiles of one kind of axis as they are stored. */
interface StoredProfiles {
  readonly count: number;
  /**
   * base64 of one byte a term: byte * step + least is the natural logarithm of the expected square,
   * per mille^2 of the panel's size; [(profile * 16 + degree along u) * 14 + degree along v].
   */
  readonly logSquares: string;
  readonly step: number;
  readonly least: number;
  readonly logWeights: readonly number[];
}

/** The file of learned tables. */
export interface StoredTables {
  readonly made: string;
  readonly seed: number;
  readonly recipes: readonly string[];
  /** Degrees along u and v a profile covers. */
  readonly terms: readonly number[];
  /** Factors on a profile's variance that one coefficient may have. */
  readonly spreads: readonly number[];
  readonly inPlane: StoredProfiles;
  readonly normal: StoredProfiles;
  /** Shares of the spreads, a row for each temperament. */
  readonly temperaments: readonly (readonly number[])[];
  readonly temperamentWeights: readonly number[];
}

const step = 0.125;
const least = -18.5;
const digits = 1e6;

const rounded = (value: number): number => Math.round(value * digits) / digits;

/** Values as bytes in steps of 0.125 from -18.5 to 13.375; what lies beyond is held there. */
export const quantised = (values: Float64Array): string =>
  Buffer.from(
    Uint8Array.from(values, (value) =>
      Math.max(0, Math.min(255, Math.round((value - least) / step))),
    ),
  ).toString('base64');

function storedProfiles({ count, logSquares, logWeights }: LearnedProfiles): StoredProfiles {
  return {
    count,
    logSquares: quantised(logSquares),
    step,
    least,
    logWeights: Array.from(logWeights, rounded),
  };
}

/** The tables as the file holds them. */
export function storedTables(
  { inPlane, normal, temperaments, temperamentWeights }: SpectrumTables,
  seed: number,
  recipes: readonly string[],
): StoredTables {
  return {
    made: 'npm run learn:locator',
    seed,
    recipes,
    terms: [...profileTerms],
    spreads: [...spreads],
    inPlane: storedProfiles(inPlane),
    normal: storedProfiles(normal),
    temperaments: Array.from(temperamentWeights, (_, t) =>
      Array.from(temperaments.slice(t * spreads.length, (t + 1) * spreads.length), rounded),
    ),
    temperamentWeights: Array.from(temperamentWeights, rounded),
  };
}

function learnedProfiles(stored: StoredProfiles): LearnedProfiles {
  const bytes = Buffer.from(stored.logSquares, 'base64');
  return {
    count: stored.count,
    logSquares: Float64Array.from(bytes, (byte) => byte * stored.step + stored.least),
    logWeights: Float64Array.from(stored.logWeights),
  };
}

/** The tables a file holds. */
export function tablesFrom(stored: StoredTables): SpectrumTables {
  return {
    inPlane: learnedProfiles(stored.inPlane),
    normal: learnedProfiles(stored.normal),
    temperaments: Float64Array.from(stored.temperaments.flat()),
    temperamentWeights: Float64Array.from(stored.temperamentWeights),
  };
}

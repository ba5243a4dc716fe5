import type { StepFile } from './stepFile.ts';
import {
  faceTypes,
  gatheringTypes,
  splineTypes,
  trimmedTypes,
  type StepKeyword,
} from './stepKeywords.ts';
import { referenceIn, referencesIn, textIn, type StepValue } from './stepValues.ts';

const faceLayout = [
  ['REPRESENTATION_ITEM', 1],
  ['TOPOLOGICAL_REPRESENTATION_ITEM', 0],
  ['FACE', 1],
  ['FACE_SURFACE', 2],
] as const;
const rectangularLayout = [
  ['REPRESENTATION_ITEM', 1],
  ['RECTANGULAR_TRIMMED_SURFACE', 7],
] as const;
const curveBoundedLayout = [
  ['REPRESENTATION_ITEM', 1],
  ['CURVE_BOUNDED_SURFACE', 3],
] as const;

/** Trimmed surfaces of trimmed surfaces of ...: at most so many. */
const longestChain = 32;

const owningTypes: readonly StepKeyword[] = [...faceTypes, ...trimmedTypes];

/** A face or trimmed surface: its name, and the surface it is cut from. */
export interface Owner {
  readonly record: number;
  readonly name: string;
  /** Record of the surface, or -1. */
  readonly surface: number;
  /** Its attributes in order, inherited ones first: what cuts it is among them. */
  readonly values: readonly StepValue[];
}

function ownerOf(file: StepFile, record: number): Owner | null {
  const face = file.is(record, faceTypes);
  const layout = face
    ? faceLayout
    : file.is(record, ['CURVE_BOUNDED_SURFACE'])
      ? curveBoundedLayout
      : rectangularLayout;
  const values = file.attributes(record, layout);
  if (!values) return null;
  const id = referenceIn(values[face ? 2 : 1]);
  if (id === null) file.tellAt('step-argument', record, { what: 'surface', expected: 'reference' });
  return {
    record,
    name: textIn(values[0]).trim(),
    surface: id === null ? -1 : file.follow(record, id),
    values,
  };
}

/** All faces and trimmed surfaces of a file by their record, each parsed once. */
export function owners(file: StepFile): ReadonlyMap<number, Owner> {
  const all = new Map<number, Owner>();
  for (const record of file.having(...owningTypes)) {
    const owner = ownerOf(file, record);
    if (owner) all.set(record, owner);
  }
  for (const owner of all.values())
    if (owner.surface >= 0 && untrimmed(all, owner) === cannotTell)
      file.tellAt('too-deep', owner.record, { what: 'trims', most: longestChain });
  return all;
}

const cannotTell = -2;

/** The surface that is left when every trim is taken off; below 0 where the chain leads nowhere. */
export function untrimmed(all: ReadonlyMap<number, Owner>, owner: Owner): number {
  let surface = owner.surface;
  for (let k = 0; k < longestChain; k++) {
    const next = all.get(surface);
    if (!next) return surface;
    surface = next.surface;
  }
  return cannotTell;
}

/** A B-spline surface, and what holds it: a face or trimmed surface, or nothing but itself. */
export interface HeldSurface {
  readonly surface: number;
  readonly holder: number;
}

/** What the items of one representation hold. */
export interface Holdings {
  readonly surfaces: readonly HeldSurface[];
  /** Records of MAPPED_ITEMs. */
  readonly mapped: readonly number[];
}

/** Steps from item to item in one file, at most: bounds files whose representations share all items. */
const mostSteps = 5_000_000;

const gathers = 1;
const maps = 2;
const isSpline = 3;

/** Gives the holdings of items, as a walk through shells, sets and faces that never turns back. */
export function holdingsFinder(
  file: StepFile,
  all: ReadonlyMap<number, Owner>,
): (from: number, items: readonly number[]) => Holdings {
  const roles = new Uint8Array(file.records.count);
  for (const record of file.having(...gatheringTypes)) roles[record] = gathers;
  for (const record of file.having('MAPPED_ITEM')) roles[record] = maps;
  for (const record of file.having(...splineTypes)) roles[record] = isSpline;
  const inside = new Map<number, readonly number[]>();
  let steps = 0;
  const itemsOf = (record: number): readonly number[] => {
    let found = inside.get(record);
    if (!found) {
      found = (file.parts(record) ?? [])
        .flatMap((part) => part.values.flatMap(referencesIn))
        .map((id) => file.follow(record, id))
        .filter((item) => item >= 0);
      inside.set(record, found);
    }
    return found;
  };
  return (from, items) => {
    const surfaces: HeldSurface[] = [];
    const mapped: number[] = [];
    const seen = new Set<number>();
    const waiting = items.map((id) => file.follow(from, id)).reverse();
    for (let record = waiting.pop(); record !== undefined; record = waiting.pop()) {
      if (record < 0 || seen.has(record)) continue;
      seen.add(record);
      if (++steps === mostSteps) file.tellAt('too-deep', from, { what: 'items', most: mostSteps });
      if (steps >= mostSteps) break;
      const owner = all.get(record);
      const surface = owner ? untrimmed(all, owner) : record;
      if (surface >= 0 && roles[surface] === isSpline) surfaces.push({ surface, holder: record });
      else if (owner) waiting.push(owner.surface);
      else if (roles[record] === maps) mapped.push(record);
      else if (roles[record] === gathers) for (const item of itemsOf(record)) waiting.push(item);
    }
    return { surfaces, mapped };
  };
}

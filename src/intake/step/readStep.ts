import { inPlace } from '../../geometry/placement.ts';
import { fault, type Notice } from '../fault.ts';
import { millimetre, type LengthUnit } from '../lengthUnit.ts';
import type { Intake, Panel, Unjudged } from '../panel.ts';
import { doubtfulUnit } from '../doubtfulUnit.ts';
import { uniquelyNamed } from '../uniqueNames.ts';
import { StepFile } from './stepFile.ts';
import { owners, untrimmed, type Owner } from './stepHoldings.ts';
import { stepInstances, type Instance } from './stepInstances.ts';
import { splineTypes, unjudgedTypes } from './stepKeywords.ts';
import { stepLayers } from './stepLayers.ts';
import { startsAsStep } from './stepRecords.ts';
import { stepSurface } from './stepSurfaces.ts';
import { SurfacePanels } from './surfacePanels.ts';

/** Coordinates of all panels of a file together, at most (240 MB): reused parts multiply. */
const mostCoordinates = 30_000_000;

/** Places kept of surfaces of one other kind; all are counted. */
const mostPlaces = 1000;

const nothing: Intake = {
  format: 'step',
  unit: millimetre,
  panels: [],
  unjudged: [],
  faults: [],
  notices: [],
};

/** Surfaces of other kinds, and faces on surfaces of kinds unknown to us, by kind. */
function unjudgedSurfaces(file: StepFile, all: ReadonlyMap<number, Owner>): Unjudged[] {
  const seen = new Uint8Array(file.records.count);
  for (const record of file.having(...splineTypes, 'RECTANGULAR_COMPOSITE_SURFACE'))
    seen[record] = 1;
  const byType = new Map<string, number[]>();
  const count = (type: string, record: number): void => {
    if (seen[record] === 1) return;
    seen[record] = 1;
    const records = byType.get(type);
    if (records) records.push(record);
    else byType.set(type, [record]);
  };
  for (const type of unjudgedTypes) for (const record of file.having(type)) count(type, record);
  for (const owner of all.values()) {
    const surface = untrimmed(all, owner);
    if (surface >= 0) count(file.typeName(surface), surface);
  }
  return [...byType]
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([type, records]) => ({
      kind: `STEP ${type}`,
      label: type.toLowerCase().replaceAll('_', ' '),
      count: records.length,
      places: records.slice(0, mostPlaces).map((record) => file.place(record)),
    }));
}

/** Faces and trimmed surfaces of each surface that nothing else is cut from, in the order of the file. */
function outermostOwners(all: ReadonlyMap<number, Owner>): ReadonlyMap<number, readonly number[]> {
  const inner = new Set(Array.from(all.values(), ({ surface }) => surface));
  const found = new Map<number, number[]>();
  for (const owner of all.values()) {
    if (inner.has(owner.record)) continue;
    const surface = untrimmed(all, owner);
    const list = found.get(surface);
    if (list) list.push(owner.record);
    else found.set(surface, [owner.record]);
  }
  return found;
}

/** Of each kind of notice no more than this many are told, the last with the count of the rest. */
const mostOfOneNotice = 100;

function cappedNotices(all: readonly Notice[]): Notice[] {
  const codes = [...new Set(all.map(({ code }) => code))];
  return codes.flatMap((code) => {
    const notices = all.filter((notice) => notice.code === code);
    const told = notices.slice(0, mostOfOneNotice);
    const further = notices.length - told.length;
    const last = told[told.length - 1];
    return further === 0
      ? told
      : [...told.slice(0, -1), { ...last, data: { ...last.data, further } }];
  });
}

/**
 * Reads a STEP file (ISO 10303-21 clear text): every B-spline surface once for each place it stands
 * in, in millimetres in the frame of the outermost assembly. Any bytes give an intake: what is wrong
 * comes as faults with a line and the record (#n), and the other surfaces are read all the same.
 */
export function readStep(bytes: Uint8Array): Intake {
  if (!startsAsStep(bytes))
    return {
      ...nothing,
      faults: [fault('step-syntax', { line: 1, byte: 0 }, { near: '', expected: 'ISO-10303-21;' })],
    };
  const file = new StepFile(bytes);
  const all = owners(file);
  const outermost = outermostOwners(all);
  const { bySurface, loose } = stepInstances(file, all);
  const alone = (record: number): Instance => ({
    unit: loose ?? millimetre,
    stated: loose !== null,
    placement: inPlace,
    product: '',
    radians: 1,
    uncertainty: null,
    holders: new Set(outermost.get(record) ?? [record]),
  });

  // Surfaces come before any trim, so that costly trims cannot take the reading from a net.
  const surfaces = file.having(...splineTypes).flatMap((record) => {
    const surface = stepSurface(file, record);
    return surface ? [{ record, surface }] : [];
  });
  const layers = stepLayers(file, all);
  const panels: Panel[] = [];
  const notices: Notice[] = [];
  const trimNotices: Notice[] = [];
  const unstated = new Set<number>();
  let left = mostCoordinates;
  for (const { record, surface } of surfaces) {
    const there = new SurfacePanels(file, all, record, surface, layers, trimNotices);
    for (const instance of bySurface.get(record) ?? [alone(record)]) {
      left -= surface.raw.points.length;
      if (left < 0) {
        file.tellAt('too-deep', record, { what: 'coordinates', most: mostCoordinates });
        break;
      }
      const found = there.at(instance);
      if (!found) break;
      panels.push(...found);
      if (!instance.stated) unstated.add(record);
    }
  }

  const named = uniquelyNamed(panels);
  const [first] = unstated;
  if (first !== undefined)
    notices.push({
      code: 'unit-missing',
      place: file.place(first),
      data: { assumed: 'mm', panels: unstated.size },
    });
  notices.push(...doubtfulUnit(named), ...cappedNotices(trimNotices));
  const unit: LengthUnit = named[0]?.unit ?? loose ?? millimetre;
  const unjudged = unjudgedSurfaces(file, all);
  return { format: 'step', unit, panels: named, unjudged, faults: file.faults, notices };
}

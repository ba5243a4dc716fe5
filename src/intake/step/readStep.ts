import { inPlace, placedNet } from '../../geometry/placement.ts';
import { checkedNet, isFault } from '../checkedNet.ts';
import { fault, type Notice } from '../fault.ts';
import { millimetre, type LengthUnit } from '../lengthUnit.ts';
import type { Intake, Panel, Trim, Unjudged } from '../panel.ts';
import { doubtfulUnit } from '../doubtfulUnit.ts';
import { uniquelyNamed } from '../uniqueNames.ts';
import { StepFile } from './stepFile.ts';
import { owners, untrimmed, type Owner } from './stepHoldings.ts';
import { stepInstances, type Instance } from './stepInstances.ts';
import { splineTypes, unjudgedTypes } from './stepKeywords.ts';
import { startsAsStep } from './stepRecords.ts';
import { stepSurface, type StepSurface } from './stepSurfaces.ts';

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

/** The owners of each surface, faces before trimmed surfaces, each in the order of the file. */
function ownersBySurface(all: ReadonlyMap<number, Owner>): ReadonlyMap<number, readonly Owner[]> {
  const found = new Map<number, Owner[]>();
  for (const owner of all.values()) {
    const surface = untrimmed(all, owner);
    const list = found.get(surface);
    if (list) list.push(owner);
    else found.set(surface, [owner]);
  }
  return found;
}

/** The panel of one surface at one place; null where the net is not sound, which is told. */
function panelAt(
  file: StepFile,
  record: number,
  { name, raw }: StepSurface,
  instance: Instance,
  cut: readonly Owner[],
): Panel | null {
  const place = file.place(record);
  const { unit, placement } = instance;
  const inMillimetres = { ...raw, points: raw.points.map((value) => value * unit.millimetres) };
  const moved = placement === inPlace ? inMillimetres : placedNet(inMillimetres, placement);
  const net = checkedNet(moved, place);
  if (isFault(net)) {
    file.tell(net.code, net.place, net.data);
    return null;
  }
  const trim: Trim =
    cut.length > 0 ? { kind: 'unread', place: file.place(cut[0].record) } : { kind: 'whole' };
  const called = cut.find((owner) => owner.name !== '')?.name || name || instance.product;
  return { name: called || `surface-${place.record}`, place, unit, net, trim };
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
  const cuts = ownersBySurface(all);
  const { bySurface, loose } = stepInstances(file, all);
  const alone: Instance = {
    unit: loose ?? millimetre,
    stated: loose !== null,
    placement: inPlace,
    product: '',
  };

  const panels: Panel[] = [];
  const notices: Notice[] = [];
  const unstated = new Set<number>();
  let left = mostCoordinates;
  for (const record of file.having(...splineTypes)) {
    const surface = stepSurface(file, record);
    if (!surface) continue;
    for (const instance of bySurface.get(record) ?? [alone]) {
      left -= surface.raw.points.length;
      if (left < 0) {
        file.tellAt('too-deep', record, { what: 'coordinates', most: mostCoordinates });
        break;
      }
      const panel = panelAt(file, record, surface, instance, cuts.get(record) ?? []);
      if (!panel) break;
      panels.push(panel);
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
  notices.push(...doubtfulUnit(named));
  const unit: LengthUnit = named[0]?.unit ?? loose ?? millimetre;
  const unjudged = unjudgedSurfaces(file, all);
  return { format: 'step', unit, panels: named, unjudged, faults: file.faults, notices };
}

import { inPlace } from '../../geometry/placement.ts';
import { StepFile } from '../../intake/step/stepFile.ts';
import { owners } from '../../intake/step/stepHoldings.ts';
import { stepInstances } from '../../intake/step/stepInstances.ts';
import { splineTypes } from '../../intake/step/stepKeywords.ts';
import { stepPoint } from '../../intake/step/stepPoint.ts';
import { references, type Reference } from '../../intake/step/stepReferences.ts';
import { editedBytes, type Edit } from './editedBytes.ts';
import {
  changesByRecord,
  movedCoordinates,
  type ChangedFile,
  type NetChange,
  type Refusal,
} from './netChange.ts';
import { stepReal } from './stepRecords.ts';

/** How often records are referred to, in all records of the file together. */
export function usesOf(
  { bytes, records }: StepFile,
  ids: ReadonlySet<number>,
): ReadonlyMap<number, number> {
  const uses = new Map<number, number>();
  for (let record = 0; record < records.count; record++)
    for (const { id } of references(bytes, records.bodies[record], records.ends[record]))
      if (ids.has(id)) uses.set(id, (uses.get(id) ?? 0) + 1);
  return uses;
}

/** A point of three bare numbers: what stands before, between and behind them. */
const usualPoint =
  /^(CARTESIAN_POINT\s*\(\s*'(?:[^']|'')*'\s*,\s*\(\s*)([-+.\dEe]+)(\s*,\s*)([-+.\dEe]+)(\s*,\s*)([-+.\dEe]+)\s*\)\s*\)\s*$/;

/** Where the three numbers of a point's record stand; null where it is written in another way. */
function coordinateStretches(
  { bytes, records }: StepFile,
  record: number,
): readonly (readonly [number, number])[] | null {
  const from = records.bodies[record];
  const text = Buffer.from(bytes.subarray(from, records.ends[record])).toString('latin1');
  const parts = usualPoint.exec(text);
  if (!parts) return null;
  let at = from;
  const stretches: [number, number][] = [];
  parts.slice(1).forEach((part, k) => {
    if (k % 2 === 1) stretches.push([at, at + part.length]);
    at += part.length;
  });
  return stretches;
}

/** The line end that a file uses. */
export const stepLineEnd = (bytes: Uint8Array): string => {
  const feed = bytes.indexOf(10);
  if (feed < 0) return '';
  return bytes[feed - 1] === 13 ? '\r\n' : '\n';
};

/**
 * A STEP file with the control points of some surfaces changed: the numbers of their CARTESIAN_POINTs
 * are replaced. A point that something else refers to as well, or the surface twice, stays as it is; the
 * surface gets one of its own, which stands before it. All other bytes stay.
 */
export function changedStep(bytes: Uint8Array, changes: readonly NetChange[]): ChangedFile {
  const { byRecord, refused: early } = changesByRecord(changes);
  if (early.length > 0) return early;
  if (byRecord.size === 0) return bytes;
  const file = new StepFile(bytes);
  const { records } = file;
  const { bySurface } = stepInstances(file, owners(file));
  const edits: Edit[] = [];
  const refused: Refusal[] = [];
  const newLine = stepLineEnd(bytes);
  let lastId = records.ids.reduce((most, id) => Math.max(most, id), 0);

  /** The points of a surface that move: new coordinates by axis, and the reference to each. */
  interface MovedPoint {
    readonly reference: Reference;
    readonly values: (number | null)[];
  }

  function movedPoints(name: string, wanted: NetChange): MovedPoint[] | Refusal['why'] {
    const record = file.find(Number(name.slice(1)));
    if (record < 0 || !file.is(record, splineTypes)) return 'missing';
    const instances = bySurface.get(record) ?? [{ placement: inPlace, unit: wanted.panel.unit }];
    const places = new Set(instances.map(({ placement }) => JSON.stringify(placement)));
    const [{ placement }] = instances;
    if (places.size !== 1 || instances.some(({ unit }) => unit.name !== wanted.panel.unit.name))
      return 'places';
    const all = [...references(bytes, records.bodies[record], records.ends[record])];
    const { columns, rows } = wanted.net;
    if (all.length !== columns * rows) return 'missing';
    const byReference = new Map<Reference, (number | null)[]>();
    for (const { row, column, axis, value } of movedCoordinates(wanted, placement, 'unit-first')) {
      if (!Number.isFinite(value)) return 'missing';
      // u runs outside, v inside (ISO 10303-42, b_spline_surface, control_points_list)
      const reference = all[column * rows + row];
      const values = byReference.get(reference) ?? [null, null, null];
      byReference.set(reference, values);
      values[axis] = value;
    }
    return [...byReference].map(([reference, values]) => ({ reference, values }));
  }

  const moves = new Map<string, readonly MovedPoint[]>();
  for (const [name, wanted] of byRecord) {
    const moved = movedPoints(name, wanted);
    if (typeof moved === 'string') refused.push({ panel: wanted.panel.name, why: moved });
    else moves.set(name, moved);
  }
  const ids = new Set([...moves.values()].flat().map(({ reference }) => reference.id));
  const uses = usesOf(file, ids);

  for (const [name, moved] of moves) {
    const added: string[] = [];
    for (const { reference, values } of moved) {
      const target = file.find(reference.id);
      const point = target < 0 ? null : stepPoint(file, target);
      if (!point) {
        refused.push({ panel: byRecord.get(name)!.panel.name, why: 'missing' });
        break;
      }
      const stretches = uses.get(reference.id) === 1 ? coordinateStretches(file, target) : null;
      if (stretches)
        values.forEach((value, axis) => {
          const [start, end] = stretches[axis];
          if (value !== null) edits.push({ start, end, text: stepReal(value) });
        });
      else {
        lastId++;
        const full = values.map((value, axis) => stepReal(value ?? point[axis]));
        added.push(`#${lastId}=CARTESIAN_POINT('',(${full.join(',')}));${newLine}`);
        edits.push({ start: reference.start, end: reference.end, text: `#${lastId}` });
      }
    }
    const start = records.starts[file.find(Number(name.slice(1)))];
    if (added.length > 0) edits.push({ start, end: start, text: added.join('') });
  }
  return refused.length > 0 ? refused : editedBytes(bytes, edits);
}

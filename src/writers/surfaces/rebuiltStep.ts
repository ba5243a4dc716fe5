import { inPlace } from '../../geometry/placement.ts';
import { StepFile } from '../../intake/step/stepFile.ts';
import { owners } from '../../intake/step/stepHoldings.ts';
import { stepInstances } from '../../intake/step/stepInstances.ts';
import { splineTypes } from '../../intake/step/stepKeywords.ts';
import { references } from '../../intake/step/stepReferences.ts';
import { textIn } from '../../intake/step/stepValues.ts';
import { stepLineEnd, usesOf } from './changedStep.ts';
import { editedBytes, type Edit } from './editedBytes.ts';
import type { NetChange, Refusal } from './netChange.ts';
import { ownNumber } from './ownNumber.ts';
import { netsByRecord, unplacedNet, type RebuiltFile, type Rebuilding } from './rebuilt.ts';
import { curve as curveRecord, surface as surfaceRecord, type StepTarget } from './stepFaces.ts';
import { StepRecords } from './stepRecords.ts';

const carriageReturn = 13;
const lineFeed = 10;

/**
 * A STEP file with B-spline surfaces and curves built anew under their names. Their points stand before
 * them; those they had go where nothing else refers to them. All other bytes stay.
 */
export function rebuiltStep(bytes: Uint8Array, { nets, curves }: Rebuilding): RebuiltFile {
  const file = new StepFile(bytes);
  const { records } = file;
  const { bySurface } = stepInstances(file, owners(file));
  const newLine = stepLineEnd(bytes);
  const edits: Edit[] = [];
  const refused: Refusal[] = [];
  const replaced: number[] = [];
  let lastId = records.ids.reduce((most, id) => Math.max(most, id), 0);

  /** Puts what `make` adds in the place of a record; the last line is its own and keeps its name. */
  function replace(
    record: number,
    millimetres: number,
    make: (to: Pick<StepTarget, 'records' | 'own'>, name: string) => void,
  ): void {
    const made = new StepRecords(lastId);
    const parts = file.parts(record) ?? [];
    const named = parts.find(({ type }) => type === 'REPRESENTATION_ITEM') ?? parts[0];
    make({ records: made, own: (mm) => ownNumber(mm, millimetres) }, textIn(named?.values[0]));
    const points = made.lines.slice(0, -1);
    const own = made.lines[points.length].replace(/^#\d+=/, `#${records.ids[record]}=`);
    lastId += points.length;
    const start = records.starts[record];
    const end = records.ends[record] + 1;
    edits.push({ start, end, text: [...points, own].join(newLine) });
    replaced.push(record);
  }

  function rebuild(name: string, { panel, net }: NetChange): Refusal['why'] | null {
    const record = file.find(Number(name.slice(1)));
    if (record < 0 || !file.is(record, splineTypes)) return 'missing';
    const instances = bySurface.get(record) ?? [{ placement: inPlace, unit: panel.unit }];
    const places = new Set(instances.map(({ placement }) => JSON.stringify(placement)));
    if (places.size !== 1 || instances.some(({ unit }) => unit.name !== panel.unit.name))
      return 'places';
    const { millimetres } = panel.unit;
    const own = unplacedNet(net, instances[0].placement, millimetres, 'unit-first');
    if (!own) return 'missing';
    replace(record, millimetres, (to, called) => surfaceRecord(to, called, own));
    return null;
  }

  for (const [name, change] of netsByRecord(nets)) {
    const why = rebuild(name, change);
    if (why) refused.push({ panel: change.panel.name, why });
  }
  for (const { free, curve } of curves) {
    const record = file.find(Number(free.place.record?.slice(1)));
    if (record >= 0)
      replace(record, free.unit.millimetres, (to, called) => curveRecord(to, curve, called));
  }

  const before = new Map<number, number>();
  for (const record of replaced)
    for (const { id } of references(bytes, records.bodies[record], records.ends[record]))
      before.set(id, (before.get(id) ?? 0) + 1);
  const uses = usesOf(file, new Set(before.keys()));
  for (const [id, count] of before) {
    const target = file.find(id);
    if (target < 0 || uses.get(id) !== count || !file.is(target, ['CARTESIAN_POINT'])) continue;
    let end = records.ends[target] + 1;
    if (bytes[end] === carriageReturn) end++;
    if (bytes[end] === lineFeed) end++;
    edits.push({ start: records.starts[target], end, text: '' });
  }
  return { bytes: editedBytes(bytes, edits), refused };
}

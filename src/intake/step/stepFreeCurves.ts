import type { FreeCurve } from '../freeCurve.ts';
import { millimetre } from '../lengthUnit.ts';
import { bSpline } from './stepCurves.ts';
import { StepFile } from './stepFile.ts';
import { representationTypes } from './stepKeywords.ts';
import { references } from './stepReferences.ts';
import { stepRepresentations } from './stepRepresentations.ts';
import { textIn } from './stepValues.ts';
import { TrimReading } from './trimReading.ts';

/** What holds a curve for its own sake, and what only styles it or puts it on a layer. */
const sets: ReadonlySet<string> = new Set([
  'GEOMETRIC_CURVE_SET',
  'GEOMETRIC_SET',
  ...representationTypes,
]);
/** First types of their records; a complex instance names its types in order of the alphabet. */
const splineTypes = /^(BOUNDED_CURVE|B_SPLINE_CURVE|(QUASI_)?UNIFORM_CURVE|BEZIER_CURVE)/;
const beside = /STYLED_ITEM$|^PRESENTATION_LAYER_ASSIGNMENT$|^ANNOTATION/;

/**
 * B-spline curves (ISO 10303-42) that a set or a representation holds and nothing is made of. None where
 * the file's representations are in several units.
 */
export function stepFreeCurves(bytes: Uint8Array): FreeCurve[] {
  const file = new StepFile(bytes);
  const { records } = file;
  const { agreed } = stepRepresentations(file);
  const unit = agreed ?? millimetre;
  if (!agreed && file.having('GLOBAL_UNIT_ASSIGNED_CONTEXT').length > 0) return [];
  const held = new Set<number>();
  const used = new Set<number>();
  const splines: number[] = [];
  for (let record = 0; record < records.count; record++) {
    const type = file.typeName(record);
    if (splineTypes.test(type)) splines.push(record);
    if (beside.test(type)) continue;
    const into = sets.has(type) ? held : used;
    for (const { id } of references(bytes, records.bodies[record], records.ends[record]))
      into.add(id);
  }
  return splines.flatMap((record): FreeCurve[] => {
    const id = records.ids[record];
    const parts = held.has(id) && !used.has(id) ? file.parts(record) : null;
    const curve = parts && bSpline(new TrimReading(file, unit.millimetres, 1, 0), record, parts, 3);
    if (!curve) return [];
    const named = parts.find(({ type }) => type === 'REPRESENTATION_ITEM') ?? parts[0];
    return [
      {
        name: textIn(named.values[0]) || `curve #${id}`,
        place: file.place(record),
        unit,
        curve,
      },
    ];
  });
}

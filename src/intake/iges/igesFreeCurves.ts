import { placedCurve, type SplineCurve } from '../../geometry/splineCurve.ts';
import { inPlace } from '../../geometry/placement.ts';
import type { FreeCurve } from '../freeCurve.ts';
import { bordersOf, isPart } from './igesOtherContents.ts';
import { igesCurve } from './igesCurve.ts';
import { igesDirectory } from './igesDirectory.ts';
import { igesGlobals } from './igesGlobals.ts';
import { parameterSource } from './igesParameters.ts';
import { igesSections } from './igesSections.ts';

const rationalCurve = 126;

/** Rational B-spline curves (IGES 5.3, 4.23) that are no border and no part of another entity. */
export function igesFreeCurves(bytes: Uint8Array): FreeCurve[] {
  const sections = igesSections(bytes);
  const globals = igesGlobals(sections);
  const directory = igesDirectory(sections);
  const { unit } = globals;
  if (!unit) return [];
  const source = parameterSource(sections, directory, globals.delimiters);
  const inBorders = bordersOf(directory, source);
  return directory.entities.flatMap((entity): FreeCurve[] => {
    if (entity.type !== rationalCurve || isPart(entity) || inBorders.has(entity)) return [];
    const cursor = source.cursorOf(entity);
    const curve: SplineCurve | string = 'code' in cursor ? 'data' : igesCurve(entity, cursor);
    if (typeof curve === 'string') return [];
    const place = directory.placeOf(entity);
    return [
      {
        name: directory.labelOf(entity) || `curve ${place.record}`,
        place,
        unit,
        curve: placedCurve(curve, inPlace, unit.millimetres),
      },
    ];
  });
}

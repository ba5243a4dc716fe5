import { doubtfulUnit } from '../doubtfulUnit.ts';
import type { Notice, Place } from '../fault.ts';
import { millimetre } from '../lengthUnit.ts';
import type { Intake, Panel, Unjudged } from '../panel.ts';
import { uniquelyNamed } from '../uniqueNames.ts';
import { objFile, type OldPatch } from './objFile.ts';
import { objSurface, unjudgedKind } from './objSurface.ts';
import { ObjTrims } from './objTrim.ts';

/** What the patches of version 2.11 are called. */
const oldPatchKinds: Readonly<Record<OldPatch, string>> = {
  bsp: 'OBJ B-spline patch of version 2.11',
  bzp: 'OBJ Bezier patch of version 2.11',
  cdp: 'OBJ Cardinal patch of version 2.11',
};

/** Of each kind this many places are told. */
const mostPlaces = 100;

const unjudgedOf = (places: ReadonlyMap<string, readonly Place[]>): Unjudged[] =>
  [...places].map(([kind, own]) => ({
    kind,
    label: kind.replace(/^OBJ /, ''),
    count: own.length,
    places: own.slice(0, mostPlaces),
  }));

/**
 * Reads the free-form surfaces (surf) of an OBJ file: Bezier, B-spline and polynomial basis matrix
 * surfaces, each whole or in the part that its range, trim and hole keep. The weight is the fourth
 * number of a vertex, whose others are not multiplied by it; in a surface that is not rational it says
 * nothing. The file states no unit: millimetres are taken, as in scans. Polygons, curves in space,
 * connections between surfaces and special points are no surfaces; other files are never read. Any
 * bytes give an intake. Source: the format's published description, appendix B1, 1995, version 3.0
 * of the format; from memory.
 */
export function readObjSurfaces(bytes: Uint8Array): Intake {
  const file = objFile(bytes);
  const { faults, vertices } = file;
  const trims = new ObjTrims(file);
  const panels: Panel[] = [];
  const notices: Notice[] = [];
  const unjudged = new Map<string, Place[]>();
  for (const [word, places] of file.oldPatches) unjudged.set(oldPatchKinds[word], [...places]);
  for (const element of file.surfaces) {
    const { place, groups } = element;
    const kind = unjudgedKind(element);
    if (kind !== null) {
      const places = unjudged.get(kind);
      if (places) places.push(place);
      else unjudged.set(kind, [place]);
      continue;
    }
    if (element.isBroken) continue;
    const read = objSurface(element, vertices);
    if ('code' in read) {
      faults.add(read);
      continue;
    }
    notices.push(...read.notices);
    for (const net of read.nets) {
      const { trim, notices: told } = trims.of(element, net, read.nets.length > 1);
      notices.push(...told);
      const name = element.name || place.record || 'surf';
      panels.push({
        name,
        place,
        unit: millimetre,
        net,
        trim,
        ...(groups.length > 0 ? { groups } : {}),
      });
    }
  }
  const named = uniquelyNamed(panels);
  if (named.length > 0)
    notices.push({
      code: 'unit-missing',
      place: named[0].place,
      data: { assumed: 'mm', panels: named.length },
    });
  return {
    format: 'obj',
    unit: millimetre,
    panels: named,
    unjudged: unjudgedOf(unjudged),
    faults: faults.faults,
    notices: [...file.notices, ...notices, ...doubtfulUnit(named)],
  };
}

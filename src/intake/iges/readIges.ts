import { inPlace, placedNet, type Placement } from '../../geometry/placement.ts';
import { checkedNet, isFault, type RawNet } from '../checkedNet.ts';
import { fault, type Fault, type Notice } from '../fault.ts';
import { millimetre, type LengthUnit } from '../lengthUnit.ts';
import type { Intake, Panel, Trim } from '../panel.ts';
import { uniquelyNamed } from '../uniqueNames.ts';
import { doubtfulUnit } from '../doubtfulUnit.ts';
import { igesDirectory, type Directory, type Entity } from './igesDirectory.ts';
import { igesGlobals } from './igesGlobals.ts';
import { igesNames, type NameOf } from './igesNames.ts';
import { igesNet } from './igesNet.ts';
import { parameterSource, type ParameterSource } from './igesParameters.ts';
import { igesSections } from './igesSections.ts';
import { igesStructure, type Parent, type Structure } from './igesStructure.ts';
import { igesUnjudged, rationalSurface } from './igesUnjudged.ts';

/** Points copied by instances in one file, over which it is no model but a trap. */
const mostCopied = 5_000_000;

/** All that is needed to read one surface of a file. */
interface Context {
  readonly directory: Directory;
  readonly source: ParameterSource;
  readonly structure: Structure;
  readonly nameOf: NameOf;
  readonly unit: LengthUnit;
}

interface Surface {
  readonly panels: readonly Panel[];
  readonly faults: readonly Fault[];
  readonly notices: readonly Notice[];
}

const broken = (wrong: Fault): Surface => ({ panels: [], faults: [wrong], notices: [] });

/** The net in millimetres, in the model's frame. */
function placed(net: RawNet, placement: Placement, { millimetres }: LengthUnit): RawNet {
  if (placement !== inPlace) return placedNet(net, placement, millimetres);
  return millimetres === 1 ? net : { ...net, points: net.points.map((x) => x * millimetres) };
}

function trimOf(
  isPart: boolean,
  faces: readonly Parent[],
  entity: Entity,
  directory: Directory,
): Trim {
  const face = faces.find((parent) => parent.trims);
  if (face) return { kind: 'unread', place: directory.placeOf(face.entity) };
  return isPart ? { kind: 'unread', place: directory.placeOf(entity) } : { kind: 'whole' };
}

/** One panel for every place at which a surface stands. `copies` is how many more points may be made. */
function surfaceOf(entity: Entity, context: Context, copies: number): Surface {
  const { directory, source, structure, nameOf, unit } = context;
  const place = directory.placeOf(entity);
  const read = igesNet(entity, directory, source);
  if ('code' in read) return broken(read);
  const placements = structure.placementsOf(entity);
  if ('code' in placements) return broken(placements);
  if ((placements.length - 1) * read.net.points.length > 3 * copies)
    return broken(fault('iges-instances', place, { most: mostCopied }));
  const faces = structure.parentsOf(entity).filter((parent) => parent.isFace);
  const name = nameOf(entity, read.additional, faces);
  const trim = trimOf(read.isPart, faces, entity, directory);
  const panels: Panel[] = [];
  for (const placement of placements) {
    const net = checkedNet(placed(read.net, placement, unit), place);
    if (isFault(net)) return broken(net);
    panels.push({ name, place, unit, net, trim });
  }
  return { panels, faults: [], notices: read.notices };
}

/**
 * Reads the rational B-spline surfaces (128) of a file of IGES 5.3 (ANS US PRO/IPO-100-1996) or
 * older, in fixed-length ASCII form. Each is read once wherever it is found, blanked or not (the base
 * of a trimmed surface is blanked as a rule), and stands in the model where its own matrix, those of
 * its parents and the instances of its subfigure put it. Any bytes give an intake.
 */
export function readIges(bytes: Uint8Array): Intake {
  const sections = igesSections(bytes);
  const isRead = !sections.faults.some(({ code }) => code === 'iges-form');
  if (!isRead)
    return {
      format: 'iges',
      unit: millimetre,
      panels: [],
      unjudged: [],
      faults: sections.faults,
      notices: [],
    };
  const globals = igesGlobals(sections);
  const directory = igesDirectory(sections);
  const source = parameterSource(sections, directory, globals.delimiters);
  const structure = igesStructure(directory, source);
  const faults = [...sections.faults, ...globals.faults, ...directory.faults, ...structure.faults];
  const notices = [...globals.notices];
  const panels: Panel[] = [];
  const { unit } = globals;
  if (unit) {
    const nameOf = igesNames(directory, source);
    const context: Context = { directory, source, structure, nameOf, unit };
    let copies = mostCopied;
    for (const entity of directory.entities) {
      if (entity.type !== rationalSurface) continue;
      const surface = surfaceOf(entity, context, copies);
      for (const { net } of surface.panels.slice(1)) copies -= net.columns * net.rows;
      panels.push(...surface.panels);
      faults.push(...surface.faults);
      notices.push(...surface.notices);
    }
  }
  return {
    format: 'iges',
    unit: unit ?? millimetre,
    panels: uniquelyNamed(panels),
    unjudged: igesUnjudged(directory, structure.bases),
    faults,
    notices: [...notices, ...doubtfulUnit(panels)],
  };
}

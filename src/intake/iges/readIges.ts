import type { ControlNet } from '../../geometry/controlNet.ts';
import { joinedPatches } from '../../geometry/joinedPatches.ts';
import { inPlace, placedNet, placementScale, type Placement } from '../../geometry/placement.ts';
import { checkedNet, isFault, type RawNet } from '../checkedNet.ts';
import { doubtfulUnit } from '../doubtfulUnit.ts';
import { fault, type Fault, type Notice, type Place } from '../fault.ts';
import { borderTolerance, patchTolerance } from '../joinTolerance.ts';
import { millimetre, type LengthUnit } from '../lengthUnit.ts';
import type { Intake, Panel, Trim } from '../panel.ts';
import { scaledTrim } from '../scaledTrim.ts';
import { uniquelyNamed } from '../uniqueNames.ts';
import type { BorderSource } from './igesBorders.ts';
import { curveSource } from './igesCurves.ts';
import { igesDirectory, type Directory, type Entity } from './igesDirectory.ts';
import type { Field } from './igesFields.ts';
import { flagNotices, type Flags } from './igesFlags.ts';
import { igesGlobals } from './igesGlobals.ts';
import { igesGroups, type GroupsOf } from './igesGroups.ts';
import { igesNames, type IgesNames } from './igesNames.ts';
import { igesNet } from './igesNet.ts';
import { parameterSource, type ParameterSource } from './igesParameters.ts';
import { igesPatches } from './igesPatches.ts';
import { igesSections } from './igesSections.ts';
import { igesStructure, type Parent, type Structure } from './igesStructure.ts';
import { igesTrim, unreadNotice, type Ranges, type ReadTrim } from './igesTrims.ts';
import { igesUnjudged, powerSurface, rationalSurface } from './igesUnjudged.ts';

/** Points copied by instances in one file, over which it is no model but a trap. */
const mostCopied = 5_000_000;

/** All that is needed to read one surface of a file. */
interface Context {
  readonly directory: Directory;
  readonly source: ParameterSource;
  readonly structure: Structure;
  readonly names: IgesNames;
  readonly groupsOf: GroupsOf;
  readonly borders: BorderSource;
  readonly unit: LengthUnit;
  /** Smallest distance the sender tells apart, mm. */
  readonly resolution: number;
}

interface Surface {
  readonly panels: readonly Panel[];
  readonly faults: readonly Fault[];
  readonly notices: readonly Notice[];
}

const broken = (wrong: Fault): Surface => ({ panels: [], faults: [wrong], notices: [] });

/** A surface as it stands in the file: file units, its own frame. */
interface ReadSurface {
  /** More than one where it is made of patches that do not meet. */
  readonly nets: readonly RawNet[];
  readonly kept: Ranges | null;
  readonly flags: Flags | null;
  readonly additional: readonly Field[];
  readonly notices: readonly Notice[];
}

function readSurface(entity: Entity, context: Context): ReadSurface | Fault {
  const { directory, source, unit, resolution } = context;
  if (entity.type === rationalSurface) {
    const read = igesNet(entity, directory, source);
    return 'code' in read ? read : { ...read, nets: [read.net] };
  }
  const read = igesPatches(entity, directory, source);
  if ('code' in read) return read;
  const tolerance = patchTolerance(read.grid.patches, resolution, unit);
  const { nets, gap } = joinedPatches(read.grid, tolerance);
  return {
    nets,
    kept: null,
    flags: null,
    additional: read.additional,
    notices:
      nets.length > 1
        ? [
            {
              code: 'patches-apart',
              place: directory.placeOf(entity),
              data: { found: nets.length, gap: gap * unit.millimetres, unit: 'mm' },
            },
          ]
        : [],
  };
}

/** The net in millimetres, in the model's frame. */
function placed(net: RawNet, placement: Placement, { millimetres }: LengthUnit): RawNet {
  if (placement !== inPlace) return placedNet(net, placement, millimetres);
  return millimetres === 1 ? net : { ...net, points: net.points.map((x) => x * millimetres) };
}

/** The net at each of some places, checked. */
function netsAt(
  raw: RawNet,
  placements: Iterable<Placement>,
  unit: LengthUnit,
  place: Place,
): ReadonlyMap<Placement, ControlNet> | Fault {
  const nets = new Map<Placement, ControlNet>();
  for (const placement of placements) {
    const net = checkedNet(placed(raw, placement, unit), place);
    if (isFault(net)) return net;
    nets.set(placement, net);
  }
  return nets;
}

/** A trim over a surface that fell to pieces: whose border would be whose is not told. */
function trimApart(face: Parent | null, directory: Directory): ReadTrim {
  if (!face) return { trim: { kind: 'whole' }, notices: [] };
  const place = directory.placeOf(face.entity);
  return {
    trim: { kind: 'unread', place },
    notices: [unreadNotice({ what: 'apart', entity: face.entity.type, place })],
  };
}

/**
 * One panel for every place at which a surface stands and every face that trims it there; those at one
 * place share their net. `copies` is how many more points may be made.
 */
function surfaceOf(entity: Entity, context: Context, copies: number): Surface {
  const { directory, structure, names, groupsOf, borders, unit, resolution } = context;
  const place = directory.placeOf(entity);
  const read = readSurface(entity, context);
  if ('code' in read) return broken(read);
  const standings = structure.standingsOf(entity);
  if ('code' in standings) return broken(standings);
  const own = structure.ownPlacement(entity);
  if ('code' in own) return broken(own);
  const places = new Set(standings.map(({ placement }) => placement));
  const size = read.nets.reduce((total, { points }) => total + points.length, 0);
  if ((places.size - 1) * size > 3 * copies)
    return broken(fault('iges-instances', place, { most: mostCopied }));
  const faces = structure.parentsOf(entity).filter((parent) => parent.isFace);
  // Borders are told in the frame of their face.
  const isTrimmed = read.kept !== null || standings.some(({ face }) => face !== null);
  const ownScale = placementScale(own);
  const panels: Panel[] = [];
  const notices = [...read.notices];

  for (const raw of read.nets) {
    const nets = netsAt(raw, isTrimmed ? new Set([...places, own]) : places, unit, place);
    if ('code' in nets) return broken(nets);
    const [some] = nets.values();
    const net = nets.get(own) ?? some;
    const tolerance = borderTolerance(net, resolution);
    // of a part of the domain the flags may mean either
    if (read.flags && !read.kept) notices.push(...flagNotices(net, read.flags, place, tolerance));
    const trims = new Map<Parent | null, Trim>();
    for (const { face, placement } of standings) {
      let trim = trims.get(face);
      if (!trim) {
        const found =
          read.nets.length > 1
            ? trimApart(face, directory)
            : igesTrim(face, entity, net, read.kept, tolerance, borders);
        notices.push(...found.notices);
        trim = found.trim;
        trims.set(face, trim);
      }
      const groups = groupsOf(entity, face && face.entity);
      panels.push({
        name: names.nameOf(entity, read.additional, face ? [face] : faces),
        place,
        unit,
        net: nets.get(placement)!,
        trim: scaledTrim(trim, placementScale(placement) / ownScale),
        ...(groups.length > 0 ? { groups } : {}),
      });
    }
  }
  return { panels, faults: [], notices };
}

/**
 * Reads the surfaces that are B-splines (128) or patches of polynomials (114) of a file of IGES 5.3 (ANS
 * US PRO/IPO-100-1996) or older, in fixed-length ASCII form. Each is read once wherever it is found,
 * blanked or not (the base of a trimmed surface is blanked as a rule), and stands in the model where its
 * own matrix, those of its parents and the instances of its subfigure put it; there each face that
 * trims it is a panel. Any bytes give an intake.
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
    const names = igesNames(directory, source);
    const curves = curveSource(directory, source, structure);
    const context: Context = {
      directory,
      source,
      structure,
      names,
      groupsOf: igesGroups(directory, source, names, structure),
      borders: { directory, structure, curves, scale: unit.millimetres },
      unit,
      resolution: globals.resolution * unit.millimetres,
    };
    let copies = mostCopied;
    for (const entity of directory.entities) {
      if (entity.type !== rationalSurface && entity.type !== powerSurface) continue;
      const surface = surfaceOf(entity, context, copies);
      const nets = new Set(surface.panels.map(({ net }) => net));
      for (const net of [...nets].slice(1)) copies -= net.columns * net.rows;
      // one surface may have more faces than a call takes arguments
      for (const panel of surface.panels) panels.push(panel);
      for (const notice of surface.notices) notices.push(notice);
      faults.push(...surface.faults);
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

import type { ControlNet } from '../../geometry/controlNet.ts';
import { joinedPatches } from '../../geometry/joinedPatches.ts';
import { inPlace, placedNet } from '../../geometry/placement.ts';
import { trimmedRegion } from '../../geometry/trimRegion.ts';
import { checkedNet, isFault } from '../checkedNet.ts';
import { doubtfulUnit } from '../doubtfulUnit.ts';
import { fault, type Fault, type Notice, type Place } from '../fault.ts';
import { borderTolerance, patchTolerance } from '../joinTolerance.ts';
import { millimetre } from '../lengthUnit.ts';
import type { Intake, Panel, Trim } from '../panel.ts';
import { trimNotice } from '../trimNotice.ts';
import { uniquelyNamed } from '../uniqueNames.ts';
import { vdaElements, type VdaElements } from './vdaElements.ts';
import { vdaFaces, type VdaFace } from './vdaFaces.ts';
import { bezierGrid, patchDegree } from './vdaGrid.ts';
import { vdaLists, type Standing } from './vdaLists.ts';
import { isStandard, vdaOrder, type VdaOrder } from './vdaOrder.ts';
import { vdaPatches, type VdaPatches } from './vdaPatches.ts';
import { placeOf, vdaStatements, type VdaStatement } from './vdaStatements.ts';

/**
 * mm within which borders hang together. The format states no resolution; common practice in the
 * exchange of car bodies.
 */
const borderResolution = 0.05;
/** As for a net's own patches: the finest that any file keeps. */
const patchResolution = 0;
/**
 * Files carry eight digits or so of coefficients, and derivatives fewer: patches that go on into each
 * other within this share of their size (0.1 micrometre in 100 mm) are meant to. Common practice.
 */
const smoothJoin = 1e-6;

/** Points of all nets together, and of all copies, over which a file is no model but a trap. */
const mostPoints = 5_000_000;

/** A panel with the element it is read from, a surface or a face, and its surface. */
interface ReadPanel extends Panel {
  readonly element: VdaStatement;
  readonly surface: VdaStatement;
}

/** What the elements of a file come to, before lists place them. */
interface Panels {
  readonly panels: readonly ReadPanel[];
  readonly faults: readonly Fault[];
  readonly notices: readonly Notice[];
}

function grouped<Key, Item>(
  items: readonly Item[],
  keyOf: (item: Item) => Key,
): ReadonlyMap<Key, readonly Item[]> {
  const groups = new Map<Key, Item[]>();
  for (const item of items) {
    const group = groups.get(keyOf(item));
    if (group) group.push(item);
    else groups.set(keyOf(item), [item]);
  }
  return groups;
}

/** The nets of a surface, in millimetres: several where its patches do not meet. */
function netsOf(
  patches: VdaPatches,
  order: VdaOrder,
  place: Place,
): { readonly nets: readonly ControlNet[]; readonly notices: readonly Notice[] } | Fault {
  const grid = bezierGrid(patches, order);
  const tolerance = patchTolerance(grid.patches, patchResolution, millimetre);
  const { nets, gap } = joinedPatches(grid, tolerance, smoothJoin);
  const checked: ControlNet[] = [];
  for (const raw of nets) {
    const net = checkedNet(raw, place);
    if (isFault(net)) return net;
    checked.push(net);
  }
  return {
    nets: checked,
    notices:
      nets.length > 1
        ? [{ code: 'patches-apart', place, data: { found: nets.length, gap, unit: 'mm' } }]
        : [],
  };
}

/** The part of a net that a face keeps, and what to tell of it. */
function trimOf(
  { statement, borders }: VdaFace,
  net: ControlNet,
  isApart: boolean,
): { readonly trim: Trim; readonly notices: readonly Notice[] } {
  const place = placeOf(statement);
  const unread: Trim = { kind: 'unread', place };
  if (isApart || typeof borders === 'string') {
    const what = typeof borders === 'string' ? borders : 'apart';
    return {
      trim: unread,
      notices: [{ code: 'trim-unread', place, data: { entity: 'FACE', what } }],
    };
  }
  const region = trimmedRegion(net, borders, borderTolerance(net, borderResolution));
  return 'trouble' in region
    ? { trim: unread, notices: [trimNotice(region, place)] }
    : { trim: { kind: 'part', region, place }, notices: [] };
}

/** One panel a face, and one for each surface without; those of one surface share its net. */
function readPanels(
  surfaces: ReadonlyMap<VdaStatement, VdaPatches>,
  faces: readonly VdaFace[],
  order: VdaOrder,
): Panels {
  const panels: ReadPanel[] = [];
  const faults: Fault[] = [];
  const notices: Notice[] = [];
  const facesOf = grouped(faces, ({ surface }) => surface);
  let left = mostPoints;
  for (const [statement, patches] of surfaces) {
    const place = placeOf(statement);
    const [p, q] = patchDegree(patches);
    left -= patches.coefficients.length * (p + 1) * (q + 1);
    if (left < 0) {
      faults.push(fault('too-deep', place, { what: 'points', most: mostPoints }));
      break;
    }
    const read = netsOf(patches, order, place);
    if ('code' in read) {
      faults.push(read);
      continue;
    }
    notices.push(...read.notices);
    for (const net of read.nets) {
      const own = { unit: millimetre, net, surface: statement };
      for (const face of facesOf.get(statement) ?? []) {
        const { trim, notices: told } = trimOf(face, net, read.nets.length > 1);
        notices.push(...told);
        const { statement: element } = face;
        panels.push({ ...own, name: element.name, place: placeOf(element), trim, element });
      }
      if (!facesOf.has(statement))
        panels.push({
          ...own,
          name: statement.name,
          place,
          trim: { kind: 'whole' },
          element: statement,
        });
    }
  }
  return { panels, faults, notices };
}

/** The panels where lists put them; copies share their trim with the panel they are made of. */
function placedPanels(
  panels: readonly ReadPanel[],
  standings: readonly Standing[],
): { readonly panels: readonly Panel[]; readonly faults: readonly Fault[] } {
  const placed: Panel[] = [];
  const faults: Fault[] = [];
  let left = mostPoints;
  for (const { panel, placement, list, groups } of standings) {
    const { name, place, unit, net, trim } = panels[panel];
    const own: Panel = {
      name,
      place: list ? { ...place, record: `${list.name}/${name}` } : place,
      unit,
      net,
      trim,
      ...(groups.size > 0 ? { groups: [...groups].sort() } : {}),
    };
    if (placement === inPlace) {
      placed.push(own);
      continue;
    }
    left -= net.columns * net.rows;
    if (left < 0) {
      faults.push(fault('too-deep', own.place, { what: 'points', most: mostPoints }));
      break;
    }
    const moved = checkedNet(placedNet(net, placement), own.place);
    if (isFault(moved)) faults.push(moved);
    else placed.push({ ...own, net: moved });
  }
  return { panels: placed, faults };
}

const orderNotices = (order: VdaOrder): Notice[] =>
  isStandard(order) ? [] : [{ code: 'coefficient-order', place: {}, data: { ...order } }];

function pointNotices(elements: VdaElements): Notice[] {
  const sets = elements.of('PSET').length + elements.of('MDI').length;
  return sets > 0 ? [{ code: 'points-unread', place: {}, data: { sets } }] : [];
}

/**
 * Reads the surfaces (SURF) of a file of VDA-FS 2.0 (DIN 66301), each whole or in the parts that its
 * faces (FACE) keep, and once more for every transformation list that holds it. Lengths are in
 * millimetres. Points, curves and the table of neighbours (TOP) are no surfaces; sets of points are
 * counted. Any bytes give an intake. The standard's text was not at hand: what is said of it in this
 * folder is from memory.
 */
export function readVdaFs(bytes: Uint8Array): Intake {
  const file = vdaStatements(bytes);
  const elements = vdaElements(file.statements);
  const surfaceFaults: Fault[] = [];
  const surfaces = new Map<VdaStatement, VdaPatches>();
  for (const statement of elements.of('SURF')) {
    const patches = vdaPatches(file, statement);
    if ('code' in patches) surfaceFaults.push(patches);
    else surfaces.set(statement, patches);
  }
  const order = vdaOrder([...surfaces.values()]);
  const { faces, faults: faceFaults } = vdaFaces(file, elements);
  const read = readPanels(surfaces, faces, order);
  const numbers = [...read.panels.keys()];
  const byElement = grouped(numbers, (panel) => read.panels[panel].element);
  const bySurface = grouped(numbers, (panel) => read.panels[panel].surface);
  const lists = vdaLists(
    file,
    elements,
    read.panels.map(({ element }) => element),
    (element) => byElement.get(element) ?? bySurface.get(element) ?? [],
  );
  const placed = placedPanels(read.panels, lists.standings);
  const panels = uniquelyNamed(placed.panels);
  return {
    format: 'vda-fs',
    unit: millimetre,
    panels,
    unjudged: [],
    faults: [
      ...file.faults,
      ...elements.faults,
      ...surfaceFaults,
      ...faceFaults,
      ...read.faults,
      ...lists.faults,
      ...placed.faults,
    ],
    notices: [
      ...orderNotices(order),
      ...read.notices,
      ...pointNotices(elements),
      ...doubtfulUnit(panels),
    ],
  };
}

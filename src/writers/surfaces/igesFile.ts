import { isClosed } from '../../geometry/closedSide.ts';
import { diagonal, type ControlNet } from '../../geometry/controlNet.ts';
import { domain } from '../../geometry/knots.ts';
import { loopEdges } from '../../geometry/loopEdges.ts';
import { curveDomain, curvePoint, type SplineCurve } from '../../geometry/splineCurve.ts';
import { sheetOf, type Sheet } from '../../geometry/sheet.ts';
import { trimFaces, type PlaneLoop, type TrimFace } from '../../geometry/trimFaces.ts';
import { cross, difference, dot, length, unit, type Vector } from '../../geometry/vector.ts';
import { millimetre } from '../../intake/lengthUnit.ts';
import type { Panel } from '../../intake/panel.ts';
import { igesReal, igesRecords, igesString, type IgesEntity } from './igesRecords.ts';
import { ownNumber } from './ownNumber.ts';
import { Remarks, resolution, type SurfaceFile, type WrittenSurfaces } from './surfaceFile.ts';

/** Unit flag and name, global parameters 14 and 15 (IGES 5.3, 2.2.4.3.14 and 15). */
const unitFields: Readonly<Record<string, readonly [number, string]>> = {
  in: [1, 'INCH'],
  mm: [2, 'MM'],
  ft: [4, 'FT'],
  mile: [5, 'MI'],
  m: [6, 'M'],
  km: [7, 'KM'],
  mil: [8, 'MIL'],
  um: [9, 'UM'],
  cm: [10, 'CM'],
  microinch: [11, 'UIN'],
};

/** Blank status, subordinate switch, use flag, hierarchy (IGES 5.3, 2.2.4.4.9). */
const statuses = {
  alone: '00000000',
  grouped: '00020000',
  /** A part of the entity that points to it. */
  part: '00010000',
  /** The same, in the parameter plane of a surface. */
  planePart: '00010500',
  group: '00000300',
  name: '00020300',
} as const;

/** Knots, weights and points are at one size where they differ by less than this share of it. */
const flat = 1e-9;

/** The entities so far; `add` gives the pointer to the new one. */
class Entities {
  readonly list: IgesEntity[] = [];
  readonly remarks = new Remarks();
  add(entity: IgesEntity): number {
    this.list.push(entity);
    return 2 * this.list.length - 1;
  }
}

/** A name that the label of a directory entry can hold as it is, and that is not taken for none. */
const isLabel = (name: string): boolean => /^[!-~]{1,8}$/.test(name) && !/^0+$/.test(name);

/** The label of a directory entry: the name, or what of it fits there. */
const labelOf = (name: string): string => name.replace(/[^!-~]/g, '_').slice(0, 8);

/** Pointers behind the parameters: no associativities, and the name where a label cannot hold it. */
function nameFields(to: Entities, name: string): string[] {
  if (isLabel(name)) return [];
  if (/[^ -~]/.test(name)) to.remarks.oddNames++;
  const property = to.add({
    type: 406,
    form: 15,
    status: statuses.name,
    label: '',
    fields: ['1', igesString(name)],
  });
  return ['0', '1', String(property)];
}

const flag = (value: boolean): string => (value ? '1' : '0');

/** Rational B-spline surface (IGES 5.3, 4.24); lengths through `own`. */
export function surfaceFields(net: ControlNet, own: (mm: number) => number): string[] {
  const { degree, knots, columns, rows, points, weights } = net;
  const close = flat * diagonal(net);
  const ranges = [0, 1].flatMap((side) => domain(knots[side], degree[side]));
  return [
    String(columns - 1),
    String(rows - 1),
    ...degree.map(String),
    flag(isClosed(net, 0, close)),
    flag(isClosed(net, 1, close)),
    flag(weights === null),
    '0',
    '0',
    ...[...knots[0], ...knots[1]].map(igesReal),
    ...Array.from({ length: columns * rows }, (_, k) => igesReal(weights ? weights[k] : 1)),
    ...Array.from(points, (mm) => igesReal(own(mm))),
    ...ranges.map(igesReal),
  ];
}

/** The unit normal of a plane that holds all points, any of those of a line; null where none does. */
function planeNormal(points: readonly Vector[]): Vector | null {
  const legs = points.slice(1).map((point) => difference(point, points[0]));
  const longest = legs.reduce((most, leg) => (length(leg) > length(most) ? leg : most), legs[0]);
  const size = length(longest);
  const normals = legs.map((leg) => cross(longest, leg));
  const widest = normals.reduce((most, n) => (length(n) > length(most) ? n : most), normals[0]);
  if (length(widest) <= flat * size * size) {
    const axis: Vector = Math.abs(longest[0]) < 0.9 * size ? [1, 0, 0] : [0, 1, 0];
    return unit(cross(longest, axis));
  }
  const normal = unit(widest);
  return normal && legs.every((leg) => Math.abs(dot(leg, normal)) <= flat * size) ? normal : null;
}

/** Rational B-spline curve (IGES 5.3, 4.23): in the plane with z = 0, or in space with lengths in `own`. */
export function curveFields(curve: SplineCurve, own: (mm: number) => number): string[] {
  const { dimension, degree, knots, weights } = curve;
  const points = Array.from({ length: curve.points.length / dimension }, (_, k): Vector => {
    const [x, y, z = 0] = curve.points.subarray(dimension * k, dimension * (k + 1));
    return dimension === 2 ? [x, y, 0] : [own(x), own(y), own(z)];
  });
  const normal = dimension === 2 ? ([0, 0, 1] as const) : planeNormal(points);
  const range = curveDomain(curve);
  const [start, end] = range.map((t) => curvePoint(curve, t));
  return [
    String(points.length - 1),
    String(degree),
    flag(normal !== null),
    flag(start.every((x, axis) => x === end[axis])),
    flag(weights === null),
    '0',
    ...Array.from(knots, igesReal),
    ...points.map((_, k) => igesReal(weights ? weights[k] : 1)),
    ...points.flat().map(igesReal),
    ...range.map(igesReal),
    ...(normal ?? [0, 0, 0]).map(igesReal),
  ];
}

/** Several curves as one (IGES 5.3, 4.4); one curve as it is. */
function joined(to: Entities, curves: readonly number[], status: string): number {
  if (curves.length === 1) return curves[0];
  return to.add({
    type: 102,
    form: 0,
    status,
    label: '',
    fields: [String(curves.length), ...curves.map(String)],
  });
}

/**
 * Curve on a parametric surface (IGES 5.3, 4.32): the curve in the parameter plane, which is preferred
 * (PREF 1), and the same in space, exact along parameter lines, else within a tenth of the tolerance.
 */
function border(
  to: Entities,
  sheet: Sheet,
  loop: PlaneLoop,
  base: number,
  tolerance: number,
  own: (mm: number) => number,
): number {
  const edges = loopEdges(sheet, loop, tolerance);
  for (const { departure } of edges)
    to.remarks.departure = Math.max(to.remarks.departure, departure);
  const curve = (spline: SplineCurve, status: string): number =>
    to.add({ type: 126, form: 0, status, label: '', fields: curveFields(spline, own) });
  const plane = edges.map((edge) => curve(edge.plane, statuses.planePart));
  const space = edges.flatMap((edge) => (edge.space ? [curve(edge.space, statuses.part)] : []));
  const pointers = [
    joined(to, plane, statuses.planePart),
    space.length === 0 ? 0 : joined(to, space, statuses.part),
  ];
  return to.add({
    type: 142,
    form: 0,
    status: statuses.part,
    label: '',
    fields: ['0', String(base), ...pointers.map(String), '1'],
  });
}

/** Pointers to the entities that stand for a panel: its surface, or the faces cut from it. */
function panelEntities(to: Entities, panel: Panel, own: (mm: number) => number): number[] {
  const { name, net, trim } = panel;
  const grouped = panel.groups && panel.groups.length > 0 ? statuses.grouped : statuses.alone;
  const named = nameFields(to, name);
  const label = labelOf(name);
  const surface = (status: string, more: readonly string[]): number =>
    to.add({
      type: 128,
      form: 0,
      status,
      label,
      fields: [...surfaceFields(net, own), ...more],
    });
  if (trim.kind !== 'part') return [surface(grouped, named)];
  const base = surface(statuses.part, []);
  const { tolerance } = trim.region;
  const sheet = sheetOf(net, tolerance);
  const face = ({ outer, inner }: TrimFace): number => {
    const [outerBorder, ...borders] = [outer, ...inner].map((loop) =>
      border(to, sheet, loop, base, tolerance, own),
    );
    // N1 = 1: the outer border is given (IGES 5.3, 4.34)
    const fields = [base, 1, borders.length, outerBorder, ...borders].map(String);
    return to.add({ type: 144, form: 0, status: grouped, label, fields: [...fields, ...named] });
  };
  const faces = trimFaces(sheet, trim.region).map(face);
  if (faces.length > 1) to.remarks.parted.push(name);
  return faces;
}

/** Groups without back pointers (IGES 5.3, 402 form 7), each with its name. */
function addGroups(to: Entities, panels: readonly Panel[], pointers: readonly number[][]): void {
  const members = new Map<string, number[]>();
  panels.forEach(({ groups = [] }, k) => {
    for (const group of groups) members.set(group, [...(members.get(group) ?? []), ...pointers[k]]);
  });
  for (const [name, list] of members) {
    const named = nameFields(to, name);
    to.add({
      type: 402,
      form: 7,
      status: statuses.group,
      label: labelOf(name),
      fields: [String(list.length), ...list.map(String), ...named],
    });
  }
}

/** YYYYMMDD.HHNNSS of universal time (IGES 5.3, 2.2.4.3.18). */
function date(at: Date): string {
  const [day, time] = at.toISOString().slice(0, 19).replace(/[-:]/g, '').split('T');
  return `${day}.${time}`;
}

/**
 * Panels as a file of IGES 5.3 (ANS US PRO/IPO-100-1996) in fixed-length ASCII form: surfaces 128,
 * trimmed by 144 with curves in the parameter plane and in space, names, and groups. Its numbers are in
 * the unit asked for where the standard has a flag for it, else in millimetres.
 */
export function igesFile(file: SurfaceFile): WrittenSurfaces {
  const { panels, name, tool, at } = file;
  const written = Object.hasOwn(unitFields, file.unit.name) ? file.unit : millimetre;
  const own = (mm: number): number => ownNumber(mm, written.millimetres);
  const tolerance = resolution(panels);
  const entities = new Entities();
  const pointers = panels.map((panel) => panelEntities(entities, panel, own));
  addGroups(entities, panels, pointers);
  const greatest = panels.reduce(
    (most, { net }) => net.points.reduce((m, value) => Math.max(m, Math.abs(value)), most),
    0,
  );
  const [unitFlag, unitName] = unitFields[written.name];
  const moment = igesString(date(at));
  const globals = [
    igesString(','),
    igesString(';'),
    igesString(name),
    igesString(name),
    igesString('hullsight'),
    igesString(tool),
    // bits of an integer; largest power and digits in single, then in double precision
    '32',
    '38',
    '6',
    '308',
    '17',
    igesString(name),
    '1.',
    String(unitFlag),
    igesString(unitName),
    '1',
    '0.',
    moment,
    igesReal(tolerance / written.millimetres),
    igesReal(greatest / written.millimetres),
    // no author, no organisation
    '',
    '',
    // version flag 11: IGES 5.3; no drafting standard
    '11',
    '0',
    moment,
  ];
  return {
    bytes: igesRecords(`Surfaces written by hullsight ${tool}.`, globals, entities.list),
    unit: written,
    remarks: entities.remarks,
  };
}

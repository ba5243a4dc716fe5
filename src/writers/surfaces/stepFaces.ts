import { pointAt, type ControlNet } from '../../geometry/controlNet.ts';
import type { Knots } from '../../geometry/knots.ts';
import { domainLoop, loopEdges, type LoopEdge } from '../../geometry/loopEdges.ts';
import {
  curveDomain,
  curvePoint,
  reversedCurve,
  type SplineCurve,
} from '../../geometry/splineCurve.ts';
import { sheetOf, type Sheet } from '../../geometry/sheet.ts';
import { trimFaces, type TrimFace } from '../../geometry/trimFaces.ts';
import { distance, type Vector } from '../../geometry/vector.ts';
import type { Panel } from '../../intake/panel.ts';
import { stepList, stepReal, stepString, type StepRecords } from './stepRecords.ts';
import type { Remarks } from './surfaceFile.ts';

/** Where records go, and how lengths are written. */
export interface StepTarget {
  readonly records: StepRecords;
  /** A length in mm in the file's unit. */
  readonly own: (mm: number) => number;
  /** Reference of the context in which curves of a parameter plane stand. */
  readonly planeContext: string;
  readonly remarks: Remarks;
}

const point = ({ records }: Pick<StepTarget, 'records'>, values: readonly number[]): string =>
  records.add(`CARTESIAN_POINT('',${stepList(values.map(stepReal))})`);

/** Multiplicities and distinct values of a knot vector. */
function knotLists(knots: Knots): { mults: string; values: string } {
  const values: number[] = [];
  const times: number[] = [];
  for (const knot of knots) {
    if (values.length > 0 && values[values.length - 1] === knot) times[times.length - 1]++;
    else {
      values.push(knot);
      times.push(1);
    }
  }
  return { mults: stepList(times.map(String)), values: stepList(values.map(stepReal)) };
}

/** ISO 10303-42, b_spline_surface_with_knots; a complex instance where it is rational. */
export function surface(
  to: Pick<StepTarget, 'records' | 'own'>,
  name: string,
  net: ControlNet,
): string {
  const grid = <T>(value: (row: number, column: number) => T): T[][] =>
    Array.from({ length: net.columns }, (_c, column) =>
      Array.from({ length: net.rows }, (_r, row) => value(row, column)),
    );
  const refs = grid((row, column) => point(to, pointAt(net, row, column).map(to.own)));
  const [u, v] = net.knots.map(knotLists);
  const shape = `${net.degree.join(',')},${stepList(refs.map(stepList))},.UNSPECIFIED.,.U.,.U.,.U.`;
  const knots = `${u.mults},${v.mults},${u.values},${v.values},.UNSPECIFIED.`;
  const { weights } = net;
  if (!weights)
    return to.records.add(`B_SPLINE_SURFACE_WITH_KNOTS(${stepString(name)},${shape},${knots})`);
  const values = grid((row, column) => stepReal(weights[row * net.columns + column]));
  return to.records.add(
    `(BOUNDED_SURFACE()B_SPLINE_SURFACE(${shape})B_SPLINE_SURFACE_WITH_KNOTS(${knots})` +
      `GEOMETRIC_REPRESENTATION_ITEM()RATIONAL_B_SPLINE_SURFACE(${stepList(values.map(stepList))})` +
      `REPRESENTATION_ITEM(${stepString(name)})SURFACE())`,
  );
}

/** ISO 10303-42, b_spline_curve_with_knots; a complex instance where it is rational. */
export function curve(
  to: Pick<StepTarget, 'records' | 'own'>,
  spline: SplineCurve,
  name = '',
): string {
  const { dimension, degree, knots, points, weights } = spline;
  const refs = Array.from({ length: points.length / dimension }, (_, k) => {
    const own = Array.from(points.subarray(dimension * k, dimension * (k + 1)));
    return point(to, dimension === 3 ? own.map(to.own) : own);
  });
  const { mults, values } = knotLists(knots);
  const shape = `${degree},${stepList(refs)},.UNSPECIFIED.,.U.,.U.`;
  const spread = `${mults},${values},.UNSPECIFIED.`;
  if (!weights)
    return to.records.add(`B_SPLINE_CURVE_WITH_KNOTS(${stepString(name)},${shape},${spread})`);
  return to.records.add(
    `(BOUNDED_CURVE()B_SPLINE_CURVE(${shape})B_SPLINE_CURVE_WITH_KNOTS(${spread})CURVE()` +
      `GEOMETRIC_REPRESENTATION_ITEM()` +
      `RATIONAL_B_SPLINE_CURVE(${stepList(Array.from(weights, stepReal))})` +
      `REPRESENTATION_ITEM(${stepString(name)}))`,
  );
}

/** ISO 10303-42, pcurve: a curve in the parameter plane of a surface. */
function planeCurve(to: StepTarget, base: string, plane: SplineCurve): string {
  const item = curve(to, plane);
  const shape = to.records.add(`DEFINITIONAL_REPRESENTATION('',(${item}),${to.planeContext})`);
  return to.records.add(`PCURVE('',${base},${shape})`);
}

const spacePoint = (spline: SplineCurve, share: number): Vector => {
  const [from, to] = curveDomain(spline);
  const [x, y, z] = curvePoint(spline, share === 1 ? to : from + share * (to - from));
  return [x, y, z];
};

/** An edge with the corners it runs between. */
interface Edge {
  readonly plane: SplineCurve;
  readonly space: SplineCurve;
  readonly start: number;
  readonly end: number;
}

/** Where on two edges it is seen whether they are one. */
const shares = [0.25, 0.5, 0.75];

/** Whether an edge is another run backwards: the seam of a closed surface is used in both senses. */
const isBackwards = (edge: Edge, other: Edge, tolerance: number): boolean =>
  edge.start === other.end &&
  edge.end === other.start &&
  shares.every(
    (share) =>
      distance(spacePoint(edge.space, share), spacePoint(other.space, 1 - share)) <= tolerance,
  );

/** The corners of one face; those within `tolerance` mm of each other are one. */
class Corners {
  private readonly points: Vector[] = [];
  private readonly refs: string[] = [];
  constructor(
    private readonly to: StepTarget,
    private readonly tolerance: number,
  ) {}
  at(p: Vector): number {
    const known = this.points.findIndex((other) => distance(other, p) <= this.tolerance);
    return known >= 0 ? known : this.points.push(p) - 1;
  }
  ref(k: number): string {
    const { records, own } = this.to;
    return (this.refs[k] ??= records.add(
      `VERTEX_POINT('',${point(this.to, this.points[k].map(own))})`,
    ));
  }
}

/** The edges of one loop, corner to corner; parts that are points of space are none. */
function cornered(edges: readonly LoopEdge[], corners: Corners): Edge[] {
  const long = edges.flatMap(({ plane, space }) => (space ? [{ plane, space }] : []));
  const starts = long.map(({ space }) => corners.at(spacePoint(space, 0)));
  return long.map((edge, k) => ({
    ...edge,
    start: starts[k],
    end: starts[(k + 1) % starts.length],
  }));
}

/** Share of a face's tolerance within which two corners, or both sides of a seam, are one. */
const meetingShare = 0.01;

/** One face with its bounds: ISO 10303-511 (topologically bounded surface). */
function advancedFace(
  to: StepTarget,
  name: string,
  sheet: Sheet,
  base: string,
  { outer, inner }: TrimFace,
  tolerance: number,
): string {
  const { records, remarks } = to;
  const close = meetingShare * tolerance;
  const corners = new Corners(to, close);
  const loops = [outer, ...inner].map((loop) => {
    const edges = loopEdges(sheet, loop, tolerance);
    for (const { departure } of edges) remarks.departure = Math.max(remarks.departure, departure);
    return cornered(edges, corners);
  });
  const all = loops.flat();
  const oriented = new Map<Edge, string>();
  all.forEach((edge, k) => {
    if (oriented.has(edge)) return;
    const back = all.find(
      (other, at) => at > k && !oriented.has(other) && isBackwards(edge, other, close),
    );
    const space = curve(to, edge.space);
    const planes = [edge.plane, ...(back ? [reversedCurve(back.plane)] : [])].map((plane) =>
      planeCurve(to, base, plane),
    );
    const kind = back ? 'SEAM_CURVE' : 'SURFACE_CURVE';
    const both = records.add(`${kind}('',${space},${stepList(planes)},.PCURVE_S1.)`);
    const ends = `${corners.ref(edge.start)},${corners.ref(edge.end)}`;
    const line = records.add(`EDGE_CURVE('',${ends},${both},.T.)`);
    oriented.set(edge, records.add(`ORIENTED_EDGE('',*,*,${line},.T.)`));
    if (back) oriented.set(back, records.add(`ORIENTED_EDGE('',*,*,${line},.F.)`));
  });
  const bounds = loops.flatMap((edges, k) => {
    if (edges.length === 0) return [];
    const loop = records.add(`EDGE_LOOP('',${stepList(edges.map((edge) => oriented.get(edge)!))})`);
    return [records.add(`${k === 0 ? 'FACE_OUTER_BOUND' : 'FACE_BOUND'}('',${loop},.T.)`)];
  });
  return records.add(`ADVANCED_FACE(${stepString(name)},${stepList(bounds)},${base},.T.)`);
}

/** Share of the size of a whole surface within which its edges meet. */
const wholeShare = 1e-7;

/**
 * A panel as an open shell of the faces cut from its surface, one round its domain where nothing is cut.
 * `size` is the panel's diagonal, mm. Gives the shell and its faces.
 */
export function stepShell(
  to: StepTarget,
  { name, net, trim }: Panel,
  size: number,
): { readonly shell: string; readonly faces: readonly string[] } {
  const base = surface(to, name, net);
  const tolerance = trim.kind === 'part' ? trim.region.tolerance : wholeShare * size;
  const sheet = sheetOf(net, tolerance);
  const cut: TrimFace[] =
    trim.kind === 'part'
      ? trimFaces(sheet, trim.region)
      : [{ outer: domainLoop(sheet), inner: [] }];
  const faces = cut.map((face) => advancedFace(to, name, sheet, base, face, tolerance));
  if (faces.length > 1) to.remarks.parted.push(name);
  const shell = to.records.add(`OPEN_SHELL(${stepString(name)},${stepList(faces)})`);
  return { shell, faces };
}

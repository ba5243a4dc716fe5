import { polyline, type SplineCurve } from '../../geometry/splineCurve.ts';
import type { Border, BorderPiece } from '../../geometry/trimRegion.ts';
import type { Vector } from '../../geometry/vector.ts';
import { planeCut, spaceStretch, wholeCurve, type EdgeEnds } from './edgeCuts.ts';
import { apart, backwards, type FileCurve } from './fileCurve.ts';
import { seamSides } from './seamSides.ts';
import {
  compositeSegments,
  curvePointAt,
  isComposite,
  stepCurve,
  surfaceCurveValues,
} from './stepCurves.ts';
import { flattened } from './stepFile.ts';
import { splineTypes } from './stepKeywords.ts';
import {
  enumerationIn,
  referenceIn,
  referencesIn,
  type StepPart,
  type StepValue,
} from './stepValues.ts';
import type { TrimReading } from './trimReading.ts';
import type { TrimSheet } from './trimSheet.ts';

/** A curve of a border as the file gives it: in the plane (twice on a seam), in space, or both. */
interface BorderCurve {
  readonly planes: readonly FileCurve[];
  readonly space: FileCurve | null;
}

const pcurveTypes = [
  'PCURVE',
  'BOUNDED_PCURVE',
  'DEGENERATE_PCURVE',
  'EVALUATED_DEGENERATE_PCURVE',
];
const isPcurve = (parts: readonly StepPart[]): boolean =>
  parts.some(({ type }) => pcurveTypes.includes(type));

const pcurveLayout = [
  ['REPRESENTATION_ITEM', 1],
  ['PCURVE', 2],
  ['DEGENERATE_PCURVE', 2],
] as const;
const representationLayout = [['REPRESENTATION', 3]] as const;

/**
 * The curve of a pcurve in the parameters of the sheet; null where it belongs to another surface, which
 * is no failure. Source: ISO 10303-42, pcurve (basis_surface, reference_to_curve) and degenerate_pcurve;
 * ISO 10303-43, definitional_representation.
 */
function pcurve(
  reading: TrimReading,
  sheet: TrimSheet,
  record: number,
  parts: readonly StepPart[],
): FileCurve | null {
  const values = parts.length === 1 ? parts[0].values : flattenedPcurve(parts);
  if (!sheet.records.has(reading.file.find(referenceIn(values[1]) ?? -1))) return null;
  const definition = reading.target(record, referenceIn(values[2]));
  const held = definition < 0 ? null : reading.attributes(definition, representationLayout);
  if (!held) return null;
  return stepCurve(reading, reading.target(definition, referencesIn(held[1])[0] ?? null), 2);
}

function flattenedPcurve(parts: readonly StepPart[]): readonly StepValue[] {
  const present = pcurveLayout.filter(([type]) => parts.some((part) => part.type === type));
  return flattened(parts, present);
}

/** Where one of two ways of giving a curve cannot be read the other does: no failure. */
function attempted<T>(reading: TrimReading, read: () => T | null): T | null {
  const { unread } = reading;
  const found = read();
  reading.unread = unread;
  return found;
}

function borderCurve(reading: TrimReading, sheet: TrimSheet, record: number): BorderCurve | null {
  if (record < 0) return null;
  const { file } = reading;
  const parts = file.parts(record);
  if (!parts) return reading.fail('damaged', record);
  if (isPcurve(parts)) {
    const plane = pcurve(reading, sheet, record, parts);
    return plane ? { planes: [plane], space: null } : reading.fail('kind', record);
  }
  const values = surfaceCurveValues(parts);
  if (!values) {
    const space = stepCurve(reading, record, 3);
    return space && { planes: [], space };
  }
  const planes: FileCurve[] = [];
  for (const id of referencesIn(values[2])) {
    const target = file.follow(record, id);
    // A surface may stand here, which is long to read and of no use.
    if (target < 0 || file.is(target, splineTypes)) continue;
    const own = file.parts(target) ?? [];
    const plane = isPcurve(own) && attempted(reading, () => pcurve(reading, sheet, target, own));
    if (plane) planes.push(plane);
  }
  const readSpace = (): FileCurve | null =>
    stepCurve(reading, reading.target(record, referenceIn(values[1])), 3);
  const space = planes.length > 0 ? attempted(reading, readSpace) : readSpace();
  return planes.length > 0 || space ? { planes, space } : null;
}

/** One run along a curve in the sense of its border, on a seam with the two lines it may be. */
interface Run {
  /** What it runs along: the two runs of a seam are the same. */
  readonly record: number;
  readonly planes: readonly (readonly SplineCurve[])[];
  readonly space: readonly SplineCurve[];
}

const turned = (run: Run): Run => ({
  ...run,
  planes: run.planes.map(backwards),
  space: backwards(run.space),
});

const reversedRuns = (runs: readonly Run[]): Run[] => runs.toReversed().map(turned);

/** Curve by curve where plane and space agree on how many, else by the plane, else by space. */
function pieces(planes: readonly SplineCurve[], space: readonly SplineCurve[]): BorderPiece[] {
  if (planes.length === 0) return space.map((curve) => ({ plane: null, space: curve }));
  return planes.map((plane, k) => ({
    plane,
    space: planes.length === space.length ? space[k] : null,
  }));
}

const bordered = (runs: readonly Run[], sheet: TrimSheet): Border => {
  const sides = seamSides(
    runs.map(({ record, planes }) => ({ key: record, lines: planes })),
    sheet,
  );
  return runs.flatMap(({ planes, space }, k) => pieces(planes[sides[k]] ?? [], space));
};

const vertexLayout = [
  ['REPRESENTATION_ITEM', 1],
  ['VERTEX_POINT', 1],
] as const;

/** The point of a vertex, null where it has none; undefined is a failure. */
function vertexPoint(
  reading: TrimReading,
  from: number,
  id: number | null,
): Vector | null | undefined {
  const record = reading.target(from, id);
  const known = reading.vertices.get(record);
  if (known !== undefined) return known;
  const own = record < 0 ? null : reading.file.parts(record);
  if (!own) return undefined;
  const isPoint = own.some(({ type }) => type === 'VERTEX_POINT');
  const pointId = referenceIn(flattened(own, vertexLayout)[1]);
  const found = isPoint ? curvePointAt(reading, record, pointId, 3) : null;
  if (isPoint && !found) return undefined;
  const point = found && ([found[0], found[1], found[2]] as const);
  reading.vertices.set(record, point);
  return point;
}

const orientedLayout = [
  ['REPRESENTATION_ITEM', 1],
  ['EDGE', 2],
  ['ORIENTED_EDGE', 2],
] as const;
const edgeLayout = [
  ['REPRESENTATION_ITEM', 1],
  ['EDGE', 2],
  ['EDGE_CURVE', 2],
] as const;

/** The edge that an item of a loop uses, and whether from its start to its end. */
export function usedEdge(
  reading: TrimReading,
  record: number,
): { readonly edge: number; readonly forward: boolean } | null {
  const parts = reading.file.parts(record);
  if (!parts) return reading.fail('damaged', record);
  // Some writers name the edge itself.
  if (!parts.some(({ type }) => type === 'ORIENTED_EDGE')) return { edge: record, forward: true };
  const values = flattened(parts, orientedLayout);
  const edge = reading.target(record, referenceIn(values[3]));
  return edge < 0 ? null : { edge, forward: enumerationIn(values[4]) !== 'F' };
}

/**
 * A run along an edge from its start to its end: ISO 10303-42, edge_curve (edge_start, edge_end,
 * edge_geometry, same_sense). Its curve goes on beyond the vertices, and is cut there.
 */
function edgeRun(reading: TrimReading, sheet: TrimSheet, record: number): Run | null {
  const parts = reading.file.parts(record);
  if (!parts) return reading.fail('damaged', record);
  if (!parts.some(({ type }) => type === 'EDGE_CURVE')) return reading.fail('kind', record);
  const values = flattened(parts, edgeLayout);
  const ids = [referenceIn(values[1]), referenceIn(values[2])] as const;
  const curve = borderCurve(reading, sheet, reading.target(record, referenceIn(values[3])));
  const start = curve ? vertexPoint(reading, record, ids[0]) : undefined;
  const end = start === undefined ? undefined : vertexPoint(reading, record, ids[1]);
  if (!curve || start === undefined || end === undefined) return null;
  const ends: EdgeEnds = {
    start,
    end,
    isOne: ids[0] === ids[1],
    sameSense: enumerationIn(values[4]) !== 'F',
  };
  const { tolerance } = reading;
  const stretch = curve.space && spaceStretch(curve.space, ends);
  const inSpace = stretch === 'nothing' ? null : stretch;
  const planes = curve.planes.flatMap((plane) => {
    const cut = planeCut(plane, ends, sheet, inSpace, tolerance);
    return cut ? [cut] : [];
  });
  if (planes.length === 0 && stretch === null) return reading.fail('damaged', record);
  const run = inSpace && curve.space ? curve.space.part(inSpace.from, inSpace.to) : [];
  return { record, planes, space: inSpace?.forward === false ? backwards(run) : run };
}

const pathLayout = [
  ['REPRESENTATION_ITEM', 1],
  ['PATH', 1],
  ['POLY_LOOP', 1],
] as const;

/** Straight legs from point to point and back to the first: ISO 10303-42, poly_loop (polygon). */
function polygon(
  reading: TrimReading,
  record: number,
  ids: readonly number[],
): readonly Run[] | null {
  const corners: number[][] = [];
  for (const id of ids) {
    const corner = curvePointAt(reading, record, id, 3);
    if (!corner) return null;
    if (corners.length === 0 || apart(corner, corners[corners.length - 1]) > 0)
      corners.push(corner);
  }
  if (corners.length < 3) return reading.fail('damaged', record);
  // Leg by leg: a corner in the middle of one curve would be rounded by who follows it on the surface.
  return corners.map((corner, k) => ({
    record,
    planes: [],
    space: [polyline([corner, corners[(k + 1) % corners.length]])],
  }));
}

/**
 * The runs of a loop of a face; none for a vertex_loop, which bounds a face by a
 * single point. Source: ISO 10303-42, edge_loop, oriented_edge (edge_element, orientation), poly_loop,
 * vertex_loop.
 */
function loopRuns(reading: TrimReading, sheet: TrimSheet, record: number): readonly Run[] | null {
  const parts = reading.file.parts(record);
  if (!parts) return reading.fail('damaged', record);
  const isOf = (type: string): boolean => parts.some((part) => part.type === type);
  if (isOf('VERTEX_LOOP')) return [];
  const ids = referencesIn(flattened(parts, pathLayout)[1]);
  if (isOf('POLY_LOOP')) return polygon(reading, record, ids);
  if (!isOf('EDGE_LOOP')) return reading.fail('kind', record);
  const runs: Run[] = [];
  for (const id of ids) {
    const item = reading.target(record, id);
    const used = item < 0 ? null : usedEdge(reading, item);
    const run = used && edgeRun(reading, sheet, used.edge);
    if (!run) return null;
    runs.push(used.forward ? run : turned(run));
  }
  return runs.length > 0 ? runs : reading.fail('damaged', record);
}

const boundLayout = [
  ['REPRESENTATION_ITEM', 1],
  ['FACE_BOUND', 2],
] as const;

/** The loop of a face_bound or face_outer_bound (bound, orientation); -1 is a failure. */
export function boundLoop(
  reading: TrimReading,
  record: number,
): { readonly loop: number; readonly forward: boolean } {
  const values = record < 0 ? null : reading.attributes(record, boundLayout);
  if (!values) return { loop: -1, forward: true };
  return {
    loop: reading.target(record, referenceIn(values[1])),
    forward: enumerationIn(values[2]) !== 'F',
  };
}

/**
 * The borders of a face, one for each bound that is a line, run so that the face lies to their left on
 * the surface: ISO 10303-42, face_bound (bound, orientation) and face_surface (same_sense). Files are
 * often wrong in this, and it counts only for a line that runs round a closed surface by itself; else a
 * face is what lies inside an odd number of borders, whichever of them is the face_outer_bound.
 */
export function faceBorders(
  reading: TrimReading,
  sheet: TrimSheet,
  face: number,
  values: readonly StepValue[],
): readonly Border[] | null {
  const outward = enumerationIn(values[3]) !== 'F';
  const found: Border[] = [];
  for (const id of referencesIn(values[1])) {
    const { loop, forward } = boundLoop(reading, reading.target(face, id));
    const runs = loop < 0 ? null : loopRuns(reading, sheet, loop);
    if (!runs) return null;
    if (runs.length > 0)
      found.push(bordered(forward === outward ? runs : reversedRuns(runs), sheet));
  }
  return found;
}

/** Composites in composites, at most. */
const deepestBoundary = 32;

function boundaryRuns(
  reading: TrimReading,
  sheet: TrimSheet,
  record: number,
  depth: number,
): readonly Run[] | null {
  const parts = record < 0 ? null : reading.file.parts(record);
  if (!parts || depth > deepestBoundary) return reading.fail('damaged', record);
  if (isComposite(parts)) {
    const runs: Run[] = [];
    for (const segment of compositeSegments(reading, record, parts) ?? []) {
      const own = boundaryRuns(reading, sheet, segment.curve, depth + 1);
      if (!own) return null;
      for (const run of segment.forward ? own : reversedRuns(own)) runs.push(run);
    }
    return reading.unread ? null : runs;
  }
  const curve = borderCurve(reading, sheet, record);
  if (!curve) return null;
  const planes = curve.planes.flatMap((plane) => {
    const whole = wholeCurve(plane, true);
    return whole ? [whole] : [];
  });
  const space = (curve.space && wholeCurve(curve.space, true)) ?? [];
  return planes.length > 0 || space.length > 0
    ? [{ record, planes, space }]
    : reading.fail('damaged', record);
}

/**
 * The borders of a curve_bounded_surface: ISO 10303-42, boundary_curve, a closed composite curve on the
 * surface. A degenerate_pcurve among them bounds by a single point.
 */
export function boundaryBorders(
  reading: TrimReading,
  sheet: TrimSheet,
  surface: number,
  boundaries: readonly number[],
): readonly Border[] | null {
  const found: Border[] = [];
  for (const id of boundaries) {
    const record = reading.target(surface, id);
    if (record >= 0 && reading.file.typeName(record).includes('DEGENERATE_PCURVE')) continue;
    const runs = boundaryRuns(reading, sheet, record, 0);
    if (!runs) return null;
    found.push(bordered(runs, sheet));
  }
  return found;
}

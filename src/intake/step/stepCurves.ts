import { interiorBreakpoints } from '../../geometry/knots.ts';
import { isSoundCurve } from '../../geometry/soundCurve.ts';
import { polyline, type SplineCurve } from '../../geometry/splineCurve.ts';
import { curveBetween } from './edgeCuts.ts';
import {
  backwards,
  chainCurve,
  ellipseCurve,
  hyperbolaCurve,
  lineCurve,
  parabolaCurve,
  type ConicFrame,
  type FileCurve,
} from './fileCurve.ts';
import { flattened, type Layout } from './stepFile.ts';
import { impliedKnots, knotForm, listedKnots } from './stepKnots.ts';
import { axisFrame, directionOf } from './stepPlacements.ts';
import { stepCoordinates } from './stepPoint.ts';
import {
  enumerationIn,
  numberIn,
  numbersIn,
  referenceIn,
  referencesIn,
  type StepPart,
  type StepValue,
} from './stepValues.ts';
import type { TrimReading } from './trimReading.ts';

/** 2: in the parameters of a surface, which no unit scales. 3: in space, in millimetres. */
type Dimension = 2 | 3;

/** Curves in curves, at most: a composite of trimmed composites of ... */
const deepestCurve = 32;
const highestDegree = 30;
/** As for the points of a net: farther is a slip. In a plane, parameters. */
const farthest = 1e9;
/** In a parameter plane points are one within this much of the curve's own extent. */
const planeClose = 1e-9;

const isFinitePoint = (p: readonly number[]): boolean => p.every((x) => Math.abs(x) <= farthest);

/** The point a value names, in millimetres or parameters; null, a failure, where there is none. */
export function curvePointAt(
  reading: TrimReading,
  from: number,
  id: number | null,
  dimension: Dimension,
): number[] | null {
  const record = reading.target(from, id);
  if (record < 0) return null;
  const scale = dimension === 3 ? reading.millimetres : 1;
  const point = stepCoordinates(reading.file, record, dimension)
    ?.slice(0, dimension)
    .map((x) => x * scale);
  return point && isFinitePoint(point) ? point : reading.fail('damaged', record);
}

/** A curve that can be evaluated, of a degree that is worth it, and in one piece. */
const isUsable = (curve: SplineCurve): boolean =>
  curve.degree <= highestDegree &&
  isSoundCurve(curve) &&
  interiorBreakpoints(curve.knots, curve.degree).every(
    ({ multiplicity }) => multiplicity <= curve.degree,
  );

const splineLayout = [
  ['REPRESENTATION_ITEM', 1],
  ['B_SPLINE_CURVE', 5],
  ['B_SPLINE_CURVE_WITH_KNOTS', 3],
  ['RATIONAL_B_SPLINE_CURVE', 1],
] as const;

/** All points a list names, one after the other; null, a failure, where one is missing. */
function points(
  reading: TrimReading,
  record: number,
  value: StepValue | undefined,
  dimension: Dimension,
): Float64Array | null {
  const ids = value?.kind === 'references' ? value.ids : [];
  const found = new Float64Array(dimension * ids.length);
  const { file } = reading;
  const scale = dimension === 3 ? reading.millimetres : 1;
  for (let k = 0; k < ids.length; k++) {
    const target = reading.target(record, ids[k]);
    if (target < 0) return null;
    const point = stepCoordinates(file, target, dimension);
    if (!point) return reading.fail('damaged', target);
    for (let axis = 0; axis < dimension; axis++) {
      const x = point[axis] * scale;
      if (!(Math.abs(x) <= farthest)) return reading.fail('damaged', target);
      found[dimension * k + axis] = x;
    }
  }
  return ids.length > 1 ? found : reading.fail('damaged', record);
}

/** ISO 10303-42, b_spline_curve and its subtypes; a complex instance where it is rational. */
export function bSpline(
  reading: TrimReading,
  record: number,
  parts: readonly StepPart[],
  dimension: Dimension,
): SplineCurve | null {
  const values = flattened(parts, splineLayout);
  const degree = numberIn(values[1]) ?? 0;
  const found = points(reading, record, values[2], dimension);
  if (!found) return null;
  const count = found.length / dimension;
  const form = knotForm(parts, 'CURVE');
  if (!form || !Number.isInteger(degree) || degree < 1 || degree >= count)
    return reading.fail('damaged', record);
  const knots =
    form === 'listed'
      ? listedKnots(reading.file, record, '', [values[6], values[7]], count + degree + 1)
      : impliedKnots(form, degree, count);
  const rational = parts.find((part) => part.type === 'RATIONAL_B_SPLINE_CURVE');
  const weights = rational ? numbersIn(rational.values[0]) : null;
  if (!knots || (rational && !weights)) return reading.fail('damaged', record);
  const isEven = !weights || weights.every((w) => w === weights[0]);
  const curve: SplineCurve = {
    dimension,
    degree,
    knots,
    points: found,
    weights: isEven ? null : Float64Array.from(weights),
  };
  const isWhole = !weights || weights.length === count;
  return isWhole && isUsable(curve) ? curve : reading.fail('damaged', record);
}

const directionLayout = [
  ['REPRESENTATION_ITEM', 1],
  ['DIRECTION', 1],
] as const;
const vectorLayout = [
  ['REPRESENTATION_ITEM', 1],
  ['VECTOR', 2],
] as const;
const planeAxisLayout = [
  ['REPRESENTATION_ITEM', 1],
  ['PLACEMENT', 1],
  ['AXIS2_PLACEMENT_2D', 1],
] as const;

/** The direction of length 1 a record gives, in the dimension asked for. */
function unitDirection(
  reading: TrimReading,
  from: number,
  value: StepValue | undefined,
  dimension: Dimension,
): readonly number[] | null {
  if (dimension === 3)
    return directionOf(reading.file, from, value, null) ?? reading.fail('damaged', from);
  const record = reading.target(from, referenceIn(value));
  const ratios = record < 0 ? null : numbersIn(reading.attributes(record, directionLayout)?.[1]);
  const size = ratios?.length === 2 ? Math.hypot(...ratios) : 0;
  return ratios && size > 0 && Number.isFinite(size)
    ? ratios.map((x) => x / size)
    : reading.fail('damaged', from);
}

/** ISO 10303-42, line (point, vector) and vector (direction, magnitude). */
function line(
  reading: TrimReading,
  record: number,
  values: readonly StepValue[],
  dimension: Dimension,
): FileCurve | null {
  const point = curvePointAt(reading, record, referenceIn(values[1]), dimension);
  const vector = point ? reading.target(record, referenceIn(values[2])) : -1;
  const along = vector < 0 ? null : reading.attributes(vector, vectorLayout);
  const direction = along && unitDirection(reading, vector, along[1], dimension);
  if (!point || !direction) return null;
  const size = (numberIn(along[2]) ?? 0) * (dimension === 3 ? reading.millimetres : 1);
  return size > 0 && Number.isFinite(size)
    ? lineCurve(
        point,
        direction.map((x) => x * size),
      )
    : reading.fail('damaged', vector);
}

/** The frame of a conic's position: ISO 10303-42, axis2_placement_2d and axis2_placement_3d. */
function conicFrame(
  reading: TrimReading,
  from: number,
  value: StepValue | undefined,
  dimension: Dimension,
): ConicFrame | null {
  const record = reading.target(from, referenceIn(value));
  if (record < 0) return null;
  if (dimension === 3) {
    const frame = axisFrame(reading.file, record, reading.millimetres);
    if (!frame || !isFinitePoint(frame.shift)) return reading.fail('damaged', record);
    const [a, b, c] = frame.rotation;
    return { centre: frame.shift, x: [a[0], b[0], c[0]], y: [a[1], b[1], c[1]] };
  }
  const values = reading.attributes(record, planeAxisLayout);
  const centre = values && curvePointAt(reading, record, referenceIn(values[1]), 2);
  if (!values || !centre) return null;
  const x = values[2]?.kind === 'none' ? [1, 0] : unitDirection(reading, record, values[2], 2);
  return x && { centre, x, y: [-x[1], x[0]] };
}

const conics: Readonly<
  Record<string, { sizes: 1 | 2; curve: (frame: ConicFrame, a: number, b: number) => FileCurve }>
> = {
  CIRCLE: { sizes: 1, curve: (frame, radius) => ellipseCurve(frame, radius, radius) },
  ELLIPSE: { sizes: 2, curve: ellipseCurve },
  PARABOLA: { sizes: 1, curve: parabolaCurve },
  HYPERBOLA: { sizes: 2, curve: hyperbolaCurve },
};

/** ISO 10303-42, conic (position) and the sizes of its subtypes: lengths. */
function conic(
  reading: TrimReading,
  record: number,
  type: string,
  values: readonly StepValue[],
  dimension: Dimension,
): FileCurve | null {
  const frame = conicFrame(reading, record, values[1], dimension);
  if (!frame) return null;
  const { sizes, curve } = conics[type];
  const scale = dimension === 3 ? reading.millimetres : 1;
  const [a, b] = [2, sizes === 1 ? 2 : 3].map((k) => (numberIn(values[k]) ?? 0) * scale);
  return a > 0 && b > 0 && a <= farthest && b <= farthest
    ? curve(frame, a, b)
    : reading.fail('damaged', record);
}

/** How near the ends of a closed curve lie. */
function closeness(reading: TrimReading, pieces: readonly SplineCurve[]): number {
  if (pieces[0].dimension === 3) return reading.tolerance;
  const extent = pieces.reduce(
    (most, { points: all }) => all.reduce((size, x) => Math.max(size, Math.abs(x - all[0])), most),
    0,
  );
  return planeClose * extent;
}

const chain = (reading: TrimReading, pieces: readonly SplineCurve[], from?: number): FileCurve =>
  chainCurve(pieces, closeness(reading, pieces), from);

/** The parameter at which a trimmed curve is cut: a point where one is given, else the parameter. */
function cutParameter(
  reading: TrimReading,
  record: number,
  basis: FileCurve,
  value: StepValue | undefined,
  dimension: Dimension,
): number | null {
  const items = value?.kind === 'list' ? value.items : [];
  const stated = items.find((item) => item.kind === 'typed' || item.kind === 'number');
  const parameter = numberIn(stated);
  // A point says where, whatever the unit; on a spline the parameter is exact.
  const ids = referencesIn(value);
  if (ids.length > 0 && (parameter === null || basis.isAngle || !basis.range)) {
    const point = curvePointAt(reading, record, ids[0], dimension);
    return point && basis.nearest(point);
  }
  if (parameter === null || !Number.isFinite(parameter)) return reading.fail('damaged', record);
  return basis.isAngle ? parameter * reading.radians : parameter;
}

const trimmedLayout = [
  ['REPRESENTATION_ITEM', 1],
  ['TRIMMED_CURVE', 5],
] as const;

/** ISO 10303-42, trimmed_curve (basis_curve, trim_1, trim_2, sense_agreement, master_representation). */
function trimmed(
  reading: TrimReading,
  record: number,
  parts: readonly StepPart[],
  dimension: Dimension,
  depth: number,
): FileCurve | null {
  const values = flattened(parts, trimmedLayout);
  const basis = stepCurve(
    reading,
    reading.target(record, referenceIn(values[1])),
    dimension,
    depth,
  );
  if (!basis) return null;
  const a = cutParameter(reading, record, basis, values[2], dimension);
  const b = a === null ? null : cutParameter(reading, record, basis, values[3], dimension);
  if (a === null || b === null) return null;
  const between = curveBetween(basis, a, b, enumerationIn(values[4]) !== 'F');
  return between.length > 0 ? chain(reading, between) : reading.fail('damaged', record);
}

/** One segment of a composite curve: the record of its curve, and the sense in which it is run. */
export interface CurveSegment {
  readonly curve: number;
  readonly forward: boolean;
}

const compositeLayout = [
  ['REPRESENTATION_ITEM', 1],
  ['COMPOSITE_CURVE', 2],
] as const;

/** ISO 10303-42, composite_curve (segments) and composite_curve_segment (transition, same_sense, curve). */
export function compositeSegments(
  reading: TrimReading,
  record: number,
  parts: readonly StepPart[],
): readonly CurveSegment[] | null {
  const found: CurveSegment[] = [];
  for (const id of referencesIn(flattened(parts, compositeLayout)[1])) {
    const segment = reading.target(record, id);
    if (segment < 0) return null;
    const own = reading.file.parts(segment)?.find(({ type }) => type.includes('SEGMENT'));
    const curve = own ? reading.target(segment, segmentCurve(own)) : -1;
    if (!own || curve < 0) return reading.fail('damaged', segment);
    const sense = own.values.map(enumerationIn).find((name) => name === 'T' || name === 'F');
    found.push({ curve, forward: sense !== 'F' });
  }
  return found.length > 0 ? found : reading.fail('damaged', record);
}

const segmentCurve = ({ values }: StepPart): number | null =>
  referenceIn(values.find((value) => value.kind === 'reference'));

/** Composite curves, also the kinds that bound a surface: their attributes are the same. */
const compositeTypes = [
  'COMPOSITE_CURVE',
  'COMPOSITE_CURVE_ON_SURFACE',
  'BOUNDARY_CURVE',
  'OUTER_BOUNDARY_CURVE',
];
export const isComposite = (parts: readonly StepPart[]): boolean =>
  parts.some(({ type }) => compositeTypes.includes(type));

function composite(
  reading: TrimReading,
  record: number,
  parts: readonly StepPart[],
  dimension: Dimension,
  depth: number,
): FileCurve | null {
  const pieces: SplineCurve[] = [];
  for (const segment of compositeSegments(reading, record, parts) ?? []) {
    const curve = stepCurve(reading, segment.curve, dimension, depth);
    if (!curve) return null;
    if (!curve.range) return reading.fail('damaged', segment.curve);
    const own = curve.part(...curve.range);
    for (const piece of segment.forward ? own : backwards(own)) pieces.push(piece);
  }
  return pieces.length > 0 ? chain(reading, pieces, 0) : reading.fail('damaged', record);
}

const onSurfaceLayout = [
  ['REPRESENTATION_ITEM', 1],
  ['SURFACE_CURVE', 3],
] as const;

/** Curves that stand in space and in the parameters of surfaces: (curve_3d, pcurves, master). */
const surfaceCurveTypes = ['SURFACE_CURVE', 'SEAM_CURVE', 'INTERSECTION_CURVE'];

/** The attributes of a curve on surfaces, or null where the record is none. */
export const surfaceCurveValues = (parts: readonly StepPart[]): readonly StepValue[] | null =>
  parts.some(({ type }) => surfaceCurveTypes.includes(type))
    ? flattened(parts, onSurfaceLayout)
    : null;

const simpleLayouts: Readonly<Record<string, Layout>> = {
  LINE: [
    ['REPRESENTATION_ITEM', 1],
    ['LINE', 2],
  ],
  POLYLINE: [
    ['REPRESENTATION_ITEM', 1],
    ['POLYLINE', 1],
  ],
  ...Object.fromEntries(
    Object.entries(conics).map(([type, { sizes }]): [string, Layout] => [
      type,
      [
        ['REPRESENTATION_ITEM', 1],
        ['CONIC', 1],
        [type, sizes],
      ],
    ]),
  ),
};

/** Types of a complex instance that do not say which curve it is. */
const generalTypes = [
  'BOUNDED_CURVE',
  'CURVE',
  'CONIC',
  'GEOMETRIC_REPRESENTATION_ITEM',
  'REPRESENTATION_ITEM',
];
const tellingType = (parts: readonly StepPart[]): string =>
  (parts.find(({ type }) => !generalTypes.includes(type)) ?? parts[0])?.type ?? '';

/** A polyline without legs of no length, which have no direction: ISO 10303-42, polyline (points). */
function legs(
  reading: TrimReading,
  record: number,
  value: StepValue | undefined,
  dimension: Dimension,
): FileCurve | null {
  const all = points(reading, record, value, dimension);
  if (!all) return null;
  const corners = Array.from({ length: all.length / dimension }, (_, k) =>
    Array.from(all.subarray(dimension * k, dimension * (k + 1))),
  );
  return chain(reading, [polyline(corners)]);
}

/**
 * A curve in space or in a parameter plane: lines, conics, B-splines, polylines, and what is made of
 * them by trimming and joining; of a curve on surfaces that in space. Null, a failure, for every other
 * kind. Source: ISO 10303-42, curve and its subtypes.
 */
export function stepCurve(
  reading: TrimReading,
  record: number,
  dimension: Dimension,
  depth = 0,
): FileCurve | null {
  if (record < 0) return null;
  if (depth > deepestCurve) return reading.fail('damaged', record);
  const parts = reading.file.parts(record);
  if (!parts) return reading.fail('damaged', record);
  if (parts.some(({ type }) => type === 'B_SPLINE_CURVE') || knotForm(parts, 'CURVE')) {
    const curve = bSpline(reading, record, parts, dimension);
    return curve && chain(reading, [curve]);
  }
  const type = tellingType(parts);
  if (type === 'TRIMMED_CURVE') return trimmed(reading, record, parts, dimension, depth + 1);
  if (isComposite(parts)) return composite(reading, record, parts, dimension, depth + 1);
  const onSurface = dimension === 3 ? surfaceCurveValues(parts) : null;
  if (onSurface)
    return stepCurve(reading, reading.target(record, referenceIn(onSurface[1])), 3, depth + 1);
  const layout = simpleLayouts[type];
  if (!layout) return reading.fail('kind', record, type);
  const values = flattened(parts, layout);
  if (type === 'LINE') return line(reading, record, values, dimension);
  if (type === 'POLYLINE') return legs(reading, record, values[1], dimension);
  return conic(reading, record, type, values, dimension);
}

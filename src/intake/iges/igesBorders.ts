import { inPlace, type Placement } from '../../geometry/placement.ts';
import {
  placedCurve,
  polyline,
  reversedCurve,
  type SplineCurve,
} from '../../geometry/splineCurve.ts';
import type { Border, BorderPiece } from '../../geometry/trimRegion.ts';
import type { Directory, Entity } from './igesDirectory.ts';
import type { Field } from './igesFields.ts';
import { isTrouble, type BorderTrouble, type CurveSource } from './igesCurves.ts';
import { after, type Structure } from './igesStructure.ts';

/**
 * The borders of one face, told in one or two ways, the preferred one first: by curves in the
 * parameter plane and by curves in space.
 */
export type BorderTellings = readonly (readonly Border[])[];

/** Ways to tell one border, the preferred one first; at least one. */
type Tellings = readonly Border[];

/** What is needed to read the borders of faces. */
export interface BorderSource {
  readonly directory: Directory;
  readonly structure: Pick<Structure, 'ownPlacement'>;
  readonly curves: CurveSource;
  /** Millimetres a file unit, for curves in space. */
  readonly scale: number;
}

/** The curve without its height: parameters are pairs (IGES 5.3, 4.32). */
function planeCurve(curve: SplineCurve): SplineCurve {
  const count = curve.points.length / 3;
  const points = new Float64Array(2 * count);
  for (let k = 0; k < count; k++) points.set(curve.points.subarray(3 * k, 3 * k + 2), 2 * k);
  return { ...curve, dimension: 2, points };
}

const inPlane = (curve: SplineCurve): BorderPiece => ({ plane: planeCurve(curve), space: null });

const inSpace =
  (scale: number) =>
  (curve: SplineCurve): BorderPiece => ({
    plane: null,
    space: scale === 1 ? curve : placedCurve(curve, inPlace, scale),
  });

/** Backwards as a whole: the last piece first, each reversed. */
const backwards = (curves: readonly SplineCurve[]): SplineCurve[] =>
  curves.map(reversedCurve).reverse();

const countAt = (fields: readonly Field[], at: number): number => {
  const value = fields[at] ?? 0;
  return typeof value === 'number' && Number.isInteger(value) && value >= 0 ? value : -1;
};

const isNone = (pointer: Field | undefined): boolean => !pointer;

/** The whole domain of a surface as a border in the plane, or the part of it that is kept. */
export const rectangle = ([[u0, u1], [v0, v1]]: readonly [
  readonly [number, number],
  readonly [number, number],
]): Border => [
  {
    plane: polyline([
      [u0, v0],
      [u1, v0],
      [u1, v1],
      [u0, v1],
      [u0, v0],
    ]),
    space: null,
  },
];

/** What of two ways could be read, in order; why not, where neither could. */
function tellings(
  first: Border | BorderTrouble | null,
  second: Border | BorderTrouble | null,
  entity: Entity,
  { curves }: BorderSource,
): Tellings | BorderTrouble {
  const given = [first, second].flatMap((way) => (way === null ? [] : [way]));
  const read = given.flatMap((way) => (isTrouble(way) ? [] : [way]));
  if (read.length > 0) return read;
  const [trouble] = given;
  return trouble && isTrouble(trouble) ? trouble : curves.troubleAt(entity, 'pointer');
}

const mapped = (
  found: readonly SplineCurve[] | BorderTrouble,
  piece: (curve: SplineCurve) => BorderPiece,
): Border | BorderTrouble => (isTrouble(found) ? found : found.map(piece));

/** A flag that asks for the curves in space (PREF of 141 and 142). */
const spacePreferred = 2;

/**
 * Curve on a parametric surface (142): CRTN, SPTR, BPTR, CPTR, PREF (IGES 5.3, 4.32). Where it is
 * said to lie on another surface its parameters mean nothing here, and the curve in space is taken.
 */
function curveOnSurface(
  entity: Entity,
  base: Entity,
  own: Placement,
  source: BorderSource,
): Tellings | BorderTrouble {
  const { directory, curves, scale } = source;
  const fields = curves.borderFieldsOf(entity);
  if (isTrouble(fields)) return fields;
  const [, surface, planePointer, spacePointer, preferred] = fields;
  const other = typeof surface === 'number' ? directory.entityAt(surface) : null;
  const isForeign = other !== null && other !== base;
  const plane =
    isForeign || isNone(planePointer)
      ? null
      : mapped(curves.curvesOf(planePointer, entity), inPlane);
  const space = isNone(spacePointer)
    ? null
    : mapped(curves.curvesOf(spacePointer, entity, own), inSpace(scale));
  if (isForeign && space === null) return curves.troubleAt(entity, 'surface');
  return preferred === spacePreferred
    ? tellings(space, plane, entity, source)
    : tellings(plane, space, entity, source);
}

/** A curve in space and the curves in the plane that tell the same; either may be missing. */
interface Edge {
  /** True where the border stands still at a vertex: no curve in space is wanting. */
  readonly isVertex?: boolean;
  readonly plane: readonly SplineCurve[];
  readonly space: readonly SplineCurve[];
}

type Curves = readonly SplineCurve[] | BorderTrouble;

/** An edge of which one side at least could be read, or of which nothing is told: a point. */
function edgeOf(plane: Curves, space: Curves, isBackwards: boolean): Edge | BorderTrouble {
  const [inPlaneOnes, ones] = [plane, space].map((found) => (isTrouble(found) ? [] : found));
  const trouble = [plane, space].find(isTrouble);
  if (trouble && inPlaneOnes.length + ones.length === 0) return trouble;
  return { plane: inPlaneOnes, space: isBackwards ? backwards(ones) : ones };
}

/** All the curves of some pointers in order, or why one of them cannot be read. */
function curvesOfAll(pointers: readonly Field[], entity: Entity, { curves }: BorderSource): Curves {
  const all: SplineCurve[] = [];
  for (const pointer of pointers) {
    const found = curves.curvesOf(pointer, entity);
    if (isTrouble(found)) return found;
    for (const curve of found) all.push(curve);
  }
  return all;
}

/**
 * Edges told by their curves in the plane where they have any, else in space; and all in space.
 * An edge that has no curve at all is a point of the border.
 */
function edgeTellings(edges: readonly Edge[], isSpacePreferred: boolean, scale: number): Tellings {
  const toSpace = inSpace(scale);
  const mixed = edges.flatMap((edge) =>
    edge.plane.length > 0 ? edge.plane.map(inPlane) : edge.space.map(toSpace),
  );
  if (!edges.some(({ plane }) => plane.length > 0)) return [mixed];
  const allSpace = edges.every(
    ({ plane, space, isVertex }) => isVertex || space.length > 0 || plane.length === 0,
  )
    ? [edges.flatMap((edge) => edge.space.map(toSpace))]
    : [];
  return isSpacePreferred ? [...allSpace, mixed] : [mixed, ...allSpace];
}

/**
 * Boundary (141): TYPE, PREF, SPTR, N, and for each of N: CRVPT, SENSE, K, PSCPT(1) to PSCPT(K)
 * (IGES 5.3, 4.31). SENSE 2 runs the curve in space backwards.
 */
function boundary(
  entity: Entity,
  base: Entity,
  own: Placement,
  source: BorderSource,
): Tellings | BorderTrouble {
  const { directory, curves, scale } = source;
  const fields = curves.borderFieldsOf(entity);
  if (isTrouble(fields)) return fields;
  const [type, preferred, surface] = fields;
  const other = typeof surface === 'number' ? directory.entityAt(surface) : null;
  const isForeign = other !== null && other !== base;
  const edges: Edge[] = [];
  let at = 4;
  for (let left = countAt(fields, 3); left !== 0; left--) {
    const count = countAt(fields, at + 2);
    if (left < 0 || count < 0 || at + 2 + count > fields.length)
      return curves.troubleAt(entity, 'data');
    const pointers = Array.from({ length: count }, (_, k) => fields[at + 3 + k] ?? null);
    const edge = edgeOf(
      type === 1 && !isForeign ? curvesOfAll(pointers, entity, source) : [],
      isNone(fields[at]) ? [] : curves.curvesOf(fields[at], entity, own),
      fields[at + 1] === 2,
    );
    if (isTrouble(edge)) return edge;
    edges.push(edge);
    at += 3 + count;
  }
  return edgeTellings(edges, preferred === spacePreferred, scale);
}

/** Numbers that a list gives each of its edges (504): CURV, SVP, SV, TVP, TV. */
const edgeStep = 5;
const edgeList = 504;
const vertexUse = 1;

/**
 * Loop (508): N, and for each of N: TYPE, EDGE, NDX, OF, K, then K pairs of ISOP and a curve in the
 * plane; TYPE 1 uses a vertex (502). Edge list (504): N, and for each CURV and both ends. OF 0 runs the
 * edge backwards.
 */
function loop(entity: Entity, own: Placement, source: BorderSource): Tellings | BorderTrouble {
  const { directory, structure, curves, scale } = source;
  const fields = curves.borderFieldsOf(entity);
  if (isTrouble(fields)) return fields;

  function edgeCurves(list: Field, index: Field): Curves {
    const found = typeof list === 'number' ? directory.entityAt(list) : null;
    if (found?.type !== edgeList) return curves.troubleAt(entity, 'pointer');
    const edges = curves.fieldsOf(found);
    if (isTrouble(edges)) return edges;
    if (typeof index !== 'number' || !(index >= 1 && index <= countAt(edges, 0)))
      return curves.troubleAt(entity, 'pointer');
    const placement = structure.ownPlacement(found);
    if ('code' in placement) return curves.troubleAt(found, 'data');
    const pointer = edges[1 + edgeStep * (index - 1)] ?? null;
    return curves.curvesOf(pointer, found, after(own, placement));
  }

  const edges: Edge[] = [];
  let at = 1;
  for (let left = countAt(fields, 0); left !== 0; left--) {
    const count = countAt(fields, at + 4);
    if (left < 0 || count < 0 || at + 4 + 2 * count > fields.length)
      return curves.troubleAt(entity, 'data');
    const [type, list = null, index = null, forward] = fields.slice(at, at + 4);
    const pointers = Array.from({ length: count }, (_, k) => fields[at + 6 + 2 * k] ?? null);
    const edge = edgeOf(
      curvesOfAll(pointers, entity, source),
      type === vertexUse ? [] : edgeCurves(list, index),
      forward === 0,
    );
    if (isTrouble(edge)) return edge;
    edges.push({ ...edge, isVertex: type === vertexUse });
    at += 5 + 2 * count;
  }
  return edgeTellings(edges, false, scale);
}

/** One border by its type; `base` is the surface it cuts. */
function border(
  pointer: Field,
  face: Entity,
  base: Entity,
  source: BorderSource,
): Tellings | BorderTrouble {
  const { directory, structure, curves } = source;
  const entity = typeof pointer === 'number' ? directory.entityAt(pointer) : null;
  if (!entity) return curves.troubleAt(face, 'pointer');
  const own = structure.ownPlacement(entity);
  if ('code' in own) return curves.troubleAt(entity, 'data');
  switch (entity.type) {
    case 141:
      return boundary(entity, base, own, source);
    case 142:
      return curveOnSurface(entity, base, own, source);
    case 508:
      return loop(entity, own, source);
    default:
      return curves.troubleAt(face, 'pointer');
  }
}

/**
 * Pointers to the borders of a face, null standing for the edge of the surface's own domain. 143: TYPE,
 * SPTR, N, BDPT; 144: PTS, N1, N2, PTO, PTI, where N1 = 0 means that the outer border is that of the
 * surface (IGES 5.3, 4.33 and 4.34); 510: SURF, N, OF, LOOP.
 */
function borderPointers({ type }: Entity, fields: readonly Field[]): readonly Field[] | null {
  const [at, from] = type === 144 ? [2, 4] : type === 143 ? [2, 3] : [1, 3];
  const count = countAt(fields, at);
  if (count < 0 || from + count > fields.length) return null;
  const inner = fields.slice(from, from + count);
  if (type !== 144) return inner;
  return [countAt(fields, 1) === 0 ? null : (fields[3] ?? 0), ...inner];
}

/**
 * Reads the borders of a face over the surface `base`, whose `domain` is its outer border where the
 * face says so. Curves in space are in millimetres, in the frame of the face before its own matrix.
 */
export function igesBorders(
  face: Entity,
  fields: readonly Field[],
  base: Entity,
  domain: Border,
  source: BorderSource,
): BorderTellings | BorderTrouble {
  const pointers = borderPointers(face, fields);
  if (!pointers) return source.curves.troubleAt(face, 'data');
  const all: Tellings[] = [];
  for (const pointer of pointers) {
    const found = pointer === null ? [domain] : border(pointer, face, base, source);
    if (isTrouble(found)) return found;
    all.push(found);
  }
  const first = all.map(([preferred]) => preferred);
  if (all.every((ways) => ways.length === 1)) return [first];
  return [first, all.map((ways) => ways[ways.length - 1])];
}

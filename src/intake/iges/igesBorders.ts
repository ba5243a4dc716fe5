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

/** Where curves are given: in the parameter plane of the surface or in space. */
type Side = 'plane' | 'space';

/** A border, and the side that it is told on; a mixed one counts as told in the plane. */
interface Told {
  readonly border: Border;
  readonly side: Side;
}

/** The borders of one face in order. */
export type ToldBorders = readonly Told[];

/** Which way of telling is asked for: that which the file prefers, or the other one where there is one. */
export type Way = 'preferred' | 'other';

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

/** The sides in the order in which they are to be tried. */
const sides = (isSpacePreferred: boolean, way: Way): readonly Side[] =>
  isSpacePreferred === (way === 'preferred') ? ['space', 'plane'] : ['plane', 'space'];

/**
 * The first side that gives a border. Null stands for a side that the file leaves out; where none gives
 * one, the first reason is told.
 */
function told(
  order: readonly Side[],
  read: (side: Side) => Border | BorderTrouble | null,
  none: () => BorderTrouble,
): Told | BorderTrouble {
  let trouble: BorderTrouble | null = null;
  for (const side of order) {
    const border = read(side);
    if (border && !isTrouble(border)) return { border, side };
    trouble ??= border;
  }
  return trouble ?? none();
}

type Curves = readonly SplineCurve[] | BorderTrouble;

const mapped = (
  found: Curves,
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
  way: Way,
  { directory, curves, scale }: BorderSource,
): Told | BorderTrouble {
  const fields = curves.borderFieldsOf(entity);
  if (isTrouble(fields)) return fields;
  const [, surface, plane, space, preferred] = fields;
  const other = typeof surface === 'number' ? directory.entityAt(surface) : null;
  const isForeign = other !== null && other !== base;
  return told(
    sides(preferred === spacePreferred, way),
    (side) => {
      if (side === 'space')
        return isNone(space) ? null : mapped(curves.curvesOf(space, entity, own), inSpace(scale));
      return isForeign || isNone(plane) ? null : mapped(curves.curvesOf(plane, entity), inPlane);
    },
    () => curves.troubleAt(entity, isForeign ? 'surface' : 'pointer'),
  );
}

/** A part of a border: curves in the plane, or a curve in space that tells the same. */
interface Edge {
  readonly plane: readonly Field[];
  /** Null where the border stands still at a vertex: no curve in space is wanting. */
  readonly space: (() => Curves) | null;
}

/**
 * A border of edges: each by its curves in the plane where it has any that can be read, else by that in
 * space; or all in space. An edge without any curve is a point.
 */
function edgesTold(
  entity: Entity,
  edges: readonly Edge[],
  isSpacePreferred: boolean,
  way: Way,
  { curves, scale }: BorderSource,
): Told | BorderTrouble {
  const spacePieces = ({ space }: Edge): Border | BorderTrouble =>
    space === null ? [] : mapped(space(), inSpace(scale));
  const planePieces = (edge: Edge): Border | BorderTrouble => {
    const all: BorderPiece[] = [];
    for (const pointer of edge.plane) {
      const found = curves.curvesOf(pointer, entity);
      if (isTrouble(found)) {
        const instead = spacePieces(edge);
        return isTrouble(instead) || instead.length === 0 ? found : instead;
      }
      for (const curve of found) all.push(inPlane(curve));
    }
    return all.length > 0 ? all : spacePieces(edge);
  };
  const hasPlane = edges.some(({ plane }) => plane.length > 0);
  return told(
    sides(isSpacePreferred, way),
    (side) => {
      if (side === 'plane' && !hasPlane) return null;
      const all: BorderPiece[] = [];
      for (const edge of edges) {
        const pieces = side === 'plane' ? planePieces(edge) : spacePieces(edge);
        if (isTrouble(pieces)) return pieces;
        if (side === 'space' && pieces.length === 0 && edge.space && edge.plane.length > 0)
          return null;
        for (const piece of pieces) all.push(piece);
      }
      return all;
    },
    () => curves.troubleAt(entity, 'pointer'),
  );
}

/** The curves, run backwards as a whole where that is asked for: the last first, each reversed. */
const directed = (found: Curves, isBackwards: boolean): Curves =>
  isBackwards && !isTrouble(found) ? found.map(reversedCurve).reverse() : found;

/**
 * Boundary (141): TYPE, PREF, SPTR, N, and for each of N: CRVPT, SENSE, K, PSCPT(1) to PSCPT(K)
 * (IGES 5.3, 4.31). SENSE 2 runs the curve in space backwards.
 */
function boundary(
  entity: Entity,
  base: Entity,
  own: Placement,
  way: Way,
  source: BorderSource,
): Told | BorderTrouble {
  const { directory, curves } = source;
  const fields = curves.borderFieldsOf(entity);
  if (isTrouble(fields)) return fields;
  const [type, preferred, surface] = fields;
  const other = typeof surface === 'number' ? directory.entityAt(surface) : null;
  const isTold = type === 1 && (other === null || other === base);
  const edges: Edge[] = [];
  let at = 4;
  for (let left = countAt(fields, 3); left !== 0; left--) {
    const count = countAt(fields, at + 2);
    if (left < 0 || count < 0 || at + 2 + count > fields.length)
      return curves.troubleAt(entity, 'data');
    const [space = null, sense] = fields.slice(at, at + 2);
    const from = at + 3;
    edges.push({
      plane: isTold ? Array.from({ length: count }, (_, k) => fields[from + k] ?? null) : [],
      space: () =>
        isNone(space) ? [] : directed(curves.curvesOf(space, entity, own), sense === 2),
    });
    at = from + count;
  }
  return edgesTold(entity, edges, preferred === spacePreferred, way, source);
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
function loop(
  entity: Entity,
  own: Placement,
  way: Way,
  source: BorderSource,
): Told | BorderTrouble {
  const { directory, structure, curves } = source;
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
    const from = at + 5;
    edges.push({
      plane: Array.from({ length: count }, (_, k) => fields[from + 2 * k + 1] ?? null),
      space: type === vertexUse ? null : () => directed(edgeCurves(list, index), forward === 0),
    });
    at = from + 2 * count;
  }
  return edgesTold(entity, edges, false, way, source);
}

/** One border by its type; `base` is the surface it cuts. */
function border(
  pointer: Field,
  face: Entity,
  base: Entity,
  way: Way,
  source: BorderSource,
): Told | BorderTrouble {
  const { directory, structure, curves } = source;
  const entity = typeof pointer === 'number' ? directory.entityAt(pointer) : null;
  if (!entity) return curves.troubleAt(face, 'pointer');
  const own = structure.ownPlacement(entity);
  if ('code' in own) return curves.troubleAt(entity, 'data');
  switch (entity.type) {
    case 141:
      return boundary(entity, base, own, way, source);
    case 142:
      return curveOnSurface(entity, base, own, way, source);
    case 508:
      return loop(entity, own, way, source);
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
  way: Way,
  source: BorderSource,
): ToldBorders | BorderTrouble {
  const pointers = borderPointers(face, fields);
  if (!pointers) return source.curves.troubleAt(face, 'data');
  const all: Told[] = [];
  for (const pointer of pointers) {
    const found: Told | BorderTrouble =
      pointer === null
        ? { border: domain, side: 'plane' }
        : border(pointer, face, base, way, source);
    if (isTrouble(found)) return found;
    all.push(found);
  }
  return all;
}

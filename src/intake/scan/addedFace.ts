import earcut from 'earcut';
import {
  addFault,
  addTriangle,
  makeCornerRoom,
  makePostponedRoom,
  makeRoom,
  type ScanDraft,
} from './scanDraft.ts';

/** A face with more corners than this is none; cutting it up could take for ever. */
const mostCorners = 4096;
/** A face of so few corners is cut up at once, whatever it is like. */
const fewCorners = 64;

/** Stands for a corner that the file does not hold: no mesh has so many vertices. */
export const noVertex = 0xffffffff;

/**
 * A polygon's normal after Newell, not of length 1 (Sutherland, Sproull and Schumacker, "A
 * characterization of ten hidden-surface algorithms", 1974; from memory), relative to its first corner
 * so that a polygon far from the origin keeps its digits.
 */
function newellNormal(flat: Float64Array, count: number): [number, number, number] {
  let [x, y, z] = [0, 0, 0];
  for (let k = 0; k < count; k++) {
    const a = 3 * k;
    const b = 3 * ((k + 1) % count);
    x += (flat[a + 1] - flat[b + 1]) * (flat[a + 2] + flat[b + 2]);
    y += (flat[a + 2] - flat[b + 2]) * (flat[a] + flat[b]);
    z += (flat[a] - flat[b]) * (flat[a + 1] + flat[b + 1]);
  }
  return [x, y, z];
}

/** Corners of the face at hand relative to its first; null where one of them is not finite. */
function relativeCorners({ vertices, corners }: ScanDraft, count: number): Float64Array | null {
  const flat = new Float64Array(3 * count);
  const first = 3 * corners[0];
  for (let k = 0; k < count; k++)
    for (let axis = 0; axis < 3; axis++)
      flat[3 * k + axis] = vertices[3 * corners[k] + axis] - vertices[first + axis];
  return flat.every(Number.isFinite) ? flat : null;
}

/** Twice the signed area of a triangle of `flat`, seen along `normal`. */
function areaAlong(
  flat: Float64Array,
  normal: readonly number[],
  a: number,
  b: number,
  c: number,
): number {
  const [p, q, r] = [3 * a, 3 * b, 3 * c];
  const [ux, uy, uz] = [flat[q] - flat[p], flat[q + 1] - flat[p + 1], flat[q + 2] - flat[p + 2]];
  const [vx, vy, vz] = [flat[r] - flat[p], flat[r + 1] - flat[p + 1], flat[r + 2] - flat[p + 2]];
  return (
    normal[0] * (uy * vz - uz * vy) +
    normal[1] * (uz * vx - ux * vz) +
    normal[2] * (ux * vy - uy * vx)
  );
}

/** A quadrilateral in two: along the diagonal from its first corner, unless that one lies outside. */
function addQuadrilateral(draft: ScanDraft, flat: Float64Array): void {
  const [a, b, c, d] = draft.corners;
  const normal = newellNormal(flat, 4);
  const fits = areaAlong(flat, normal, 0, 1, 2) >= 0 && areaAlong(flat, normal, 0, 2, 3) >= 0;
  if (fits) {
    addTriangle(draft, a, b, c);
    addTriangle(draft, a, c, d);
  } else {
    addTriangle(draft, b, c, d);
    addTriangle(draft, b, d, a);
  }
}

/**
 * A face of five corners or more cut into triangles by ears (earcut), on the coordinate plane that it
 * lies most along, so that a concave face keeps its outline. Corners on a straight line, or a face that
 * crosses itself, may give fewer triangles than corners less two: the missing ones have no area.
 */
function addPolygon(draft: ScanDraft, flat: Float64Array, count: number): void {
  const normal = newellNormal(flat, count);
  const size = normal.map(Math.abs);
  const away = size[0] > size[1] ? (size[0] > size[2] ? 0 : 2) : size[1] > size[2] ? 1 : 2;
  const [u, v] = [(away + 1) % 3, (away + 2) % 3];
  const plane: number[] = [];
  for (let k = 0; k < count; k++) plane.push(flat[3 * k + u], flat[3 * k + v]);
  const cut = earcut(plane);
  const { corners } = draft;
  for (let at = 0; at < cut.length; at += 3) {
    const [a, b, c] = [cut[at], cut[at + 1], cut[at + 2]];
    // The ears come in one sense of turning, whichever the face has.
    if (areaAlong(flat, normal, a, b, c) >= 0)
      addTriangle(draft, corners[a], corners[b], corners[c]);
    else addTriangle(draft, corners[a], corners[c], corners[b]);
  }
  draft.degenerate += count - 2 - cut.length / 3;
}

/**
 * Keeps a face for later: one of its corners has not been read yet, or is nowhere. Where there is no
 * room for that, `draft.lacking` says so.
 */
function postpone(draft: ScanDraft, corners: ArrayLike<number>, count: number, byte: number): void {
  if (!makePostponedRoom(draft, 3 + count)) return;
  const { postponed } = draft;
  let at = draft.postponedLength;
  postponed[at++] = Math.floor(byte / 2 ** 32);
  postponed[at++] = byte;
  postponed[at++] = count;
  for (let k = 0; k < count; k++) postponed[at++] = corners[k];
  draft.postponedLength = at;
}

/** Corners of one turn, where a face goes round several times; else all. */
function turnLength(corners: Uint32Array, count: number): number {
  for (let length = 3; 2 * length <= count; length++) {
    if (count % length !== 0) continue;
    let k = length;
    while (k < count && corners[k] === corners[k - length]) k++;
    if (k === count) return length;
  }
  return count;
}

/**
 * Whether so many corners can be cut up in a time that someone waits for. A face with holes comes to a
 * corner twice, where a seam joins them to its outline; of one that comes to many again and again, ears
 * take for ever to find.
 */
function canBeCut(corners: Uint32Array, count: number): boolean {
  if (count <= fewCorners) return true;
  return count <= mostCorners && 2 * new Set(corners.subarray(0, count)).size >= count;
}

/** Adds a face of three corners or more that have all been read. */
function addKnownFace(draft: ScanDraft, all: number, byte: number): void {
  const { corners } = draft;
  if (all === 3) {
    addTriangle(draft, corners[0], corners[1], corners[2]);
    return;
  }
  const count = turnLength(corners, all);
  draft.degenerate += all - count;
  if (!canBeCut(corners, count)) {
    draft.broken += count - 2;
    addFault(draft, 'mesh-face', byte, { corners: count, most: mostCorners });
    return;
  }
  const flat = relativeCorners(draft, count);
  if (flat === null) draft.broken += count - 2;
  else if (count === 3) addTriangle(draft, corners[0], corners[1], corners[2]);
  else if (count === 4) addQuadrilateral(draft, flat);
  else addPolygon(draft, flat, count);
}

const isKnown = ({ corners, vertexCount }: ScanDraft, count: number): boolean => {
  for (let k = 0; k < count; k++) if (corners[k] >= vertexCount) return false;
  return true;
};

/**
 * Adds the face whose `count` corners stand in `draft.corners`, as triangles; `byte` is where the file
 * has it. A face with a corner that is not finite is left out whole and counted by the triangles it
 * would give. There is room for `count` triangles.
 */
export function addFace(draft: ScanDraft, count: number, byte: number): void {
  draft.hasFaces = true;
  draft.faces++;
  if (count < 3) draft.degenerate++;
  else if (isKnown(draft, count)) addKnownFace(draft, count, byte);
  else postpone(draft, draft.corners, count, byte);
}

/**
 * Adds a strip of triangles from `draft.corners`: each corner makes one with the two before it, every
 * second with the turning of its corners changed over; `noVertex` (-1 in the file) begins a new strip
 * (the `tristrips` of scanned models in PLY; common practice). There is room for `count` triangles.
 */
export function addStrip(draft: ScanDraft, count: number, byte: number): void {
  const { corners, vertexCount } = draft;
  let length = 0;
  for (let k = 0; k < count; k++) {
    if (corners[k] === noVertex) length = 0;
    else if (++length >= 3) {
      const turned = length % 2 === 0 ? 1 : 0;
      const [a, b, c] = [corners[k - 2 + turned], corners[k - 1 - turned], corners[k]];
      draft.faces++;
      if (Math.max(a, b, c) < vertexCount) addTriangle(draft, a, b, c);
      else postpone(draft, [a, b, c], 3, byte);
    }
  }
}

/**
 * Adds the faces that named vertices before they were read, when all have been. A face with a corner
 * that the file does not hold is told and left out whole, counted by the triangles it would give.
 */
export function addPostponedFaces(draft: ScanDraft): void {
  const { postponed, postponedLength } = draft;
  for (let at = 0; at < postponedLength;) {
    const byte = 2 ** 32 * postponed[at] + postponed[at + 1];
    const count = postponed[at + 2];
    at += 3;
    if (!makeCornerRoom(draft, count) || !makeRoom(draft, 0, count)) return;
    draft.corners.set(postponed.subarray(at, at + count));
    at += count;
    if (isKnown(draft, count)) addKnownFace(draft, count, byte);
    else {
      draft.outOfRange += count - 2;
      addFault(draft, 'mesh-index', byte, { vertices: draft.vertexCount });
    }
  }
  draft.postponed = new Uint32Array(0);
  draft.postponedLength = 0;
}

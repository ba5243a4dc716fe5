import type { ByteSource } from '../byteSource.ts';
import {
  fault,
  type Fault,
  type FaultCode,
  type Notice,
  type NoticeCode,
  type Place,
} from '../fault.ts';
import { lineAt } from './textBlocks.ts';

/** The first of a kind of trouble, and how many there were. */
interface Mishap {
  /** null: it is the whole file's. */
  readonly byte: number | null;
  readonly data: Fault['data'];
  count: number;
}

/**
 * A mesh while it is read: arrays that grow, and all that is to be told of it. One object whose fields
 * change, since millions of corners go through it.
 */
export interface ScanDraft {
  /** Bytes that all arrays together may take. */
  readonly most: number;
  /** In the file's own unit. */
  vertices: Float64Array;
  vertexCount: number;
  triangles: Uint32Array;
  triangleCount: number;
  /** Vertex number + 1 by hash, where equal corners become one vertex (weldedVertex.ts). */
  slots: Uint32Array;
  /** The one vertex that stands for all welded corners that are not finite; -1: none so far. */
  notFinite: number;
  /** Corners of the face at hand. */
  corners: Uint32Array;
  /** Faces that name vertices not read yet: byte (two words), number of corners, corners (addedFace.ts). */
  postponed: Uint32Array;
  postponedLength: number;
  /** Bytes that would have been needed where `most` was too little; else 0. */
  lacking: number;
  /** Solids or objects that the file tells apart. */
  parts: number;
  /** Whether the file is one of faces, though it may be cut off before the first. */
  hasFaces: boolean;
  /** Faces the file holds, of any number of corners, whatever became of them. */
  faces: number;
  /** Triangles that faces came to and that were left out while reading. */
  degenerate: number;
  outOfRange: number;
  broken: number;
  readonly faults: Map<FaultCode, Mishap>;
  readonly notices: Notice[];
}

export const scanDraft = (most: number): ScanDraft => ({
  most,
  vertices: new Float64Array(0),
  vertexCount: 0,
  triangles: new Uint32Array(0),
  triangleCount: 0,
  slots: new Uint32Array(0),
  notFinite: -1,
  corners: new Uint32Array(64),
  postponed: new Uint32Array(0),
  postponedLength: 0,
  lacking: 0,
  parts: 0,
  hasFaces: false,
  faces: 0,
  degenerate: 0,
  outOfRange: 0,
  broken: 0,
  faults: new Map(),
  notices: [],
});

/** Slots of a hash table for that many entries: a power of two, at most two thirds full. */
export const slotCount = (entries: number): number =>
  2 ** Math.max(4, Math.ceil(Math.log2(1.5 * entries + 1)));

/** Bytes that a mesh of that many vertices and triangles takes while it is made. */
export const meshBytes = (vertices: number, triangles: number): number =>
  24 * vertices + 12 * triangles + 4 * (slotCount(vertices) + slotCount(triangles));

type Growing = 'vertices' | 'triangles' | 'corners' | 'postponed' | 'slots';

/** Whether `bytes` more than the arrays take can be had; where not, `lacking` tells what would be needed. */
export function isAffordable(draft: ScanDraft, bytes: number): boolean {
  const arrays: readonly Growing[] = ['vertices', 'triangles', 'corners', 'postponed', 'slots'];
  const needed = arrays.reduce((sum, name) => sum + draft[name].byteLength, bytes);
  if (needed > draft.most) draft.lacking = Math.max(draft.lacking, needed);
  return draft.lacking === 0;
}

/** Makes one of the arrays at least that long, keeping what it holds; false where there is no room. */
function makeLength(draft: ScanDraft, name: 'vertices' | Growing, least: number): boolean {
  const old = draft[name];
  if (least <= old.length) return true;
  const length = Math.max(least, 2 * old.length);
  if (!isAffordable(draft, old.BYTES_PER_ELEMENT * length)) return false;
  if (name === 'vertices') {
    draft.vertices = new Float64Array(length);
    draft.vertices.set(old);
  } else {
    draft[name] = new Uint32Array(length);
    draft[name].set(old);
  }
  return true;
}

/** Makes room for more vertices and triangles; false where there is none to be had. */
export const makeRoom = (draft: ScanDraft, vertices: number, triangles: number): boolean =>
  makeLength(draft, 'vertices', 3 * (draft.vertexCount + vertices)) &&
  makeLength(draft, 'triangles', 3 * (draft.triangleCount + triangles));

/** Makes `corners` long enough for a face of that many; false where there is no room to be had. */
export const makeCornerRoom = (draft: ScanDraft, count: number): boolean =>
  makeLength(draft, 'corners', count);

/** Makes `postponed` longer by that much; false where there is no room to be had. */
export const makePostponedRoom = (draft: ScanDraft, words: number): boolean =>
  makeLength(draft, 'postponed', draft.postponedLength + words);

/** Adds a vertex as it is; there is room for it. */
export function addVertex(draft: ScanDraft, x: number, y: number, z: number): void {
  const at = 3 * draft.vertexCount++;
  draft.vertices[at] = x;
  draft.vertices[at + 1] = y;
  draft.vertices[at + 2] = z;
}

/** Adds a triangle as it is; there is room for it. */
export function addTriangle(draft: ScanDraft, a: number, b: number, c: number): void {
  const at = 3 * draft.triangleCount++;
  draft.triangles[at] = a;
  draft.triangles[at + 1] = b;
  draft.triangles[at + 2] = c;
}

/** Tells of a fault at a byte; of each code the first is told in full, and the rest are counted. */
export function addFault(
  draft: ScanDraft,
  code: FaultCode,
  byte: number | null,
  data: Fault['data'] = {},
): void {
  const known = draft.faults.get(code);
  if (known) known.count++;
  else draft.faults.set(code, { byte, data, count: 1 });
}

export function addNotice(
  draft: ScanDraft,
  code: NoticeCode,
  data: Notice['data'],
  place: Place = {},
): void {
  draft.notices.push({ code, place, data });
}

/** The faults of a draft in the order they were met; places are lines of a text, or bytes. */
export function faultsOf(draft: ScanDraft, source: ByteSource, isText: boolean): Fault[] {
  return [...draft.faults].map(([code, { byte, data, count }]) =>
    fault(
      code,
      byte === null ? {} : isText ? { line: lineAt(source, byte) } : { byte },
      count > 1 ? { ...data, further: count - 1 } : data,
    ),
  );
}

import { filledBytes, headOf, type ByteSource } from '../byteSource.ts';
import {
  addFault,
  addNotice,
  addTriangle,
  isAffordable,
  makeRoom,
  meshBytes,
  type ScanDraft,
} from '../scan/scanDraft.ts';
import { makeSlots, weldedVertex } from '../scan/weldedVertex.ts';
import { binaryFacet, binaryHead, statedFacets } from './stlForm.ts';

const facetsAtOnce = 8192;

/**
 * Facets that the bytes hold. Where they hold more than the header states and do not come out even,
 * what follows the stated ones is something else; else the bytes are trusted and the header is not.
 */
function heldFacets(stated: number, bytes: number): number {
  const whole = Math.floor(bytes / binaryFacet);
  return stated > 0 && stated < whole && bytes % binaryFacet !== 0 ? stated : whole;
}

/** Tells where the header and the bytes do not agree. */
function tellOddCounts(draft: ScanDraft, stated: number, found: number, rest: number): void {
  if (stated > found && rest > 0)
    addFault(draft, 'mesh-truncated', binaryHead + found * binaryFacet, {
      what: 'facets',
      read: found,
      expected: stated,
    });
  else {
    if (stated !== found) addNotice(draft, 'mesh-count', { what: 'facets', stated, found });
    if (rest > 0)
      addNotice(
        draft,
        'mesh-bytes-after',
        { bytes: rest },
        { byte: binaryHead + found * binaryFacet },
      );
  }
}

/**
 * Vertices to make room for before `count` facets more are read. Where there is too little, the mesh is
 * less closed than most; then what is read of it tells of the rest, and the array grows but once.
 */
function neededVertices(draft: ScanDraft, count: number, read: number, facets: number): number {
  const most = 3 * count;
  if (3 * (draft.vertexCount + most) <= draft.vertices.length) return most;
  const rest = read > 0 ? ((facets - read) * draft.vertexCount) / read : 0;
  return Math.max(most, Math.min(Math.ceil(1.02 * rest), 3 * (facets - read)));
}

const cornerAt = (draft: ScanDraft, view: DataView, at: number): number =>
  weldedVertex(
    draft,
    view.getFloat32(at, true),
    view.getFloat32(at + 4, true),
    view.getFloat32(at + 8, true),
  );

/** Reads the facets of the binary form of STL into a draft; corners with equal coordinates become one. */
export function readBinaryStl(source: ByteSource, draft: ScanDraft): void {
  draft.hasFaces = true;
  const stated = statedFacets(headOf(source, binaryHead));
  const facets = heldFacets(stated, source.size - binaryHead);
  // A closed mesh has half as many vertices as triangles; one with borders a few more.
  const likely = Math.ceil(0.52 * facets) + 3;
  if (!isAffordable(draft, meshBytes(likely, facets))) return;
  if (!makeSlots(draft, likely) || !makeRoom(draft, likely, facets)) return;
  const block = new Uint8Array(binaryFacet * Math.min(facetsAtOnce, facets));
  const view = new DataView(block.buffer);
  let read = 0;
  while (read < facets) {
    const bytes = filledBytes(
      source,
      block.subarray(0, binaryFacet * Math.min(facetsAtOnce, facets - read)),
      binaryHead + binaryFacet * read,
    );
    const count = Math.floor(bytes / binaryFacet);
    if (count === 0) break;
    const vertices = neededVertices(draft, count, read, facets);
    if (!makeRoom(draft, vertices, count) || !makeSlots(draft, draft.vertexCount + vertices))
      return;
    for (let facet = 0; facet < count; facet++) {
      const at = binaryFacet * facet;
      addTriangle(
        draft,
        cornerAt(draft, view, at + 12),
        cornerAt(draft, view, at + 24),
        cornerAt(draft, view, at + 36),
      );
    }
    read += count;
  }
  draft.faces = read;
  tellOddCounts(draft, stated, read, source.size - binaryHead - binaryFacet * read);
}

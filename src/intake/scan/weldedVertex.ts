import { isAffordable, slotCount, type ScanDraft } from './scanDraft.ts';

const bits = new Float64Array(3);
const words = new Uint32Array(bits.buffer);

/**
 * A number of 32 bits from the bits of a vertex: each word is mixed in by a multiplication, and what
 * stands so far by a shift and another.
 */
function vertexHash(x: number, y: number, z: number): number {
  bits[0] = x;
  bits[1] = y;
  bits[2] = z;
  let h = Math.imul(words[0], 0xcc9e2d51) ^ Math.imul(words[1], 0x1b873593);
  h = Math.imul(h ^ (h >>> 15), 0x85ebca6b) ^ Math.imul(words[2], 0x9e3779b1);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35) ^ Math.imul(words[3], 0x27d4eb2f);
  h = Math.imul(h ^ (h >>> 15), 0x165667b1) ^ Math.imul(words[4], 0x85ebca77);
  h = Math.imul(h ^ (h >>> 13), 0xcc9e2d51) ^ Math.imul(words[5], 0x1b873593);
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
  return (h ^ (h >>> 14)) >>> 0;
}

/** Makes the table of hashes fit for that many vertices; false where there is no room to be had. */
export function makeSlots(draft: ScanDraft, vertices: number): boolean {
  const count = slotCount(vertices);
  if (count <= draft.slots.length) return true;
  // The table is made anew from the vertices, so the old one need not stay.
  draft.slots = new Uint32Array(0);
  if (!isAffordable(draft, 4 * count)) return false;
  const slots = new Uint32Array(count);
  const mask = count - 1;
  const { vertices: known } = draft;
  for (let number = 0; number < draft.vertexCount; number++) {
    if (number === draft.notFinite) continue;
    const at = 3 * number;
    let slot = vertexHash(known[at], known[at + 1], known[at + 2]) & mask;
    while (slots[slot] !== 0) slot = (slot + 1) & mask;
    slots[slot] = number + 1;
  }
  draft.slots = slots;
  return true;
}

/**
 * Number of the vertex with exactly these coordinates, which is added where there is none: equal means
 * equal bits, with 0 and -0 taken as one. No tolerance: how near two points must be to be one is
 * nothing a file says. Corners that are not finite are one vertex, (NaN, NaN, NaN). There is room for
 * the vertex, and slots for it.
 */
export function weldedVertex(draft: ScanDraft, px: number, py: number, pz: number): number {
  // -0 + 0 is 0.
  const x = px + 0;
  const y = py + 0;
  const z = pz + 0;
  const { vertices, slots } = draft;
  if (x - x + (y - y) + (z - z) !== 0) {
    if (draft.notFinite < 0) {
      draft.notFinite = draft.vertexCount++;
      vertices.fill(NaN, 3 * draft.notFinite, 3 * draft.notFinite + 3);
    }
    return draft.notFinite;
  }
  const mask = slots.length - 1;
  let slot = vertexHash(x, y, z) & mask;
  for (let entry = slots[slot]; entry !== 0; entry = slots[slot]) {
    const at = 3 * entry - 3;
    if (vertices[at] === x && vertices[at + 1] === y && vertices[at + 2] === z) return entry - 1;
    slot = (slot + 1) & mask;
  }
  const number = draft.vertexCount++;
  const at = 3 * number;
  vertices[at] = x;
  vertices[at + 1] = y;
  vertices[at + 2] = z;
  slots[slot] = number + 1;
  return number;
}

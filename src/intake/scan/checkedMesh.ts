import type { Mesh } from '../../geometry/mesh.ts';
import { isAffordable, slotCount, type ScanDraft } from './scanDraft.ts';
import type { ScanCounts } from './scanIntake.ts';

/** A coordinate over this many millimetres (1000 km) is a slip of the unit or of the scanner. */
export const farthest = 1e9;

/**
 * A triangle is without area where its height over its longest side is less than this share of that
 * side: far above the rounding of double numbers (1e-16), far below any triangle that is meant.
 */
const leastHeight = 1e-12;

const fine = 0;
const notFinite = 1;
const far = 2;

/** What is wrong with each vertex; null where nothing is with any. Coordinates in millimetres. */
function vertexTroubles(vertices: Float64Array): Uint8Array | null {
  let troubles: Uint8Array | null = null;
  for (let at = 0; at < vertices.length; at += 3) {
    const [x, y, z] = [vertices[at], vertices[at + 1], vertices[at + 2]];
    // Also false for NaN.
    if (Math.abs(x) <= farthest && Math.abs(y) <= farthest && Math.abs(z) <= farthest) continue;
    troubles ??= new Uint8Array(vertices.length / 3);
    troubles[at / 3] = Number.isFinite(x + y + z) ? far : notFinite;
  }
  return troubles;
}

const counted = (troubles: Uint8Array | null, kind: number): number =>
  troubles?.reduce((sum, trouble) => sum + (trouble === kind ? 1 : 0), 0) ?? 0;

/** Whether three corners give a triangle with an area. */
function hasArea(vertices: Float64Array, a: number, b: number, c: number): boolean {
  const [p, q, r] = [3 * a, 3 * b, 3 * c];
  const ux = vertices[q] - vertices[p];
  const uy = vertices[q + 1] - vertices[p + 1];
  const uz = vertices[q + 2] - vertices[p + 2];
  const vx = vertices[r] - vertices[p];
  const vy = vertices[r + 1] - vertices[p + 1];
  const vz = vertices[r + 2] - vertices[p + 2];
  const [wx, wy, wz] = [vx - ux, vy - uy, vz - uz];
  const x = uy * vz - uz * vy;
  const y = uz * vx - ux * vz;
  const z = ux * vy - uy * vx;
  const longest = Math.max(
    ux * ux + uy * uy + uz * uz,
    vx * vx + vy * vy + vz * vz,
    wx * wx + wy * wy + wz * wz,
  );
  // Not the length of the product: its square would vanish where the product does not.
  return Math.max(Math.abs(x), Math.abs(y), Math.abs(z)) > leastHeight * longest;
}

/** A number of 32 bits from three vertex numbers that come in order. */
function cornersHash(low: number, middle: number, high: number): number {
  let h = Math.imul(low, 0x9e3779b1) ^ Math.imul(middle, 0x85ebca77);
  h = Math.imul(h ^ (h >>> 15), 0xc2b2ae3d) ^ Math.imul(high, 0x27d4eb2f);
  h = Math.imul(h ^ (h >>> 13), 0x165667b1);
  return (h ^ (h >>> 16)) >>> 0;
}

/**
 * Slots beside each other that a triangle is looked for in by its lowest corner, before its hash tells
 * where to go on. Triangles that follow each other share corners: most are found in memory that has
 * just been used.
 */
const nearSlots = 3;

/**
 * Moves the triangles that stay to the front of `triangles`, in their order; gives how many they are
 * and how many went, by reason.
 */
function keptTriangles(
  vertices: Float64Array,
  triangles: Uint32Array,
  troubles: Uint8Array | null,
): Pick<ScanCounts, 'triangles' | 'degenerate' | 'duplicate' | 'broken'> {
  const slots = new Uint32Array(slotCount(triangles.length / 3));
  const mask = slots.length - 1;
  let [kept, degenerate, duplicate, broken] = [0, 0, 0, 0];
  /** Whether no triangle before has these corners; if so it is entered as the next that stays. */
  function isNew(a: number, b: number, c: number): boolean {
    const low = Math.min(a, b, c);
    const high = Math.max(a, b, c);
    const middle = a + b + c - low - high;
    let slot = (nearSlots * low) & mask;
    let tries = 0;
    for (let entry = slots[slot]; entry !== 0; entry = slots[slot]) {
      const at = 3 * entry - 3;
      const p = triangles[at];
      const q = triangles[at + 1];
      const r = triangles[at + 2];
      if (p + q + r === a + b + c && Math.min(p, q, r) === low && Math.max(p, q, r) === high)
        return false;
      slot = (++tries === nearSlots ? cornersHash(low, middle, high) : slot + 1) & mask;
    }
    slots[slot] = kept + 1;
    return true;
  }
  for (let at = 0; at < triangles.length; at += 3) {
    const [a, b, c] = [triangles[at], triangles[at + 1], triangles[at + 2]];
    if (troubles !== null && troubles[a] + troubles[b] + troubles[c] !== fine) broken++;
    else if (a === b || b === c || c === a || !hasArea(vertices, a, b, c)) degenerate++;
    else if (isNew(a, b, c)) {
      triangles[3 * kept] = a;
      triangles[3 * kept + 1] = b;
      triangles[3 * kept + 2] = c;
      kept++;
    } else duplicate++;
  }
  return { triangles: kept, degenerate, duplicate, broken };
}

/**
 * Moves the vertices that stay to the front of `vertices`, in their order, and numbers the corners of
 * `triangles` anew; gives how many stay. With triangles their corners stay, else all that are sound.
 */
function keptVertices(
  vertices: Float64Array,
  triangles: Uint32Array,
  troubles: Uint8Array | null,
  areAlone: boolean,
): number {
  const count = vertices.length / 3;
  // First whether a vertex stays (1), then its new number.
  const numbers = new Uint32Array(count);
  if (areAlone) numbers.fill(1);
  for (let k = 0; k < triangles.length; k++) numbers[triangles[k]] = 1;
  let kept = 0;
  for (let number = 0; number < count; number++) {
    if (numbers[number] === 0 || (troubles !== null && troubles[number] !== fine)) continue;
    vertices.copyWithin(3 * kept, 3 * number, 3 * number + 3);
    numbers[number] = kept++;
  }
  if (kept < count) for (let k = 0; k < triangles.length; k++) triangles[k] = numbers[triangles[k]];
  return kept;
}

/** The array up to `length`; of its own size, unless little is left over, which is no copy worth. */
const trimmed = <T extends Float64Array | Uint32Array>(array: T, length: number): T =>
  (length < 0.8 * array.length ? array.slice(0, length) : array.subarray(0, length)) as T;

/**
 * The one gate every mesh passes: what a draft holds, in millimetres, without vertices that are not
 * finite or too far, without triangles that have such a corner, no area, or the corners of one before;
 * and without vertices that no triangle uses, unless the file holds points alone. All that is left out
 * is counted. Null where there is no room for it (`draft.lacking`), or no triangle and no point stays.
 * The draft's arrays are used up.
 */
export function checkedMesh(
  draft: ScanDraft,
  millimetres: number,
): { readonly mesh: Mesh | null; readonly counts: ScanCounts } | null {
  if (!isAffordable(draft, 4 * (slotCount(draft.triangleCount) + draft.vertexCount))) return null;
  draft.slots = new Uint32Array(0);
  const vertices = draft.vertices.subarray(0, 3 * draft.vertexCount);
  if (millimetres !== 1) for (let at = 0; at < vertices.length; at++) vertices[at] *= millimetres;
  const troubles = vertexTroubles(vertices);
  const all = draft.triangles.subarray(0, 3 * draft.triangleCount);
  const found = keptTriangles(vertices, all, troubles);
  const triangles = all.subarray(0, 3 * found.triangles);
  const kept = keptVertices(vertices, triangles, troubles, !draft.hasFaces);
  const bad = { notFinite: counted(troubles, notFinite), far: counted(troubles, far) };
  const mesh = {
    vertices: trimmed(draft.vertices, 3 * kept),
    triangles: trimmed(draft.triangles, triangles.length),
  };
  return {
    mesh: kept > 0 ? mesh : null,
    counts: {
      vertices: kept,
      triangles: found.triangles,
      parts: Math.max(1, draft.parts),
      faces: draft.faces,
      degenerate: draft.degenerate + found.degenerate,
      duplicate: found.duplicate,
      outOfRange: draft.outOfRange,
      broken: draft.broken + found.broken,
      ...bad,
      unused: draft.vertexCount - kept - bad.notFinite - bad.far,
    },
  };
}

import { createHash, type Hash } from 'node:crypto';
import { bytePieces } from './scanBodyBytes.ts';
import type { ScanBody } from './scanBody.ts';
import { hashLength, headLength, readHead } from './scanBodyHead.ts';
import {
  branchSize,
  branchWords,
  childCount,
  leafCount,
  leafFirst,
  linkWord,
  noChild,
  treeBranches,
} from './treeBranches.ts';
import type { TriangleTree } from './triangleTree.ts';

/** Bytes that are at hand elsewhere, in a file for one. */
interface Stored {
  readonly size: number;
  /** Reads from byte `at` on into `into`, and gives how many bytes it read; 0 at the end. */
  readonly read: (into: Uint8Array, at: number) => number;
}

/** Fills an array with the bytes from `at` on, and adds them to a sum; whether there are so many. */
function isFilled(
  array: ArrayBufferView,
  { read }: Stored,
  at: number,
  hash: Hash | null,
): boolean {
  let from = at;
  for (const piece of bytePieces(array)) {
    for (let done = 0; done < piece.length;) {
      const more = read(piece.subarray(done), from + done);
      if (!(more > 0)) return false;
      done += more;
    }
    hash?.update(piece);
    from += piece.length;
  }
  return true;
}

/**
 * How many branches lie under each other, at most; null where the links are not those of a tree, or lead
 * to what is not there.
 */
function levelsOf({ words }: TriangleTree['branches'], triangles: number): number | null {
  const count = words.length / branchWords;
  // 0: no branch before led to it
  const levels = new Uint32Array(count);
  levels[0] = 1;
  let most = 1;
  for (let branch = 0; branch < count; branch++) {
    if (levels[branch] === 0) return null;
    for (let child = 0; child < childCount; child++) {
      const link = words[branchWords * branch + linkWord + child];
      if (link === noChild) continue;
      if (link < 0) {
        if (leafCount(link) === 0 || leafFirst(link) + leafCount(link) > triangles) return null;
      } else {
        if (link <= branch || link >= count || levels[link] !== 0) return null;
        levels[link] = levels[branch] + 1;
        most = Math.max(most, levels[link]);
      }
    }
  }
  return most;
}

/**
 * The scan body that `scanBodyBytes` made bytes of, for a scan with this SHA-256, in memory that workers
 * can look at as well. Null where the bytes are not whole, not of this version, of this scan and as they
 * were made; so nothing is believed that was damaged or is something else. Room is only made for what is
 * there. Throws only what `read` throws.
 */
export function storedScanBody(stored: Stored, scan: Uint8Array): ScanBody | null {
  const top = new Uint8Array(headLength);
  if (stored.size < headLength || !isFilled(top, stored, 0, null)) return null;
  const head = readHead(top, scan);
  if (!head) return null;
  const lengths = [8 * head.vertices, 4 * head.triangles, branchSize * head.branches];
  if (stored.size !== lengths.reduce((a, b) => a + b, headLength)) return null;
  const hash = createHash('sha256').update(top.subarray(0, headLength - hashLength));
  const vertices = new Float64Array(new SharedArrayBuffer(lengths[0]));
  const triangles = new Uint32Array(new SharedArrayBuffer(lengths[1]));
  const branches = treeBranches(new SharedArrayBuffer(lengths[2]), head.branches);
  let at = headLength;
  for (const array of [vertices, triangles, branches.bytes]) {
    if (!isFilled(array, stored, at, hash)) return null;
    at += array.byteLength;
  }
  const sum = hash.digest();
  if (!sum.equals(top.subarray(headLength - hashLength))) return null;
  const levels = levelsOf(branches, head.triangles / 3);
  if (levels === null || triangles.some((vertex) => 3 * vertex >= head.vertices)) return null;
  const { kind, spacing, box } = head;
  return { kind, spacing, tree: { mesh: { vertices, triangles }, box, branches, levels } };
}

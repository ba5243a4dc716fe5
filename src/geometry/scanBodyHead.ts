import type { ScanBody } from './scanBody.ts';
import { branchWords } from './treeBranches.ts';
import type { Vector } from './vector.ts';

/** What stands before the arrays of a stored scan body. */
export interface ScanBodyHead {
  readonly kind: ScanBody['kind'];
  /** How many numbers the vertices and the triangles are, and how many branches the tree has. */
  readonly vertices: number;
  readonly triangles: number;
  readonly branches: number;
  readonly spacing: number;
  readonly box: { readonly low: Vector; readonly high: Vector };
}

/**
 * Bytes of the head: a mark of 16; the version of all this and the kind, 32 bits each; from 24 on the
 * counts, the spacing and the corners of the box, 64-bit floats; SHA-256 of the scan that the body was
 * made of; and, at its end, of all else that is stored. Numbers are in the byte order of the machine: to
 * a machine with the other order it is the head of another version.
 */
export const headLength = 168;
export const hashLength = 32;
const hashesAt = headLength - 2 * hashLength;

const mark = new TextEncoder().encode('hullsight scan\r\n');
const version = 1;
const kinds = ['mesh', 'cloud'] as const;

export const headOf = ({ kind, tree, spacing }: ScanBody): ScanBodyHead => ({
  kind,
  vertices: tree.mesh.vertices.length,
  triangles: tree.mesh.triangles.length,
  branches: tree.branches.words.length / branchWords,
  spacing,
  box: tree.box,
});

/** The bytes of a head, but for the sum over all at its end. `scan`: SHA-256 of the scan. */
export function headBytes(head: ScanBodyHead, scan: Uint8Array): Uint8Array {
  const { kind, vertices, triangles, branches, spacing, box } = head;
  const bytes = new Uint8Array(headLength);
  bytes.set(mark);
  new Uint32Array(bytes.buffer, mark.length, 2).set([version, kinds.indexOf(kind)]);
  new Float64Array(bytes.buffer, 24, 10).set([
    vertices,
    triangles,
    branches,
    spacing,
    ...box.low,
    ...box.high,
  ]);
  bytes.set(scan.subarray(0, hashLength), hashesAt);
  return bytes;
}

const isCount = (value: number): boolean => Number.isSafeInteger(value) && value > 0;

/** What bytes tell that `headBytes` made for this scan; null where they are none, or of another scan. */
export function readHead(bytes: Uint8Array, scan: Uint8Array): ScanBodyHead | null {
  if (bytes.length < headLength) return null;
  const own = Uint8Array.from(bytes.subarray(0, headLength));
  const [, kind] = new Uint32Array(own.buffer, mark.length, 2);
  const numbers = Array.from(new Float64Array(own.buffer, 24, 10));
  const [vertices, triangles, branches, spacing, a, b, c, d, e, f] = numbers;
  if (kind >= kinds.length || ![vertices, triangles, branches].every(isCount)) return null;
  const head: ScanBodyHead = {
    kind: kinds[kind],
    vertices,
    triangles,
    branches,
    spacing,
    box: { low: [a, b, c], high: [d, e, f] },
  };
  const same = headBytes(head, scan).subarray(0, headLength - hashLength);
  return same.every((byte, k) => byte === own[k]) ? head : null;
}

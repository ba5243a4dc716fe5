import { createHash } from 'node:crypto';
import type { ScanBody } from './scanBody.ts';
import { hashLength, headBytes, headLength, headOf } from './scanBodyHead.ts';

/** Bytes that are handed on at once: no file and no sum takes more than 2 GB. */
const pieceLength = 2 ** 26;

/** The bytes of an array in pieces, not copied. */
export function bytePieces({ buffer, byteOffset, byteLength }: ArrayBufferView): Uint8Array[] {
  const pieces: Uint8Array[] = [];
  for (let at = 0; at < byteLength; at += pieceLength)
    pieces.push(new Uint8Array(buffer, byteOffset + at, Math.min(pieceLength, byteLength - at)));
  return pieces;
}

/**
 * A scan body as bytes to be kept in a file beside its scan, in pieces that follow each other; read back
 * by `storedScanBody`. `scan`: SHA-256 of the scan's own file, 32 bytes. First a head (scanBodyHead.ts),
 * then the vertices, the triangles and the branches of the tree, as they stand in memory.
 */
export function scanBodyBytes(body: ScanBody, scan: Uint8Array): Uint8Array[] {
  const { mesh, branches } = body.tree;
  const head = headBytes(headOf(body), scan);
  const rest = [mesh.vertices, mesh.triangles, branches.bytes].flatMap(bytePieces);
  const hash = createHash('sha256').update(head.subarray(0, headLength - hashLength));
  for (const piece of rest) hash.update(piece);
  head.set(hash.digest(), headLength - hashLength);
  return [head, ...rest];
}

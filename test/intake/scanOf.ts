import type { Mesh } from '../../src/geometry/mesh.ts';
import { bufferSource, type ByteSource } from '../../src/intake/byteSource.ts';
import { readScan, type ScanOptions } from '../../src/intake/readScan.ts';
import type { ScanIntake } from '../../src/intake/scan/scanIntake.ts';

/** What the reader makes of a file of that name with those bytes. */
export const scanOf = (
  name: string,
  content: Uint8Array | string,
  options: Partial<ScanOptions> = {},
): ScanIntake =>
  readScan(
    name,
    bufferSource(typeof content === 'string' ? Buffer.from(content, 'latin1') : content),
    {
      millimetres: 1,
      most: 2 ** 30,
      ...options,
    },
  );

/** A source that gives a few bytes at a time, as a slow disk may. */
export const slowSource = (bytes: Uint8Array, few: number): ByteSource => {
  const { size, read } = bufferSource(bytes);
  return { size, read: (into, at) => read(into.subarray(0, few), at) };
};

/** Coordinates of the corners of a mesh, triangle by triangle. */
export const soupOf = ({ vertices, triangles }: Mesh): number[] =>
  Array.from(triangles).flatMap((corner) =>
    Array.from(vertices.subarray(3 * corner, 3 * corner + 3)),
  );

/** Whether two meshes have the same corners, triangle by triangle, to the last bit. */
export const isSameSoup = (a: Mesh, b: Mesh): boolean =>
  Buffer.from(Float64Array.from(soupOf(a)).buffer).equals(
    Buffer.from(Float64Array.from(soupOf(b)).buffer),
  );

/** Area of a mesh. */
export function areaOf(mesh: Mesh): number {
  return eachTriangle(mesh, (n) => Math.hypot(...n) / 2);
}

/** Volume inside a closed mesh whose front is outward (divergence theorem). */
export function volumeOf(mesh: Mesh): number {
  return eachTriangle(mesh, (n, a) => (n[0] * a[0] + n[1] * a[1] + n[2] * a[2]) / 6);
}

/** Sum over all triangles of a measure of (b - a) x (c - a) and a. */
export function eachTriangle(
  mesh: Mesh,
  measure: (normal: readonly number[], a: readonly number[]) => number,
): number {
  const soup = soupOf(mesh);
  let sum = 0;
  for (let at = 0; at < soup.length; at += 9) {
    const [ax, ay, az, bx, by, bz, cx, cy, cz] = soup.slice(at, at + 9);
    const [ux, uy, uz] = [bx - ax, by - ay, bz - az];
    const [vx, vy, vz] = [cx - ax, cy - ay, cz - az];
    sum += measure([uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx], [ax, ay, az]);
  }
  return sum;
}

import type { Vector } from './vector.ts';

/**
 * A scan: triangles over shared vertices, or points alone. Flat arrays, since a scan may hold millions
 * of either. Coordinates are millimetres: STL, PLY and OBJ state no unit, so what a file holds is
 * taken as millimetres unless the reader is told how many millimetres its unit is. Every number is
 * finite, every vertex of a mesh with triangles is a corner of one, no triangle is without area.
 */
export interface Mesh {
  /** x, y, z of one vertex after the other. */
  readonly vertices: Float64Array;
  /** Three vertex numbers a triangle, counterclockwise seen from its front; empty: points alone. */
  readonly triangles: Uint32Array;
}

/** The mesh with its vertices in memory that workers can look at as well. */
export function sharedMesh(mesh: Mesh): Mesh {
  if (mesh.vertices.buffer instanceof SharedArrayBuffer) return mesh;
  const vertices = new Float64Array(new SharedArrayBuffer(mesh.vertices.byteLength));
  vertices.set(mesh.vertices);
  return { ...mesh, vertices };
}

/** Several meshes as one, their vertices and triangles one after the other. */
export function gatheredMesh(meshes: readonly Mesh[]): Mesh {
  if (meshes.length === 1) return meshes[0];
  const sizes = meshes.map(({ vertices, triangles }) => [vertices.length, triangles.length]);
  const total = (k: number): number => sizes.reduce((sum, size) => sum + size[k], 0);
  const vertices = new Float64Array(total(0));
  const triangles = new Uint32Array(total(1));
  let [vertex, corner] = [0, 0];
  for (const mesh of meshes) {
    vertices.set(mesh.vertices, vertex);
    for (let k = 0; k < mesh.triangles.length; k++)
      triangles[corner + k] = mesh.triangles[k] + vertex / 3;
    vertex += mesh.vertices.length;
    corner += mesh.triangles.length;
  }
  return { vertices, triangles };
}

/** Least and greatest coordinates of a mesh that has vertices, mm. */
export function meshBox({ vertices }: Mesh): { readonly low: Vector; readonly high: Vector } {
  const low: [number, number, number] = [Infinity, Infinity, Infinity];
  const high: [number, number, number] = [-Infinity, -Infinity, -Infinity];
  for (let at = 0; at < vertices.length; at += 3)
    for (let axis = 0; axis < 3; axis++) {
      const value = vertices[at + axis];
      if (value < low[axis]) low[axis] = value;
      if (value > high[axis]) high[axis] = value;
    }
  return { low, high };
}

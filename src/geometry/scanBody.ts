import type { Mesh } from './mesh.ts';
import { nearestPoints } from './nearestPoints.ts';
import { triangleTree, type TriangleTree } from './triangleTree.ts';
import { distance, vectorAt } from './vector.ts';

/** A scan that can be asked for what is nearest: plain data, so that it can be handed to a worker. */
export interface ScanBody {
  /** Whether it has triangles, or is a cloud of points: then each point stands in the tree as a triangle whose corners are all that point. */
  readonly kind: 'mesh' | 'cloud';
  readonly tree: TriangleTree;
  /** Median length of the triangles' edges, or the side of the square that a point of a cloud has for itself, mm. */
  readonly spacing: number;
}

/** Edges looked at for the median: evenly over the whole mesh. */
const mostEdges = 30_000;

function medianEdge({ vertices, triangles }: Mesh): number {
  const step = Math.max(1, Math.floor(triangles.length / mostEdges));
  const lengths: number[] = [];
  for (let at = 0; at < triangles.length; at += step) {
    const next = at % 3 === 2 ? at - 2 : at + 1;
    lengths.push(distance(vectorAt(vertices, triangles[at]), vectorAt(vertices, triangles[next])));
  }
  return lengths.sort((a, b) => a - b)[lengths.length >> 1];
}

/** Points of a cloud looked at for its spacing, */
const mostPoints = 1000;
/** by the distance of the so many-th that is nearest to each: as many squares fill the circle about it. */
const nearby = 12;

function cloudSpacing(tree: TriangleTree): number {
  const { vertices } = tree.mesh;
  const count = vertices.length / 3;
  const step = Math.max(1, Math.floor(count / mostPoints));
  const radii: number[] = [];
  for (let k = 0; k < count; k += step) {
    const place = vectorAt(vertices, k);
    const near = nearestPoints(tree, place, nearby + 1);
    const last = vectorAt(vertices, near[near.length - 1]);
    radii.push(distance(place, last) * Math.sqrt(Math.PI / Math.max(1, near.length - 1)));
  }
  return radii.sort((a, b) => a - b)[radii.length >> 1];
}

/** A mesh made ready: by its triangles, or, where it has none, as a cloud of points. */
export function scanBody(mesh: Mesh): ScanBody {
  if (mesh.triangles.length > 0)
    return { kind: 'mesh', tree: triangleTree(mesh), spacing: medianEdge(mesh) };
  const { vertices } = mesh;
  const points = new Uint32Array(vertices.length);
  for (let k = 0; k < points.length; k++) points[k] = Math.floor(k / 3);
  const tree = triangleTree({ vertices, triangles: points });
  return { kind: 'cloud', tree, spacing: cloudSpacing(tree) };
}

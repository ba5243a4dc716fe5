import type { Mesh } from './mesh.ts';
import { triangleTree, type TriangleTree } from './triangleTree.ts';

/** A scan that can be asked for what is nearest: plain data, so that it can be handed to a worker. */
export interface ScanBody {
  readonly tree: TriangleTree;
  /** Median length of the triangles' edges, mm. */
  readonly spacing: number;
}

/** Edges looked at for the median: evenly over the whole mesh. */
const mostEdges = 30_000;

function medianEdge({ vertices, triangles }: Mesh): number {
  const step = Math.max(1, Math.floor(triangles.length / mostEdges));
  const lengths: number[] = [];
  for (let at = 0; at < triangles.length; at += step) {
    const next = at % 3 === 2 ? at - 2 : at + 1;
    const [a, b] = [3 * triangles[at], 3 * triangles[next]];
    lengths.push(
      Math.hypot(
        vertices[a] - vertices[b],
        vertices[a + 1] - vertices[b + 1],
        vertices[a + 2] - vertices[b + 2],
      ),
    );
  }
  return lengths.sort((a, b) => a - b)[lengths.length >> 1];
}

/** A mesh with triangles, made ready. */
export const scanBody = (mesh: Mesh): ScanBody => ({
  tree: triangleTree(mesh),
  spacing: medianEdge(mesh),
});

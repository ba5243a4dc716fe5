import { closestPoints } from './closestPoints.ts';
import type { ScanBody } from './scanBody.ts';

/** How a place stands to a scan. */
export const scanStandings = {
  /** The scan lies behind it. */
  over: 0,
  /** What is nearest is a border of the scan (of its outline or of a hole), and the place lies beside it. */
  beside: 1,
  /** Nothing lies within reach. */
  far: 2,
} as const;

/** What of a scan is nearest to some places, in flat arrays. */
export interface ScanFeet {
  /** x, y, z of each foot, mm; NaN where nothing lies within reach. */
  readonly points: Float64Array;
  /** mm, positive in front of the scan's triangles; NaN where nothing lies within reach. */
  readonly distances: Float64Array;
  /** Unit normals of the scan at the feet, three numbers each; NaN where nothing lies within reach. */
  readonly normals: Float64Array;
  /** Of scanStandings. */
  readonly standings: Uint8Array;
}

/** The feet on a scan of places (x, y, z one after the other, mm) within `reach` mm. */
export function scanFeet({ tree }: ScanBody, places: Float64Array, reach: number): ScanFeet {
  const { points, distances, triangles } = closestPoints(tree, places, reach);
  const { vertices, triangles: corners } = tree.mesh;
  const count = distances.length;
  const normals = new Float64Array(3 * count).fill(NaN);
  const standings = new Uint8Array(count);
  for (let k = 0; k < count; k++) {
    if (triangles[k] < 0) {
      standings[k] = scanStandings.far;
      distances[k] = NaN;
      continue;
    }
    const [a, b, c] = [0, 1, 2].map((corner) => 3 * corners[3 * triangles[k] + corner]);
    const [ux, uy, uz] = [0, 1, 2].map((axis) => vertices[b + axis] - vertices[a + axis]);
    const [vx, vy, vz] = [0, 1, 2].map((axis) => vertices[c + axis] - vertices[a + axis]);
    const normal = [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx];
    const size = Math.hypot(...normal);
    let side = 0;
    for (let axis = 0; axis < 3; axis++) {
      normals[3 * k + axis] = normal[axis] / size;
      side += normal[axis] * (places[3 * k + axis] - points[3 * k + axis]);
    }
    if (side < 0) distances[k] = -distances[k];
  }
  return { points, distances, normals, standings };
}

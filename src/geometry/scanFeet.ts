import { closestPoints, features } from './closestPoints.ts';
import { cloudFoot } from './cloudFoot.ts';
import { meshSurround, type MeshSurround } from './meshSurround.ts';
import type { ScanBody } from './scanBody.ts';
import type { TriangleTree } from './triangleTree.ts';
import {
  axes,
  cross,
  difference,
  dot,
  length,
  scaled,
  unit,
  vectorAt,
  type Vector,
} from './vector.ts';

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

const firstEdge = features.indexOf('edge-0');
const firstCorner = features.indexOf('corner-0');

/**
 * A place is beside the scan where it lies off its border by more than this share of its distance: up
 * to there the distance to the border is at most half a percent longer than one square to the scan
 * would be, and the triangles' planes lean by about as much (an edge of 10 mm where the scan's radius
 * is 50 mm).
 */
const sidewaysShare = 0.1;

/** The same, in edges of the scan: less is rounding of the place itself. */
const sidewaysEdges = 1e-6;

/** The mesh about the closest point of a triangle, by its index in `features`. */
function surroundOf(tree: TriangleTree, triangle: number, feature: number): MeshSurround {
  const { vertices, triangles } = tree.mesh;
  const corner = (k: number): number => triangles[3 * triangle + (k % 3)];
  if (feature >= firstCorner) return meshSurround(tree, corner(feature - firstCorner), null);
  if (feature >= firstEdge)
    return meshSurround(tree, corner(feature - firstEdge), corner(feature - firstEdge + 1));
  const [a, b, c] = [0, 1, 2].map((k) => vectorAt(vertices, corner(k)));
  return { normal: unit(cross(difference(b, a), difference(c, a))), ways: [] };
}

/** The feet on a mesh; as `scanFeet`. */
function meshFeet({ tree, spacing }: ScanBody, places: Float64Array, reach: number): ScanFeet {
  const { points, distances, triangles, features: kinds } = closestPoints(tree, places, reach);
  const count = distances.length;
  const normals = new Float64Array(3 * count).fill(NaN);
  const standings = new Uint8Array(count);
  for (let k = 0; k < count; k++) {
    if (triangles[k] < 0) {
      standings[k] = scanStandings.far;
      distances[k] = NaN;
      continue;
    }
    const away = difference(vectorAt(places, k), vectorAt(points, k));
    const surround = surroundOf(tree, triangles[k], kinds[k]);
    const normal: Vector =
      surround.normal ?? surroundOf(tree, triangles[k], 0).normal ?? unit(away) ?? axes.z;
    normals.set(normal, 3 * k);
    const sideways = Math.max(0, ...surround.ways.map((way) => dot(way, away)));
    if (sideways > Math.max(sidewaysShare * length(away), sidewaysEdges * spacing))
      standings[k] = scanStandings.beside;
    if (dot(normal, away) < 0) distances[k] = -distances[k];
  }
  return { points, distances, normals, standings };
}

/** The feet on a cloud of points; as `scanFeet`. */
function cloudFeet(
  { tree, spacing }: ScanBody,
  places: Float64Array,
  reach: number,
  toward: Float64Array | null,
): ScanFeet {
  const count = Math.floor(places.length / 3);
  const feet = {
    points: new Float64Array(3 * count).fill(NaN),
    distances: new Float64Array(count).fill(NaN),
    normals: new Float64Array(3 * count).fill(NaN),
    standings: new Uint8Array(count).fill(scanStandings.far),
  };
  for (let k = 0; k < count; k++) {
    const place = vectorAt(places, k);
    const foot = place.every(Number.isFinite) ? cloudFoot(tree, spacing, place, reach) : null;
    if (!foot) continue;
    const away = difference(place, foot.point);
    const isTurned = dot(foot.normal, toward ? vectorAt(toward, k) : away) < 0;
    const normal = isTurned ? scaled(foot.normal, -1) : foot.normal;
    feet.points.set(foot.point, 3 * k);
    feet.distances[k] = dot(away, normal);
    feet.normals.set(normal, 3 * k);
    feet.standings[k] = foot.isBeside ? scanStandings.beside : scanStandings.over;
  }
  return feet;
}

/**
 * The feet on a scan of places (x, y, z one after the other, mm) within `reach` mm.
 *
 * On a mesh the sign of a distance is that of the place's side of the pseudo-normal at the foot, right
 * wherever triangles that meet are turned alike; where they are not, and their normals cancel out, the
 * first of the triangles that are nearest is believed. Where a triangle's corner lies within another's
 * edge, not on its corner, the edge counts as a border.
 *
 * A cloud of points has no front: its normals are turned to the side of `toward` (three numbers a
 * place), else each to its place, so that no distance is negative. What a cloud can tell, see
 * cloudFoot.ts; a place over which no plane can be laid is far.
 */
export const scanFeet = (
  body: ScanBody,
  places: Float64Array,
  reach: number,
  toward: Float64Array | null = null,
): ScanFeet =>
  body.kind === 'mesh' ? meshFeet(body, places, reach) : cloudFeet(body, places, reach, toward);

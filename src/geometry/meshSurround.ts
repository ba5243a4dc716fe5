import { leavesWithin } from './leavesWithin.ts';
import type { TriangleTree } from './triangleTree.ts';
import {
  angleBetween,
  cross,
  difference,
  length,
  scaled,
  squareTo,
  sum,
  unit,
  vectorAt,
  type Vector,
} from './vector.ts';

/** What a mesh is like about a place on one of its edges or corners. */
export interface MeshSurround {
  /** Its pseudo-normal there, of length 1; null where its triangles have none, or theirs cancel out. */
  readonly normal: Vector | null;
  /** Unit vectors along the mesh that lead off it there; none where it has no border there. */
  readonly ways: readonly Vector[];
}

/** An edge from the corner that is looked at, as one of its triangles has it. Corners are vertex numbers. */
interface Spoke {
  readonly end: number;
  /** The triangle's third corner. */
  readonly third: number;
  /** Whether the end follows the corner, counterclockwise; else it comes before it. */
  readonly isNext: boolean;
}

/** Below 0, 0 or above: the order of two vertices by their coordinates; 0 where they lie in one place. */
function vertexOrder(vertices: Float64Array, a: number, b: number): number {
  if (a === b) return 0;
  return (
    vertices[3 * a] - vertices[3 * b] ||
    vertices[3 * a + 1] - vertices[3 * b + 1] ||
    vertices[3 * a + 2] - vertices[3 * b + 2]
  );
}

/**
 * The spokes of all triangles that have a corner where a vertex lies, in order of their ends' places, of
 * the same place in order of the third corners'; with `end`, only those that end where it lies. A
 * triangle that is there twice gives its spokes once.
 */
function spokesAbout(tree: TriangleTree, corner: number, end: number | null): Spoke[] {
  const { vertices, triangles } = tree.mesh;
  const spokes: Spoke[] = [];
  const add = (spoke: Spoke): void => {
    if (end === null || vertexOrder(vertices, spoke.end, end) === 0) spokes.push(spoke);
  };
  leavesWithin(tree, vectorAt(vertices, corner), 0, (first, count) => {
    for (let at = 3 * first; at < 3 * (first + count); at += 3)
      for (let k = 0; k < 3; k++) {
        if (vertexOrder(vertices, triangles[at + k], corner) !== 0) continue;
        const next = triangles[at + ((k + 1) % 3)];
        const last = triangles[at + ((k + 2) % 3)];
        add({ end: next, third: last, isNext: true });
        add({ end: last, third: next, isNext: false });
      }
  });
  const order = (a: Spoke, b: Spoke): number =>
    vertexOrder(vertices, a.end, b.end) ||
    vertexOrder(vertices, a.third, b.third) ||
    Number(a.isNext) - Number(b.isNext);
  spokes.sort(order);
  return spokes.filter((spoke, k) => k === 0 || order(spokes[k - 1], spoke) !== 0);
}

/**
 * The surround of a vertex, or of the edge between two. Its triangles are those with corners in the same
 * places, whether they share vertices or have their own.
 *
 * The pseudo-normal is the sum of the triangles' unit normals, each times the angle by which the
 * triangle surrounds the place: pi on an edge, the corner's angle on a corner. For a closed mesh without
 * crossings its product with the way from the foot to a place has the sign of the side on which the
 * place lies, which holds for no other sum of normals (Baerentzen and Aanaes 2005, Signed distance
 * computation using the angle weighted pseudonormal, IEEE TVCG 11(3), section 4).
 *
 * An edge is a border where all its triangles have their third corner in one place.
 */
export function meshSurround(tree: TriangleTree, corner: number, end: number | null): MeshSurround {
  const { vertices } = tree.mesh;
  const here = vectorAt(vertices, corner);
  const from = (vertex: number): Vector => difference(vectorAt(vertices, vertex), here);
  const spokes = spokesAbout(tree, corner, end);
  let normal: Vector = [0, 0, 0];
  let weights = 0;
  let inward: Vector = [0, 0, 0];
  const ways: Vector[] = [];
  for (let first = 0, after = 0; first < spokes.length; first = after) {
    const along = from(spokes[first].end);
    while (
      after < spokes.length &&
      vertexOrder(vertices, spokes[after].end, spokes[first].end) === 0
    ) {
      const { third, isNext } = spokes[after++];
      // on a corner each triangle has two spokes
      if (end === null && !isNext) continue;
      const other = from(third);
      const own = unit(isNext ? cross(along, other) : cross(other, along));
      const angle = end === null ? angleBetween(along, other) : Math.PI;
      if (!own) continue;
      normal = sum(normal, scaled(own, angle));
      weights += angle;
    }
    const { third } = spokes[first];
    if (vertexOrder(vertices, third, spokes[after - 1].third) !== 0) continue;
    const direction = unit(along);
    const way = direction && unit(scaled(squareTo(from(third), direction), -1));
    if (!way) continue;
    ways.push(way);
    inward = sum(inward, direction);
  }
  // what is left of normals that cancel out is rounding
  const whole = length(normal) > 1e-9 * weights ? unit(normal) : null;
  // the ways off the two sides of a sharp tip may all but oppose each other: what leads off it for
  // certain is the way between
  if (end === null && ways.length === 2 && whole) {
    const tip = squareTo(scaled(inward, -1), whole);
    if (length(tip) > 1) ways.push(scaled(tip, 1 / length(tip)));
  }
  return { normal: whole, ways };
}

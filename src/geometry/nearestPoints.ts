import { putChildSquares } from './childSquares.ts';
import {
  branchWords,
  childCount,
  leafCount,
  leafFirst,
  linkWord,
  noChild,
} from './treeBranches.ts';
import { treeGrain, type TriangleTree } from './triangleTree.ts';
import type { Vector } from './vector.ts';

/** A vertex, and the square of its distance. */
interface NearPoint {
  readonly vertex: number;
  readonly square: number;
}

/** A branch or leaf, and at most the distance to its box. */
interface NearBox {
  readonly link: number;
  readonly distance: number;
}

/** The children of a branch, the nearest last. */
function boxesOf({ branches }: TriangleTree, branch: number, place: Float64Array): NearBox[] {
  const squares = new Float64Array(childCount);
  putChildSquares(branches, branch, place, squares);
  const boxes: NearBox[] = [];
  for (let child = 0; child < childCount; child++) {
    const link = branches.words[branchWords * branch + linkWord + child];
    if (link !== noChild) boxes.push({ link, distance: Math.sqrt(squares[child]) });
  }
  return boxes.sort((a, b) => b.distance - a.distance);
}

/**
 * Numbers of the `most` points that are nearest to a place, the nearest first, of those as near the one
 * with the lower number; of points in one place only the lowest number. The tree is one of points: its
 * triangles have one corner three times.
 */
export function nearestPoints(tree: TriangleTree, place: Vector, most: number): number[] {
  const { vertices, triangles } = tree.mesh;
  const grain = treeGrain(tree);
  const from = Float64Array.from(place);
  const found: NearPoint[] = [];
  const isAt = (vertex: number, other: number): boolean =>
    [0, 1, 2].every((axis) => vertices[3 * vertex + axis] === vertices[3 * other + axis]);
  function look(vertex: number): void {
    const x = vertices[3 * vertex] - place[0];
    const y = vertices[3 * vertex + 1] - place[1];
    const z = vertices[3 * vertex + 2] - place[2];
    const square = x * x + y * y + z * z;
    if (found.length === most && square > found[most - 1].square) return;
    const double = found.findIndex((near) => near.square === square && isAt(near.vertex, vertex));
    if (double >= 0 && found[double].vertex < vertex) return;
    if (double >= 0) found.splice(double, 1);
    let rank = found.length;
    while (
      rank > 0 &&
      (found[rank - 1].square > square ||
        (found[rank - 1].square === square && found[rank - 1].vertex > vertex))
    )
      rank -= 1;
    found.splice(rank, 0, { vertex, square });
    if (found.length > most) found.pop();
  }
  const waiting: NearBox[] = [{ link: 0, distance: 0 }];
  while (waiting.length > 0) {
    const { link, distance } = waiting.pop()!;
    if (found.length === most && distance > Math.sqrt(found[most - 1].square) + grain) continue;
    if (link >= 0) waiting.push(...boxesOf(tree, link, from));
    else
      for (let k = leafFirst(link); k < leafFirst(link) + leafCount(link); k++)
        look(triangles[3 * k]);
  }
  return found.map(({ vertex }) => vertex);
}

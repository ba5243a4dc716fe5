import { putChildSquares } from './childSquares.ts';
import type { Mesh } from './mesh.ts';
import { needleFeet } from './needleFeet.ts';
import { branchWords, leafLink, linkWord } from './treeBranches.ts';
import { treeGrain, type TriangleTree } from './triangleTree.ts';
import { difference, dot, scaled, sum, vectorAt } from './vector.ts';

/** A tree being searched for the closest points of one place after the other, and room for it. */
export interface TreeSearch {
  readonly tree: TriangleTree;
  /** Lengths that differ by less cannot be told apart, mm. */
  readonly grain: number;
  /**
   * The place x, y, z that is asked for. Then what is known of it: the square of the distance to the best
   * so far, the number of its triangle (-1: none), the index of its feature (in `features`,
   * closestPoints.ts), and the shares of the ways from the triangle's corner 0 to its corners 1 and 2.
   */
  readonly known: Float64Array;
  /** Squares of the distances to a branch's four children. */
  readonly squares: Float64Array;
  /** Links that are still to be looked at, and the squares of the distances to them. */
  readonly waitingLinks: Int32Array;
  readonly waitingSquares: Float64Array;
  /** The branches, from the root down, in which all that was near the last place lay; */
  readonly path: Int32Array;
  /** and for each at least how far all else was from that place, mm; -Infinity ends the path. */
  readonly gaps: Float64Array;
}

export const treeSearch = (tree: TriangleTree): TreeSearch => ({
  tree,
  grain: treeGrain(tree),
  known: new Float64Array(8),
  squares: new Float64Array(4),
  // of each level three wait at most, and of the last one more
  waitingLinks: new Int32Array(3 * tree.levels + 2),
  waitingSquares: new Float64Array(3 * tree.levels + 2),
  path: new Int32Array(tree.levels + 1),
  gaps: new Float64Array(tree.levels + 2).fill(-Infinity),
});

/**
 * The lowest branch that everything within `reach` of the place lies in, or -1 where nothing does, found
 * from where the last place's was: `moved` mm away.
 */
function lowestBranch(search: TreeSearch, reach: number, moved: number): number {
  const { known, squares, path, gaps } = search;
  const { words } = search.tree.branches;
  let level = 0;
  gaps[0] = Infinity;
  while (gaps[level + 1] - moved > reach) gaps[++level] -= moved;
  for (;;) {
    putChildSquares(search.tree.branches, path[level], known, squares);
    let child = 0;
    for (let k = 1; k < 4; k++) if (squares[k] < squares[child]) child = k;
    let other = Infinity;
    for (let k = 0; k < 4; k++) if (k !== child && squares[k] < other) other = squares[k];
    const link = words[branchWords * path[level] + linkWord + child];
    if (squares[child] > reach * reach || other <= reach * reach || link < 0) {
      gaps[level + 1] = -Infinity;
      return squares[child] > reach * reach ? -1 : path[level];
    }
    const gap = Math.sqrt(other) * (1 - 1e-14);
    gaps[level + 1] = Math.min(gap, gaps[level]);
    path[++level] = link;
  }
}

/**
 * Looks at a triangle that is nearly a line, or is one, for which the products that tell apart the
 * regions of a plane are mostly rounding.
 */
function lookAtNeedle({ vertices, triangles }: Mesh, triangle: number, known: Float64Array): void {
  const [a, b, c] = [0, 1, 2].map((k) => vectorAt(vertices, triangles[3 * triangle + k]));
  const from = difference(a, [known[0], known[1], known[2]]);
  const [ab, ac] = [difference(b, a), difference(c, a)];
  for (const [feature, first, second] of needleFeet(from, ab, ac)) {
    const way = sum(from, sum(scaled(ab, first), scaled(ac, second)));
    const square = dot(way, way);
    if (square < known[3] || (square === known[3] && triangle < known[4]))
      known.set([square, triangle, feature, first, second], 3);
  }
}

/**
 * Searches for the closest point to the place in `known`, which is to hold the square of the reach, and
 * -1 for the triangle. The search starts from triangle `start` (-1: from none), which is best one that
 * is near, and from what was searched before, for a place `moved` mm away. Of several triangles as near
 * the lowest number is found, whatever was searched before: boxes are only left out if they are farther
 * than what is known by more than all rounding.
 *
 * The closest point of a triangle is found by the regions of its plane: Ericson, Real-Time Collision
 * Detection, 5.1.5 (from memory; held against brute force of another kind in test/geometry). Written as
 * putChildSquares is, and for the same reason.
 */
export function searchTree(search: TreeSearch, moved: number, start: number): void {
  const { tree, grain, known, squares, waitingLinks, waitingSquares } = search;
  const { branches } = tree;
  const { words } = branches;
  const { vertices, triangles } = tree.mesh;
  const px = known[0];
  const py = known[1];
  const pz = known[2];
  let best = known[3];
  let nearest = best;
  let reach = Math.sqrt(best) * (1 + 1e-14) + grain;
  let limit = reach * reach;
  let isStarted = start < 0;
  let next = isStarted ? lowestBranch(search, reach, moved) : leafLink(start, 1);
  // what `lowestBranch` gives it has just looked at
  let isKnown = true;
  let top = 0;
  if (isStarted && next < 0) return;
  for (;;) {
    if (next >= 0) {
      if (isKnown) isKnown = false;
      else putChildSquares(branches, next, known, squares);
      const word = (next * 24 + 19) | 0;
      const base = top;
      for (let k = 0; k < 4; k = (k + 1) | 0) {
        const square = squares[k];
        waitingSquares[top] = square;
        waitingLinks[top] = words[(word + k) | 0];
        if (square <= limit) top = (top + 1) | 0;
      }
      if (top > base) {
        // the nearest is looked at first
        top = (top - 1) | 0;
        let at = top;
        for (let k = base; k < top; k = (k + 1) | 0)
          if (waitingSquares[k] < waitingSquares[at]) at = k;
        next = waitingLinks[at];
        waitingLinks[at] = waitingLinks[top];
        waitingSquares[at] = waitingSquares[top];
        if (next >= 0) continue;
      }
    }
    if (next < 0) {
      const leaf = (-1 - next) | 0;
      const after = ((leaf >> 3) + (leaf & 7)) | 0;
      for (let triangle = leaf >> 3; triangle < after; triangle = (triangle + 1) | 0) {
        const corner = (3 * triangle) | 0;
        const i = (3 * triangles[corner]) | 0;
        const j = (3 * triangles[(corner + 1) | 0]) | 0;
        const k = (3 * triangles[(corner + 2) | 0]) | 0;
        const vx = vertices[i];
        const vy = vertices[(i + 1) | 0];
        const vz = vertices[(i + 2) | 0];
        const ax = vx - px;
        const ay = vy - py;
        const az = vz - pz;
        const abx = vertices[j] - vx;
        const aby = vertices[(j + 1) | 0] - vy;
        const abz = vertices[(j + 2) | 0] - vz;
        const acx = vertices[k] - vx;
        const acy = vertices[(k + 1) | 0] - vy;
        const acz = vertices[(k + 2) | 0] - vz;
        const d1 = -(abx * ax + aby * ay + abz * az);
        const d2 = -(acx * ax + acy * ay + acz * az);
        let s = 0;
        let t = 0;
        let feature = 4;
        if (d1 > 0 || d2 > 0) {
          const bb = abx * abx + aby * aby + abz * abz;
          const bc = abx * acx + aby * acy + abz * acz;
          const cc = acx * acx + acy * acy + acz * acz;
          // the sine of the angle at corner 0 is under a hundredth: four digits are lost from here on
          if (!(bb * cc - bc * bc > 1e-4 * bb * cc)) {
            known[3] = best;
            lookAtNeedle(tree.mesh, triangle, known);
            best = known[3];
            continue;
          }
          const d3 = d1 - bb;
          const d4 = d2 - bc;
          const d5 = d1 - bc;
          const d6 = d2 - cc;
          if (d3 >= 0 && d4 <= d3) {
            s = 1;
            feature = 5;
          } else if (d6 >= 0 && d5 <= d6) {
            t = 1;
            feature = 6;
          } else {
            const vc = d1 * d4 - d3 * d2;
            const vb = d5 * d2 - d1 * d6;
            const va = d3 * d6 - d5 * d4;
            if (vc <= 0 && d1 >= 0 && d3 <= 0) {
              s = d1 / bb;
              feature = 1;
            } else if (vb <= 0 && d2 >= 0 && d6 <= 0) {
              t = d2 / cc;
              feature = 3;
            } else if (va <= 0 && d4 - d3 >= 0 && d5 - d6 >= 0) {
              t = (d4 - d3) / (d4 - d3 + (d5 - d6));
              s = 1 - t;
              feature = 2;
            } else {
              const whole = va + vb + vc;
              s = vb / whole;
              t = vc / whole;
              feature = 0;
            }
          }
        }
        const x = ax + s * abx + t * acx;
        const y = ay + s * aby + t * acy;
        const z = az + s * abz + t * acz;
        const square = x * x + y * y + z * z;
        if (square < best || (square === best && triangle < known[4])) {
          best = square;
          known[4] = triangle;
          known[5] = feature;
          known[6] = s;
          known[7] = t;
        }
      }
      if (best < nearest) {
        nearest = best;
        reach = Math.sqrt(best) * (1 + 1e-14) + grain;
        limit = reach * reach;
      }
      if (!isStarted) {
        isStarted = true;
        next = lowestBranch(search, reach, moved);
        if (next < 0) break;
        continue;
      }
    }
    while (top > 0 && waitingSquares[top - 1] > limit) top--;
    if (top === 0) break;
    top--;
    next = waitingLinks[top];
  }
  known[3] = best;
}

import type { Mesh } from './mesh.ts';
import { secondPart, sortedTriangles, type SortedTriangles } from './sortedTriangles.ts';
import { putBoxes } from './treeBoxes.ts';
import {
  branchSize,
  branchWords,
  childCount,
  leafLink,
  linkWord,
  noChild,
  treeBranches,
  treeMost,
  type TreeBranches,
} from './treeBranches.ts';
import { distance, type Vector } from './vector.ts';

/**
 * A tree of boxes over the triangles of a mesh, in flat arrays. What is made here can be handed to a
 * worker as it is (its buffers are shared).
 */
export interface TriangleTree {
  /** The mesh, its triangles in the order of the tree's leaves. */
  readonly mesh: Mesh;
  /** The box about it, mm. */
  readonly box: { readonly low: Vector; readonly high: Vector };
  readonly branches: TreeBranches;
  /** How many branches lie under each other, at most. */
  readonly levels: number;
}

/** Triangles that are made a leaf of: with one less branches take a fifth more memory, with one more a search takes longer. */
const leafSize = 5;

/** Ranges of triangles, and where the number of each branch is to be put. */
interface Waiting {
  readonly from: number;
  readonly to: number;
  readonly place: number;
  readonly level: number;
}

/**
 * Parts the triangles into leaves, putting the links of the branches into `links`; gives how many
 * branches there are, and how many under each other.
 */
function putLinks(
  sorted: SortedTriangles,
  links: Int32Array,
): { readonly branches: number; readonly levels: number } {
  const waiting: Waiting[] = [{ from: 0, to: sorted.numbers.length, place: -1, level: 1 }];
  const ends = new Uint32Array(childCount + 1);
  let branches = 0;
  let levels = 0;
  while (waiting.length > 0) {
    const { from, to, place, level } = waiting.pop()!;
    levels = Math.max(levels, level);
    const linksAt = branchWords * branches + linkWord;
    if (place >= 0) links[place] = branches;
    branches += 1;
    // the largest is parted until there are as many as a branch can have
    let children = 1;
    ends[0] = from;
    ends[1] = to;
    while (children < childCount) {
      let largest = 0;
      for (let k = 1; k < children; k++)
        if (ends[k + 1] - ends[k] > ends[largest + 1] - ends[largest]) largest = k;
      if (ends[largest + 1] - ends[largest] < 2) break;
      const middle = secondPart(sorted, ends[largest], ends[largest + 1]);
      for (let k = children; k > largest; k--) ends[k + 1] = ends[k];
      children += 1;
      ends[largest + 1] = middle;
    }
    for (let child = childCount - 1; child >= 0; child--) {
      const count = child < children ? ends[child + 1] - ends[child] : 0;
      if (count > leafSize)
        waiting.push({
          from: ends[child],
          to: ends[child + 1],
          place: linksAt + child,
          level: level + 1,
        });
      else links[linksAt + child] = count > 0 ? leafLink(ends[child], count) : noChild;
    }
  }
  return { branches, levels };
}

/** Lengths that differ by less than this cannot be told apart in a mesh so large, mm. */
export const treeGrain = ({ box }: TriangleTree): number => 1e-14 * distance(box.low, box.high);

/**
 * The tree of a mesh that has triangles: sorted along a curve that fills space, and parted where the
 * curve's cells are halved, by four and four, until five triangles or fewer are left. Deterministic.
 * Beside the mesh's vertices, which it shares, and the triangles in their new order it takes 7 to 22
 * bytes a triangle for good, and 4 more while it is made; memory is reserved for the most branches there
 * could be, and not used. Throws where there are more triangles than a link can name (268 million).
 */
export function triangleTree(mesh: Mesh): TriangleTree {
  const count = mesh.triangles.length / 3;
  if (count > treeMost) throw new RangeError(`${count} triangles are too many for a tree`);
  const triangles = new Uint32Array(new SharedArrayBuffer(12 * count));
  const sorted = sortedTriangles(mesh, triangles);
  const room = new SharedArrayBuffer(branchSize * count);
  const made = putLinks(sorted, new Int32Array(room));
  const branches = treeBranches(room, made.branches);
  // what was sorted by is overwritten
  const { numbers } = sorted;
  for (let k = 0; k < count; k++) {
    const from = 3 * numbers[k];
    triangles[3 * k] = mesh.triangles[from];
    triangles[3 * k + 1] = mesh.triangles[from + 1];
    triangles[3 * k + 2] = mesh.triangles[from + 2];
  }
  const own = { vertices: mesh.vertices, triangles };
  putBoxes(own, branches);
  return { mesh: own, box: sorted.box, branches, levels: made.levels };
}

import type { Mesh } from './mesh.ts';
import { secondPart, sortedTriangles, type SortedTriangles } from './sortedTriangles.ts';
import {
  branchSize,
  branchWords,
  childCount,
  halfWord,
  leafCount,
  leafFirst,
  leafLink,
  linkWord,
  middleWord,
  noChild,
  stepWord,
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

/**
 * Triangles that are made a leaf of: with eight a search is a fifth slower, with two the branches take
 * twice the memory.
 */
const leafSize = 4;

/** Steps that a byte can count. */
const mostSteps = 255;
/** mm; what is smaller is a point. */
const leastStep = 2 ** -100;

const rounded = new Float32Array(1);
const bits = new Int32Array(rounded.buffer);

/** The nearest 32-bit float that is not greater than a number. */
function roundedDown(value: number): number {
  rounded[0] = value;
  if (rounded[0] <= value) return rounded[0];
  // the bits of floats are ordered as integers, by size
  if (rounded[0] === 0) return -1.401298464324817e-45;
  bits[0] += rounded[0] > 0 ? -1 : 1;
  return rounded[0];
}

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

/** Puts the box of a leaf's triangles into `box` at `to`: least x, y, z, then greatest. */
function putLeafBox(
  { vertices, triangles }: Mesh,
  leaf: number,
  box: Float64Array,
  to: number,
): void {
  const first = 3 * leafFirst(leaf);
  const after = first + 3 * leafCount(leaf);
  let lowX = Infinity;
  let lowY = Infinity;
  let lowZ = Infinity;
  let highX = -Infinity;
  let highY = -Infinity;
  let highZ = -Infinity;
  for (let k = first; k < after; k++) {
    const vertex = 3 * triangles[k];
    const x = vertices[vertex];
    const y = vertices[vertex + 1];
    const z = vertices[vertex + 2];
    if (x < lowX) lowX = x;
    if (x > highX) highX = x;
    if (y < lowY) lowY = y;
    if (y > highY) highY = y;
    if (z < lowZ) lowZ = z;
    if (z > highZ) highZ = z;
  }
  box[to] = lowX;
  box[to + 1] = lowY;
  box[to + 2] = lowZ;
  box[to + 3] = highX;
  box[to + 4] = highY;
  box[to + 5] = highZ;
}

/** The least power of two that is at least so many steps' extent, as a 32-bit float; of nothing the least of all. */
function stepOf(extent: number): number {
  rounded[0] = Math.max(extent / mostSteps, leastStep);
  // what is more than a power of two is rounded up to the next, by its exponent
  bits[0] = (bits[0] + 0x7fffff) & 0x7f800000;
  return rounded[0];
}

/** Puts the box about a branch's children into `box` at `to`: least x, y, z, then greatest. */
function putBranchBox(branches: TreeBranches, branch: number, box: Float64Array, to: number): void {
  const { floats, bytes } = branches;
  const word = branchWords * branch;
  const step = floats[word + stepWord];
  for (let axis = 0; axis < 3; axis++) {
    // where there is no child stand zeros, the origin, which lies within
    let least = Infinity;
    let greatest = -Infinity;
    const middles = 4 * (word + middleWord + axis);
    const halves = 4 * (word + halfWord + axis);
    for (let child = 0; child < childCount; child++) {
      const middle = bytes[middles + child];
      const half = bytes[halves + child];
      if (middle - half < least) least = middle - half;
      if (middle + half > greatest) greatest = middle + half;
    }
    box[to + axis] = floats[word + axis] + step * least;
    box[to + 3 + axis] = floats[word + axis] + step * greatest;
  }
}

/**
 * Puts the boxes of a branch's children (six numbers each in `boxes`) where its own words begin, as
 * `TreeBranches` has them.
 */
function putChildren(
  { floats, bytes }: TreeBranches,
  word: number,
  boxes: Float64Array,
  children: number,
): void {
  let widest = 0;
  for (let axis = 0; axis < 3; axis++) {
    let least = Infinity;
    let greatest = -Infinity;
    for (let at = axis; at < 6 * children; at += 6) {
      if (boxes[at] < least) least = boxes[at];
      if (boxes[at + 3] > greatest) greatest = boxes[at + 3];
    }
    floats[word + axis] = roundedDown(least);
    widest = Math.max(widest, greatest - floats[word + axis]);
  }
  const step = stepOf(widest);
  const scale = 1 / step;
  floats[word + stepWord] = step;
  floats[word + stepWord + 1] = scale;
  for (let axis = 0; axis < 3; axis++) {
    const origin = floats[word + axis];
    const middles = 4 * (word + middleWord + axis);
    const halves = 4 * (word + halfWord + axis);
    for (let child = 0; child < children; child++) {
      const low = (boxes[6 * child + axis] - origin) * scale;
      const high = (boxes[6 * child + 3 + axis] - origin) * scale;
      const middle = Math.trunc((low + high) / 2 + 0.5);
      bytes[middles + child] = middle;
      bytes[halves + child] = Math.ceil(Math.max(high - middle, middle - low));
    }
  }
}

/** Puts the boxes of all children into branches that have their links, for triangles in the order of the leaves. */
function putBoxes(mesh: Mesh, branches: TreeBranches): void {
  const { words } = branches;
  const boxes = new Float64Array(6 * childCount);
  // branches come after their parents, so that boxes grow from the last to the first
  for (let word = words.length - branchWords; word >= 0; word -= branchWords) {
    let children = 0;
    for (; children < childCount; children++) {
      const link = words[word + linkWord + children];
      if (link === noChild) break;
      if (link < 0) putLeafBox(mesh, link, boxes, 6 * children);
      else putBranchBox(branches, link, boxes, 6 * children);
    }
    putChildren(branches, word, boxes, children);
  }
}

/** Lengths that differ by less than this cannot be told apart in a mesh so large, mm. */
export const treeGrain = ({ box }: TriangleTree): number => 1e-14 * distance(box.low, box.high);

/**
 * The tree of a mesh that has triangles: sorted along a curve that fills space, and parted where the
 * curve's cells are halved, by four and four, until four triangles or fewer are left. Deterministic.
 * Beside the mesh's vertices, which it shares, and the triangles in their new order it takes 5 to 17
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

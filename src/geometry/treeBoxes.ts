import type { Mesh } from './mesh.ts';
import {
  axisWord,
  branchWords,
  childCount,
  halfWord,
  leafCount,
  leafFirst,
  linkWord,
  middleWord,
  noChild,
  squareWord,
  type TreeBranches,
} from './treeBranches.ts';

/** Steps that a byte can count, less two for what rounding moves. */
const mostSteps = 253;
/** mm; what is smaller is a point. */
const leastStep = 2 ** -60;
/** Axes in 32 bits are off by less than this share, and so are lengths along them. */
const axisError = 1e-6;

const rounded = new Float32Array(1);
const bits = new Int32Array(rounded.buffer);

/** A power of two, not less than a step that counts so many millimetres. */
function stepOf(extent: number): number {
  rounded[0] = Math.max(extent / mostSteps, leastStep);
  // what is more than a power of two is rounded up to the next, by its exponent
  bits[0] = (bits[0] + 0x7fffff) & 0x7f800000;
  return rounded[0];
}

/** Room that is used for each branch anew. */
interface Room {
  /** A place in the branch that lengths are seen from, so that they are not large. */
  readonly corner: Float64Array;
  /** The frame: three axes, x, y, z each, as 32-bit floats have them. */
  readonly axes: Float64Array;
  /** Least and greatest of each child along the axes, mm from the corner. */
  readonly lows: Float64Array;
  readonly highs: Float64Array;
  /** The same of them all. */
  readonly least: Float64Array;
  readonly greatest: Float64Array;
  /** A sum of normals. */
  readonly normal: Float64Array;
}

/** Adds the normal of a leaf, its triangles by their areas, to what is in `normal`, on the side of that. */
function addLeafNormal({ vertices, triangles }: Mesh, leaf: number, normal: Float64Array): void {
  const first = 3 * leafFirst(leaf);
  const after = first + 3 * leafCount(leaf);
  let x = 0;
  let y = 0;
  let z = 0;
  for (let at = first; at < after; at += 3) {
    const a = 3 * triangles[at];
    const b = 3 * triangles[at + 1];
    const c = 3 * triangles[at + 2];
    const ux = vertices[b] - vertices[a];
    const uy = vertices[b + 1] - vertices[a + 1];
    const uz = vertices[b + 2] - vertices[a + 2];
    const vx = vertices[c] - vertices[a];
    const vy = vertices[c + 1] - vertices[a + 1];
    const vz = vertices[c + 2] - vertices[a + 2];
    x += uy * vz - uz * vy;
    y += uz * vx - ux * vz;
    z += ux * vy - uy * vx;
  }
  addNormal(x, y, z, normal);
}

/** Adds a normal, made as long as 1, to a sum of some, turned to the side of that. */
function addNormal(x: number, y: number, z: number, sum: Float64Array): void {
  const size = Math.sqrt(x * x + y * y + z * z);
  if (!(size > 1e-150) || size === Infinity) return;
  const scale = sum[0] * x + sum[1] * y + sum[2] * z < 0 ? -1 / size : 1 / size;
  sum[0] += x * scale;
  sum[1] += y * scale;
  sum[2] += z * scale;
}

/**
 * Puts the axes of a frame: the third about along a normal, the others where the least turn that takes
 * the nearest axis of space to the normal takes the other two. So boxes about what was parted along the
 * axes of space stay narrow.
 */
function putAxes(normal: Float64Array, axes: Float64Array): void {
  const [x, y, z] = [Math.abs(normal[0]), Math.abs(normal[1]), Math.abs(normal[2])];
  const third = x > y ? (x > z ? 0 : 2) : y > z ? 1 : 2;
  const first = (third + 1) % 3;
  const second = (third + 2) % 3;
  const size = Math.sqrt(x * x + y * y + z * z);
  const scale = size > 0 ? (normal[third] < 0 ? -1 / size : 1 / size) : 0;
  const a = normal[first] * scale;
  const b = normal[second] * scale;
  const c = size > 0 ? normal[third] * scale : 1;
  const w = 1 / (1 + c);
  axes[first] = Math.fround(1 - a * a * w);
  axes[second] = Math.fround(-a * b * w);
  axes[third] = Math.fround(-a);
  axes[3 + first] = Math.fround(-a * b * w);
  axes[3 + second] = Math.fround(1 - b * b * w);
  axes[3 + third] = Math.fround(-b);
  axes[6 + first] = Math.fround(a);
  axes[6 + second] = Math.fround(b);
  axes[6 + third] = Math.fround(c);
}

/** Puts how far the triangles of a leaf reach along the axes. */
function putLeafReach(
  { vertices, triangles }: Mesh,
  leaf: number,
  { corner, axes, lows, highs }: Room,
  to: number,
): void {
  const first = 3 * leafFirst(leaf);
  const after = first + 3 * leafCount(leaf);
  const ox = corner[0];
  const oy = corner[1];
  const oz = corner[2];
  const ax = axes[0];
  const ay = axes[1];
  const az = axes[2];
  const bx = axes[3];
  const by = axes[4];
  const bz = axes[5];
  const cx = axes[6];
  const cy = axes[7];
  const cz = axes[8];
  let lowA = Infinity;
  let lowB = Infinity;
  let lowC = Infinity;
  let highA = -Infinity;
  let highB = -Infinity;
  let highC = -Infinity;
  for (let k = first; k < after; k++) {
    const vertex = 3 * triangles[k];
    const x = vertices[vertex] - ox;
    const y = vertices[vertex + 1] - oy;
    const z = vertices[vertex + 2] - oz;
    const a = x * ax + y * ay + z * az;
    const b = x * bx + y * by + z * bz;
    const c = x * cx + y * cy + z * cz;
    if (a < lowA) lowA = a;
    if (a > highA) highA = a;
    if (b < lowB) lowB = b;
    if (b > highB) highB = b;
    if (c < lowC) lowC = c;
    if (c > highC) highC = c;
  }
  lows[to] = lowA;
  lows[to + 1] = lowB;
  lows[to + 2] = lowC;
  highs[to] = highA;
  highs[to + 1] = highB;
  highs[to + 2] = highC;
}

/** Puts how far the boxes of a branch's children reach along the axes of its parent. */
function putBranchReach(
  { floats, words, bytes }: TreeBranches,
  branch: number,
  { corner, axes, lows, highs }: Room,
  to: number,
): void {
  const word = branchWords * branch;
  let children = 1;
  while (children < childCount && words[word + linkWord + children] !== noChild) children += 1;
  // the inverse of its axes over its step is their transpose times the square of the step
  const square = floats[word + squareWord];
  const step = Math.sqrt(square);
  for (let axis = 0; axis < 3; axis++) {
    const middle =
      axes[3 * axis] * (floats[word] - corner[0]) +
      axes[3 * axis + 1] * (floats[word + 1] - corner[1]) +
      axes[3 * axis + 2] * (floats[word + 2] - corner[2]);
    lows[to + axis] = middle;
    highs[to + axis] = middle;
  }
  for (let own = 0; own < 3; own++) {
    const middles = 4 * (word + middleWord + own);
    const halves = 4 * (word + halfWord + own);
    let low = Infinity;
    let high = -Infinity;
    for (let child = 0; child < children; child++) {
      const middle = bytes[middles + child];
      const half = bytes[halves + child];
      if (middle - half < low) low = middle - half;
      if (middle + half > high) high = middle + half;
    }
    const from = word + axisWord + 3 * own;
    const x = square * floats[from];
    const y = square * floats[from + 1];
    const z = square * floats[from + 2];
    const error = 2 * axisError * step * (high - low + Math.abs(low + high));
    for (let axis = 0; axis < 3; axis++) {
      const along = axes[3 * axis] * x + axes[3 * axis + 1] * y + axes[3 * axis + 2] * z;
      const one = along * low;
      const other = along * high;
      lows[to + axis] += (one < other ? one : other) - error;
      highs[to + axis] += (one < other ? other : one) + error;
    }
  }
}

/** Puts the frame of a branch, and the boxes of its children in it, from what is known of these. */
function putFrame(
  { floats, bytes }: TreeBranches,
  word: number,
  children: number,
  { corner, axes, lows, highs, least, greatest }: Room,
): void {
  let size = Math.max(Math.abs(corner[0]), Math.abs(corner[1]), Math.abs(corner[2]));
  for (let axis = 0; axis < 3; axis++) {
    let low = lows[axis];
    let high = highs[axis];
    for (let at = axis + 3; at < 3 * children; at += 3) {
      if (lows[at] < low) low = lows[at];
      if (highs[at] > high) high = highs[at];
    }
    least[axis] = low;
    greatest[axis] = high;
    size = Math.max(size, Math.abs(low), Math.abs(high));
  }
  // beyond what rounding can move the origin by, so that no child begins before it
  const margin = 4e-7 * size;
  for (let k = 0; k < 3; k++)
    floats[word + k] =
      corner[k] +
      axes[k] * (least[0] - margin) +
      axes[3 + k] * (least[1] - margin) +
      axes[6 + k] * (least[2] - margin);
  const x = floats[word] - corner[0];
  const y = floats[word + 1] - corner[1];
  const z = floats[word + 2] - corner[2];
  let widest = 0;
  for (let axis = 0; axis < 3; axis++) {
    least[axis] = axes[3 * axis] * x + axes[3 * axis + 1] * y + axes[3 * axis + 2] * z;
    widest = Math.max(widest, greatest[axis] - least[axis]);
  }
  const step = stepOf(widest);
  const scale = 1 / step;
  for (let k = 0; k < 9; k++) floats[word + axisWord + k] = axes[k] * scale;
  floats[word + squareWord] = step * step * (1 - axisError);
  for (let axis = 0; axis < 3; axis++) {
    const middles = 4 * (word + middleWord + axis);
    const halves = 4 * (word + halfWord + axis);
    for (let child = 0; child < children; child++) {
      const low = (lows[3 * child + axis] - least[axis]) * scale;
      const high = (highs[3 * child + axis] - least[axis]) * scale;
      const middle = Math.trunc((low + high) / 2 + 0.5);
      bytes[middles + child] = middle;
      bytes[halves + child] = Math.ceil(Math.max(high - middle, middle - low));
    }
  }
}

/** Puts the frames and boxes into branches that have their links, for triangles in the order of the leaves. */
export function putBoxes(mesh: Mesh, branches: TreeBranches): void {
  const { floats, words } = branches;
  const room: Room = {
    corner: new Float64Array(3),
    axes: new Float64Array(9),
    lows: new Float64Array(3 * childCount),
    highs: new Float64Array(3 * childCount),
    least: new Float64Array(3),
    greatest: new Float64Array(3),
    normal: new Float64Array(3),
  };
  const { corner, normal, axes } = room;
  // branches come after their parents, so that boxes grow from the last to the first
  for (let word = words.length - branchWords; word >= 0; word -= branchWords) {
    const links = word + linkWord;
    let children = 0;
    normal.fill(0);
    for (; children < childCount; children++) {
      const link = words[links + children];
      if (link === noChild) break;
      const third = branchWords * link + axisWord + 6;
      if (link < 0) addLeafNormal(mesh, link, normal);
      else addNormal(floats[third], floats[third + 1], floats[third + 2], normal);
    }
    putAxes(normal, axes);
    const first = words[links];
    const vertex = first < 0 ? 3 * mesh.triangles[3 * leafFirst(first)] : branchWords * first;
    const from = first < 0 ? mesh.vertices : floats;
    for (let k = 0; k < 3; k++) corner[k] = from[vertex + k];
    for (let child = 0; child < children; child++) {
      const link = words[links + child];
      if (link < 0) putLeafReach(mesh, link, room, 3 * child);
      else putBranchReach(branches, link, room, 3 * child);
    }
    putFrame(branches, word, children, room);
  }
}

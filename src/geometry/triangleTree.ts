import type { Mesh } from './mesh.ts';

/**
 * A tree of boxes over the triangles of a mesh, in flat arrays that can be handed to a worker as they
 * are (their buffers are shared). Node 0 is the root; a node's first child follows it.
 */
export interface TriangleTree {
  readonly mesh: Mesh;
  /** Corners of the triangles, three vertex numbers each, in the order of the leaves. */
  readonly corners: Uint32Array;
  /** Number in the mesh of each of them. */
  readonly numbers: Uint32Array;
  /** Least x, y, z and greatest x, y, z of each node, rounded outward. */
  readonly boxes: Float32Array;
  /** Of a branch the number of its second child; of a leaf its first triangle. */
  readonly links: Uint32Array;
  /** Triangles of a leaf; 0: a branch. */
  readonly counts: Uint8Array;
}

/** Triangles that a leaf holds at most. */
const leafSize = 8;

/** Room that can be shared with workers without being copied. */
const shared = (bytes: number): SharedArrayBuffer => new SharedArrayBuffer(bytes);

const rounded = new Float32Array(1);
const bits = new Int32Array(rounded.buffer);

/** The nearest 32-bit number that is not greater, or not less, than a value. */
function roundedTo(value: number, side: -1 | 1): number {
  rounded[0] = value;
  const near = rounded[0];
  if (side < 0 ? near <= value : near >= value) return near;
  // the next 32-bit number that way: the bits of floats are ordered as integers, by size
  if (near === 0) bits[0] = side < 0 ? -0x7fffffff : 1;
  else bits[0] += near > 0 === side > 0 ? 1 : -1;
  return rounded[0];
}

/**
 * The tree of a mesh that has triangles: split at the middle of the longest extent of the triangles'
 * centres, and in halves where that parts nothing. Deterministic. Beside the mesh it takes about 22
 * bytes a triangle for good and 12 more while it is built.
 */
export function triangleTree(mesh: Mesh): TriangleTree {
  const { vertices, triangles } = mesh;
  const count = triangles.length / 3;
  const numbers = new Uint32Array(shared(4 * count));
  const centres = new Float32Array(3 * count);
  for (let k = 0; k < count; k++) {
    numbers[k] = k;
    for (let axis = 0; axis < 3; axis++)
      centres[3 * k + axis] =
        (vertices[3 * triangles[3 * k] + axis] +
          vertices[3 * triangles[3 * k + 1] + axis] +
          vertices[3 * triangles[3 * k + 2] + axis]) /
        3;
  }
  // each split leaves at least one triangle on either side, and leaves hold more than half of leafSize
  // only where a split was even: this many nodes are enough in any case
  const most = 2 * count;
  let boxes = new Float32Array(6 * Math.min(most, 1024));
  let links = new Uint32Array(Math.min(most, 1024));
  let counts = new Uint8Array(Math.min(most, 1024));
  let nodes = 0;
  const made = (): number => {
    if (nodes === links.length) {
      const wider = Math.min(most, 2 * nodes);
      const [b, l, c] = [
        new Float32Array(6 * wider),
        new Uint32Array(wider),
        new Uint8Array(wider),
      ];
      b.set(boxes);
      l.set(links);
      c.set(counts);
      [boxes, links, counts] = [b, l, c];
    }
    return nodes++;
  };
  /** Least and greatest coordinate of the centres of a range along an axis. */
  const extent = (from: number, to: number, axis: number): readonly [number, number] => {
    let [low, high] = [Infinity, -Infinity];
    for (let k = from; k < to; k++) {
      const value = centres[3 * numbers[k] + axis];
      if (value < low) low = value;
      if (value > high) high = value;
    }
    return [low, high];
  };
  const parted = (from: number, to: number): number => {
    let [axis, widest, middle] = [0, -1, 0];
    for (let one = 0; one < 3; one++) {
      const [low, high] = extent(from, to, one);
      if (high - low > widest) [axis, widest, middle] = [one, high - low, (low + high) / 2];
    }
    if (!(widest > 0)) return (from + to) >> 1;
    let [low, high] = [from, to - 1];
    while (low <= high) {
      if (centres[3 * numbers[low] + axis] < middle) low += 1;
      else {
        [numbers[low], numbers[high]] = [numbers[high], numbers[low]];
        high -= 1;
      }
    }
    return low === from || low === to ? (from + to) >> 1 : low;
  };
  // ranges to be made nodes of, the last first; -1 marks that the second child of a node comes next
  const stack: (readonly [number, number, number])[] = [[0, count, -1]];
  while (stack.length > 0) {
    const [from, to, parent] = stack.pop()!;
    const node = made();
    if (parent >= 0) links[parent] = node;
    if (to - from <= leafSize) {
      links[node] = from;
      counts[node] = to - from;
      continue;
    }
    const middle = parted(from, to);
    stack.push([middle, to, node], [from, middle, -1]);
  }
  const corners = new Uint32Array(shared(12 * count));
  for (let k = 0; k < count; k++)
    for (let corner = 0; corner < 3; corner++)
      corners[3 * k + corner] = triangles[3 * numbers[k] + corner];
  // children come after their parents, so that boxes grow from the last node to the first
  for (let node = nodes - 1; node >= 0; node--) {
    for (let axis = 0; axis < 3; axis++) {
      let [low, high] = [Infinity, -Infinity];
      if (counts[node] > 0) {
        for (let k = 3 * links[node]; k < 3 * (links[node] + counts[node]); k++) {
          const value = vertices[3 * corners[k] + axis];
          if (value < low) low = value;
          if (value > high) high = value;
        }
        boxes[6 * node + axis] = roundedTo(low, -1);
        boxes[6 * node + 3 + axis] = roundedTo(high, 1);
      } else {
        const [a, b] = [6 * (node + 1), 6 * links[node]];
        boxes[6 * node + axis] = Math.min(boxes[a + axis], boxes[b + axis]);
        boxes[6 * node + 3 + axis] = Math.max(boxes[a + 3 + axis], boxes[b + 3 + axis]);
      }
    }
  }
  const kept = <T extends Float32Array | Uint32Array | Uint8Array>(
    to: T,
    from: ArrayLike<number> & { subarray: (start: number, end: number) => ArrayLike<number> },
  ): T => {
    to.set(from.subarray(0, to.length));
    return to;
  };
  return {
    mesh,
    corners,
    numbers,
    boxes: kept(new Float32Array(shared(24 * nodes)), boxes),
    links: kept(new Uint32Array(shared(4 * nodes)), links),
    counts: kept(new Uint8Array(shared(nodes)), counts),
  };
}

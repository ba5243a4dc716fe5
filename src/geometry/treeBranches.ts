/**
 * The branches of a tree of boxes, `branchSize` bytes each (a line of a processor's cache), one after the
 * other; branch 0 is the root, a branch comes after its parent. A branch has up to four children and
 * holds, in 32-bit words:
 *
 * 0, 1, 2: its origin x, y, z, a float each, mm
 * 3, 4: its step in mm, a power of two, and one over it, floats
 * 5: nothing
 * 6, 7, 8: the middles of its children's boxes in x, in y, in z, in steps from the origin: a byte a child
 * 9, 10, 11: half the extents of these boxes, likewise, rounded so that nothing sticks out
 * 12 to 15: a whole number for each child: which branch it is, or what `leafLink` makes of a leaf
 *
 * So a search looks at four boxes at the cost of one line of memory.
 */
export interface TreeBranches {
  readonly floats: Float32Array;
  readonly words: Int32Array;
  readonly bytes: Uint8Array;
}

/** Children of a branch, at most. */
export const childCount = 4;
export const branchWords = 16;
export const branchSize = 4 * branchWords;

export const stepWord = 3;
export const middleWord = 6;
export const halfWord = 9;
export const linkWord = 12;

/** Triangles that a leaf can hold at most. */
export const leafMost = 7;

/** Triangles of a tree, at most, so that a link can name each. */
export const treeMost = 2 ** 28;

/** The link to a leaf, a number below 0: its first triangle, and how many it has. */
export const leafLink = (first: number, count: number): number => -1 - ((first << 3) | count);
export const leafFirst = (link: number): number => (-1 - link) >> 3;
export const leafCount = (link: number): number => (-1 - link) & leafMost;

/** The link where there is no child: to a leaf without triangles. */
export const noChild = leafLink(0, 0);

/** The branches in a buffer, from its begin. */
export const treeBranches = (buffer: SharedArrayBuffer, count: number): TreeBranches => ({
  floats: new Float32Array(buffer, 0, branchWords * count),
  words: new Int32Array(buffer, 0, branchWords * count),
  bytes: new Uint8Array(buffer, 0, branchSize * count),
});

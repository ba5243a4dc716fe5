/**
 * The branches of a tree of boxes, `branchSize` bytes each, one after the other; branch 0 is the root, a
 * branch comes after its parent. A branch has up to four children, whose boxes stand in a frame of its
 * own: turned so that its third axis is about the normal of what is in it, for then boxes about a smooth
 * surface are flat however it lies (Gottschalk, Lin and Manocha 1996, OBBTree: a hierarchical structure
 * for rapid interference detection, SIGGRAPH 96, section 3). In 32-bit words:
 *
 * 0, 1, 2: the frame's origin x, y, z, mm, floats
 * 3 to 11: its axes, x, y, z of one after the other, over its step in mm (a power of two), floats
 * 12: nearly the square of the step, float; a little less, since the axes are rounded
 * 13, 14, 15: the middles of its children's boxes along the axes, in steps: a byte a child
 * 16, 17, 18: half the extents of these boxes, likewise, rounded so that nothing sticks out
 * 19 to 22: a whole number for each child: which branch it is, or what `leafLink` makes of a leaf
 * 23: nothing
 */
export interface TreeBranches {
  readonly floats: Float32Array;
  readonly words: Int32Array;
  readonly bytes: Uint8Array;
}

/** Children of a branch, at most. */
export const childCount = 4;
export const branchWords = 24;
export const branchSize = 4 * branchWords;

export const axisWord = 3;
export const squareWord = 12;
export const middleWord = 13;
export const halfWord = 16;
export const linkWord = 19;

const leafMost = 7;

/** Triangles of a tree, at most, so that a link can name each. */
export const treeMost = 2 ** 28;

/** The link to a leaf, a number below 0: its first triangle, and how many it has, up to seven. */
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

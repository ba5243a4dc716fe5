import {
  branchWords,
  childCount,
  halfWord,
  leafCount,
  leafFirst,
  linkWord,
  middleWord,
  noChild,
  stepWord,
} from './treeBranches.ts';
import { treeGrain, type TriangleTree } from './triangleTree.ts';
import type { Vector } from './vector.ts';

/**
 * Calls `visit` with the first triangle and the count of each leaf, in the order of the leaves, whose box
 * comes within `radius` mm of a place: every triangle that comes so near is in one of them.
 */
export function leavesWithin(
  tree: TriangleTree,
  place: Vector,
  radius: number,
  visit: (first: number, count: number) => void,
): void {
  const { floats, words, bytes } = tree.branches;
  const reach = radius + treeGrain(tree);
  const waiting = [0];
  while (waiting.length > 0) {
    const link = waiting.pop()!;
    if (link < 0) {
      visit(leafFirst(link), leafCount(link));
      continue;
    }
    const word = branchWords * link;
    const step = floats[word + stepWord];
    for (let child = childCount - 1; child >= 0; child--) {
      if (words[word + linkWord + child] === noChild) continue;
      let square = 0;
      for (let axis = 0; axis < 3; axis++) {
        const middle = bytes[4 * (word + middleWord + axis) + child];
        const half = bytes[4 * (word + halfWord + axis) + child];
        const off = Math.abs(place[axis] - floats[word + axis] - step * middle) - step * half;
        if (off > 0) square += off * off;
      }
      if (square <= reach * reach) waiting.push(words[word + linkWord + child]);
    }
  }
}

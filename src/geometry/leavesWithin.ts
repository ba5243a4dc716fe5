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
  const { words } = tree.branches;
  const from = Float64Array.from(place);
  const squares = new Float64Array(childCount);
  const reach = radius + treeGrain(tree);
  const waiting = [0];
  while (waiting.length > 0) {
    const link = waiting.pop()!;
    if (link < 0) {
      visit(leafFirst(link), leafCount(link));
      continue;
    }
    putChildSquares(tree.branches, link, from, squares);
    for (let child = childCount - 1; child >= 0; child--) {
      const own = words[branchWords * link + linkWord + child];
      if (own !== noChild && squares[child] <= reach * reach) waiting.push(own);
    }
  }
}

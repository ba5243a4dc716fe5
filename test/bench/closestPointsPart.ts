import { closestPointsFigures } from './closestPointsSpeed.ts';
import type { Figure } from './figure.ts';
import { figureText, peakText } from './figureText.ts';
import { treeMemory, type TreeMemory } from './treeMemory.ts';

/** The part of the bench on closest points. */
export interface ClosestPointsPart {
  readonly figures: readonly Figure[];
  readonly memory: readonly TreeMemory[];
  /** What native libraries took, measured once. */
  readonly beside: readonly string[];
}

/** Microseconds a place, anywhere and in a grid, 200,000 within 4 mm of such a field, one thread. */
const beside = [
  'CGAL 5.5.1, accelerated: 10.4 to 16 and 1.6 to 2.3 us a place (1 million triangles), 11.4 and 3.2 us (5 million)',
  'libigl AABB: 6.0 and 1.6 us (1 million), 10.0 and 3.3 us (4 million)',
  'Embree 3.13.5: 2.2 and 0.75 us (1 million), 3.5 and 1.3 us (5 million), in 32-bit floats',
];

/** Measures and prints it: on 1 and 5 million triangles, or, quickly, on 0.2 million. */
export function closestPointsBench(root: string, quick: boolean): ClosestPointsPart {
  const counts = quick ? [2e5] : [1e6, 5e6];
  const figures: Figure[] = [];
  const memory: TreeMemory[] = [];
  for (const count of counts) {
    const own = closestPointsFigures(count, quick ? 5e4 : 2e5, quick ? 3 : 5);
    for (const figure of own) console.log(figureText(figure));
    figures.push(...own);
  }
  // of fewer than a million the process itself takes most
  for (const count of quick ? [1e6] : counts) {
    const peak = treeMemory(root, count);
    console.log(peakText(peak, peak.meshBytes));
    memory.push(peak);
  }
  console.log(['beside, us a place anywhere and in a grid:', ...beside].join('\n  '));
  return { figures, memory, beside };
}

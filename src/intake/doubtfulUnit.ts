import type { Notice } from './fault.ts';
import type { Panel } from './panel.ts';

/** A file whose panels together are smaller or larger than this has a wrong unit; common practice. */
const smallest = 10;
const largest = 100_000;

/**
 * A notice where the size of all panels together, in millimetres under the file's stated unit, is
 * none a panel has: files say millimetres and hold metres. The stated unit is kept all the same.
 */
export function doubtfulUnit(panels: readonly Panel[]): Notice[] {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (const { net } of panels) {
    for (let at = 0; at < net.points.length; at += 3) {
      for (let axis = 0; axis < 3; axis++) {
        const value = net.points[at + axis];
        if (value < low[axis]) low[axis] = value;
        if (value > high[axis]) high[axis] = value;
      }
    }
  }
  if (panels.length === 0) return [];
  const size = Math.hypot(high[0] - low[0], high[1] - low[1], high[2] - low[2]);
  return size >= smallest && size <= largest
    ? []
    : [
        {
          code: 'unit-doubtful',
          place: {},
          data: { unit: panels[0].unit.name, size, smallest, largest },
        },
      ];
}

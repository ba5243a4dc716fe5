import { diagonal, lines, type ControlNet } from '../geometry/controlNet.ts';
import { distance, type Vector } from '../geometry/vector.ts';

/** One of the four edges of a net. */
export interface EdgeLength {
  readonly along: 'row' | 'column';
  /** Index of the row or column that is the edge. */
  readonly index: number;
  /** The edge's first control point, mm. */
  readonly start: Vector;
  /** Length of the edge's control polygon, mm: never shorter than the edge itself. */
  readonly length: number;
  /** The same over the panel's diagonal; no unit. */
  readonly share: number;
}

export function edgeLengths(net: ControlNet): EdgeLength[] {
  const scale = diagonal(net);
  return lines(net)
    .filter(
      ({ along, index }) => index === 0 || index === (along === 'row' ? net.rows : net.columns) - 1,
    )
    .map(({ along, index, points }) => {
      const length = points
        .slice(1)
        .reduce((total, point, k) => total + distance(points[k], point), 0);
      return { along, index, start: points[0], length, share: length / scale };
    });
}

/**
 * Mean length of the columns' polygons over that of the rows', or the inverse: at most 1. Small for a
 * narrow panel.
 */
export function slenderness(net: ControlNet): number {
  const total = { row: 0, column: 0 };
  for (const { along, points } of lines(net))
    for (let k = 1; k < points.length; k++) total[along] += distance(points[k - 1], points[k]);
  const [u, v] = [total.row / net.rows, total.column / net.columns];
  return Math.min(u, v) / Math.max(u, v);
}

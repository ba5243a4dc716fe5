import type { ControlNet } from '../geometry/controlNet.ts';

/** A rectangle of a net as a net of its own, and where its first point stands in the whole. */
export interface NetWindow {
  readonly net: ControlNet;
  readonly row: number;
  readonly column: number;
}

/** Longest side judged at once, and the side of a window where it is longer. */
const longestSide = 14;
const windowSide = 12;

/**
 * First points of windows that cover `count` points with half a window of overlap, the same from
 * both ends.
 */
function firsts(count: number): number[] {
  if (count <= longestSide) return [0];
  const pairs = Math.ceil((count - windowSide) / windowSide) + 1;
  const last = count - windowSide;
  const half = Array.from({ length: pairs }, (_, k) =>
    Math.min(Math.round((k * last) / (2 * pairs - 1)), Math.floor(last / 2)),
  );
  return [...half, ...half.map((first) => last - first).reverse()];
}

/** Overlapping windows of a large net; the net itself if neither side is over 14 points. */
export function netWindows(net: ControlNet): NetWindow[] {
  const along = firsts(net.columns);
  const across = firsts(net.rows);
  if (along.length === 1 && across.length === 1) return [{ net, row: 0, column: 0 }];
  const columns = along.length === 1 ? net.columns : windowSide;
  const rows = across.length === 1 ? net.rows : windowSide;
  return across.flatMap((row) =>
    along.map((column): NetWindow => {
      const points = new Float64Array(3 * rows * columns);
      for (let j = 0; j < rows; j++) {
        const from = 3 * ((row + j) * net.columns + column);
        points.set(net.points.subarray(from, from + 3 * columns), 3 * j * columns);
      }
      const knots = [
        net.knots[0].subarray(column, column + columns + net.degree[0] + 1),
        net.knots[1].subarray(row, row + rows + net.degree[1] + 1),
      ] as const;
      return {
        net: { degree: net.degree, knots, columns, rows, points, weights: null },
        row,
        column,
      };
    }),
  );
}

/** How far a spot of the whole net is from the middle of a window, in half windows. */
export function offCentre(window: NetWindow, row: number, column: number): number {
  const middle = [(window.net.rows - 1) / 2, (window.net.columns - 1) / 2];
  return Math.max(
    Math.abs(row - window.row - middle[0]) / window.net.rows,
    Math.abs(column - window.column - middle[1]) / window.net.columns,
  );
}

import type { ControlNet } from './controlNet.ts';
import { interiorBreakpoints, type Knots } from './knots.ts';

/** A part of a net between breaks, and where its first point stands in the whole. */
export interface Piece {
  readonly net: ControlNet;
  readonly row: number;
  readonly column: number;
}

/** A run of control points with its own clamped knots. */
interface Run {
  readonly first: number;
  readonly last: number;
  readonly knots: Knots;
}

/**
 * Runs between interior knots that stand at least p times (there the curve may have a corner, and a
 * control point lies on it: shared by both runs; p+1 times cuts it, and nothing is shared).
 */
function runs(knots: Knots, degree: number): Run[] {
  const cuts = interiorBreakpoints(knots, degree).filter((b) => b.multiplicity >= degree);
  if (cuts.length === 0) return [{ first: 0, last: knots.length - degree - 2, knots }];
  const clamped = (value: number): number[] => Array.from({ length: degree + 1 }, () => value);
  const found: Run[] = [];
  let first = 0;
  let inner = Array.from(knots.subarray(0, degree + 1));
  let from = degree + 1;
  for (const cut of cuts) {
    const middle = Array.from(knots.subarray(from, cut.first));
    const last = cut.first - 1;
    found.push({
      first,
      last,
      knots: Float64Array.from([...inner, ...middle, ...clamped(cut.value)]),
    });
    first = last + cut.multiplicity - degree;
    from = cut.first + cut.multiplicity;
    inner = clamped(cut.value);
  }
  found.push({
    first,
    last: knots.length - degree - 2,
    knots: Float64Array.from([...inner, ...knots.subarray(from)]),
  });
  return found;
}

function part(net: ControlNet, u: Run, v: Run): Piece {
  const columns = u.last - u.first + 1;
  const rows = v.last - v.first + 1;
  const points = new Float64Array(3 * rows * columns);
  const weights = net.weights && new Float64Array(rows * columns);
  for (let row = 0; row < rows; row++) {
    const from = (v.first + row) * net.columns + u.first;
    points.set(net.points.subarray(3 * from, 3 * (from + columns)), 3 * row * columns);
    if (weights && net.weights)
      weights.set(net.weights.subarray(from, from + columns), row * columns);
  }
  return {
    net: { degree: net.degree, knots: [u.knots, v.knots], columns, rows, points, weights },
    row: v.first,
    column: u.first,
  };
}

/**
 * The parts of a net that may be expected to run evenly: cut at interior knots of multiplicity p or
 * more in either direction. A net without such knots is its own only piece.
 */
export function pieces(net: ControlNet): Piece[] {
  const along = runs(net.knots[0], net.degree[0]);
  const across = runs(net.knots[1], net.degree[1]);
  if (along.length === 1 && across.length === 1) return [{ net, row: 0, column: 0 }];
  return across.flatMap((v) => along.map((u) => part(net, u, v)));
}

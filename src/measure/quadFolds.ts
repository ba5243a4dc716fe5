import { pointAt, type ControlNet, type Spot } from '../geometry/controlNet.ts';
import { angleBetween, cross, difference, length, sum, type Vector } from '../geometry/vector.ts';

/** One quad of the net and how much it folds over. */
export interface QuadFold {
  /** The corner at which it folds most. */
  readonly spot: Spot;
  /** Largest angle between the normal at one of its corners and the mean of all four, radians. */
  readonly angle: number;
}

/** Steps in row and column from a quad's first corner to each, in the order in which it is walked. */
const corners = [
  [0, 0],
  [0, 1],
  [1, 1],
  [1, 0],
] as const;

/**
 * The fold of every quad of the net. Corners between legs of no length have no normal and are passed
 * over; a quad without any is left out. Over 90 degrees the quad turns back on itself there.
 */
export function quadFolds(net: ControlNet): QuadFold[] {
  const folds: QuadFold[] = [];
  for (let row = 0; row + 1 < net.rows; row++) {
    for (let column = 0; column + 1 < net.columns; column++) {
      const a = pointAt(net, row, column);
      const b = pointAt(net, row, column + 1);
      const c = pointAt(net, row + 1, column + 1);
      const d = pointAt(net, row + 1, column);
      const corner = (before: Vector, at: Vector, after: Vector): Vector =>
        cross(difference(after, at), difference(before, at));
      const normals = [corner(d, a, b), corner(a, b, c), corner(b, c, d), corner(c, d, a)];
      const scale = Math.max(...normals.map(length));
      const clear = normals.map((n) => length(n) > 1e-6 * scale);
      if (!(scale > 0)) continue;
      // A quad whose sides cross has corner normals that cancel: then the first stands for the mean.
      const total = normals.filter((_, k) => clear[k]).reduce(sum);
      const mean = length(total) > 1e-9 * scale ? total : normals[clear.indexOf(true)];
      const angles = normals.map((n, k) => (clear[k] ? angleBetween(n, mean) : 0));
      const angle = Math.max(...angles);
      const [down, right] = corners[angles.indexOf(angle)];
      folds.push({ spot: { row: row + down, column: column + right }, angle });
    }
  }
  return folds;
}

import type { ControlNet } from './controlNet.ts';
import {
  cross,
  difference,
  dot,
  length,
  scaled,
  squareTo,
  sum,
  unit,
  type Vector,
} from './vector.ts';

/**
 * Where a thing stands in another frame: x' = R x + t, with R row by row. R may mirror or scale;
 * it is whatever the file says.
 */
export interface Placement {
  readonly rotation: readonly [Vector, Vector, Vector];
  readonly shift: Vector;
}

export const inPlace: Placement = {
  rotation: [
    [1, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
  ],
  shift: [0, 0, 0],
};

export function placedVector(placement: Placement, v: Vector): Vector {
  const [x, y, z] = placement.rotation;
  return [dot(x, v), dot(y, v), dot(z, v)];
}

export function placedPoint(placement: Placement, p: Vector): Vector {
  const turned = placedVector(placement, p);
  const { shift } = placement;
  return [turned[0] + shift[0], turned[1] + shift[1], turned[2] + shift[2]];
}

/** A matrix flatter than this, by volume relative to its rows, has lost a dimension. */
const flattest = 1e-9;

/** Whether a placement leaves things their three dimensions, and its numbers are finite. */
export function isSolid({ rotation: [x, y, z], shift }: Placement): boolean {
  const volume = Math.abs(dot(cross(x, y), z));
  const size = length(x) * length(y) * length(z);
  return Number.isFinite(size) && Number.isFinite(length(shift)) && volume > flattest * size;
}

/**
 * How much longer a placement makes things: 1 of a rotation or mirror; the geometric mean where that
 * hangs on the direction.
 */
export function placementScale({ rotation: [x, y, z] }: Placement): number {
  const most = Math.max(...[...x, ...y, ...z].map(Math.abs));
  if (most === 0) return 0;
  // The volume of rows that are near 1 in size, since that of others may vanish or overflow.
  const sized = (row: Vector): Vector => [row[0] / most, row[1] / most, row[2] / most];
  return most * Math.cbrt(Math.abs(dot(sized(x), cross(sized(y), sized(z)))));
}

/** First `inner`, then `outer`. */
export function composed(outer: Placement, inner: Placement): Placement {
  const column = (k: 0 | 1 | 2): Vector => [
    inner.rotation[0][k],
    inner.rotation[1][k],
    inner.rotation[2][k],
  ];
  const row = (r: Vector): Vector => [dot(r, column(0)), dot(r, column(1)), dot(r, column(2))];
  const [x, y, z] = outer.rotation;
  return { rotation: [row(x), row(y), row(z)], shift: placedPoint(outer, inner.shift) };
}

/** The placement that undoes a rigid one: rotation (or mirror) without scale. */
export function undone(placement: Placement): Placement {
  const [x, y, z] = placement.rotation;
  const back: Placement = {
    rotation: [
      [x[0], y[0], z[0]],
      [x[1], y[1], z[1]],
      [x[2], y[2], z[2]],
    ],
    shift: [0, 0, 0],
  };
  return { ...back, shift: scaled(placedVector(back, placement.shift), -1) };
}

/**
 * The point that a placement puts at `p`, whatever it turns, mirrors or scales; null where it flattens
 * space. One step of refinement: putting it back is off by some units in the last place of the largest
 * coordinate.
 */
export function unplacedPoint(placement: Placement, p: Vector): Vector | null {
  const [x, y, z] = placement.rotation;
  const volume = dot(cross(x, y), z);
  if (volume === 0 || !Number.isFinite(1 / volume)) return null;
  const [a, b, c] = [cross(y, z), cross(z, x), cross(x, y)];
  const back = (v: Vector): Vector => [
    (a[0] * v[0] + b[0] * v[1] + c[0] * v[2]) / volume,
    (a[1] * v[0] + b[1] * v[1] + c[1] * v[2]) / volume,
    (a[2] * v[0] + b[2] * v[1] + c[2] * v[2]) / volume,
  ];
  const first = back(difference(p, placement.shift));
  return sum(first, back(difference(p, placedPoint(placement, first))));
}

/** Two directions whose sine is below this give no plane worth the name. */
const parallel = 1e-9;

/**
 * The frame of an axis placement: z along `axis`, x along `reference` made square to it, at `origin`.
 * Null where the two give no frame. Source: ISO 10303-42, axis2_placement_3d and build_axes.
 */
export function axisPlacement(origin: Vector, axis: Vector, reference: Vector): Placement | null {
  const z = unit(axis);
  const along = unit(reference);
  const across = z && along && squareTo(along, z);
  const x = across && length(across) > parallel ? unit(across) : null;
  if (!z || !x) return null;
  const y = cross(z, x);
  return {
    rotation: [
      [x[0], y[0], z[0]],
      [x[1], y[1], z[1]],
      [x[2], y[2], z[2]],
    ],
    shift: origin,
  };
}

/** The net moved into the outer frame, and multiplied by `scale` (millimetres a file unit) after. */
export function placedNet(net: ControlNet, placement: Placement, scale = 1): ControlNet {
  const points = new Float64Array(net.points.length);
  for (let at = 0; at < points.length; at += 3) {
    const p = placedPoint(placement, [net.points[at], net.points[at + 1], net.points[at + 2]]);
    points[at] = p[0] * scale;
    points[at + 1] = p[1] * scale;
    points[at + 2] = p[2] * scale;
  }
  return { ...net, points };
}

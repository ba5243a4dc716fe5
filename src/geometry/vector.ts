/** A point or vector in space, [x, y, z]; millimetres unless a name says otherwise. */
export type Vector = readonly [number, number, number];

/** Unit vectors along the axes. */
export const axes: Readonly<Record<'x' | 'y' | 'z', Vector>> = {
  x: [1, 0, 0],
  y: [0, 1, 0],
  z: [0, 0, 1],
};

export const sum = (a: Vector, b: Vector): Vector => [a[0] + b[0], a[1] + b[1], a[2] + b[2]];

export const difference = (a: Vector, b: Vector): Vector => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];

export const scaled = (a: Vector, factor: number): Vector => [
  a[0] * factor,
  a[1] * factor,
  a[2] * factor,
];

export const dot = (a: Vector, b: Vector): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

export const cross = (a: Vector, b: Vector): Vector => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];

export const length = (a: Vector): number => Math.hypot(a[0], a[1], a[2]);

export const distance = (a: Vector, b: Vector): number =>
  Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);

/** The vector number `at` of those stored one after the other. */
export const vectorAt = (all: Float64Array, at: number): Vector => [
  all[3 * at],
  all[3 * at + 1],
  all[3 * at + 2],
];

/** Vectors shorter than this have no direction: dividing by their length would overflow. */
const shortest = 1e-150;

/** The vector of length 1 along `a`, or null where `a` has no direction. */
export function unit(a: Vector): Vector | null {
  const size = length(a);
  return size > shortest && Number.isFinite(size) ? scaled(a, 1 / size) : null;
}

/** The part of `a` square to the unit vector `axis`. */
export const squareTo = (a: Vector, axis: Vector): Vector =>
  difference(a, scaled(axis, dot(a, axis)));

/** Angle between two vectors in radians, 0 to pi; by atan2, which keeps small angles exact. */
export const angleBetween = (a: Vector, b: Vector): number =>
  Math.atan2(length(cross(a, b)), dot(a, b));

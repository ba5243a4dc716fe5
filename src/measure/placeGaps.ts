/** Square of the distance between place `at` of two lists of places; coordinates 3, or 4 homogeneous. */
export function squaredGap(
  one: Float64Array,
  other: Float64Array,
  at: number,
  coordinates: 3 | 4,
): number {
  const rational = coordinates === 4;
  const w1 = rational ? one[at + 3] : 1;
  const w2 = rational ? other[at + 3] : 1;
  // a weight that has gone to nothing or below is no place
  if (!(w2 > 0)) return Infinity;
  const x = one[at] / w1 - other[at] / w2;
  const y = one[at + 1] / w1 - other[at + 1] / w2;
  const z = one[at + 2] / w1 - other[at + 2] / w2;
  const square = x * x + y * y + z * z;
  return Number.isFinite(square) ? square : Infinity;
}

/** The largest distance between two lists of places, in the unit of their coordinates. */
export function largestGap(one: Float64Array, other: Float64Array, coordinates: 3 | 4): number {
  let most = 0;
  for (let at = 0; at < one.length; at += coordinates)
    most = Math.max(most, squaredGap(one, other, at, coordinates));
  return Math.sqrt(most);
}

import { sortedByKeys } from './sortedByKeys.ts';
import { spaceCurve } from './spaceCurve.ts';

/** Fewer places are not worth the curve. */
const fewestSorted = 1000;

/**
 * Numbers of places (x, y, z one after the other) in such an order that those that follow each other
 * mostly lie near each other; places that are not finite stand anywhere.
 */
export function placeOrder(places: Float64Array): Uint32Array {
  const count = Math.floor(places.length / 3);
  if (count < fewestSorted) return Uint32Array.from({ length: count }, (_, k) => k);
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (let axis = 0; axis < 3; axis++)
    for (let at = axis; at < 3 * count; at += 3) {
      const value = places[at];
      if (!Number.isFinite(value)) continue;
      if (value < low[axis]) low[axis] = value;
      if (value > high[axis]) high[axis] = value;
    }
  const { low: from, scale, bits } = spaceCurve(low, high);
  const [x, y, z] = from;
  const [scaleX, scaleY, scaleZ] = scale;
  const [bitsX, bitsY, bitsZ] = bits;
  const all = { keys: new Uint32Array(count), numbers: new Uint32Array(count) };
  const room = { keys: new Uint32Array(count), numbers: new Uint32Array(count) };
  for (let k = 0; k < count; k++) {
    // what is not finite becomes cell 0
    all.keys[k] =
      bitsX[((places[3 * k] - x) * scaleX) | 0] |
      bitsY[((places[3 * k + 1] - y) * scaleY) | 0] |
      bitsZ[((places[3 * k + 2] - z) * scaleZ) | 0];
    all.numbers[k] = k;
  }
  return sortedByKeys(all, room).numbers;
}

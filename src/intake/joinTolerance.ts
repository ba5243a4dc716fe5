import { diagonal, type ControlNet } from '../geometry/controlNet.ts';
import type { LengthUnit } from './lengthUnit.ts';

/** mm. Files state resolutions that no border in them keeps; common practice in exchange. */
const finestTolerance = 0.01;
/** Share of a net's diagonal. A resolution coarser than that would join what is apart. */
const coarsestTolerance = 1e-3;

/**
 * Distance in mm within which the borders of a surface hang together: the resolution that the file
 * states, but no finer than 0.01 mm, and no coarser than a thousandth of the net's diagonal.
 */
export const borderTolerance = (net: ControlNet, resolution: number): number =>
  within(resolution, diagonal(net));

const within = (resolution: number, size: number): number =>
  Math.min(Math.max(resolution, finestTolerance), coarsestTolerance * size);

/** The same rule for patches that are to be joined, in file units; `resolution` is in mm. */
export function patchTolerance(
  patches: readonly Float64Array[],
  resolution: number,
  { millimetres }: LengthUnit,
): number {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (const patch of patches)
    patch.forEach((value, at) => {
      low[at % 3] = Math.min(low[at % 3], value);
      high[at % 3] = Math.max(high[at % 3], value);
    });
  const size = Math.hypot(...low.map((value, axis) => high[axis] - value));
  return within(resolution, size * millimetres) / millimetres;
}

import { diagonal, type ControlNet } from '../geometry/controlNet.ts';
import type { LengthUnit } from './lengthUnit.ts';

/** mm. Files state resolutions that no border in them keeps; common practice in exchange. */
const finestTolerance = 0.01;
/**
 * Shares of a net's diagonal. Borders in use lie farther off their surface than the file states, by a
 * hundred-thousandth of its size; a resolution coarser than the other would join what is apart.
 */
const [finestShare, coarsestShare] = [1e-5, 1e-3];

/**
 * Distance in mm within which the borders of a surface hang together: the resolution that the file
 * states, but no finer than 0.01 mm or a hundred-thousandth of the net's diagonal, and no coarser than a
 * thousandth of it.
 */
export const borderTolerance = (net: ControlNet, resolution: number): number =>
  within(resolution, diagonal(net));

const within = (resolution: number, size: number): number =>
  Math.min(Math.max(resolution, finestTolerance, finestShare * size), coarsestShare * size);

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

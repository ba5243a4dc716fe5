import type { Trim } from './panel.ts';

/** A scale this near to 1 is that of a rotation written with rounding. */
const unscaled = 1e-9;

/** The trim of a surface that stands `scale` times as large: the region stays, its tolerance grows with it. */
export const scaledTrim = (trim: Trim, scale: number): Trim =>
  trim.kind !== 'part' || Math.abs(scale - 1) < unscaled
    ? trim
    : { ...trim, region: { ...trim.region, tolerance: trim.region.tolerance * scale } };

import type { SurfacePatch } from './bernsteinPatch.ts';
import { contourLines, type ContourLine, type ContourSheet } from './contourLines.ts';
import type { Vector } from './vector.ts';

/** All points p with normal . p = at, mm; the normal has length 1. */
export interface Plane {
  readonly normal: Vector;
  readonly at: number;
}

/**
 * The lines in which a plane cuts a surface: where the Bernstein form of normal . (x w) - at w is 0.
 * None is missed that is wider than a 2048th of a patch (see contourLines); where the plane only
 * touches, or lies in the surface, there is none.
 */
export const planeSections = (
  patches: readonly SurfacePatch[],
  { normal, at }: Plane,
  sheet: ContourSheet,
): ContourLine[] =>
  contourLines(
    patches.map(({ degree, u, v, coordinates: [x, y, z, w] }) => ({
      degree,
      u,
      v,
      coefficients: x.map(
        (_, k) => normal[0] * x[k] + normal[1] * y[k] + normal[2] * z[k] - at * w[k],
      ),
    })),
    sheet,
  );

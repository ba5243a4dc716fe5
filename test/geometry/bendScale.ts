import type { SurfaceJet } from '../../src/geometry/evaluation.ts';
import { cross, dot, length } from '../../src/geometry/vector.ts';

/**
 * The most that a surface could bend with derivatives of these lengths, 1/mm: what rounding in the
 * derivatives leaves in curvatures is a share of it, however flat the surface is.
 */
export function bendScale({ u, v, uu, uv, vv }: SurfaceJet): number {
  const a = length(u);
  const c = length(cross(u, v)) / a;
  const slant = 1 + Math.abs(dot(u, v)) / (a * c);
  return (
    (slant ** 2 * length(uu)) / (a * a) + (2 * slant * length(uv)) / (a * c) + length(vv) / (c * c)
  );
}

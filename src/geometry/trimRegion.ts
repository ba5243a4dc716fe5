import type { ControlNet } from './controlNet.ts';
import { surfacePoint } from './evaluation.ts';
import { domain } from './knots.ts';
import { curveDomain, curvePoint, polyline, type SplineCurve } from './splineCurve.ts';
import { distance } from './vector.ts';

/** One piece of a border as a file gives it: in the parameter plane, in space (mm), or both. */
export interface BorderPiece {
  readonly plane: SplineCurve | null;
  readonly space: SplineCurve | null;
}

/** A border in the order in which its pieces follow each other, each run in that sense. */
export type Border = readonly BorderPiece[];

/** A closed line in the parameter plane: each curve begins where the one before it ends. */
export interface TrimLoop {
  readonly curves: readonly SplineCurve[];
}

/** The part of a surface that is kept: where a ray to the outside crosses the loops an odd number of times. */
export interface TrimRegion {
  readonly loops: readonly TrimLoop[];
  /** Millimetres on the surface within which a border stands where the file means it. */
  readonly tolerance: number;
}

/**
 * Why borders give no region; loops count from 0. `open`: the ends of pieces do not meet, by `gap` at
 * most. `empty`: a loop without a piece that has a length. `off-surface`: a curve in space leaves the
 * surface by `gap`. `unsound`: a curve whose knots, points or weights make no curve.
 */
export type TrimTrouble =
  | { readonly trouble: 'open'; readonly loop: number; /** mm */ readonly gap: number }
  | { readonly trouble: 'empty'; readonly loop: number }
  | { readonly trouble: 'off-surface'; readonly loop: number; /** mm */ readonly gap: number }
  | { readonly trouble: 'unsound'; readonly loop: number };

/**
 * The region that borders cut from a surface. Pieces may be given in the plane, in space, or both;
 * neighbouring pieces whose ends lie within `tolerance` (mm, measured on the surface) are joined by a
 * straight line in the plane, which also runs along a collapsed edge. Loops may run either way round.
 */
export function trimmedRegion(
  net: ControlNet,
  borders: readonly Border[],
  tolerance: number,
): TrimRegion | TrimTrouble {
  const [[uFrom, uTo], [vFrom, vTo]] = [0, 1].map((side) =>
    domain(net.knots[side], net.degree[side]),
  );
  const onSurface = ([u, v]: readonly number[]) =>
    surfacePoint(net, Math.min(Math.max(u, uFrom), uTo), Math.min(Math.max(v, vFrom), vTo));
  const loops: TrimLoop[] = [];
  for (const [loop, border] of borders.entries()) {
    const curves = border.flatMap(({ plane }) => (plane ? [plane] : []));
    if (curves.length === 0) return { trouble: 'empty', loop };
    const joined: SplineCurve[] = [];
    for (const [k, curve] of curves.entries()) {
      const next = curves[(k + 1) % curves.length];
      const end = curvePoint(curve, curveDomain(curve)[1]);
      const start = curvePoint(next, curveDomain(next)[0]);
      const gap = distance(onSurface(end), onSurface(start));
      if (gap > tolerance) return { trouble: 'open', loop, gap };
      joined.push(curve);
      if (end[0] !== start[0] || end[1] !== start[1]) joined.push(polyline([end, start]));
    }
    loops.push({ curves: joined });
  }
  return { loops, tolerance };
}

import { fittedPlane } from './fittedPlane.ts';
import { nearestPoints } from './nearestPoints.ts';
import type { TriangleTree } from './triangleTree.ts';
import {
  cross,
  difference,
  dot,
  length,
  scaled,
  sum,
  unit,
  vectorAt,
  type Vector,
} from './vector.ts';

/** Points that a plane is laid through. */
const neighbours = 12;

/**
 * A foot farther than this many spacings from all points lies in a gap. The middle of a square of four
 * points is 0.7 from them; of points strewn at random a gap of 1.5 is there in one place of a thousand.
 */
const widestGap = 1.5;

/**
 * The neighbours lie no farther from the foot than this many spacings: 2 in the midst of a surface, 3 on
 * its border, 4 at a corner of it.
 */
const farthestNeighbour = 5;

/** A foot lies off the border where it is farther off the neighbours' hull, in spacings: half a spacing is its own. */
const widestRim = 0.5;

/** Spread along the normal over the least along the plane, above which no plane is there: at edges, thin walls, noise. */
const thickest = 0.35;

/** How far the origin lies outside the hull of points in a plane; 0 within. */
function offHull(points: readonly (readonly [number, number])[]): number {
  const turns = points.map(([x, y]) => Math.atan2(y, x)).sort((a, b) => a - b);
  const isOutside = turns.some((turn, k) => {
    const next = k + 1 < turns.length ? turns[k + 1] : turns[0] + 2 * Math.PI;
    return next - turn > Math.PI;
  });
  if (!isOutside) return 0;
  // the nearest point of a hull lies between two of its points
  let least = Infinity;
  for (const [ax, ay] of points)
    for (const [bx, by] of points) {
      const [x, y] = [bx - ax, by - ay];
      const size = x * x + y * y;
      const share = size > 0 ? Math.min(1, Math.max(0, -(ax * x + ay * y) / size)) : 0;
      least = Math.min(least, Math.hypot(ax + share * x, ay + share * y));
    }
  return least;
}

/** What of a cloud of points is nearest to a place. */
interface CloudFoot {
  readonly point: Vector;
  /** Of the plane there; its sign is any. */
  readonly normal: Vector;
  readonly isBeside: boolean;
}

/**
 * The foot of a place on a cloud of points: on the plane that is fitted to the nearest of them, those
 * that are farther counting less. Null where no point lies within `reach` mm, or all are in a line.
 *
 * What it can tell, of points spread evenly, `spacing` mm apart (measured, test/geometry): with noise of
 * s mm a distance has a standard error of 0.3 s, and falls short by up to s^2 / spacing, since the
 * nearest points are those that noise has moved to the place. On a surface curved with radius r the
 * plane lies off by up to spacing^2 / r, to the hollow side. It says `beside` in gaps, off the border,
 * and where the points are no plane: at edges that turn by over some 50 degrees, in some places where
 * noise is over a fourth of a spacing, and near walls thinner than 1.5 spacings; there, where it does
 * not, distances may be off by half the wall, 0.3 spacings at most. Points in lines that are much denser
 * along than across are not spread evenly.
 */
export function cloudFoot(
  tree: TriangleTree,
  spacing: number,
  place: Vector,
  reach: number,
): CloudFoot | null {
  const points = nearestPoints(tree, place, neighbours).map((vertex) =>
    difference(vectorAt(tree.mesh.vertices, vertex), place),
  );
  if (points.length === 0 || length(points[0]) > reach) return null;
  const rough = fittedPlane(
    points,
    points.map(() => 1),
  );
  if (!rough) return null;
  const middle = scaled(rough.normal, dot(rough.centre, rough.normal));
  const offs = points.map((point) => length(difference(point, middle)));
  const farthest = Math.max(...offs);
  const plane = fittedPlane(
    points,
    offs.map((off) => 1 - 0.75 * (off / farthest) ** 2),
  );
  if (!plane) return null;
  const { normal, centre, spreads } = plane;
  const foot = scaled(normal, dot(centre, normal));
  const across = unit(cross(normal, Math.abs(normal[0]) < 0.5 ? [1, 0, 0] : [0, 1, 0]))!;
  const along = cross(normal, across);
  const flat = points.map((point): [number, number] => {
    const off = difference(point, foot);
    return [dot(off, across), dot(off, along)];
  });
  const gaps = flat.map(([x, y]) => Math.hypot(x, y));
  return {
    point: sum(place, foot),
    normal,
    isBeside:
      spreads[0] > thickest * spreads[1] ||
      Math.min(...gaps) > widestGap * spacing ||
      Math.max(...gaps) > farthestNeighbour * spacing ||
      offHull(flat) > widestRim * spacing,
  };
}

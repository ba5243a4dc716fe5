import { basisRow } from '../geometry/basis.ts';
import { lines, pointAt, spotOnLine, type ControlNet } from '../geometry/controlNet.ts';
import { jetFromRows, surfaceNormal } from '../geometry/evaluation.ts';
import { domain, grevilleAbscissae } from '../geometry/knots.ts';
import { difference, dot, scaled, unit, type Vector } from '../geometry/vector.ts';
import { leastLeg, turning } from './turning.ts';

/** Which side a viewer sees, as a job states it: away from a point inside the body, or along a direction. */
export type OutsideStatement = { readonly awayFrom: Vector } | { readonly along: Vector };

/** The side of S_u x S_v (1) or the other (-1), and what decided it. */
export interface OutwardSide {
  readonly sign: 1 | -1;
  /** `unknown`: nothing decides, sign is 1, and nobody may say "out" or "in". */
  readonly from: 'spec' | 'convex-side' | 'unknown';
}

type Normals = readonly (Vector | null)[];

/** Normals along S_u x S_v at the Greville abscissae. */
function netNormals(net: ControlNet): (Vector | null)[] {
  const [rowsU, rowsV] = ([0, 1] as const).map((side) => {
    const [low, high] = domain(net.knots[side], net.degree[side]);
    return Array.from(grevilleAbscissae(net.knots[side], net.degree[side]), (xi) =>
      basisRow(net.knots[side], net.degree[side], Math.min(high, Math.max(low, xi)), 2),
    );
  });
  return rowsV.flatMap((bv) => rowsU.map((bu) => surfaceNormal(jetFromRows(net, bu, bv))));
}

/** Sum of the bulge of all rows and columns, and the sum of their amounts, radians. */
function totalBulge(net: ControlNet, normals: Normals): [number, number] {
  const least = leastLeg(net);
  let total = 0;
  let amount = 0;
  for (const line of lines(net)) {
    for (let at = 1; at < line.points.length - 1; at++) {
      const spot = spotOnLine(line, at);
      const normal = normals[spot.row * net.columns + spot.column];
      const bend =
        normal && turning(line.points[at - 1], line.points[at], line.points[at + 1], normal, least);
      total += bend?.bulge ?? 0;
      amount += Math.abs(bend?.bulge ?? 0);
    }
  }
  return [total, amount];
}

/** How much of all bending must go one way before a side counts as the convex one. */
const clearShare = 0.25;

/**
 * The outward side of a net. From the job's statement where there is one (the majority of points
 * decides), else the side on which the panel is convex, else unknown: a flat or saddle-shaped panel
 * has no side of its own, and changing u and v over must not change what is said of it.
 */
export function outwardSide(net: ControlNet, outside: OutsideStatement | null): OutwardSide {
  const normals = netNormals(net);
  if (outside) {
    const votes = normals.reduce((total, normal, index) => {
      const toward =
        'along' in outside
          ? outside.along
          : difference(
              pointAt(net, Math.floor(index / net.columns), index % net.columns),
              outside.awayFrom,
            );
      return normal ? total + Math.sign(dot(normal, unit(toward) ?? [0, 0, 0])) : total;
    }, 0);
    if (votes !== 0) return { sign: votes > 0 ? 1 : -1, from: 'spec' };
  }
  const [total, amount] = totalBulge(net, normals);
  return amount > 1e-9 && Math.abs(total) > clearShare * amount
    ? { sign: total > 0 ? 1 : -1, from: 'convex-side' }
    : { sign: 1, from: 'unknown' };
}

/**
 * Outward unit normals of the surface at the Greville abscissae of its control points, row by row;
 * null where the surface has none.
 */
export const outwardNormals = (net: ControlNet, side: OutwardSide): Normals =>
  netNormals(net).map((normal) => normal && scaled(normal, side.sign));

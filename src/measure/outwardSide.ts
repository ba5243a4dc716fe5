import { basisRow, type BasisRow } from '../geometry/basis.ts';
import { lines, pointAt, spotOnLine, type ControlNet, type Spot } from '../geometry/controlNet.ts';
import { surfaceNormal, tangentsFromRows } from '../geometry/evaluation.ts';
import { domain, grevilleAbscissae } from '../geometry/knots.ts';
import { difference, dot, scaled, unit, type Vector } from '../geometry/vector.ts';
import { leastLeg, turning } from './turning.ts';

/** Which side a viewer sees, as a job states it: away from a point inside the body, or along a direction. */
export type OutsideStatement = { readonly awayFrom: Vector } | { readonly along: Vector };

/** The side of S_u x S_v (1) or the other (-1), and what decided it. */
export interface OutwardSide {
  readonly sign: 1 | -1;
  /** `unknown`: nothing decides, sign is 1, and nobody may say "out" or "in". */
  readonly from: 'spec' | 'scan' | 'convex-side' | 'unknown';
}

type Normals = readonly (Vector | null)[];

/** Basis functions and first derivatives at the Greville abscissa of one control point. */
function grevilleRow(net: ControlNet, side: 0 | 1, xi: number): BasisRow {
  const [low, high] = domain(net.knots[side], net.degree[side]);
  const inside = Math.min(high, Math.max(low, xi));
  return basisRow(net.knots[side], net.degree[side], inside, 1);
}

const greville = (net: ControlNet, side: 0 | 1): Float64Array =>
  grevilleAbscissae(net.knots[side], net.degree[side]);

/**
 * Unit normals of the surface along S_u x S_v at the Greville abscissae of its control points, row by
 * row; null where the surface has none.
 */
export function netNormals(net: ControlNet): Normals {
  const [rowsU, rowsV] = ([0, 1] as const).map((side) =>
    Array.from(greville(net, side), (xi) => grevilleRow(net, side, xi)),
  );
  return rowsV.flatMap((bv) => rowsU.map((bu) => surfaceNormal(tangentsFromRows(net, bu, bv))));
}

/** The normal of netNormals at one control point, turned outward. */
export function outwardNormal(net: ControlNet, spot: Spot, { sign }: OutwardSide): Vector | null {
  const bu = grevilleRow(net, 0, greville(net, 0)[spot.column]);
  const bv = grevilleRow(net, 1, greville(net, 1)[spot.row]);
  const normal = surfaceNormal(tangentsFromRows(net, bu, bv));
  return normal && scaled(normal, sign);
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
/** A scan whose front is turned this clearly to one side of a net says which side is outward: a cosine. */
const clearFacing = 0.5;

/**
 * The outward side of a net. From the job's statement where there is one (the majority of points
 * decides), else the front of the scan (`facing`: that of scanFacing; 0: no scan says), else the side on
 * which the panel is convex, else unknown: a flat or saddle-shaped panel
 * has no side of its own, and changing u and v over must not change what is said of it. `normals` are
 * those of netNormals, where the caller has them.
 */
export function outwardSide(
  net: ControlNet,
  outside: OutsideStatement | null,
  normals: Normals = netNormals(net),
  facing = 0,
): OutwardSide {
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
  if (Math.abs(facing) > clearFacing) return { sign: facing > 0 ? 1 : -1, from: 'scan' };
  const [total, amount] = totalBulge(net, normals);
  return amount > 1e-9 && Math.abs(total) > clearShare * amount
    ? { sign: total > 0 ? 1 : -1, from: 'convex-side' }
    : { sign: 1, from: 'unknown' };
}

/** Normals of netNormals, turned outward. */
export const outward = (normals: Normals, { sign }: OutwardSide): Normals =>
  normals.map((normal) => normal && scaled(normal, sign));

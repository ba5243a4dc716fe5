import { basisRow, type BasisRow } from './basis.ts';
import type { ControlNet } from './controlNet.ts';
import { cross, length, scaled, squareTo, sum, unit, type Vector } from './vector.ts';

/** Position and partial derivatives of a surface at one parameter, mm per parameter unit^k. */
export interface SurfaceJet {
  readonly point: Vector;
  readonly u: Vector;
  readonly v: Vector;
  readonly uu: Vector;
  readonly uv: Vector;
  readonly vv: Vector;
}

/** The first derivatives of a jet. */
type Tangents = Pick<SurfaceJet, 'u' | 'v'>;

type Homogeneous = [number, number, number, number];

function mixed(net: ControlNet, bu: BasisRow, bv: BasisRow, ku: number, kv: number): Homogeneous {
  const total: Homogeneous = [0, 0, 0, 0];
  const wu = bu.values[ku];
  const wv = bv.values[kv];
  for (let j = 0; j < wv.length; j++) {
    for (let i = 0; i < wu.length; i++) {
      const index = (bv.first + j) * net.columns + bu.first + i;
      const share = wu[i] * wv[j] * (net.weights ? net.weights[index] : 1);
      total[0] += share * net.points[3 * index];
      total[1] += share * net.points[3 * index + 1];
      total[2] += share * net.points[3 * index + 2];
      total[3] += share;
    }
  }
  return total;
}

/** a minus the sum of factor * vector, over w: one step of the quotient rule. */
function quotient(
  a: Homogeneous,
  w: number,
  terms: readonly (readonly [number, Vector])[],
): Vector {
  const part = (axis: 0 | 1 | 2): number =>
    terms.reduce((rest, [factor, vector]) => rest - factor * vector[axis], a[axis]) / w;
  return [part(0), part(1), part(2)];
}

/** The point of the surface at (u, v), mm. */
export function surfacePoint(net: ControlNet, u: number, v: number): Vector {
  const bu = basisRow(net.knots[0], net.degree[0], u, 0);
  return pointFromRows(net, bu, basisRow(net.knots[1], net.degree[1], v, 0));
}

/** As surfacePoint, from basis rows that the caller keeps: for grids of parameters. */
export function pointFromRows(net: ControlNet, bu: BasisRow, bv: BasisRow): Vector {
  const a = mixed(net, bu, bv, 0, 0);
  return net.weights ? [a[0] / a[3], a[1] / a[3], a[2] / a[3]] : [a[0], a[1], a[2]];
}

/**
 * Point, first and second derivatives at (u, v). Rational surfaces by the quotient rule: Piegl &
 * Tiller, The NURBS Book, eq. 4.20 (from memory; checked against example 4.2 in test/published).
 * `spans` chooses the side at a breakpoint; without it the side of rising parameter is taken.
 */
export function surfaceJet(
  net: ControlNet,
  u: number,
  v: number,
  spans: readonly [number | undefined, number | undefined] = [undefined, undefined],
): SurfaceJet {
  return jetFromRows(
    net,
    basisRow(net.knots[0], net.degree[0], u, 2, spans[0]),
    basisRow(net.knots[1], net.degree[1], v, 2, spans[1]),
  );
}

const xyz = ([x, y, z]: Homogeneous): Vector => [x, y, z];

/** Both first derivatives, from basis rows of order 1 or more: all that a normal needs. */
export function tangentsFromRows(net: ControlNet, bu: BasisRow, bv: BasisRow): Tangents {
  const au = mixed(net, bu, bv, 1, 0);
  const av = mixed(net, bu, bv, 0, 1);
  if (!net.weights) return { u: xyz(au), v: xyz(av) };
  const a = mixed(net, bu, bv, 0, 0);
  const point = quotient(a, a[3], []);
  return { u: quotient(au, a[3], [[au[3], point]]), v: quotient(av, a[3], [[av[3], point]]) };
}

/** As surfaceJet, from basis rows of order 2 that the caller keeps: for grids of parameters. */
export function jetFromRows(net: ControlNet, bu: BasisRow, bv: BasisRow): SurfaceJet {
  const a = mixed(net, bu, bv, 0, 0);
  const au = mixed(net, bu, bv, 1, 0);
  const av = mixed(net, bu, bv, 0, 1);
  const auu = mixed(net, bu, bv, 2, 0);
  const auv = mixed(net, bu, bv, 1, 1);
  const avv = mixed(net, bu, bv, 0, 2);
  // A polynomial surface sums to 1 only up to rounding: divide by nothing there.
  if (!net.weights)
    return { point: xyz(a), u: xyz(au), v: xyz(av), uu: xyz(auu), uv: xyz(auv), vv: xyz(avv) };
  const w = a[3];
  const point = quotient(a, w, []);
  const su = quotient(au, w, [[au[3], point]]);
  const sv = quotient(av, w, [[av[3], point]]);
  const uu = quotient(auu, w, [
    [2 * au[3], su],
    [auu[3], point],
  ]);
  const vv = quotient(avv, w, [
    [2 * av[3], sv],
    [avv[3], point],
  ]);
  const uv = quotient(auv, w, [
    [auv[3], point],
    [au[3], sv],
    [av[3], su],
  ]);
  return { point, u: su, v: sv, uu, uv, vv };
}

/**
 * Unit normal along S_u x S_v, or null where the surface has none (a collapsed edge, a cusp). The
 * bound is relative to the lengths of both derivatives.
 */
export function surfaceNormal({ u, v }: Tangents): Vector | null {
  const n = cross(u, v);
  const size = Math.hypot(...u) * Math.hypot(...v);
  return Math.hypot(...n) > 1e-12 * size && size > 0 ? unit(n) : null;
}

/**
 * How the unit normal along S_u x S_v changes along u and along v, per parameter unit; null where
 * the surface has no normal. Going along a tangent vector a S_u + b S_v of length 1 mm the normal
 * turns by a n_u + b n_v radians a mm: minus the normal curvature along the way, and the geodesic
 * torsion aside. Source: the quotient rule on (S_u x S_v) / |S_u x S_v|.
 */
export function normalTurn(jet: SurfaceJet): { readonly u: Vector; readonly v: Vector } | null {
  const normal = surfaceNormal(jet);
  if (!normal) return null;
  const size = length(cross(jet.u, jet.v));
  const turn = (su: Vector, sv: Vector): Vector =>
    scaled(squareTo(sum(cross(su, jet.v), cross(jet.u, sv)), normal), 1 / size);
  return { u: turn(jet.uu, jet.uv), v: turn(jet.uv, jet.vv) };
}

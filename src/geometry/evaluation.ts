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

/** As SurfaceJet, with the third derivatives. */
export interface ThirdJet extends SurfaceJet {
  readonly uuu: Vector;
  readonly uuv: Vector;
  readonly uvv: Vector;
  readonly vvv: Vector;
}

/** The first derivatives of a jet. */
type Tangents = Pick<SurfaceJet, 'u' | 'v'>;

type Homogeneous = [number, number, number, number];

function mixed(net: ControlNet, bu: BasisRow, bv: BasisRow, ku: number, kv: number): Homogeneous {
  const { points, weights, columns } = net;
  const wu = bu.values[ku];
  const wv = bv.values[kv];
  let [x, y, z, w] = [0, 0, 0, 0];
  for (let j = 0; j < wv.length; j++) {
    for (let i = 0; i < wu.length; i++) {
      const index = (bv.first + j) * columns + bu.first + i;
      const share = wu[i] * wv[j] * (weights ? weights[index] : 1);
      x += share * points[3 * index];
      y += share * points[3 * index + 1];
      z += share * points[3 * index + 2];
      w += share;
    }
  }
  return [x, y, z, w];
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

/** Sums over the control points multiplied by their weights, and their derivatives to the second. */
interface Sums {
  readonly a: Homogeneous;
  readonly au: Homogeneous;
  readonly av: Homogeneous;
  readonly auu: Homogeneous;
  readonly auv: Homogeneous;
  readonly avv: Homogeneous;
}

const sumsFromRows = (net: ControlNet, bu: BasisRow, bv: BasisRow): Sums => ({
  a: mixed(net, bu, bv, 0, 0),
  au: mixed(net, bu, bv, 1, 0),
  av: mixed(net, bu, bv, 0, 1),
  auu: mixed(net, bu, bv, 2, 0),
  auv: mixed(net, bu, bv, 1, 1),
  avv: mixed(net, bu, bv, 0, 2),
});

function jetOfSums({ a, au, av, auu, auv, avv }: Sums, isRational: boolean): SurfaceJet {
  // A polynomial surface sums to 1 only up to rounding: divide by nothing there.
  if (!isRational)
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

/** As surfaceJet, from basis rows of order 2 that the caller keeps: for grids of parameters. */
export const jetFromRows = (net: ControlNet, bu: BasisRow, bv: BasisRow): SurfaceJet =>
  jetOfSums(sumsFromRows(net, bu, bv), net.weights !== null);

/**
 * As surfaceJet, with the third derivatives: the quotient rule once more (The NURBS Book, eq. 4.20, from
 * memory; held against verb-nurbs-web in test/published).
 */
export function thirdJet(
  net: ControlNet,
  u: number,
  v: number,
  spans: readonly [number | undefined, number | undefined] = [undefined, undefined],
): ThirdJet {
  const bu = basisRow(net.knots[0], net.degree[0], u, 3, spans[0]);
  const bv = basisRow(net.knots[1], net.degree[1], v, 3, spans[1]);
  const sums = sumsFromRows(net, bu, bv);
  const auuu = mixed(net, bu, bv, 3, 0);
  const auuv = mixed(net, bu, bv, 2, 1);
  const auvv = mixed(net, bu, bv, 1, 2);
  const avvv = mixed(net, bu, bv, 0, 3);
  const { point, u: su, v: sv, uu, uv, vv } = jetOfSums(sums, net.weights !== null);
  // every part by its name: spreading an object takes longer than all the sums
  const withThird = (uuu: Vector, uuv: Vector, uvv: Vector, vvv: Vector): ThirdJet => ({
    point,
    u: su,
    v: sv,
    uu,
    uv,
    vv,
    uuu,
    uuv,
    uvv,
    vvv,
  });
  if (!net.weights) return withThird(xyz(auuu), xyz(auuv), xyz(auvv), xyz(avvv));
  const [w, wu, wv] = [sums.a[3], sums.au[3], sums.av[3]];
  const [wuu, wuv, wvv] = [sums.auu[3], sums.auv[3], sums.avv[3]];
  return withThird(
    quotient(auuu, w, [
      [3 * wu, uu],
      [3 * wuu, su],
      [auuu[3], point],
    ]),
    quotient(auuv, w, [
      [2 * wu, uv],
      [wv, uu],
      [2 * wuv, su],
      [wuu, sv],
      [auuv[3], point],
    ]),
    quotient(auvv, w, [
      [2 * wv, uv],
      [wu, vv],
      [2 * wuv, sv],
      [wvv, su],
      [auvv[3], point],
    ]),
    quotient(avvv, w, [
      [3 * wv, vv],
      [3 * wvv, sv],
      [avvv[3], point],
    ]),
  );
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

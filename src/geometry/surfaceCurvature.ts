import { diagonal, type ControlNet } from './controlNet.ts';
import { surfaceJet, surfaceNormal, type SurfaceJet } from './evaluation.ts';
import { domain, spanIndex } from './knots.ts';
import { cross, difference, dot, length, scaled, sum, unit, type Vector } from './vector.ts';

/** How a surface bends at one place: curvatures in 1/mm, signed with `normal`, which runs along S_u x S_v. */
export interface SurfaceCurvature {
  readonly normal: Vector;
  /** K, 1/mm^2. */
  readonly gaussian: number;
  /** H = (k1 + k2) / 2. */
  readonly mean: number;
  /** k1 >= k2. */
  readonly principal: readonly [number, number];
  /** Unit tangents along which k1 and k2 are taken; null where all are alike (an umbilic). */
  readonly directions: readonly [Vector, Vector] | null;
}

/** Principal curvatures nearer than this share of the larger have no directions of their own. */
const umbilicShare = 1e-9;

/**
 * Curvature of a surface from its derivatives; null where it has no normal. With the first form E, F,
 * G and the second L, M, N: K = (LN - M^2)/(EG - F^2), H = (EN - 2FM + GL)/(2(EG - F^2)). The principal
 * curvatures are eigenvalues of a symmetric matrix in an orthonormal frame of the tangent plane, so
 * that nothing cancels where they are nearly alike. Source: any textbook, as do Carmo, Differential
 * Geometry of Curves and Surfaces, section 3.3 (from memory).
 */
export function surfaceCurvature(jet: SurfaceJet): SurfaceCurvature | null {
  const normal = surfaceNormal(jet);
  if (!normal) return null;
  // e1 along S_u, e2 across it: S_u = a e1, S_v = b e1 + c e2
  const a = length(jet.u);
  const e1 = scaled(jet.u, 1 / a);
  const b = dot(jet.v, e1);
  const across = difference(jet.v, scaled(e1, b));
  const c = length(across);
  const e2 = scaled(across, 1 / c);
  const [l, m, n] = [dot(jet.uu, normal), dot(jet.uv, normal), dot(jet.vv, normal)];
  const s11 = l / (a * a);
  const s12 = (m - b * a * s11) / (a * c);
  const s22 = (n - 2 * b * c * s12 - b * b * s11) / (c * c);
  const mean = (s11 + s22) / 2;
  const half = (s11 - s22) / 2;
  const spread = Math.hypot(half, s12);
  const principal: [number, number] = [mean + spread, mean - spread];
  const gaussian = s11 * s22 - s12 * s12;
  if (![gaussian, mean, spread].every(Number.isFinite)) return null;
  const scale = Math.max(Math.abs(principal[0]), Math.abs(principal[1]));
  if (spread <= umbilicShare * scale)
    return { normal, gaussian, mean, principal, directions: null };
  const angle = Math.atan2(s12, half) / 2;
  const first = sum(scaled(e1, Math.cos(angle)), scaled(e2, Math.sin(angle)));
  const second = difference(scaled(e2, Math.cos(angle)), scaled(e1, Math.sin(angle)));
  return { normal, gaussian, mean, principal, directions: [first, second] };
}

/**
 * Coordinates (a, b) of a tangent in the frame of the derivatives, direction = a S_u + b S_v, by least
 * squares; null where the derivatives do not span a plane. Per mm of `direction`, parameter units.
 */
export function parameterDirection(
  { u, v }: Pick<SurfaceJet, 'u' | 'v'>,
  direction: Vector,
): readonly [number, number] | null {
  const [e, f, g] = [dot(u, u), dot(u, v), dot(v, v)];
  const area = e * g - f * f;
  if (!(area > 1e-24 * e * g)) return null;
  const [p, q] = [dot(direction, u), dot(direction, v)];
  return [(g * p - f * q) / area, (e * q - f * p) / area];
}

/** II of the tangent a S_u + b S_v, per mm where that is a unit vector: a^2 L + 2 a b M + b^2 N. */
export const secondForm = (
  jet: SurfaceJet,
  normal: Vector,
  [a, b]: readonly [number, number],
): number =>
  a * a * dot(jet.uu, normal) + 2 * a * b * dot(jet.uv, normal) + b * b * dot(jet.vv, normal);

/**
 * Normal curvature in the direction of a vector (its part in the tangent plane counts), 1/mm, signed
 * with S_u x S_v: II(t, t) / I(t, t). Null where there is no normal, or the vector has no such part.
 */
export function normalCurvature(jet: SurfaceJet, direction: Vector): number | null {
  const normal = surfaceNormal(jet);
  const ab = normal && parameterDirection(jet, direction);
  if (!normal || !ab) return null;
  const [a, b] = ab;
  const size = length(sum(scaled(jet.u, a), scaled(jet.v, b)));
  if (!(size > 0)) return null;
  return secondForm(jet, normal, ab) / (size * size);
}

/** Steps inward from a place without a normal, as shares of the way to the middle of its span. */
const approach = [3, 4, 5, 6, 7, 8].map((k) => 2 ** -k);
/** The last two estimates of a limit may differ by this share of the larger curvature. */
const settled = 1e-3;
/** Curvatures below this share of 1 / diagonal count as none when a limit is asked whether it settles. */
const flatShare = 1e-6;
/**
 * Below this share of what is usual, a derivative's length (or the sine between both) leaves of the
 * second derivatives little but rounding, which grows with its inverse square.
 */
export const soundShare = 1e-5;

/** The limit at 0 of values at steps that halve, and the estimate before it: Neville's scheme. */
function limitAndBefore(values: readonly number[]): readonly [number, number] {
  let level = values;
  let before = values[values.length - 1];
  for (let order = 1; order < values.length; order++) {
    const gain = 1 / (2 ** order - 1);
    before = level[0];
    level = level.slice(1).map((value, k) => value + (value - level[k]) * gain);
  }
  return [level[0], before];
}

/**
 * True where the derivatives are long enough, and far enough from parallel, to tell a curvature; `size`
 * is the net's diagonal, mm.
 */
export function isSound(net: ControlNet, jet: SurfaceJet, size: number): boolean {
  const [lu, lv] = ([0, 1] as const).map((side) => {
    const [from, to] = domain(net.knots[side], net.degree[side]);
    return length(side === 0 ? jet.u : jet.v) * (to - from);
  });
  const sine = length(cross(jet.u, jet.v)) / (length(jet.u) * length(jet.v));
  return Math.min(lu, lv) > soundShare * size && sine > soundShare;
}

/** The middle of the knot span that holds a parameter. */
function spanMiddle(net: ControlNet, side: 0 | 1, value: number): number {
  const knots = net.knots[side];
  const span = spanIndex(knots, net.degree[side], value);
  return (knots[span] + knots[span + 1]) / 2;
}

/**
 * Curvature at any parameter. Where there is no normal, or one made of rounding (a collapsed edge, a
 * corner whose edges run together), the limit from inside along the straight way to the middle of the
 * span, by Neville's extrapolation; null where it does not settle (the tip of a cone). `isLimit` tells
 * which it was.
 */
export function curvatureAt(
  net: ControlNet,
  u: number,
  v: number,
): (SurfaceCurvature & { readonly isLimit: boolean }) | null {
  const jet = surfaceJet(net, u, v);
  const size = diagonal(net);
  const own = isSound(net, jet, size) ? surfaceCurvature(jet) : null;
  if (own) return { ...own, isLimit: false };
  const [middleU, middleV] = [spanMiddle(net, 0, u), spanMiddle(net, 1, v)];
  const near = approach.map((share) =>
    surfaceCurvature(surfaceJet(net, u + share * (middleU - u), v + share * (middleV - v))),
  );
  if (!near.every((curvature) => curvature !== null)) return null;
  const scale = Math.max(
    flatShare / size,
    ...near.flatMap(({ principal }) => principal.map(Math.abs)),
  );
  const limit = (of: (curvature: SurfaceCurvature) => number, within: number): number => {
    const [last, before] = limitAndBefore(near.map(of));
    return Math.abs(last - before) <= within ? last : NaN;
  };
  const limits = ([0, 1] as const).map((which) =>
    limit(({ principal }) => principal[which], settled * scale),
  );
  // alike but for rounding they may come out the other way round
  const [k1, k2] = [Math.max(...limits), Math.min(...limits)];
  const along = (axis: 0 | 1 | 2): number => limit(({ normal }) => normal[axis], settled);
  const normal = unit([along(0), along(1), along(2)]);
  if (Number.isNaN(k1 + k2) || !normal) return null;
  return {
    normal,
    gaussian: k1 * k2,
    mean: (k1 + k2) / 2,
    principal: [k1, k2],
    directions: null,
    isLimit: true,
  };
}

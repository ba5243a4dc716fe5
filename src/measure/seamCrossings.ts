import { meanCurvatureRate } from '../geometry/curvatureRate.ts';
import type { ControlNet } from '../geometry/controlNet.ts';
import { edgeTrack, type EdgePlace, type EdgeTrack } from '../geometry/edgePlace.ts';
import { surfaceNormal } from '../geometry/evaluation.ts';
import type { OutlineEdge } from '../geometry/outlineEdge.ts';
import { isSound, normalCurvature, surfaceCurvature } from '../geometry/surfaceCurvature.ts';
import { angleBetween, cross, dot, scaled, unit, type Vector } from '../geometry/vector.ts';

/** One panel's part in a seam: a stretch of its outline, between two parameters of the edge's curve. */
export interface SeamSide {
  readonly net: ControlNet;
  readonly edge: OutlineEdge;
  /** May be the larger: both sides of a seam begin at the same end of it. */
  readonly from: number;
  readonly to: number;
}

/** How one panel stands across the edge. Both panels' normals are on one side of the seam. */
export interface Lie {
  readonly normal: Vector;
  /** Unit tangent square to the edge, into the panel. */
  readonly inward: Vector;
  /** Normal curvature across the edge, 1/mm, signed with the normal. */
  readonly bend: number;
  /** Mean curvature H, 1/mm, signed with the normal. */
  readonly mean: number;
  /** Rate of 2 H on the way from panel a to panel b, square to the edge, 1/mm a mm. */
  readonly rate: number;
}

/** What a seam's two panels have between them at a station. Signs are as seen from `a.normal`. */
export interface Crossing {
  readonly a: Lie;
  readonly b: Lie;
  /** Angle between the normals, radians, -pi to pi: positive at a ridge, negative in a valley. */
  readonly angle: number;
  /** 2 (H_b - H_a), 1/mm: where the angle is 0, the jump of the normal curvature across the edge. */
  readonly bendJump: number;
  /**
   * Relative difference of the normal curvatures across the edge, -2 to 2, positive where b's is the
   * larger; see `mismatch`.
   */
  readonly mismatch: number;
  /** Jump of the rate, 1/mm^2. */
  readonly rateJump: number;
  /**
   * The rate's jump as a share of the larger normal curvature across the edge, 1/mm: by how much more of
   * itself it changes in a mm after the edge than before. See crossingAt.
   */
  readonly flow: number;
}

/**
 * Relative difference of two normal curvatures: 2 |p - q| / (|p| + |q|), 0 to 2. Curvatures nearer to 0
 * than `flat` (1 / flat_curvature_radius_tolerance of ISO 10303-59) count as flat, all alike: what lies
 * within the band is taken out of the difference and filled up in the sum, so that the measure passes
 * into the band without a jump.
 */
export function mismatch(p: number, q: number, flat: number): number {
  const beyond = (k: number): number => Math.sign(k) * Math.max(Math.abs(k) - flat, 0);
  const size = Math.max(Math.abs(p), flat) + Math.max(Math.abs(q), flat);
  return size > 0 ? (2 * Math.abs(beyond(p) - beyond(q))) / size : 0;
}

/** A side of the seam as it is run. */
export interface SeamRun {
  readonly track: EdgeTrack;
  readonly from: number;
  readonly to: number;
  /** Whether the panel lies to the left of the way from `from` to `to`. */
  readonly isLeft: boolean;
}

export const seamRun = ({ net, edge, from, to }: SeamSide): SeamRun => ({
  track: edgeTrack(net, edge),
  from,
  to,
  isLeft: edge.keptOnLeft === from <= to,
});

/**
 * How a panel stands at a place, with S_u x S_v times `sign` for its normal; `way`: 1 where the way from
 * panel a to panel b leads into it, -1 where it leads out.
 */
function lieAt(
  { track, from, to, isLeft }: SeamRun,
  { jet, along }: EdgePlace,
  sign: 1 | -1,
  way: 1 | -1,
): Lie | null {
  const normal = isSound(track.net, jet, track.size) ? surfaceNormal(jet) : null;
  const tangent = unit(from <= to ? along : scaled(along, -1));
  if (!normal || !tangent) return null;
  // left of the edge is normal x tangent, as it is in the plane of parameters
  const inward = isLeft ? cross(normal, tangent) : cross(tangent, normal);
  const bend = normalCurvature(jet, inward);
  const curvature = surfaceCurvature(jet);
  const rate = meanCurvatureRate(jet, inward);
  if (bend === null || !curvature || rate === null) return null;
  return {
    normal: scaled(normal, sign),
    inward,
    bend: sign * bend,
    mean: sign * curvature.mean,
    rate: 2 * sign * way * rate,
  };
}

/**
 * What stands across the edge. Side b's normal is turned so that (edge, out of a, normal) and (edge, into
 * b, normal) have one hand: a panel that folds back over its neighbour has an angle of 180 degrees, not 0.
 *
 * Flow (a G3 break): let z(s, t) be the panels' heights over their shared tangent plane at a point of
 * the edge, s across and t along it. If they agree to second order all along the edge, the derivatives
 * z_ttt, z_tts and z_tss agree as well, and only z_sss may jump. There d(2H)/ds = z_sss + z_tts and
 * dk_s/ds = z_sss: the jump of 2 dH/ds is the jump of the rate of the normal curvature across, whatever
 * the parametrisation. The slope of a highlight line against the edge is in proportion to k_s / k_t, so
 * that one at 45 degrees gets a jump of its own curvature of half of the jump of (dk_s/ds) / k_s: this is
 * why the flow is a share of k_s.
 */
export function crossingAt(
  [a, b]: readonly [SeamRun, SeamRun],
  [placeA, placeB]: readonly [EdgePlace, EdgePlace],
  flat: number,
): Crossing | null {
  const lieA = lieAt(a, placeA, 1, -1);
  const lieB = lieA && lieAt(b, placeB, a.isLeft === b.isLeft ? -1 : 1, 1);
  if (!lieA || !lieB) return null;
  const isValley = dot(lieB.normal, lieA.inward) + dot(lieA.normal, lieB.inward) > 0;
  const angle = angleBetween(lieA.normal, lieB.normal);
  const rateJump = lieB.rate - lieA.rate;
  const size = Math.max(Math.abs(lieA.bend), Math.abs(lieB.bend), flat);
  return {
    a: lieA,
    b: lieB,
    angle: isValley ? -angle : angle,
    bendJump: 2 * (lieB.mean - lieA.mean),
    mismatch: Math.sign(lieB.bend - lieA.bend) * mismatch(lieA.bend, lieB.bend, flat),
    rateJump,
    flow: size > 0 ? rateJump / size : 0,
  };
}

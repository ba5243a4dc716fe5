import type { ControlNet } from './controlNet.ts';
import { surfaceJet, surfacePoint } from './evaluation.ts';
import { domain } from './knots.ts';
import type { TrimRegion } from './trimRegion.ts';
import { trimTest, type Standing } from './trimTest.ts';
import { cross, dot, length, type Vector } from './vector.ts';

/** A half of space that is kept: all points p with normal . p <= most; the normal has length 1, mm. */
export interface HalfSpace {
  readonly normal: Vector;
  readonly most: number;
}

/** Parameters from and to, in u and in v. */
export type ParameterBox = readonly [readonly [number, number], readonly [number, number]];

/**
 * Parameters between which all that a trim keeps lies: the box of its loops where they bound from
 * outside, else the whole domain.
 */
export function keptBox(net: ControlNet, region: TrimRegion | null): ParameterBox {
  const [wholeU, wholeV] = [0, 1].map((side) => domain(net.knots[side], net.degree[side]));
  // loops that run round, or lie over the seam, bound nothing by their box
  if (!region || region.period.some((period) => period !== null)) return [wholeU, wholeV];
  const box = [wholeU, wholeV].map(([from, to], side): readonly [number, number] => {
    let [low, high] = [Infinity, -Infinity];
    for (const { curves } of region.loops)
      for (const { points } of curves)
        for (let at = side; at < points.length; at += 2) {
          low = Math.min(low, points[at]);
          high = Math.max(high, points[at]);
        }
    const inside = [Math.max(from, low), Math.min(to, high)] as const;
    return inside[0] < inside[1] ? inside : [from, to];
  });
  return [box[0], box[1]];
}

/** mm from a plane within which the answer is `border`. */
const planeTolerance = 1e-6;

/**
 * Says of any parameters whether they lie in the part of a surface that is kept: inside its trim
 * (null: it has none), and in every half-space. Nothing is worked out before it is first asked.
 */
export function keptPart(
  net: ControlNet,
  region: TrimRegion | null,
  keep: readonly HalfSpace[],
): (u: number, v: number) => Standing {
  let trimmed: ReturnType<typeof trimTest> | null = null;
  return (u, v) => {
    let standing: Standing = 'inside';
    if (region) {
      trimmed ??= trimTest(net, region);
      standing = trimmed(u, v);
      if (standing === 'outside') return standing;
    }
    if (keep.length === 0) return standing;
    const point = surfacePoint(net, u, v);
    for (const { normal, most } of keep) {
      const beyond = dot(normal, point) - most;
      if (beyond > planeTolerance) return 'outside';
      if (beyond > -planeTolerance) standing = 'border';
    }
    return standing;
  };
}

/** Parameters looked at in each direction. */
const looks = 24;

/**
 * Share of the surface's area that is kept, by 24 x 24 looks: right to some hundredths, enough for a
 * person to see that the trim is the one that was meant. Null where the surface has no area.
 */
export function keptShare(
  net: ControlNet,
  kept: (u: number, v: number) => Standing,
): number | null {
  const [[uFrom, uTo], [vFrom, vTo]] = [0, 1].map((side) =>
    domain(net.knots[side], net.degree[side]),
  );
  let [inside, all] = [0, 0];
  for (let i = 0; i < looks; i++)
    for (let j = 0; j < looks; j++) {
      const u = uFrom + ((i + 0.5) / looks) * (uTo - uFrom);
      const v = vFrom + ((j + 0.5) / looks) * (vTo - vFrom);
      const jet = surfaceJet(net, u, v);
      const area = length(cross(jet.u, jet.v));
      all += area;
      const standing = kept(u, v);
      inside += standing === 'inside' ? area : standing === 'border' ? area / 2 : 0;
    }
  return all > 0 ? inside / all : null;
}

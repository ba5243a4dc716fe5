import type { ControlNet } from './controlNet.ts';
import { domain } from './knots.ts';
import { tangentBounds, type TangentBounds } from './tangentBounds.ts';
import { bezierPieces } from './splineCurve.ts';
import type { TrimRegion } from './trimRegion.ts';

/** Where a place of the parameter plane stands to a region; border: within its tolerance of a loop. */
export type Side = 'inside' | 'outside' | 'border';

/** A part of a loop, of one polynomial piece at most. */
interface Part {
  /** Its ends, which neighbouring parts share to the last bit. */
  readonly u0: number;
  readonly v0: number;
  readonly u1: number;
  readonly v1: number;
  /** Lowest and highest u and v of its Bezier points, between which it lies as no weight is negative. */
  readonly uLow: number;
  readonly uHigh: number;
  readonly vLow: number;
  readonly vHigh: number;
  /** Half the sides of the box around a place in which a border touches it, parameter units. */
  readonly uReach: number;
  readonly vReach: number;
  /** (u w, v w, w) of its Bezier points; null where it is as good as straight. */
  readonly poles: Float64Array | null;
  /** Its halves, made when first asked for. */
  halves: readonly [Part, Part] | null;
}

/** A part counts as straight where its Bezier points keep within this share of the reach of its chord. */
const straight = 1e-3;
/** A part shorter than this share of the reach is straight whatever its points say. */
const speck = 1e-6;

function straightness(
  poles: Float64Array,
  [u0, v0, u1, v1]: readonly number[],
  uReach: number,
  vReach: number,
): boolean {
  const [du, dv] = [(u1 - u0) / uReach, (v1 - v0) / vReach];
  const size = du * du + dv * dv;
  let widest = 0;
  let farthest = 0;
  for (let k = 3; k + 3 < poles.length; k += 3) {
    const u = (poles[k] / poles[k + 2] - u0) / uReach;
    const v = (poles[k + 1] / poles[k + 2] - v0) / vReach;
    const share = size > 0 ? Math.min(Math.max((u * du + v * dv) / size, 0), 1) : 0;
    widest = Math.max(widest, Math.hypot(u - share * du, v - share * dv));
    farthest = Math.max(farthest, Math.hypot(u, v));
  }
  return widest <= straight || (farthest <= speck && size <= speck * speck);
}

/** A part from its ends and its Bezier points. */
function partOf(
  poles: Float64Array,
  ends: readonly [number, number, number, number],
  uReach: number,
  vReach: number,
): Part {
  const [u0, v0, u1, v1] = ends;
  let [uLow, uHigh] = u0 < u1 ? [u0, u1] : [u1, u0];
  let [vLow, vHigh] = v0 < v1 ? [v0, v1] : [v1, v0];
  for (let k = 0; k < poles.length; k += 3) {
    const u = poles[k] / poles[k + 2];
    const v = poles[k + 1] / poles[k + 2];
    if (u < uLow) uLow = u;
    if (u > uHigh) uHigh = u;
    if (v < vLow) vLow = v;
    if (v > vHigh) vHigh = v;
  }
  const isStraight = poles.length <= 6 || straightness(poles, ends, uReach, vReach);
  return {
    u0,
    v0,
    u1,
    v1,
    uLow,
    uHigh,
    vLow,
    vHigh,
    uReach,
    vReach,
    poles: isStraight ? null : poles,
    halves: null,
  };
}

/** Both halves of a part by de Casteljau's algorithm; they share the place between them. */
function halved(part: Part, poles: Float64Array): readonly [Part, Part] {
  const first = new Float64Array(poles.length);
  const second = Float64Array.from(poles);
  const count = poles.length / 3;
  for (let level = 0; level < count; level++) {
    for (let axis = 0; axis < 3; axis++) first[3 * level + axis] = second[axis];
    for (let k = 0; k + 1 < count - level; k++)
      for (let axis = 0; axis < 3; axis++)
        second[3 * k + axis] = (second[3 * k + axis] + second[3 * k + 3 + axis]) / 2;
  }
  const u = second[0] / second[2];
  const v = second[1] / second[2];
  return [
    partOf(first, [part.u0, part.v0, u, v], part.uReach, part.vReach),
    partOf(second, [u, v, part.u1, part.v1], part.uReach, part.vReach),
  ];
}

/**
 * How often the ray from (u, v) towards growing u crosses a part, as odd (1) or even (0); or -1 where
 * the place lies within the reach of it. An end counts to the part that lies at or above it, so that
 * a ray through a corner, or along a level part, is counted once or twice as it should be.
 */
function crossing(part: Part, u: number, v: number): 0 | 1 | -1 {
  if (v < part.vLow - part.vReach || v > part.vHigh + part.vReach) return 0;
  if (u > part.uHigh + part.uReach) return 0;
  const straddles = part.v0 <= v !== part.v1 <= v;
  if (u < part.uLow - part.uReach) return straddles ? 1 : 0;
  if (part.poles) {
    part.halves ??= halved(part, part.poles);
    const first = crossing(part.halves[0], u, v);
    if (first < 0) return -1;
    const second = crossing(part.halves[1], u, v);
    return second < 0 ? -1 : first === second ? 0 : 1;
  }
  const du = (part.u1 - part.u0) / part.uReach;
  const dv = (part.v1 - part.v0) / part.vReach;
  const au = (u - part.u0) / part.uReach;
  const av = (v - part.v0) / part.vReach;
  const size = du * du + dv * dv;
  const share = size > 0 ? Math.min(Math.max((au * du + av * dv) / size, 0), 1) : 0;
  if (Math.hypot(au - share * du, av - share * dv) <= 1) return -1;
  if (!straddles) return 0;
  return (du * av - dv * au) * dv > 0 ? 1 : 0;
}

/** Ends of pieces nearer than this share of the domain are the same place, told twice. */
const samePlace = 1e-12;

/** The parts of a region's loops, each loop without a gap. */
function partsOf(
  net: ControlNet,
  { loops, tolerance }: TrimRegion,
  widths: readonly number[],
): Part[] {
  const bounds = tangentBounds(net);
  const parts: Part[] = [];
  for (const { curves } of loops) {
    const pieces = curves.flatMap((curve) =>
      bezierPieces(curve).map(({ points }) => Float64Array.from(points.flat())),
    );
    const placeAt = (poles: Float64Array, at: number): readonly [number, number] => [
      poles[at] / poles[at + 2],
      poles[at + 1] / poles[at + 2],
    ];
    const add = (poles: Float64Array, a: readonly number[], b: readonly number[]): void => {
      const reaches = reachesOf(poles, bounds, tolerance, widths);
      parts.push(partOf(poles, [a[0], a[1], b[0], b[1]], ...reaches));
    };
    const starts = pieces.map((poles) => placeAt(poles, 0));
    pieces.forEach((poles, k) => {
      const end = placeAt(poles, poles.length - 3);
      const next = starts[(k + 1) % pieces.length];
      const isShared = [0, 1].every(
        (side) => Math.abs(end[side] - next[side]) <= samePlace * widths[side],
      );
      add(poles, starts[k], isShared ? next : end);
      if (!isShared) add(Float64Array.from([...end, 1, ...next, 1]), end, next);
    });
  }
  return parts;
}

/**
 * Half axes of the ellipse in the plane around a place within which all is within the tolerance, as
 * the derivatives' bounds on and near the piece tell: a way (du, dv) is no longer on the surface than
 * |S_u| |du| + |S_v| |dv|, which is at most the root of 2 times the ellipse's norm.
 */
function reachesOf(
  poles: Float64Array,
  bounds: TangentBounds,
  tolerance: number,
  widths: readonly number[],
): readonly [number, number] {
  const low = [Infinity, Infinity];
  const high = [-Infinity, -Infinity];
  for (let k = 0; k < poles.length; k += 3)
    for (const side of [0, 1]) {
      const x = poles[k + side] / poles[k + 2];
      low[side] = Math.min(low[side], x);
      high[side] = Math.max(high[side], x);
    }
  const reach = (around: readonly [number, number]): readonly [number, number] => {
    const most = bounds(
      [low[0] - around[0], high[0] + around[0]],
      [low[1] - around[1], high[1] + around[1]],
    );
    return [
      Math.min(tolerance / (Math.SQRT2 * most[0]), widths[0]),
      Math.min(tolerance / (Math.SQRT2 * most[1]), widths[1]),
    ];
  };
  // what lies within the first reach bounds the second, which is no larger
  return reach(reach([0, 0]));
}

/** Levels of v by which parts are found: one a part, but no more than this, */
const mostLevels = 4096;
/** nor so many that a part stands in more levels than this on average. */
const mostTellings = 8;

/**
 * Tells where places (u, v) of the parameter plane stand to a region, by the parity of a ray's
 * crossings with the loops: exact for the loops as they are, up to `border`. What is called border is
 * within the region's tolerance (mm, along the surface) of a loop; a place that near may be called
 * inside or outside where the surface runs slower than its bounds there. Outside the domain all is
 * outside. Make it once for many places: the parts of the loops lie by levels of v, and are halved
 * only where places come near.
 */
export function trimTest(net: ControlNet, region: TrimRegion): (u: number, v: number) => Side {
  const ends = [0, 1].map((side) => domain(net.knots[side], net.degree[side]));
  const [[uFrom, uTo], [vFrom, vTo]] = ends;
  const parts = partsOf(
    net,
    region,
    ends.map(([from, to]) => to - from),
  );
  const heights = parts.reduce(
    (total, { vLow, vHigh }) => total + Math.min((vHigh - vLow) / (vTo - vFrom), 1),
    0,
  );
  const most = heights > 0 ? (mostTellings * parts.length) / heights : mostLevels;
  const count = Math.ceil(Math.max(Math.min(parts.length, mostLevels, most), 1));
  const levelOf = (v: number): number =>
    Math.min(Math.max(Math.floor(((v - vFrom) / (vTo - vFrom)) * count), 0), count - 1);
  const levels = Array.from({ length: count }, (): Part[] => []);
  for (const part of parts) {
    const [from, to] = [part.vLow - part.vReach, part.vHigh + part.vReach];
    if (to < vFrom || from > vTo) continue;
    for (let level = levelOf(from); level <= levelOf(to); level++) levels[level].push(part);
  }
  return (u, v) => {
    if (!(u >= uFrom && u <= uTo && v >= vFrom && v <= vTo)) return 'outside';
    let odd = 0;
    for (const part of levels[levelOf(v)]) {
      const crossed = crossing(part, u, v);
      if (crossed < 0) return 'border';
      odd ^= crossed;
    }
    return odd === 1 ? 'inside' : 'outside';
  };
}

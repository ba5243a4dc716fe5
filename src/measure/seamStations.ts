import { meanCurvatureRate } from '../geometry/curvatureRate.ts';
import type { ControlNet } from '../geometry/controlNet.ts';
import {
  edgeBreaks,
  edgeFoot,
  edgePlace,
  edgeSpans,
  edgeTrack,
  type EdgePlace,
  type EdgeSpans,
  type EdgeTrack,
} from '../geometry/edgePlace.ts';
import { surfaceNormal } from '../geometry/evaluation.ts';
import type { OutlineEdge } from '../geometry/outlineEdge.ts';
import { isSound, normalCurvature, surfaceCurvature } from '../geometry/surfaceCurvature.ts';
import {
  angleBetween,
  cross,
  difference,
  distance,
  dot,
  length,
  scaled,
  unit,
  type Vector,
} from '../geometry/vector.ts';

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
   * itself it changes in a mm after the edge than before. See `flowOf`.
   */
  readonly flow: number;
}

/** A place along a seam: a point of side a's edge and its foot on side b's. */
export interface SeamStation {
  /** Parameters of the edges' curves. */
  readonly at: readonly [number, number];
  readonly points: readonly [Vector, Vector];
  /** mm along side a's edge from the start of the stretch. */
  readonly run: number;
  /** Distance of the two points, mm. */
  readonly gap: number;
  /** Null where one of the panels has no sound normal (a collapsed edge): blind. */
  readonly crossing: Crossing | null;
}

export interface SeamStations {
  /** In order from `from` to `to`; two at one place where a knot parts what lies before and after. */
  readonly stations: readonly SeamStation[];
  /**
   * False where stations came to an end before the measures between them could be told to 1 % of their
   * maxima.
   */
  readonly isSettled: boolean;
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
interface Run {
  readonly track: EdgeTrack;
  readonly from: number;
  readonly to: number;
  /** Whether the panel lies to the left of the way from `from` to `to`. */
  readonly isLeft: boolean;
}

const runOf = ({ net, edge, from, to }: SeamSide): Run => ({
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
  { track, from, to, isLeft }: Run,
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
function crossingAt(
  [a, b]: readonly [Run, Run],
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

/** A stretch of the seam without a knot inside. */
interface Part {
  /** Parameters of side a's edge, and of their feet on side b's. */
  readonly from: number;
  readonly to: number;
  readonly feet: readonly [number, number];
  readonly spans: readonly [EdgeSpans, EdgeSpans];
}

/** A station, and what tells whether there are enough of them. */
interface Sample {
  readonly part: Part;
  readonly places: readonly [EdgePlace, EdgePlace];
  readonly gap: number;
  readonly crossing: Crossing | null;
  /** Measures that may be expected to run straight between near stations; of a blind one, the first three. */
  readonly values: readonly number[];
}

/** How much the foot on side b goes on for one unit of side a's parameter. */
function footSlope([a, b]: readonly [EdgePlace, EdgePlace]): number {
  const slope = dot(a.along, b.along) / dot(b.along, b.along);
  return Number.isFinite(slope) ? slope : 0;
}

/** Breaks of a run in its own order. */
function breaksOf({ track, from, to }: Run): number[] {
  const breaks = edgeBreaks(track, from, to);
  return from < to ? breaks : breaks.reverse();
}

/** Chords between two breaks by which the length of an edge is known well enough for a first guess. */
const chords = 4;

/** Parameters of a run, and the share of its length up to each: by chords. */
interface Shares {
  readonly at: readonly number[];
  readonly share: readonly number[];
}

function sharesOf({ track, from, to }: Run, breaks: readonly number[]): Shares {
  const ends = [from, ...breaks, to];
  const at = ends
    .slice(1)
    .flatMap((end, k) =>
      Array.from({ length: chords }, (_, c) => ends[k] + (c / chords) * (end - ends[k])),
    );
  at.push(to);
  const points = at.map((t) => edgePlace(track, t).jet.point);
  const lengths = [0];
  for (let k = 1; k < at.length; k++)
    lengths.push(lengths[k - 1] + distance(points[k - 1], points[k]));
  const whole = lengths[lengths.length - 1];
  return { at, share: lengths.map((length, k) => (whole > 0 ? length / whole : k / at.length)) };
}

/** The value of `to` where `from`, in order, has a value; straight between. */
function read(from: readonly number[], to: readonly number[], value: number): number {
  const rises = from[from.length - 1] > from[0];
  let k = 1;
  while (k < from.length - 1 && (rises ? from[k] < value : from[k] > value)) k++;
  const width = from[k] - from[k - 1];
  return width === 0 ? to[k] : to[k - 1] + ((value - from[k - 1]) / width) * (to[k] - to[k - 1]);
}

/** Share of a stretch within which two breaks are one. */
const oneBreak = 1e-7;

/** Where the stretch is to be cut inside: at the knots of either side; parameters of side a, in order. */
function cutsOf([a, b]: readonly [Run, Run]): { at: number; start: number }[] {
  const breaks = [breaksOf(a), breaksOf(b)] as const;
  if (breaks[0].length + breaks[1].length === 0) return [];
  const [ofA, ofB] = [sharesOf(a, breaks[0]), sharesOf(b, breaks[1])];
  const own = breaks[0].map((at) => ({
    at,
    start: read(ofB.share, ofB.at, read(ofA.at, ofA.share, at)),
  }));
  const others = breaks[1].map((start) => {
    const guess = read(ofA.share, ofA.at, read(ofB.at, ofB.share, start));
    const { point } = edgePlace(b.track, start).jet;
    return { at: edgeFoot(a.track, [a.from, a.to], point, guess).at, start };
  });
  // side a's own come first: they are exact, and those of b that fall on them are left out
  const share = (at: number): number => (at - a.from) / (a.to - a.from);
  const known = [0, 1];
  const found = [...own, ...others].filter(({ at }) => {
    const isNew = known.every((other) => Math.abs(other - share(at)) > oneBreak);
    if (isNew) known.push(share(at));
    return isNew;
  });
  return found.sort((p, q) => share(p.at) - share(q.at));
}

/** The stretch cut at the knots of either side. */
function partsOf([a, b]: readonly [Run, Run]): Part[] {
  const ends = [{ at: a.from, start: b.from }, ...cutsOf([a, b]), { at: a.to, start: b.to }].map(
    ({ at, start }) => {
      const { point } = edgePlace(a.track, at).jet;
      return { at, foot: edgeFoot(b.track, [b.from, b.to], point, start).at };
    },
  );
  return ends.slice(1).map(({ at: to, foot }, k): Part => {
    const { at: from, foot: before } = ends[k];
    return {
      from,
      to,
      feet: [before, foot],
      spans: [edgeSpans(a.track, (from + to) / 2), edgeSpans(b.track, (before + foot) / 2)],
    };
  });
}

/** Length of the arc between two places of an edge, mm: as of a circle with their chord and tangents. */
function arc(from: EdgePlace, to: EdgePlace): number {
  const chord = distance(from.jet.point, to.jet.point);
  const half = angleBetween(from.along, to.along) / 2;
  return half > 1e-6 && half < 1 ? (chord * half) / Math.sin(half) : chord;
}

/** The samples as stations, in the order of the run. */
function inOrder(samples: readonly Sample[], { from, to }: Run): SeamStation[] {
  const rank = (value: number): number => (from < to ? value : -value);
  const sorted = samples.toSorted(
    (p, q) => rank(p.part.from) - rank(q.part.from) || rank(p.places[0].at) - rank(q.places[0].at),
  );
  let run = 0;
  return sorted.map(({ places: [own, foot], gap, crossing }, k) => {
    if (k > 0) run += arc(sorted[k - 1].places[0], own);
    return {
      at: [own.at, foot.at],
      points: [own.jet.point, foot.jet.point],
      run,
      gap,
      crossing,
    };
  });
}

/** Halvings of a first interval between stations at most. */
const deepest = 14;
/** Stations at most. */
const mostStations = 2048;
/** Share of the largest value by which a measure may leave the straight line between two stations. */
const straightShare = 0.01;

/**
 * What the values of a sample are measured against at least, in a seam of panels of `size` mm: nobody
 * sees a gap of a millionth of it, an angle of a 1e-5, or a thousandth of the curvature 1 / size.
 */
const leastValues = (size: number): number[] => [
  ...Array<number>(3).fill(1e-6 * size),
  1e-5,
  ...Array<number>(3).fill(1e-3 / size),
  1e-3,
  1e-3 / size ** 2,
  1e-3 / size,
];

/**
 * Beyond these a value of the other sign is near to it: angles of 180 degrees, or curvatures of which the
 * one bends in and the other out, as both pass through 0.
 */
const turned = leastValues(1).map((_, k) => (k === 3 ? Math.PI / 2 : k === 7 ? 1 : Infinity));

/** An interval between two samples of a part. */
interface Interval {
  readonly left: Sample;
  readonly right: Sample;
}

/**
 * Measures at stations along a seam. First each stretch between knots of either side has as many
 * intervals as its degrees ask for; then intervals are halved until no measure leaves the straight line
 * between their ends by more than 1 % of its maximum along the seam (half way, where it is measured: the
 * halves then leave it by about a quarter of that). `flatRadius`, mm: radii beyond it count as flat.
 */
export function seamStations(a: SeamSide, b: SeamSide, flatRadius: number): SeamStations {
  const runs = [runOf(a), runOf(b)] as const;
  const [runA, runB] = runs;
  const flat = 1 / flatRadius;
  const largest = leastValues(Math.max(runA.track.size, runB.track.size));

  const sampleAt = (
    part: Part,
    at: number,
    within: readonly [number, number],
    start: number,
  ): Sample => {
    const own = edgePlace(runA.track, at, part.spans[0]);
    const foot = edgeFoot(runB.track, within, own.jet.point, start, part.spans[1]);
    const crossing = crossingAt(runs, [own, foot], flat);
    const apart = difference(foot.jet.point, own.jet.point);
    const values: number[] = [...apart];
    if (crossing)
      values.push(
        crossing.angle,
        crossing.a.bend,
        crossing.b.bend,
        crossing.bendJump,
        crossing.mismatch,
        crossing.rateJump,
        crossing.flow,
      );
    values.forEach((value, k) => {
      largest[k] = Math.max(largest[k], Math.abs(value));
    });
    return { part, places: [own, foot], gap: length(apart), crossing, values };
  };
  /** Half way between two samples; the foot by the cubic with both ends and slopes. */
  const between = ({ left, right }: Interval): Sample => {
    const [from, to] = [left.places[0].at, right.places[0].at];
    const feet = [left.places[1].at, right.places[1].at] as const;
    const bow = ((to - from) / 8) * (footSlope(left.places) - footSlope(right.places));
    return sampleAt(left.part, (from + to) / 2, feet, (feet[0] + feet[1]) / 2 + bow);
  };
  const isStraight = ({ left, right }: Interval, middle: Sample): boolean =>
    middle.values.every((value, k) => {
      if (k >= left.values.length || k >= right.values.length) return true;
      const [from, to] = [left.values[k], right.values[k]];
      const isTurned = from < 0 !== to < 0 && Math.min(Math.abs(from), Math.abs(to)) > turned[k];
      const bow = isTurned
        ? Math.abs(value) - (Math.abs(from) + Math.abs(to)) / 2
        : value - (from + to) / 2;
      return Math.abs(bow) <= straightShare * largest[k];
    });

  const count =
    1 + Math.max(...[a, b].flatMap(({ net, edge }) => [...net.degree, edge.curve.degree]));
  const samples: Sample[] = [];
  let open: Interval[] = [];
  for (const part of partsOf(runs)) {
    const [footFrom, footTo] = part.feet;
    let left = sampleAt(part, part.from, part.feet, footFrom);
    samples.push(left);
    for (let k = 1; k <= count; k++) {
      const at = k === count ? part.to : part.from + (k / count) * (part.to - part.from);
      const start =
        k === count
          ? footTo
          : left.places[1].at + footSlope(left.places) * (at - left.places[0].at);
      const right = sampleAt(part, at, [left.places[1].at, footTo], start);
      samples.push(right);
      open.push({ left, right });
      left = right;
    }
  }
  for (let depth = 0; depth < deepest && open.length > 0; depth++) {
    if (samples.length + open.length > mostStations) break;
    const middles = open.map(between);
    samples.push(...middles);
    open = open.flatMap((interval, k) =>
      isStraight(interval, middles[k])
        ? []
        : [
            { left: interval.left, right: middles[k] },
            { left: middles[k], right: interval.right },
          ],
    );
  }
  return { stations: inOrder(samples, runA), isSettled: open.length === 0 };
}

import { edgeFoot, edgePlace, type EdgePlace } from '../geometry/edgePlace.ts';
import {
  angleBetween,
  difference,
  distance,
  dot,
  length,
  type Vector,
} from '../geometry/vector.ts';
import {
  crossingAt,
  seamRun,
  type Crossing,
  type SeamRun,
  type SeamSide,
} from './seamCrossings.ts';
import { seamParts, type SeamPart } from './seamParts.ts';

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

/** A station, and what tells whether there are enough of them. */
interface Sample {
  readonly part: SeamPart;
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

/** Length of the arc between two places of an edge, mm: as of a circle with their chord and tangents. */
function arc(from: EdgePlace, to: EdgePlace): number {
  const chord = distance(from.jet.point, to.jet.point);
  const half = angleBetween(from.along, to.along) / 2;
  return half > 1e-6 && half < 1 ? (chord * half) / Math.sin(half) : chord;
}

/** The samples as stations, in the order of the run. */
function inOrder(samples: readonly Sample[], { from, to }: SeamRun): SeamStation[] {
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
  const runs = [seamRun(a), seamRun(b)] as const;
  const [runA, runB] = runs;
  const flat = 1 / flatRadius;
  const largest = leastValues(Math.max(runA.track.size, runB.track.size));

  const sampleAt = (
    part: SeamPart,
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
  for (const part of seamParts(runs)) {
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

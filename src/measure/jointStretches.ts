import { difference, distance, dot, length, type Vector } from '../geometry/vector.ts';
import { edgeDirection } from './edgeDirection.ts';
import { edgeFoot, type EdgeFoot } from './edgeFoot.ts';
import { lengthAt, segmentOf, traceNode, type EdgeTrace } from './edgeTrace.ts';

/** A stretch along which two edges run beside each other. */
export interface JointStretch {
  /** Parameters of the first edge, rising, and of the second at the places opposite. */
  readonly first: readonly [number, number];
  readonly second: readonly [number, number];
  /** mm: the mean of both edges' lengths along it. */
  readonly length: number;
  /** The largest distance between the edges that was measured, mm. */
  readonly gap: number;
  /** Whether it ends, at its start and at its end, where the edges drift apart and not where one of them ends. */
  readonly drifts: readonly [boolean, boolean];
}

/** Nowhere do edges that run along each other turn from each other by more, as a cosine: a border may waver. */
const leastCosine = Math.cos((45 * Math.PI) / 180);
/** From end to end they turn by less than this, as a sine. */
const mostSlant = Math.sin((15 * Math.PI) / 180);
/** Edges that run beside each other are about as long there: less than this is a leap over a loop's beginning. */
const leastLikeness = 0.5;
/** Along the second edge the feet go no more than so many times as far as the places on the first, and as the reach. */
const farthestStride = 4;
/** Halvings around the place where edges are farthest apart, and the share of the reach below which it is no matter. */
const gapSteps = 6;
const leastGap = 1e-4;
/** Halvings by which the place is found where edges drift apart. */
const mostHalvings = 60;
/** Share of an edge's domain below which two places on it are one. */
const samePlace = 1e-9;

/** A place of the first edge and its foot on the second. */
interface Facing {
  readonly t: number;
  readonly foot: EdgeFoot;
  /** Cosine of the angle between the edges, positive where they run the same way; 0 where one has no direction. */
  readonly cosine: number;
}

const ends = ({ t }: EdgeTrace): readonly [number, number] => [t[0], t[t.length - 1]];

/** The place nearest to a point on some of an edge's segments. */
function nearestPlace({ t, points }: EdgeTrace, segments: readonly number[], p: Vector): number {
  let [least, place] = [Infinity, t[0]];
  for (const k of segments) {
    const at = 3 * k;
    const [ax, ay, az] = [points[at] - p[0], points[at + 1] - p[1], points[at + 2] - p[2]];
    const x = points[at + 3] - points[at];
    const y = points[at + 4] - points[at + 1];
    const z = points[at + 5] - points[at + 2];
    const size = x * x + y * y + z * z;
    const share = size > 0 ? Math.min(Math.max(-(ax * x + ay * y + az * z) / size, 0), 1) : 0;
    const far = (ax + share * x) ** 2 + (ay + share * y) ** 2 + (az + share * z) ** 2;
    if (far < least) [least, place] = [far, t[k] + share * (t[k + 1] - t[k])];
  }
  return place;
}

/** Runs of segments that follow each other, each with one more segment at either end. */
function widenedRuns({ t }: EdgeTrace, segments: readonly number[]): (readonly [number, number])[] {
  const runs: [number, number][] = [];
  for (const k of segments) {
    const [from, to] = [Math.max(k - 1, 0), Math.min(k + 1, t.length - 2)];
    const run = runs[runs.length - 1];
    if (run && from <= run[1] + 1) run[1] = to;
    else runs.push([from, to]);
  }
  return runs;
}

const counted = (from: number, to: number): number[] =>
  Array.from({ length: to - from + 1 }, (_, k) => from + k);

/**
 * The stretches along which two edges run beside each other: no farther apart than `reach` mm, within 15
 * degrees of the same direction (or of the opposite one) from end to end and 45 degrees anywhere, each
 * place of the first with its foot on the second between that one's ends. A stretch ends where one of the edges does, opposite to the foot of
 * that end, or where they drift apart. Looked for are places at the nodes of both traces, on the
 * segments given and those next to them.
 */
export function jointStretches(
  first: EdgeTrace,
  second: EdgeTrace,
  ofFirst: readonly number[],
  ofSecond: readonly number[],
  reach: number,
): JointStretch[] {
  const around = widenedRuns(second, ofSecond).flatMap(([from, to]) => counted(from, to));
  const [secondFrom, secondTo] = ends(second);

  const facingAt = (t: number): Facing => {
    const jet = first.image.at(t);
    const foot = edgeFoot(second.image, jet.point, nearestPlace(second, around, jet.point));
    const [own, other] = [
      edgeDirection(first.image, t, jet),
      edgeDirection(second.image, foot.t, foot.jet),
    ];
    const size = length(own) * length(other);
    return { t, foot, cosine: size > 0 ? dot(own, other) / size : 0 };
  };
  const meets = ({ foot, cosine }: Facing): boolean =>
    foot.beyond === 0 && foot.gap <= reach && Math.abs(cosine) >= leastCosine;
  /** Rough length along a trace, mm: between nodes by share of the parameter. */
  const roughly = (trace: EdgeTrace, t: number): number => {
    const k = segmentOf(trace, t);
    const share = (t - trace.t[k]) / (trace.t[k + 1] - trace.t[k]);
    return trace.s[k] + share * (trace.s[k + 1] - trace.s[k]);
  };
  /** Whether the feet go on from one place to the next, and do not leap to another part of the edge. */
  const follows = (a: Facing, b: Facing): boolean => {
    const way = Math.abs(roughly(first, b.t) - roughly(first, a.t));
    const onSecond = roughly(second, b.foot.t) - roughly(second, a.foot.t);
    return a.cosine > 0 === b.cosine > 0 && Math.abs(onSecond) <= farthestStride * (way + reach);
  };

  interface End {
    readonly first: number;
    readonly second: number;
    readonly gap: number;
    readonly drifts: boolean;
  }
  const endAt = ({ t, foot }: Facing, drifts: boolean): End => ({
    first: t,
    second: foot.t,
    gap: foot.gap,
    drifts,
  });
  /** The end of a stretch between a place that is in it and one that is not. */
  const endBetween = (inside: Facing, outside: Facing): End => {
    // towards which end of the second edge the feet go
    const isForward = outside.t > inside.t === inside.cosine > 0;
    const place = isForward ? secondTo : secondFrom;
    const end = second.image.at(place);
    const foot = edgeFoot(first.image, end.point, inside.t + (outside.t - inside.t) / 2);
    const [low, high] = inside.t < outside.t ? [inside.t, outside.t] : [outside.t, inside.t];
    const close = samePlace * (ends(first)[1] - ends(first)[0]);
    const isBetween = foot.t >= low - close && foot.t <= high + close;
    if (isBetween && foot.gap <= reach)
      return { first: foot.t, second: place, gap: foot.gap, drifts: false };
    let [kept, left] = [inside, outside];
    for (let step = 0; step < mostHalvings; step++) {
      const t = (kept.t + left.t) / 2;
      if (t === kept.t || t === left.t) break;
      const facing = facingAt(t);
      if (meets(facing) && follows(inside, facing)) kept = facing;
      else left = facing;
    }
    return endAt(kept, true);
  };

  /** The largest gap along a run, sought between its places around the farthest. */
  const largestGap = (run: readonly Facing[]): number => {
    const farthest = run.reduce(
      (most, { foot }, k) => (foot.gap > run[most].foot.gap ? k : most),
      0,
    );
    let [a, middle, b] = [farthest - 1, farthest, farthest + 1].map(
      (k) => run[Math.min(Math.max(k, 0), run.length - 1)],
    );
    for (let step = 0; step < gapSteps && middle.foot.gap > leastGap * reach; step++) {
      const [low, high] = [a, b].map(({ t }) => facingAt((t + middle.t) / 2));
      if (low.foot.gap > Math.max(middle.foot.gap, high.foot.gap)) [middle, b] = [low, middle];
      else if (high.foot.gap > middle.foot.gap) [a, middle] = [middle, high];
      else [a, b] = [low, high];
    }
    return middle.foot.gap;
  };

  const found: JointStretch[] = [];
  for (const [from, to] of widenedRuns(first, ofFirst)) {
    const segments = counted(from, to);
    const [low, high] = [first.t[from], first.t[to + 1]];
    const close = samePlace * (high - low);
    const isApart = (t: number): boolean => {
      const k = segmentOf(first, t);
      return t - first.t[k] > close && first.t[k + 1] - t > close;
    };
    const opposite = [...new Set(around.flatMap((k) => [k, k + 1]))]
      .map((k) => nearestPlace(first, segments, traceNode(second, k)))
      .filter(isApart);
    const stations = [...new Set([...first.t.subarray(from, to + 2), ...opposite])]
      .sort((a, b) => a - b)
      .map(facingAt);
    let run: Facing[] = [];
    const finish = (next: Facing | null, before: Facing | null): void => {
      if (run.length === 0) return;
      const [start, last] = [run[0], run[run.length - 1]];
      const limits = ends(first);
      const startEnd = before ? endBetween(start, before) : endAt(start, start.t > limits[0]);
      const lastEnd = next ? endBetween(last, next) : endAt(last, last.t < limits[1]);
      const span = (trace: EdgeTrace, a: number, b: number): number =>
        Math.abs(lengthAt(trace, b) - lengthAt(trace, a));
      const spans = [
        span(first, startEnd.first, lastEnd.first),
        span(second, startEnd.second, lastEnd.second),
      ];
      const stretch: JointStretch = {
        first: [startEnd.first, lastEnd.first],
        second: [startEnd.second, lastEnd.second],
        length: (spans[0] + spans[1]) / 2,
        gap: Math.max(startEnd.gap, lastEnd.gap, largestGap(run)),
        drifts: [startEnd.drifts, lastEnd.drifts],
      };
      const [onFirst, onSecond] = (
        [
          [first, 'first'],
          [second, 'second'],
        ] as const
      ).map(([{ image }, side]) =>
        difference(image.at(stretch[side][1]).point, image.at(stretch[side][0]).point),
      );
      const isLike = Math.min(...spans) >= leastLikeness * Math.max(...spans);
      if (isLike && distance(onFirst, onSecond) <= mostSlant * stretch.length) found.push(stretch);
      run = [];
    };
    let before: Facing | null = null;
    let previous: Facing | null = null;
    for (const station of stations) {
      const goesOn = meets(station) && (run.length === 0 || follows(run[run.length - 1], station));
      if (run.length > 0 && !goesOn) finish(station, before);
      if (meets(station)) {
        if (run.length === 0) before = previous;
        run.push(station);
      }
      previous = station;
    }
    finish(null, before);
  }
  return found;
}

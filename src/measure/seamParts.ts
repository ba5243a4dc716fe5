import {
  edgeBreaks,
  edgeFoot,
  edgePlace,
  edgeSpans,
  type EdgeSpans,
} from '../geometry/edgePlace.ts';
import { distance } from '../geometry/vector.ts';
import type { SeamRun } from './seamCrossings.ts';

/** A stretch of the seam without a knot inside. */
export interface SeamPart {
  /** Parameters of side a's edge, and of their feet on side b's. */
  readonly from: number;
  readonly to: number;
  readonly feet: readonly [number, number];
  readonly spans: readonly [EdgeSpans, EdgeSpans];
}

/** Breaks of a run in its own order. */
function breaksOf({ track, from, to }: SeamRun): number[] {
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

function sharesOf({ track, from, to }: SeamRun, breaks: readonly number[]): Shares {
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
function cutsOf([a, b]: readonly [SeamRun, SeamRun]): { at: number; start: number }[] {
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
export function seamParts([a, b]: readonly [SeamRun, SeamRun]): SeamPart[] {
  const ends = [{ at: a.from, start: b.from }, ...cutsOf([a, b]), { at: a.to, start: b.to }].map(
    ({ at, start }) => {
      const { point } = edgePlace(a.track, at).jet;
      return { at, foot: edgeFoot(b.track, [b.from, b.to], point, start).at };
    },
  );
  return ends.slice(1).map(({ at: to, foot }, k): SeamPart => {
    const { at: from, foot: before } = ends[k];
    return {
      from,
      to,
      feet: [before, foot],
      spans: [edgeSpans(a.track, (from + to) / 2), edgeSpans(b.track, (before + foot) / 2)],
    };
  });
}

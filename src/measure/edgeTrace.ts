import type { EdgeImage } from '../geometry/edgeImage.ts';
import { distance, length, type Vector } from '../geometry/vector.ts';
import { gaussRule } from './gaussRule.ts';

/** An edge of a panel as a chain of straight segments between points of it. */
export interface EdgeTrace {
  readonly image: EdgeImage;
  /** Parameters of the nodes, rising: the ends of the edge first and last. */
  readonly t: Float64Array;
  /** Three numbers a node, mm. */
  readonly points: Float64Array;
  /** Length along the edge at each node, mm, from 0. */
  readonly s: Float64Array;
  /** mm that the edge leaves its segments at most, where it was looked at. */
  readonly departure: number;
}

export const traceNode = ({ points }: EdgeTrace, k: number): Vector => [
  points[3 * k],
  points[3 * k + 1],
  points[3 * k + 2],
];

/** Segments keep within this share of the edge's length of it. */
const chordShare = 2e-4;
/** Looks along a segment at how far it is from the edge. */
const looks = [0.25, 0.5, 0.75];
/** Parts of an edge before anything is known of it: at least, and by its breaks at most. */
const fewestParts = 8;
const mostParts = 64;
const mostHalvings = 8;

const rule = gaussRule(6);

/** Length of the edge between two parameters, mm, by one Gauss rule: exact enough along a segment. */
export function stretchLength({ at }: EdgeImage, from: number, to: number): number {
  let total = 0;
  rule.nodes.forEach((x, k) => {
    const t = from + ((x + 1) / 2) * (to - from);
    total += rule.weights[k] * length(at(t).slope);
  });
  return (total * Math.abs(to - from)) / 2;
}

/** Distance of a point from a segment, mm. */
function offSegment(p: Vector, a: Vector, b: Vector): number {
  const [x, y, z] = [b[0] - a[0], b[1] - a[1], b[2] - a[2]];
  const size = x * x + y * y + z * z;
  const along = (p[0] - a[0]) * x + (p[1] - a[1]) * y + (p[2] - a[2]) * z;
  const share = size > 0 ? Math.min(Math.max(along / size, 0), 1) : 0;
  return distance(p, [a[0] + share * x, a[1] + share * y, a[2] + share * z]);
}

/** Where the edge is first looked at: its breaks, unless they are many, and places between. */
function firstLooks(breaks: readonly number[]): number[] {
  const [from, to] = [breaks[0], breaks[breaks.length - 1]];
  const even = (a: number, b: number, parts: number): number[] =>
    Array.from({ length: parts }, (_, k) => a + (k / parts) * (b - a));
  if (breaks.length > mostParts) return [...even(from, to, mostParts), to];
  const each = Math.ceil(fewestParts / (breaks.length - 1));
  return [...breaks.slice(1).flatMap((end, k) => even(breaks[k], end, each)), to];
}

/** The chain of segments that stands for an edge, or null for one that is a point or has no numbers. */
export function edgeTrace(image: EdgeImage): EdgeTrace | null {
  const point = (t: number): Vector => image.at(t).point;
  const firsts = firstLooks(image.breaks);
  const corners = firsts.map(point);
  let size = 0;
  for (let k = 1; k < corners.length; k++) size += distance(corners[k - 1], corners[k]);
  if (!(size > 0 && Number.isFinite(size))) return null;
  const departure = chordShare * size;
  const t = [firsts[0]];
  const nodes: Vector[] = [corners[0]];
  const add = (from: number, a: Vector, to: number, b: Vector, halvings: number): void => {
    const seen = looks.map((share) => point(from + share * (to - from)));
    if (halvings >= mostHalvings || seen.every((p) => offSegment(p, a, b) <= departure)) {
      t.push(to);
      nodes.push(b);
      return;
    }
    const middle = from + 0.5 * (to - from);
    add(from, a, middle, seen[1], halvings + 1);
    add(middle, seen[1], to, b, halvings + 1);
  };
  for (let k = 1; k < firsts.length; k++)
    add(firsts[k - 1], corners[k - 1], firsts[k], corners[k], 0);
  const s = new Float64Array(t.length);
  for (let k = 1; k < t.length; k++) s[k] = s[k - 1] + stretchLength(image, t[k - 1], t[k]);
  return { image, t: Float64Array.from(t), points: Float64Array.from(nodes.flat()), s, departure };
}

/** Index of the segment that holds a parameter. */
export function segmentOf({ t }: EdgeTrace, at: number): number {
  let [low, high] = [0, t.length - 2];
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (t[middle] <= at) low = middle;
    else high = middle - 1;
  }
  return low;
}

/** Length along the edge at a parameter, mm, from its start. */
export function lengthAt(trace: EdgeTrace, at: number): number {
  const k = segmentOf(trace, at);
  return trace.s[k] + stretchLength(trace.image, trace.t[k], at);
}

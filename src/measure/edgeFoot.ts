import type { EdgeImage, EdgeJet } from '../geometry/edgeImage.ts';
import { edgeDirection } from './edgeDirection.ts';
import { difference, distance, dot, type Vector } from '../geometry/vector.ts';

/** The place of an edge nearest to a point of space, among those around where it was sought. */
export interface EdgeFoot {
  readonly t: number;
  readonly jet: EdgeJet;
  /** mm */
  readonly gap: number;
  /** -1 or 1 where the edge ends, at its first or last parameter, before it comes to the point's side. */
  readonly beyond: -1 | 0 | 1;
}

const mostSteps = 80;
/** Steps shorter than this share of the edge's domain are none. */
const restShare = 1e-13;
/** Every so many steps the bracket is halved, whatever its ends say. */
const halvedEach = 5;

/**
 * The root of (S(t) - P) . S'(t) around `start`: steps of Gauss and Newton, held in the bracket that the
 * signs give, halved where they do not shorten it.
 */
export function edgeFoot(image: EdgeImage, point: Vector, start: number): EdgeFoot {
  const { breaks, at } = image;
  const [from, to] = [breaks[0], breaks[breaks.length - 1]];
  const rest = restShare * (to - from);
  let [low, high] = [from, to];
  let [seenLow, seenHigh] = [false, false];
  let t = Math.min(Math.max(start, from), to);
  for (let step = 1; ; step++) {
    const jet = at(t);
    const slope = edgeDirection(image, t, jet);
    const slant = dot(difference(jet.point, point), slope);
    const found = (beyond: -1 | 0 | 1): EdgeFoot => ({
      t,
      jet,
      gap: distance(jet.point, point),
      beyond,
    });
    if (t === from && slant > 0) return found(-1);
    if (t === to && slant < 0) return found(1);
    if (slant === 0) return found(0);
    if (slant > 0) [high, seenHigh] = [t, true];
    else [low, seenLow] = [t, true];
    const size = dot(slope, slope);
    let next = t - slant / size;
    if (next <= low) next = seenLow ? (low + high) / 2 : from;
    else if (next >= high) next = seenHigh ? (low + high) / 2 : to;
    else if (step % halvedEach === 0 && seenLow && seenHigh) next = (low + high) / 2;
    if (!Number.isFinite(next)) next = (low + high) / 2;
    // an end tells whether it is passed, however near it lies
    const isNewEnd = (next === from && !seenLow) || (next === to && !seenHigh);
    const isAtRest = Math.abs(next - t) <= rest && !isNewEnd;
    if (isAtRest || next === t || step >= mostSteps) return found(0);
    t = next;
  }
}

import type { EdgeImage, EdgeJet } from '../geometry/edgeImage.ts';
import { length, type Vector } from '../geometry/vector.ts';

/** Where an edge stands still its direction is taken this share of its domain farther in. */
const fartherIn = 1e-6;
/** mm: an edge stands still where at its speed it would run no farther over its whole domain. */
const noWay = 1e-6;

/**
 * The derivative of an edge at a parameter, or, where it stands still there, as at an end where control
 * points coincide, a little farther towards its middle.
 */
export function edgeDirection({ breaks, at }: EdgeImage, t: number, jet: EdgeJet): Vector {
  const [from, to] = [breaks[0], breaks[breaks.length - 1]];
  if (length(jet.slope) * (to - from) > noWay) return jet.slope;
  const step = fartherIn * (to - from);
  return at(t < (from + to) / 2 ? t + step : t - step).slope;
}

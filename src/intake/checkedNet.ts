import { diagonal, type ControlNet } from '../geometry/controlNet.ts';
import { breakpoints } from '../geometry/knots.ts';
import { fault, type Fault, type Place } from './fault.ts';

/** Highest degree read at all; far above what any surface is built with, low enough to be safe. */
export const highestDegree = 30;
/** A coordinate over this many millimetres (1000 km) is a slip of the unit or of the file. */
const farthest = 1e9;

/** A weight this small against the largest is zero in effect: its point is not part of the surface. */
const leastWeight = 1e-12;

/** A net as a reader found it; lists may be of any length and hold any number. */
export interface RawNet {
  readonly degree: readonly [number, number];
  readonly knots: readonly [Float64Array, Float64Array];
  readonly columns: number;
  readonly rows: number;
  /** Millimetres, not multiplied by the weights, row by row. */
  readonly points: Float64Array;
  readonly weights: Float64Array | null;
}

const letter = ['u', 'v'] as const;

function knotFault(raw: RawNet, side: 0 | 1, place: Place): Fault | null {
  const knots = raw.knots[side];
  const degree = raw.degree[side];
  const direction = letter[side];
  const expected = (side === 0 ? raw.columns : raw.rows) + degree + 1;
  if (knots.length !== expected)
    return fault('knots-count', place, { direction, found: knots.length, expected });
  for (let k = 0; k < knots.length; k++) {
    if (!Number.isFinite(knots[k]))
      return fault('not-finite', place, { what: `knot ${k + 1} in ${direction}` });
    if (k > 0 && knots[k] < knots[k - 1])
      return fault('knots-decrease', place, {
        direction,
        index: k + 1,
        before: knots[k - 1],
        value: knots[k],
      });
  }
  if (!(knots[knots.length - 1 - degree] > knots[degree]))
    return fault('no-extent', place, { what: `the knot vector in ${direction}` });
  const heavy = breakpoints(knots).find((b) => b.multiplicity > degree + 1);
  if (heavy)
    return fault('knots-multiplicity', place, {
      direction,
      value: heavy.value,
      found: heavy.multiplicity,
      most: degree + 1,
    });
  return null;
}

function pointFault(raw: RawNet, place: Place): Fault | null {
  const spot = (index: number): string =>
    `row ${Math.floor(index / raw.columns) + 1}, column ${(index % raw.columns) + 1}`;
  for (let at = 0; at < raw.points.length; at++) {
    const value = raw.points[at];
    if (!Number.isFinite(value))
      return fault('not-finite', place, { what: `the point at ${spot(Math.floor(at / 3))}` });
    if (Math.abs(value) > farthest)
      return fault('beyond-range', place, { where: spot(Math.floor(at / 3)), value });
  }
  const { weights } = raw;
  if (!weights) return null;
  const heaviest = weights.reduce((most, weight) => Math.max(most, weight), 0);
  for (let at = 0; at < weights.length; at++) {
    if (!Number.isFinite(weights[at]))
      return fault('not-finite', place, { what: `the weight at ${spot(at)}` });
    if (weights[at] <= leastWeight * heaviest)
      return fault('weights-not-positive', place, { where: spot(at), value: weights[at] });
  }
  return null;
}

/** All weights alike are no weights: the surface is polynomial. */
function withoutIdleWeights(raw: RawNet): ControlNet {
  const { weights } = raw;
  return weights && weights.every((w) => w === weights[0]) ? { ...raw, weights: null } : raw;
}

/** The net if every later step may rely on it, else the first thing that is wrong with it. */
export function checkedNet(raw: RawNet, place: Place): ControlNet | Fault {
  for (const side of [0, 1] as const) {
    const degree = raw.degree[side];
    if (!Number.isInteger(degree) || degree < 1 || degree > highestDegree)
      return fault('degree-range', place, {
        direction: letter[side],
        found: degree,
        most: highestDegree,
      });
    const count = side === 0 ? raw.columns : raw.rows;
    if (!Number.isInteger(count) || count < degree + 1)
      return fault('too-few-points', place, {
        direction: letter[side],
        found: count,
        least: degree + 1,
      });
  }
  const count = raw.columns * raw.rows;
  if (raw.points.length !== 3 * count)
    return fault('wrong-count', place, {
      what: 'coordinates',
      found: raw.points.length,
      expected: 3 * count,
    });
  if (raw.weights && raw.weights.length !== count)
    return fault('wrong-count', place, {
      what: 'weights',
      found: raw.weights.length,
      expected: count,
    });
  const wrong = knotFault(raw, 0, place) ?? knotFault(raw, 1, place) ?? pointFault(raw, place);
  if (wrong) return wrong;
  const net = withoutIdleWeights(raw);
  return diagonal(net) > 0 ? net : fault('no-extent', place, { what: 'the control net' });
}

export const isFault = (result: ControlNet | Fault): result is Fault => 'code' in result;

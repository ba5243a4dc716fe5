import { basisTable, tableValues } from '../geometry/basisTable.ts';
import type { Knots } from '../geometry/knots.ts';
import { splineRefit, type SplineRefit } from '../geometry/splineRefit.ts';
import {
  spaceKnots,
  spanEnds,
  splineSpace,
  type InnerKnot,
  type SplineSpace,
} from '../geometry/splineSpace.ts';
import { largestGap } from './placeGaps.ts';
import { spanStations } from './spanStations.ts';

/** A way to build one direction of a surface, and what it costs. */
export interface DirectionBuild {
  readonly space: SplineSpace;
  /** Null: as it is. */
  readonly refit: SplineRefit | null;
  /** Largest deviation at the stations, mm, with the other direction left as it is. */
  readonly deviation: number;
}

/** Splines of one direction, side by side: the rows or the columns of a net. */
export interface Bundle {
  readonly knots: Knots;
  readonly degree: number;
  /** Points in order, each with `width / coordinates` places of as many coordinates. */
  readonly points: Float64Array;
  readonly width: number;
  /** 3, or 4 for homogeneous coordinates. */
  readonly coordinates: 3 | 4;
  /** Inner knots that stay as they are: corners and gaps. */
  readonly kept: readonly number[];
}

/** Below a cubic a panel can no longer be joined with even curvature: no build goes lower than that. */
const leastDegree = 3;
/** A build this many times over the limit ends the search: its followers are farther off still. */
export const farthest = 10;
/** Many knots are taken out by so many at a time, as a share of those left, until one time fails. */
const batchShare = 0.1;
/** Knots that are cheapest to take out by their own error and are tried, where one goes at a time. */
const tried = 3;
/** Most inner knots that are tried evenly spaced. */
const mostEven = 8;

/**
 * How far the control points move at least when one of the knots at `inner[index]` goes: the largest,
 * over all splines, of the smallest largest movement. Knot insertion is c_i = a_i d_i + (1 - a_i) d_(i-1)
 * (Boehm; Piegl & Tiller, The NURBS Book, eq. 5.11 to 5.15, from memory); z with z . c = 0 for all d is
 * local, and |z . c| / sum |z_i| is the distance of c from such sums in the largest norm.
 */
function removalError(
  space: SplineSpace,
  index: number,
  points: Float64Array,
  { width, coordinates }: Pick<Bundle, 'width' | 'coordinates'>,
): number {
  const { degree, inner } = space;
  const { value, multiplicity } = inner[index];
  const coarse = spaceKnots(without(space, [index]));
  // the last knot before or at the value in the coarser vector
  const span =
    inner.slice(0, index).reduce((total, knot) => total + knot.multiplicity, degree) +
    multiplicity -
    1;
  const from = span - degree;
  const z = [1];
  let size = 1;
  for (let j = from; j <= span - multiplicity + 1; j++) {
    const share = (i: number): number => {
      if (i <= from) return 1;
      if (i > span - multiplicity + 1) return 0;
      return (value - coarse[i]) / (coarse[i + degree] - coarse[i]);
    };
    const next = (-z[z.length - 1] * share(j)) / (1 - share(j + 1));
    z.push(next);
    size += Math.abs(next);
  }
  let most = 0;
  const middle = from + (z.length >> 1);
  for (let at = 0; at < width; at += coordinates) {
    const sums = [0, 0, 0, 0];
    for (let axis = 0; axis < coordinates; axis++)
      z.forEach((share, k) => (sums[axis] += share * points[(from + k) * width + at + axis]));
    const weight = coordinates === 4 ? points[middle * width + at + 3] : 1;
    let square = 0;
    for (let axis = 0; axis < 3; axis++) {
      // movement of x = X / w is (dX - x dw) / w
      const x = points[middle * width + at + axis] / weight;
      const moved = (sums[axis] - (coordinates === 4 ? x * sums[3] : 0)) / weight;
      square += moved * moved;
    }
    most = Math.max(most, square);
  }
  return Math.sqrt(most) / size;
}

/** The space with one knot less at each of these inner breakpoints. */
const without = (space: SplineSpace, indices: readonly number[]): SplineSpace => ({
  ...space,
  inner: space.inner
    .map((knot, k): InnerKnot =>
      indices.includes(k) ? { ...knot, multiplicity: knot.multiplicity - 1 } : knot,
    )
    .filter(({ multiplicity }) => multiplicity > 0),
});

/** The space of a lower degree that is as smooth at its knots, as far as a knot remains. */
const lowered = (space: SplineSpace, by: number): SplineSpace => ({
  ...space,
  degree: space.degree - by,
  inner: space.inner.map(({ value, multiplicity }) => ({
    value,
    multiplicity: Math.max(multiplicity - by, 1),
  })),
});

const evenlySpaced = (space: SplineSpace, count: number): SplineSpace => ({
  ...space,
  inner: Array.from({ length: count }, (_, k) => ({
    value: space.ends[0] + ((k + 1) / (count + 1)) * (space.ends[1] - space.ends[0]),
    multiplicity: 1,
  })),
});

/** A build with the points of the bundle in it. */
interface Fitted extends DirectionBuild {
  readonly points: Float64Array;
}

/**
 * The builds of one direction worth looking at: as it is first, then with fewer knots, taken out one after
 * the other where that costs least or spaced evenly anew, at the degree as it is and at each lower one down
 * to a cubic; those within ten times the limit, mm.
 */
export function directionBuilds(bundle: Bundle, limit: number): DirectionBuild[] {
  const { knots, degree, points, width, coordinates, kept } = bundle;
  const own = splineSpace(knots, degree);
  const stations = spanStations(spanEnds(own), degree);
  const wanted = tableValues(basisTable(knots, degree, stations), points, width);
  const asIs: Fitted = { space: own, refit: null, deviation: 0, points };
  const found: Fitted[] = [asIs];

  function fitted(space: SplineSpace): Fitted | null {
    const refit = splineRefit(knots, degree, space);
    if (!refit) return null;
    const there = refit(points, width, 'rough');
    const seen = tableValues(basisTable(spaceKnots(space), space.degree, stations), there, width);
    return { space, refit, deviation: largestGap(wanted, seen, coordinates), points: there };
  }

  /** What is left after taking out the knots that cost least; null where none may go. */
  function lighter(from: Fitted, batch: number): Fitted | null {
    const ranked = from.space.inner
      .map(({ value }, index) => ({
        index,
        error: kept.includes(value)
          ? Infinity
          : removalError(from.space, index, from.points, bundle),
      }))
      .filter(({ error }) => error < Infinity)
      .sort((a, b) => a.error - b.error);
    if (batch === 1)
      return ranked.slice(0, tried).reduce<Fitted | null>((best, { index }) => {
        const next = fitted(without(from.space, [index]));
        return next && (!best || next.deviation < best.deviation) ? next : best;
      }, null);
    const taken: number[] = [];
    for (const { index } of ranked)
      if (taken.length < batch && !taken.some((other) => Math.abs(other - index) < 2))
        taken.push(index);
    return taken.length > 0 ? fitted(without(from.space, taken)) : null;
  }

  function thin(from: Fitted): void {
    const removable = ({ space }: Fitted): number =>
      space.inner.reduce(
        (total, { value, multiplicity }) => total + (kept.includes(value) ? 0 : multiplicity),
        0,
      );
    let now = from;
    let batch = Infinity;
    while (removable(now) > 0) {
      batch = Math.min(batch, Math.ceil(batchShare * removable(now)));
      const next = lighter(now, batch);
      if (!next) return;
      if (next.deviation > limit && batch > 1) batch = Math.ceil(batch / 2);
      else {
        found.push(next);
        if (next.deviation > farthest * limit) return;
        if (next.deviation > limit && removable(now) > 1 / batchShare) return;
        now = next;
      }
    }
  }

  for (let by = 0; by === 0 || degree - by >= leastDegree; by++) {
    const start = by === 0 ? asIs : fitted(lowered(own, by));
    if (!start) break;
    if (by > 0) found.push(start);
    if (start.deviation > farthest * limit) break;
    // what has fewer knots as well lies farther off still
    if (start.deviation > limit) continue;
    thin(start);
    const many = start.space.inner.length;
    if (kept.length > 0 || many < 2) continue;
    for (let count = Math.min(many - 1, mostEven); count > 0; count--) {
      const even = fitted(evenlySpaced(start.space, count));
      if (!even) break;
      found.push(even);
      if (even.deviation > limit) break;
    }
  }
  return found
    .filter(({ deviation }) => deviation <= farthest * limit)
    .map(({ space, refit, deviation }) => ({ space, refit, deviation }));
}

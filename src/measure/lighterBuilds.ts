import { basisTable, tableValues } from '../geometry/basisTable.ts';
import { diagonal, type ControlNet } from '../geometry/controlNet.ts';
import { surfaceJet } from '../geometry/evaluation.ts';
import { domain, grevilleAbscissae, interiorBreakpoints, spanCount } from '../geometry/knots.ts';
import { netValues, turnedValues, valueWidth } from '../geometry/netValues.ts';
import { spaceKnots, spaceSize } from '../geometry/splineSpace.ts';
import { angleBetween, distance } from '../geometry/vector.ts';
import { directionBuilds, farthest, type DirectionBuild } from './directionBuilds.ts';
import { innerBreaks } from './innerBreaks.ts';
import { netDeviation } from './netDeviation.ts';

/** One way to build a surface, and how far it then departs from what it was. */
export interface NetBuild {
  readonly net: ControlNet;
  readonly spans: readonly [number, number];
  /** Largest deviation at equal parameters, mm. */
  readonly deviation: number;
}

/** A build without its net: what it is made of, and the price. */
export interface BuildPrice {
  readonly degree: readonly [number, number];
  readonly spans: readonly [number, number];
  /** Points along u and along v. */
  readonly points: readonly [number, number];
  /** Largest deviation at equal parameters, mm. */
  readonly deviation: number;
}

export const pricesOf = (builds: readonly NetBuild[]): BuildPrice[] =>
  builds.map(({ net, spans, deviation }) => ({
    degree: net.degree,
    spans,
    points: [net.columns, net.rows],
    deviation,
  }));

/** A smaller corner (radians) or gap (mm) at a knot inside may go with the knot. */
const leastCorner = (0.05 * Math.PI) / 180;
const leastGap = 0.001;
/** Deviations under this share of the diagonal are the rounding of files: nothing is lost by them. */
const rounding = 1e-8;
/** A build of this degree or less keeps it, unless a lower one is the same: see `Lightening.fewer`. */
const customaryDegree = 5;
/** Pairs that are measured though the sum of both directions' deviations is over the limit. */
const mostDoubtful = 24;
/** Two directions together deviate by about the root of their squares; by less than this share of it, hardly. */
const leastTogether = 0.8;
/** Builds of the price list, at most about. */
const mostPrices = 8;

interface Pair {
  readonly u: DirectionBuild;
  readonly v: DirectionBuild;
  readonly size: number;
  /** What both together are expected to deviate by, mm. */
  readonly expected: number;
}

/** What lighter builds of one surface there are. */
export interface Lightening {
  /**
   * What points cost: the net as it is, then builds that are each lighter than the one before and farther
   * off, to ten times the limit.
   */
  readonly prices: readonly NetBuild[];
  /**
   * The lightest within the limit that does not lower a degree of five or less for it: spans go, and
   * whatever goes without a loss. The net as it is where there is none.
   */
  readonly fewer: NetBuild;
  /** The lightest within the limit of whatever degree from three on. */
  readonly lightest: NetBuild;
  /** The lightest that is the same surface but for the rounding of files; the net as it is where all points count. */
  readonly same: NetBuild;
  /** Whether knots can go without a loss, the degree as it is: they were put in and never used. */
  readonly idleKnots: boolean;
}

const sizeOf = (net: ControlNet): number => net.columns * net.rows;

/** Inner knots of one direction at which the surface has a corner or a gap. */
function keptKnots(net: ControlNet, side: 0 | 1): number[] {
  if (net.rows === 1) return side === 0 ? curveCorners(net) : [];
  return innerBreaks(net, 1)
    .filter(
      ({ along, angle, gap }) =>
        along === (side === 0 ? 'row' : 'column') && (angle > leastCorner || gap > leastGap),
    )
    .map(({ value }) => value);
}

/** The same of a curve, which has no normals: by its tangents. */
function curveCorners(net: ControlNet): number[] {
  const [knots] = net.knots;
  const [degree] = net.degree;
  return interiorBreakpoints(knots, degree)
    .filter(({ value, multiplicity, first }) => {
      if (multiplicity < degree) return false;
      const [before, after] = [first - 1, first + multiplicity - 1].map((span) =>
        surfaceJet(net, value, 0, [span, undefined]),
      );
      return (
        angleBetween(before.u, after.u) > leastCorner ||
        distance(before.point, after.point) > leastGap
      );
    })
    .map(({ value }) => value);
}

/** The builds of one direction, seen along the curves of the surface over the other's Greville abscissae. */
function buildsAlong(
  net: ControlNet,
  side: 0 | 1,
  values: Float64Array,
  limit: number,
): DirectionBuild[] {
  const other = 1 - side;
  const [own, across] = side === 0 ? [net.columns, net.rows] : [net.rows, net.columns];
  const coordinates = valueWidth(net);
  const [low, high] = domain(net.knots[other], net.degree[other]);
  const greville = grevilleAbscissae(net.knots[other], net.degree[other]);
  const at =
    net.degree[other] === 0 ? [low] : greville.map((w) => Math.min(Math.max(w, low), high));
  const table = basisTable(net.knots[other], net.degree[other], at);
  // splines of this direction at stations of the other: evaluate across, then turn back
  const lines = turnedValues(
    tableValues(table, turnedValues(values, own, across, coordinates), own * coordinates),
    at.length,
    own,
    coordinates,
  );
  return directionBuilds(
    {
      knots: net.knots[side],
      degree: net.degree[side],
      points: lines,
      width: at.length * coordinates,
      coordinates,
      kept: keptKnots(net, side),
    },
    limit,
  );
}

/** The net refitted in both directions. */
function refitted(net: ControlNet, values: Float64Array, { u, v }: Pair): ControlNet {
  const width = valueWidth(net);
  const columns = u.refit ? spaceSize(u.space) : net.columns;
  const rows = v.refit ? spaceSize(v.space) : net.rows;
  const along = u.refit ? u.refit(values, net.rows * width) : values;
  const turned = turnedValues(along, columns, net.rows, width);
  const both = v.refit ? v.refit(turned, columns * width) : turned;
  const points = new Float64Array(3 * columns * rows);
  const weights = net.weights && new Float64Array(columns * rows);
  for (let k = 0; k < columns * rows; k++) {
    const weight = weights ? both[4 * k + 3] : 1;
    if (weights) weights[k] = weight;
    for (let axis = 0; axis < 3; axis++) points[3 * k + axis] = both[width * k + axis] / weight;
  }
  // a corner stays to the bit, also where it was multiplied by its weight and divided again
  for (const [row, oldRow] of [
    [0, 0],
    [rows - 1, net.rows - 1],
  ])
    for (const [column, oldColumn] of [
      [0, 0],
      [columns - 1, net.columns - 1],
    ]) {
      const [to, from] = [row * columns + column, oldRow * net.columns + oldColumn];
      if (weights && net.weights && weights[to] === net.weights[from])
        points.set(net.points.subarray(3 * from, 3 * from + 3), 3 * to);
    }
  return {
    degree: [u.space.degree, v.space.degree],
    knots: [
      u.refit ? spaceKnots(u.space) : net.knots[0],
      v.refit ? spaceKnots(v.space) : net.knots[1],
    ],
    columns,
    rows,
    points,
    weights,
  };
}

/** A weight under this share of the heaviest is none: readers refuse the surface. */
const leastWeight = 1e-6;

/** Whether the weights are such as a file may hold: a refit may leave the surface sound and these not. */
function haveWeight({ weights }: ControlNet): boolean {
  if (!weights) return true;
  const heaviest = weights.reduce((most, weight) => Math.max(most, weight), 0);
  return weights.every((weight) => weight > leastWeight * heaviest);
}

const spansOf = ({ knots, degree }: ControlNet): readonly [number, number] => [
  spanCount(knots[0], degree[0]),
  spanCount(knots[1], degree[1]),
];

/** The lightest build of one direction that is the same but for rounding. */
const sameBuild = (builds: readonly DirectionBuild[], exact: number): DirectionBuild =>
  builds
    .filter(({ deviation }) => deviation <= exact)
    .reduce((a, b) => (spaceSize(b.space) < spaceSize(a.space) ? b : a));

/** Pairs that none lighter beats, heaviest first; what deviates by rounding only deviates by nothing. */
function frontOf(pairs: readonly Pair[], exact: number): Pair[] {
  const front: Pair[] = [];
  let least = Infinity;
  for (const pair of pairs) {
    const cost = pair.expected <= exact ? 0 : pair.expected;
    if (cost >= least) continue;
    least = cost;
    front.unshift(pair);
  }
  return front;
}

/** Every pair that is lighter than the one before by the step that leaves about `mostPrices` of them. */
function thinned(front: readonly Pair[]): Pair[] {
  if (front.length <= mostPrices) return [...front];
  const last = front.length - 1;
  const step = (front[last].size / front[0].size) ** (1 / (mostPrices - 1));
  let size = Infinity;
  return front.filter((pair, k) => {
    if (pair.size > size * step && k < last) return false;
    size = pair.size;
    return true;
  });
}

/**
 * The lighter builds of a surface over the same domain, by least squares in one direction after the
 * other. Corners stay where they are; borders deviate like the inside. Deviations are the largest, at
 * equal parameters (`netDeviation`).
 */
export function lightening(net: ControlNet, limit: number): Lightening {
  const exact = rounding * diagonal(net);
  const width = valueWidth(net);
  const values = netValues(net);
  const turned = turnedValues(values, net.columns, net.rows, width);
  const us = buildsAlong(net, 0, values, limit);
  const vs = buildsAlong(net, 1, turned, limit);
  const asIs: NetBuild = { net, spans: spansOf(net), deviation: 0 };
  const pairs = us
    .flatMap((u) =>
      vs.map((v): Pair => ({
        u,
        v,
        size: spaceSize(u.space) * spaceSize(v.space),
        expected: Math.hypot(u.deviation, v.deviation),
      })),
    )
    .filter(({ size }) => size < sizeOf(net))
    .sort((a, b) => a.size - b.size || a.expected - b.expected);
  if (pairs.length === 0)
    return { prices: [asIs], fewer: asIs, lightest: asIs, same: asIs, idleKnots: false };

  const meter = netDeviation(net);
  const measured = new Map<Pair, NetBuild>();
  const build = (pair: Pair): NetBuild => {
    const known = measured.get(pair);
    if (known) return known;
    const other = refitted(net, values, pair);
    const deviation = haveWeight(other) ? meter(other) : Infinity;
    const made = { net: other, spans: spansOf(other), deviation };
    measured.set(pair, made);
    return made;
  };
  const lightestOf = (some: readonly Pair[]): NetBuild => {
    let doubtful = 0;
    for (const pair of some) {
      const { u, v, expected } = pair;
      if (leastTogether * expected > limit) continue;
      if (u.deviation + v.deviation > limit && ++doubtful > mostDoubtful) continue;
      const made = build(pair);
      if (made.deviation <= limit) return made;
    }
    return asIs;
  };
  const [sameU, sameV] = [us, vs].map((builds) => sameBuild(builds, exact));
  const samePair = pairs.find(({ u, v }) => u === sameU && v === sameV);
  // both directions together may round twice as far
  const same = samePair && build(samePair).deviation <= 2 * exact ? build(samePair) : asIs;
  const lowest = [sameU, sameV].map(({ space }) => Math.min(space.degree, customaryDegree));
  const isKept = ({ u, v }: Pair): boolean =>
    u.space.degree >= lowest[0] && v.space.degree >= lowest[1];
  const fewer = lightestOf(pairs.filter(isKept));
  const lightest = lightestOf(pairs);
  const prices = thinned(frontOf(pairs, exact)).map(build);
  const told = [...new Set([...prices, fewer, lightest])]
    .filter((one) => one !== asIs && one.deviation <= farthest * limit)
    .sort((a, b) => sizeOf(a.net) - sizeOf(b.net) || a.deviation - b.deviation);
  const rising: NetBuild[] = [];
  let nearest = Infinity;
  for (const one of told) {
    const cost = one.deviation <= exact ? 0 : one.deviation;
    if (cost >= nearest) continue;
    nearest = cost;
    rising.unshift(one);
  }
  return {
    prices: [asIs, ...rising],
    fewer,
    lightest,
    same,
    idleKnots:
      same !== asIs &&
      [us, vs].some(([own, ...others]) =>
        others.some(
          ({ space, deviation }) =>
            space.degree === own.space.degree &&
            spaceSize(space) < spaceSize(own.space) &&
            deviation <= exact,
        ),
      ),
  };
}

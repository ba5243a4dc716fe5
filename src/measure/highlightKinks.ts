import type { ControlNet } from '../geometry/controlNet.ts';
import { surfaceJet } from '../geometry/evaluation.ts';
import { domain, interiorBreakpoints, type Breakpoint } from '../geometry/knots.ts';
import { parameterDirection } from '../geometry/surfaceCurvature.ts';
import { angleBetween, length, scaled, sum, unit } from '../geometry/vector.ts';
import type { HighlightLine, LinePlace } from './highlightLines.ts';
import { lightReach, lightValue } from './lights.ts';

/** Where a highlight line crosses a knot line and breaks there. */
export interface HighlightKink {
  readonly line: HighlightLine;
  /** The place as it is reached. */
  readonly place: LinePlace;
  /** Direction in which the knot stands: one in u (0) makes a break along a column. */
  readonly side: 0 | 1;
  readonly knot: Breakpoint;
  /**
   * Order of the surface's continuity that is all there is: 0, the surface has a corner, or a gap, and
   * the line jumps; 1, its curvature jumps, and the line kinks.
   */
  readonly order: 0 | 1;
  /** Jump of the line's direction within the surface, radians. */
  readonly angle: number;
  /** How far the line is thrown off along the surface, mm: of a kink, off the run of its two arms. */
  readonly shift: number;
  /** Tilt of the surface that shifts a line so far, radians. */
  readonly tilt: number;
}

/** Ends nearer to a knot than this share of the domain are on it. */
const closeShare = 1e-9;

/** A knot at which the surface may be less than curvature-continuous. */
interface Doubtful {
  readonly side: 0 | 1;
  readonly knot: Breakpoint;
}

const doubtfulKnots = (net: ControlNet): Doubtful[] =>
  ([0, 1] as const).flatMap((side) =>
    interiorBreakpoints(net.knots[side], net.degree[side])
      .filter(({ multiplicity }) => multiplicity > net.degree[side] - 2)
      .map((knot) => ({ side, knot })),
  );

/** Whether a knot parts two spans. */
const isBetween = ({ first }: Breakpoint, a: number, b: number): boolean =>
  Math.min(a, b) < first && first <= Math.max(a, b);

/** Kinks where a line runs on across a knot, each worth what its arms make of it. */
function crossings(line: HighlightLine, doubtful: readonly Doubtful[]): HighlightKink[] {
  const { places } = line;
  const met = places.flatMap((place, k) => {
    const before = places[k - 1];
    if (!before || before.way !== place.way) return [];
    const own = doubtful.find(({ side, knot }) =>
      isBetween(knot, before.spans[side], place.spans[side]),
    );
    return own ? [{ ...own, place: before, angle: Math.abs(place.heading - before.heading) }] : [];
  });
  const ways = met.map(({ place }) => place.way);
  const whole = places[places.length - 1].way;
  // round a line that closes, an arm reaches over its start
  const stops = line.isClosed
    ? [ways[ways.length - 1] - whole, ...ways, ways[0] + whole]
    : [0, ...ways, whole];
  return met.map((own, k): HighlightKink => {
    const way = own.place.way;
    const [before, after] = [way - stops[k], stops[k + 2] - way];
    const shift = before + after > 0 ? (own.angle * before * after) / (before + after) : 0;
    return { ...own, line, order: 1, shift, tilt: shift * own.place.tiltPerShift };
  });
}

/** The break at an end of a line, where a corner of the surface cuts it. */
function cutAt(
  net: ControlNet,
  line: HighlightLine,
  place: LinePlace,
  corners: readonly Doubtful[],
): HighlightKink | null {
  const own = corners.find(({ side, knot }) => {
    const [from, to] = domain(net.knots[side], net.degree[side]);
    return Math.abs(place.at[side] - knot.value) <= closeShare * (to - from);
  });
  if (!own) return null;
  const { side, knot } = own;
  const beyond =
    place.spans[side] < knot.first ? knot.first + knot.multiplicity - 1 : knot.first - 1;
  const spans: [number, number] = [place.spans[0], place.spans[1]];
  spans[side] = beyond;
  const jet = surfaceJet(net, place.at[0], place.at[1], spans);
  const value = lightValue(line.light, jet);
  if (!value) return null;
  const along = sum(scaled(jet.u, -value.v), scaled(jet.v, value.u));
  const tangent = unit(along);
  if (!tangent || !parameterDirection(jet, tangent)) return null;
  const reach = lightReach(line.light, jet.point, place.normal);
  const slope = place.tiltPerShift * reach;
  if (!(slope > 0) || !(length(along) > 0)) return null;
  return {
    line,
    place,
    side,
    knot,
    order: 0,
    angle: angleBetween(place.tangent, tangent),
    shift: Math.abs(value.value) / slope,
    tilt: Math.abs(value.value) / reach,
  };
}

/**
 * Where highlight lines break inside a panel. The normal hangs on first derivatives, so that a line is
 * one order less smooth than the surface (Poeschl, Detecting surface irregularities using isophotes,
 * CAGD 1 (1984) 163-168): at a knot where the surface has a corner the line jumps, where its curvature
 * jumps the line kinks. Directions are those of the exact gradients on both sides.
 */
export function highlightKinks(net: ControlNet, lines: readonly HighlightLine[]): HighlightKink[] {
  const doubtful = doubtfulKnots(net);
  if (doubtful.length === 0) return [];
  const corners = doubtful.filter(({ side, knot }) => knot.multiplicity >= net.degree[side]);
  return lines.flatMap((line) => {
    const ends = line.isClosed ? [] : [line.places[0], line.places[line.places.length - 1]];
    return [
      ...crossings(line, doubtful),
      ...ends.flatMap((place) => cutAt(net, line, place, corners) ?? []),
    ];
  });
}

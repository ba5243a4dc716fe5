import type { ControlNet } from '../geometry/controlNet.ts';
import { grevilleAbscissae } from '../geometry/knots.ts';
import type { Coordinates } from '../geometry/splineCurve.ts';
import { difference, scaled, sum, type Vector } from '../geometry/vector.ts';
import type { HighlightLine, LinePlace } from './highlightLines.ts';

/** A piece of a highlight line between two reversals of its turning, beyond which it turns as before. */
export interface HighlightWiggle {
  readonly line: HighlightLine;
  /** The smallest of the turns before, between and after the two reversals, radians. */
  readonly swing: number;
  /** Half way between both reversals: parameters, and in space, mm. */
  readonly at: Coordinates;
  readonly point: Vector;
  /** Twice the way between them, mm; and in control points of the net. */
  readonly wavelength: number;
  readonly points: number;
  /** How far the line sways from side to side, as a sine of that swing does, mm. */
  readonly shift: number;
  /** Tilt of the surface, to one side and the other, that sways it so, radians. */
  readonly tilt: number;
  /** Share of the turn between the reversals that is made by kinks at knots. */
  readonly kinked: number;
  /** How many times nearer the family's lines are at the narrowest place than at the widest. */
  readonly bunching: number;
}

/** The places at both ends of a line and wherever its turning reverses, as indices. */
function reversals(places: readonly LinePlace[]): number[] {
  const found: number[] = [];
  places.forEach(({ heading }, k) => {
    const [before, last] = [found[found.length - 2], found[found.length - 1]];
    if (last !== undefined && heading === places[last].heading) return;
    if (
      before !== undefined &&
      heading > places[last].heading === places[last].heading > places[before].heading
    )
      found.pop();
    found.push(k);
  });
  return found;
}

/** Where a parameter lies among the control points of a direction, counted from the first. */
function pointsBefore(abscissae: Float64Array, at: number): number {
  let k = 0;
  while (k < abscissae.length - 2 && abscissae[k + 1] < at) k += 1;
  const gap = abscissae[k + 1] - abscissae[k];
  return k + (gap > 0 ? (at - abscissae[k]) / gap : 0);
}

/** The place that lies so far along a line, between two traced ones; `places` hold it. */
function placeAt(
  places: readonly LinePlace[],
  way: number,
): Pick<LinePlace, 'at' | 'point' | 'tiltPerShift'> {
  const next = Math.max(
    1,
    places.findIndex((place) => place.way >= way),
  );
  const [a, b] = [places[next - 1], places[next]];
  const share = b.way > a.way ? (way - a.way) / (b.way - a.way) : 0;
  const mixed = (x: number, y: number): number => x + share * (y - x);
  return {
    at: [mixed(a.at[0], b.at[0]), mixed(a.at[1], b.at[1])],
    point: sum(a.point, scaled(difference(b.point, a.point), share)),
    tiltPerShift: mixed(a.tiltPerShift, b.tiltPerShift),
  };
}

/** A line that closes, twice round: wherever it starts, each wiggle lies once in the middle half. */
function twiceRound({ places, isClosed }: HighlightLine): readonly LinePlace[] {
  if (!isClosed) return places;
  const last = places[places.length - 1];
  return [
    ...places,
    ...places.map((place) => ({
      ...place,
      way: place.way + last.way,
      heading: place.heading + last.heading,
    })),
  ];
}

/** Sum of the jumps of direction on a stretch of line, radians. */
const kinkSum = (stretch: readonly LinePlace[]): number =>
  stretch.reduce((total, { way, heading }, k) => {
    const before = stretch[k - 1];
    return before && before.way === way ? total + Math.abs(heading - before.heading) : total;
  }, 0);

/**
 * The wiggles of a line. A line that bends steadily has none, nor has an S: the turning must reverse and
 * reverse again. The smallest swing of the heading is taken out until that is left, so that a small
 * wiggle is found on the back of a large one and nothing is counted twice; no band of noise is needed.
 */
export function highlightWiggles(
  net: ControlNet,
  lines: readonly HighlightLine[],
): HighlightWiggle[] {
  const abscissae = ([0, 1] as const).map((side) =>
    grevilleAbscissae(net.knots[side], net.degree[side]),
  );
  const points = (from: LinePlace, to: LinePlace): number =>
    Math.hypot(
      ...abscissae.map(
        (own, side) => pointsBefore(own, to.at[side]) - pointsBefore(own, from.at[side]),
      ),
    );
  return lines.flatMap((line) => {
    const places = twiceRound(line);
    const { way: whole } = line.places[line.places.length - 1];
    const turns = reversals(places);
    const heading = (k: number): number => places[turns[k]].heading;
    const swing = (k: number): number => Math.abs(heading(k + 1) - heading(k));
    const wiggles: HighlightWiggle[] = [];
    const wiggle = (size: number, first: number, last: number): void => {
      const stretch = places.slice(first, last + 1);
      const [from, to] = [places[first], places[last]];
      const half = to.way - from.way;
      const way = from.way + half / 2;
      if (line.isClosed && !(way >= whole / 2 && way < whole * 1.5)) return;
      const { at, point, tiltPerShift } = placeAt(stretch, way);
      const shift = (size * half) / Math.PI;
      const tilts = stretch.map(({ tiltPerShift }) => tiltPerShift);
      wiggles.push({
        line,
        swing: size,
        at,
        point,
        wavelength: 2 * half,
        points: 2 * points(from, to),
        shift,
        tilt: (shift / 2) * tiltPerShift,
        kinked: kinkSum(stretch) / Math.abs(to.heading - from.heading),
        bunching: Math.max(...tilts) / Math.min(...tilts),
      });
    };
    while (turns.length >= 4) {
      const last = turns.length - 2;
      let least = 0;
      for (let k = 1; k <= last; k++) if (swing(k) < swing(least)) least = k;
      const between = Math.min(Math.max(least, 1), last - 1);
      wiggle(swing(least), turns[between], turns[between + 1]);
      if (least === 0) turns.shift();
      else if (least === last) turns.pop();
      else turns.splice(least, 2);
    }
    return wiggles;
  });
}

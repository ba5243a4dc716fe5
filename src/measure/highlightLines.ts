import { surfacePatches } from '../geometry/bernsteinPatch.ts';
import { contourLines } from '../geometry/contourLines.ts';
import { diagonal, type ControlNet } from '../geometry/controlNet.ts';
import { surfaceJet, surfaceNormal, surfacePoint } from '../geometry/evaluation.ts';
import { spanIndex } from '../geometry/knots.ts';
import { normalLines } from '../geometry/normalLines.ts';
import { sheetOf, type Sheet } from '../geometry/sheet.ts';
import type { Coordinates } from '../geometry/splineCurve.ts';
import {
  cross,
  distance,
  dot,
  length,
  scaled,
  squareTo,
  sum,
  unit,
  type Vector,
} from '../geometry/vector.ts';
import {
  leastRise,
  lightFamilies,
  lightForm,
  lightReach,
  lightValue,
  type Light,
} from './lights.ts';
import type { PanelView } from './panelView.ts';
import type { Kept } from './surfaceLook.ts';

/** A place on a highlight line, as one side of it has it: at a knot the two sides may differ. */
export interface LinePlace {
  readonly at: Coordinates;
  readonly point: Vector;
  /**
   * Unit tangent, so turned that what is 0 along the line grows to its left, seen from the unit normal
   * along S_u x S_v: the same way all along, whichever way the places run.
   */
  readonly tangent: Vector;
  readonly normal: Vector;
  /** How far along the line, mm. */
  readonly way: number;
  /** Direction of the line: the sum of its turns within the surface so far, radians. */
  readonly heading: number;
  /** Tilt of the surface that shifts the line by 1 mm along the surface, radians a mm. */
  readonly tiltPerShift: number;
  readonly spans: readonly [number, number];
}

/** A stretch of the line of one light that lies on the kept and lit part of a panel. */
export interface HighlightLine {
  /** Which family of lights, and which of its lights. */
  readonly family: number;
  readonly light: Light;
  /** In order, two at each traced point inside: as it is reached and as it is left. */
  readonly places: readonly LinePlace[];
  readonly isClosed: boolean;
}

/** The side of a panel that lights are on. */
type LitSide = Pick<PanelView, 'up' | 'sign'>;

/** Chord tolerance of the traced lines, mm. */
const tolerance = 0.05;
/** What counts as one place on a surface's edges, as a share of the panel's diagonal. */
const reach = 1e-6;
/** Share of the domain beside an edge collapsed into a point where the normal may be rounding. */
const besideTip = 1 / 64;

/** Whether parameters lie beside an edge that is a point. */
const isBesideTip = ({ domain, collapsed }: Sheet, at: Coordinates): boolean =>
  ([0, 1] as const).some((side) => {
    const [from, to] = domain[side];
    const share = (at[side] - from) / (to - from);
    return (
      (collapsed[side][0] && share < besideTip) || (collapsed[side][1] && share > 1 - besideTip)
    );
  });

/** The turn from one tangent to another within a surface, radians, positive about the normal. */
function turnWithin(
  from: Pick<LinePlace, 'tangent' | 'normal'>,
  to: Pick<LinePlace, 'tangent' | 'normal'>,
): number {
  const axis = unit(sum(from.normal, to.normal)) ?? from.normal;
  const [a, b] = [squareTo(from.tangent, axis), squareTo(to.tangent, axis)];
  return Math.atan2(dot(axis, cross(a, b)), dot(a, b));
}

type BarePlace = Omit<LinePlace, 'way' | 'heading'>;

function placeOn(
  net: ControlNet,
  light: Light,
  lit: LitSide,
  at: Coordinates,
  spans: readonly [number, number],
): BarePlace | null {
  const jet = surfaceJet(net, at[0], at[1], spans);
  const normal = surfaceNormal(jet);
  const own = lightValue(light, jet);
  if (!normal || !own || dot(normal, lit.up) * lit.sign < leastRise) return null;
  const along = sum(scaled(jet.u, -own.v), scaled(jet.v, own.u));
  const tangent = unit(along);
  if (!tangent) return null;
  // the gradient's length, from that of its turn by a right angle within the surface
  const slope = length(along) / length(cross(jet.u, jet.v));
  return {
    at,
    point: jet.point,
    tangent,
    normal,
    tiltPerShift: slope / lightReach(light, jet.point, normal),
    spans,
  };
}

const isOneLeap = (period: Sheet['period'], from: Coordinates, to: Coordinates): boolean =>
  ([0, 1] as const).some((side) => {
    const width = period[side];
    return width !== null && Math.abs(to[side] - from[side]) > width / 2;
  });

const spansBetween = (
  net: ControlNet,
  from: Coordinates,
  to: Coordinates,
): readonly [number, number] => [
  spanIndex(net.knots[0], net.degree[0], (from[0] + to[0]) / 2),
  spanIndex(net.knots[1], net.degree[1], (from[1] + to[1]) / 2),
];

/**
 * A line that closes told from another of its places: one that is not kept, so that no kept stretch is
 * parted there, else one within a patch, so that no kink lies at its ends.
 */
function turnedRound(
  net: ControlNet,
  points: readonly Coordinates[],
  isKept: (at: Coordinates) => boolean,
): readonly Coordinates[] {
  const start = points.findIndex((at, k) => k > 0 && !isKept(at));
  const within = points.findIndex((at, k) => {
    if (k === 0 || k + 1 >= points.length) return false;
    const [a, b] = [spansBetween(net, points[k - 1], at), spansBetween(net, at, points[k + 1])];
    return a[0] === b[0] && a[1] === b[1];
  });
  const first = start > 0 ? start : within;
  if (first <= 0) return points;
  // where the line starts at a seam, its last place and its first are one, a period apart
  const [opening, ending] = [points[0], points[points.length - 1]];
  const again = opening[0] === ending[0] && opening[1] === ending[1] ? 1 : 0;
  return [...points.slice(first), ...points.slice(again, first + 1)];
}

/** The stretches of a traced line that are kept and lit, with what is on them. */
function stretches(
  net: ControlNet,
  lit: LitSide,
  light: Light,
  points: readonly Coordinates[],
  isKept: readonly boolean[],
  period: Sheet['period'],
): LinePlace[][] {
  const found: LinePlace[][] = [];
  let run: LinePlace[] = [];
  const end = (): void => {
    if (run.length > 2) found.push(run);
    run = [];
  };
  for (let k = 0; k + 1 < points.length; k++) {
    const [from, to] = [points[k], points[k + 1]];
    if (!isKept[k] || !isKept[k + 1]) {
      end();
      continue;
    }
    // a line that goes round a surface that closes is in one place at both ends of the domain
    if (isOneLeap(period, from, to)) continue;
    const spans = spansBetween(net, from, to);
    const last = run[run.length - 1];
    const isSame = last && last.spans[0] === spans[0] && last.spans[1] === spans[1];
    const one = isSame ? last : placeOn(net, light, lit, from, spans);
    const other = placeOn(net, light, lit, to, spans);
    if (!one || !other) {
      end();
      continue;
    }
    const start: LinePlace = isSame
      ? last
      : {
          ...one,
          way: last ? last.way : 0,
          heading: last ? last.heading + turnWithin(last, one) : 0,
        };
    if (!isSame) run.push(start);
    run.push({
      ...other,
      way: start.way + distance(one.point, other.point),
      heading: start.heading + turnWithin(one, other),
    });
  }
  end();
  return found;
}

/** Highest degree, and most coefficients of all patches' polynomials, that are looked at. */
const highestDegree = 12;
const mostCoefficients = 2e6;

/** Rough count of the coefficients that one light makes. */
const coefficientCount = ({ degree: [p, q], columns, rows, weights }: ControlNet): number =>
  Math.max(1, columns - p) * Math.max(1, rows - q) * (weights ? 16 : 9) * (p + 1) * (q + 1);

/** How to have the lines of a light on a panel; null where the net is so large or of so high a degree that this would take minutes. */
export function lightTracer(
  net: ControlNet,
  lit: LitSide,
  kept: Kept,
): ((light: Light, family: number) => HighlightLine[]) | null {
  if (Math.max(...net.degree) > highestDegree || coefficientCount(net) > mostCoefficients)
    return null;
  const sheet = sheetOf(net, reach * diagonal(net));
  const normals = normalLines(surfacePatches(net), net.weights !== null);
  const place = ([u, v]: Coordinates): Vector => surfacePoint(net, u, v);
  const isKept = (at: Coordinates): boolean =>
    !isBesideTip(sheet, at) && (!kept || kept(at[0], at[1]) !== 'outside');
  return (light, family) =>
    contourLines(
      normals.map((patch) => lightForm(light, patch)),
      { ...sheet, place, tolerance },
    ).flatMap((traced) => {
      const points = traced.isClosed ? turnedRound(net, traced.points, isKept) : traced.points;
      const runs = stretches(net, lit, light, points, points.map(isKept), sheet.period);
      return runs.map((places): HighlightLine => ({
        family,
        light,
        places,
        isClosed:
          traced.isClosed &&
          places[0].at === points[0] &&
          places[places.length - 1].at === points[points.length - 1],
      }));
    });
}

/** The lines of all lights on a panel, traced on its surface; null as lightTracer is. */
export function highlightLines(
  net: ControlNet,
  view: PanelView,
  kept: Kept,
): HighlightLine[] | null {
  const traced = lightTracer(net, view, kept);
  return (
    traced &&
    lightFamilies(view).flatMap(({ lights }, family) =>
      lights.flatMap((light) => traced(light, family)),
    )
  );
}

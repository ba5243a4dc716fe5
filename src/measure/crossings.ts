import { surfaceJet, surfaceNormal } from '../geometry/evaluation.ts';
import { domain } from '../geometry/knots.ts';
import { scanFeet } from '../geometry/scanFeet.ts';
import { parameterDirection } from '../geometry/surfaceCurvature.ts';
import {
  cross,
  difference,
  distance,
  dot,
  length,
  scaled,
  squareTo,
  sum,
  unit,
  vectorAt,
  type Vector,
} from '../geometry/vector.ts';
import { traceNode, type EdgeTrace } from './edgeTrace.ts';
import type { Gate } from './encroachments.ts';
import type { Parameters, ParameterQuad } from './featureMask.ts';
import {
  featureMeetings,
  isTight,
  scanReach,
  type Bend,
  type FeatureBounds,
  type Meeting,
  type ScanView,
} from './featureMeetings.ts';
import type { LeanLines } from './leanLines.ts';
import { leanSteps, suspects } from './leanSteps.ts';
import { middleValue } from './middleValue.ts';
import { scanCurvature } from './scanCurvature.ts';

/** A feature of the scan that runs through a panel, farther from its border than that can be pulled back. */
export interface Crossing extends Bend {
  /** mm from its one end to the other. */
  readonly length: number;
  /** The middle of where it was met, mm on the scan. */
  readonly position: Vector;
  /** From there to the border, mm; the length where a panel has none. */
  readonly depth: number;
  readonly u: number;
  readonly v: number;
}

/** mm of a line before and after a suspect that are looked at closely. */
const around = 30;
/** A feature that is met farther than this from the suspect is another one. */
const besides = 20;
/** mm on the scan within which meetings are one feature. */
const together = 36;
/** mm from where a feature encroaches on the border within which it is that one. */
const alike = 20;
/** Lines on which a feature must be met. */
const fewestMet = 2;

/** mm between features one after the other, across them, up to which what lies between is part of both. */
const between = 25;
/** A line that crosses a feature at a flatter angle leaves it to the lines of the other direction, as a cosine. */
const steepest = 0.5;

/** A feature met on a line across the panel. */
interface LineMeeting extends Meeting {
  /** Its middle on the line. */
  readonly middle: Parameters;
}

/** What was met about one place of a line, and what of the panel lies over it, to the middle between the lines. */
interface LineFind {
  readonly met: readonly LineMeeting[];
  readonly cover: readonly ParameterQuad[];
}

/** Parameters halfway to the neighbours of the k-th of some, or the ends of the domain. */
function halves(
  { net }: ScanView,
  side: 0 | 1,
  all: readonly number[],
  k: number,
): readonly [number, number] {
  const [from, to] = domain(net.knots[side], net.degree[side]);
  return [
    k === 0 ? from : (all[k - 1] + all[k]) / 2,
    k === all.length - 1 ? to : (all[k + 1] + all[k]) / 2,
  ];
}

/** The tangent at a place in which a scan bends most about its foot there, on a window of so many mm. */
function bendWay({ body }: ScanView, foot: Vector, normal: Vector, window: number): Vector | null {
  const own = scanCurvature(body, foot, normal, Infinity, window);
  return own && unit(squareTo(own.direction, normal));
}

/** Runs of meetings one after the other, joined where they lie near each other. */
function joinedRuns(met: readonly Meeting[]): (readonly [number, number])[] {
  const runs: [number, number][] = [];
  for (const { from, to } of met.toSorted((a, b) => a.from - b.from)) {
    const last = runs.at(-1);
    if (last && from - last[1] < between) last[1] = Math.max(last[1], to);
    else runs.push([from, to]);
  }
  return runs;
}

/** What is met about a suspect of a line, followed across the feature. */
function lineFind(
  view: ScanView,
  bounds: FeatureBounds,
  gate: Gate,
  { side, along, across }: LeanLines,
  line: number,
  k: number,
  isBorder: (foot: Vector) => boolean,
): LineFind | null {
  const placed = (at: number, other: number): Parameters =>
    side === 0 ? [at, other] : [other, at];
  const start = placed(along[k], across[line]);
  const jet = surfaceJet(view.net, start[0], start[1]);
  const own = side === 0 ? jet.u : jet.v;
  const speed = length(own);
  const normal = surfaceNormal(jet);
  if (!normal || !(speed > 0)) return null;
  const foot = vectorAt(scanFeet(view.body, Float64Array.from(jet.point), scanReach).points, 0);
  if (Number.isNaN(foot[0]) || isBorder(foot)) return null;
  const way = bendWay(view, foot, normal, gate.window) ?? scaled(own, 1 / speed);
  const cosine = dot(way, own) / speed;
  if (Math.abs(cosine) < steepest) return null;
  const met = featureMeetings(view, bounds, start, way, { ahead: around, back: around }).met.filter(
    ({ from, to }) => from <= besides && to >= -besides,
  );
  // along the line it takes as much longer as it is crossed more flatly
  const parameterOf = (run: number): number => along[k] + run / (cosine * speed);
  const [left, right] = halves(view, side === 0 ? 1 : 0, across, line);
  const run = parameterDirection(jet, cross(normal, way));
  const slope = run && run[1 - side] !== 0 ? run[side] / run[1 - side] : 0;
  const corner = (at: number, other: number): Parameters =>
    placed(at + slope * (other - across[line]), other);
  return {
    met: met.map((meeting) => ({
      ...meeting,
      middle: placed(parameterOf((meeting.from + meeting.to) / 2), across[line]),
    })),
    cover: joinedRuns(met).map(([from, to]): ParameterQuad => {
      // a triangle of the scan may lie across where it begins or ends
      const { spacing } = view.body;
      const [low, high] = [parameterOf(from - spacing), parameterOf(to + spacing)];
      return [corner(low, left), corner(high, left), corner(high, right), corner(low, right)];
    }),
  };
}

function lineFinds(
  view: ScanView,
  bounds: FeatureBounds,
  gate: Gate,
  lines: LeanLines,
  isBorder: (foot: Vector) => boolean,
): LineFind[] {
  const width = Math.max(2, Math.round(gate.window / lines.step));
  return lines.across.flatMap((_, line) =>
    suspects(leanSteps(lines.leans[line], width), gate.least).flatMap((k): LineFind[] => {
      const found = lineFind(view, bounds, gate, lines, line, k, isBorder);
      return found && found.met.length > 0 ? [found] : [];
    }),
  );
}

/** Distance of a point from the chain of segments of an edge, mm. */
function offTrace(p: Vector, trace: EdgeTrace): number {
  let least = Infinity;
  for (let k = 1; k < trace.t.length; k++) {
    const [a, b] = [traceNode(trace, k - 1), traceNode(trace, k)];
    const way = difference(b, a);
    const size = dot(way, way);
    const share = size > 0 ? Math.min(1, Math.max(0, dot(difference(p, a), way) / size)) : 0;
    least = Math.min(least, distance(p, sum(a, scaled(way, share))));
  }
  return least;
}

/** Finds in groups: those of a group are near another of it. */
function groupsOf(all: readonly LineFind[]): LineFind[][] {
  const parent = all.map((_, k) => k);
  const root = (k: number): number => {
    let at = k;
    while (parent[at] !== at) at = parent[at];
    return at;
  };
  const isNear = (a: LineFind, b: LineFind): boolean =>
    a.met.some((one) => b.met.some((other) => distance(one.foot, other.foot) < together));
  for (let a = 0; a < all.length; a++)
    for (let b = 0; b < a; b++) if (isNear(all[a], all[b])) parent[root(a)] = root(b);
  const groups = new Map<number, LineFind[]>();
  all.forEach((find, k) => {
    const own = groups.get(root(k));
    if (own) own.push(find);
    else groups.set(root(k), [find]);
  });
  return [...groups.values()];
}

/** What a group of finds tells: its sharper side, where it turns both ways. */
function crossingOf(finds: readonly LineFind[], traces: readonly EdgeTrace[]): Crossing {
  const all = finds.flatMap(({ met }) => met);
  const sharpest = all.reduce((a, b) => (Math.abs(b.turn) > Math.abs(a.turn) ? b : a));
  const own = all.filter(({ turn }) => turn * sharpest.turn > 0);
  let longest = 0;
  for (const a of all) for (const b of all) longest = Math.max(longest, distance(a.foot, b.foot));
  const mean = (axis: 0 | 1 | 2): number =>
    own.reduce((total, { foot }) => total + foot[axis], 0) / own.length;
  const centre: Vector = [mean(0), mean(1), mean(2)];
  const { foot, middle } = own.reduce((a, b) =>
    distance(b.foot, centre) < distance(a.foot, centre) ? b : a,
  );
  return {
    length: longest,
    position: foot,
    depth: traces.length > 0 ? Math.min(...traces.map((trace) => offTrace(foot, trace))) : longest,
    u: middle[0],
    v: middle[1],
    radius: middleValue(own.map(({ radius }) => radius)),
    turn: middleValue(own.map(({ turn }) => turn)),
  };
}

/**
 * The features of a scan that run through a panel, the longest first, and what of the panel lies over
 * them. `border`: its edges, and where features encroach on it; those are no crossings.
 */
export function crossings(
  view: ScanView,
  lines: readonly LeanLines[],
  bounds: FeatureBounds,
  gate: Gate,
  { traces, feet }: { readonly traces: readonly EdgeTrace[]; readonly feet: readonly Vector[] },
): { readonly found: readonly Crossing[]; readonly cover: readonly ParameterQuad[] } {
  const isBorder = (foot: Vector): boolean => feet.some((other) => distance(foot, other) < alike);
  const finds = lines
    .flatMap((own) => lineFinds(view, bounds, gate, own, isBorder))
    .filter(({ met }) => !met.some(({ foot }) => isBorder(foot)));
  const all = groupsOf(finds)
    .filter((own) => own.length >= fewestMet)
    .map((own) => ({ crossing: crossingOf(own, traces), own }))
    .filter(({ crossing }) => isTight(crossing, bounds));
  return {
    found: all.map(({ crossing }) => crossing).toSorted((a, b) => b.length - a.length),
    cover: all.flatMap(({ own }) => own.flatMap(({ cover }) => cover)),
  };
}

import { edgeImage } from '../geometry/edgeImage.ts';
import { surfaceJet, surfaceNormal } from '../geometry/evaluation.ts';
import type { OutlineEdge } from '../geometry/outlineEdge.ts';
import { curvePoint } from '../geometry/splineCurve.ts';
import { cross, scaled, unit, type Vector } from '../geometry/vector.ts';
import { edgeTrace, type EdgeTrace } from './edgeTrace.ts';
import type { Parameters, ParameterQuad } from './featureMask.ts';
import {
  featureMeetings,
  isTight,
  quickStep,
  scanReach,
  type Bend,
  type FeatureBounds,
  type Meeting,
  type ScanView,
} from './featureMeetings.ts';
import { leanSteps, suspects } from './leanSteps.ts';
import { middleValue } from './middleValue.ts';
import { panelPath } from './panelPath.ts';
import { turnProfile } from './turnProfile.ts';

/** A stretch of a panel's border that lies over a feature of the scan. */
export interface Encroachment extends Bend {
  /** Index of the edge of the outline. */
  readonly edge: number;
  /** mm along the edge from the start of its curve. */
  readonly from: number;
  readonly to: number;
  /** The greatest distance from the border, on the panel, at which the feature begins: how far to pull back, mm. */
  readonly depth: number;
  /** Half of the stretch asks for no more than this, mm: what pulls back the whole but for a corner. */
  readonly usual: number;
  /** How well triangles and noise of the scan tell that, mm. */
  readonly error: number;
  /** The place of the border from which it is that far, mm. */
  readonly position: Vector;
  readonly u: number;
  readonly v: number;
}

/** What encroaches on the border of a panel. */
export interface BorderEncroachments {
  readonly found: readonly Encroachment[];
  /** Of the panel, between its border and where the features begin. */
  readonly cover: readonly ParameterQuad[];
  /** Middles of the features, mm on the scan. */
  readonly feet: readonly Vector[];
  /** The edges, without those that are points. */
  readonly traces: readonly EdgeTrace[];
}

/** What tells a place that is worth a close look. */
export interface Gate {
  /** mm over which leans are averaged before and after. */
  readonly window: number;
  /** radians by which both differ. */
  readonly least: number;
}

/** mm between stations along the border, and the most of them. */
const stationStep = 15;
const mostStations = 600;
const fewestStations = 4;
/** mm past the border, and farther in than the border can be pulled back, that are looked at. */
const beyond = 20;
/** mm about what a quick look suspects that are looked at closely. */
const closeReach = 35;
/** Stations without a feature, one after the other, that do not part a stretch. */
const widestGap = 4;
/** Depths are medians over so many stations each way: one station off by itself says nothing. */
const smoothing = 3;
/** A stretch that leads to what runs deeper is part of that, where it is shorter than so many of its depths. */
const slantDepths = 2;

/** A place of the border with what lies across it. */
interface Station {
  /** mm along the edge. */
  readonly s: number;
  readonly parameters: Parameters;
  readonly point: Vector;
  /** The deepest feature that begins inside the border, within the depth that can be pulled back. */
  readonly inside: (Meeting & { readonly depth: number; readonly onset: Parameters }) | null;
  /** Whether one begins deeper than that. */
  readonly isDeep: boolean;
  /** mm past the border at which one begins there, where it was seen. */
  readonly past: number | null;
}

type Encroaching = Station & { readonly inside: NonNullable<Station['inside']> };

const lengthOf = ({ s }: EdgeTrace): number => s[s.length - 1];

/** Parameters of a net at a length along an edge, and the edge's derivative in space. */
function placeAt({ s, t, image }: EdgeTrace, { curve }: OutlineEdge, at: number) {
  let node = 0;
  while (node < s.length - 2 && s[node + 1] < at) node++;
  const share = Math.min(1, Math.max(0, (at - s[node]) / (s[node + 1] - s[node])));
  const parameter = t[node] + share * (t[node + 1] - t[node]);
  const [u, v] = curvePoint(curve, parameter);
  const parameters: Parameters = [u, v];
  return { parameters, slope: image.at(parameter).slope };
}

function stationAt(
  view: ScanView,
  bounds: FeatureBounds,
  gate: Gate,
  edge: OutlineEdge,
  s: number,
  parameters: Parameters,
  slope: Vector,
): Station | null {
  const { net, kept, body, facing } = view;
  const jet = surfaceJet(net, parameters[0], parameters[1]);
  const normal = surfaceNormal(jet);
  const along = unit(slope);
  if (!normal || !along) return null;
  const outward = scaled(cross(normal, along), edge.keptOnLeft ? -1 : 1);
  const calm = { s, parameters, point: jet.point, inside: null, isDeep: false, past: null };
  const reach = { ahead: beyond, back: bounds.depth + beyond };
  const step = quickStep(body);
  const path = panelPath(net, kept, parameters, outward, { step, ...reach });
  if (!path) return calm;
  const look = turnProfile(body, path, facing, { lines: 1, reach: scanReach });
  const width = Math.max(2, Math.round(gate.window / step));
  const runs = suspects(leanSteps(look.lean, width), gate.least).map((k) => path.run[k]);
  if (runs.length === 0) return calm;
  const close = featureMeetings(view, bounds, parameters, outward, {
    ahead: Math.min(reach.ahead, Math.max(0, ...runs) + closeReach),
    back: Math.min(reach.back, closeReach - Math.min(0, ...runs)),
  });
  const all = close.met.map((meeting) => ({ ...meeting, depth: -meeting.from }));
  const inside = all
    .filter(({ depth }) => depth > 0 && depth <= bounds.depth)
    .toSorted((a, b) => b.depth - a.depth)
    .at(0);
  const onset = inside && close.parametersAt(inside.from);
  const past = all.filter(({ depth }) => depth <= 0).map(({ depth }) => -depth);
  return {
    ...calm,
    inside: inside && onset ? { ...inside, onset } : null,
    isDeep: all.some(({ depth }) => depth > bounds.depth),
    past: past.length > 0 ? Math.min(...past) : null,
  };
}

/** First and last of stations that encroach and follow each other; none alone. */
function runsOf(stations: readonly Station[]): (readonly [number, number])[] {
  const runs: { first: number; last: number; count: number; sign: number }[] = [];
  stations.forEach(({ inside }, k) => {
    if (!inside) return;
    const sign = Math.sign(inside.turn);
    const run = runs.at(-1);
    if (run && run.sign === sign && k - run.last <= widestGap + 1) {
      run.last = k;
      run.count++;
    } else runs.push({ first: k, last: k, count: 1, sign });
  });
  return runs
    .filter(({ first, last, count }) => count > 1 && 2 * count > last - first)
    .map(({ first, last }) => [first, last]);
}

/** Where along the edge a run ends beyond its station `at`: where the depth comes to nothing, else halfway. */
function endOf(own: Encroaching, next: Station | undefined, edgeEnd: number): number {
  if (!next) return edgeEnd;
  const share =
    next.past === null ? 1 / 2 : own.inside.depth / Math.max(1e-9, own.inside.depth + next.past);
  return own.s + share * (next.s - own.s);
}

/**
 * How well the place is told at which a turn begins, mm: a triangle may lie across it, a parabola of its
 * radius leaves the noise behind only so far on, and so do two planes, one of them on either side.
 */
const onsetError = ({ body, noise }: ScanView, radius: number, turn: number): number =>
  body.spacing + Math.sqrt(radius * noise) + (2 * noise) / Math.abs(turn);

/** What encroaches on one edge. */
function edgeEncroachments(
  view: ScanView,
  bounds: FeatureBounds,
  gate: Gate,
  edge: OutlineEdge,
  index: number,
  trace: EdgeTrace,
  step: number,
): Omit<BorderEncroachments, 'traces'> {
  const length = lengthOf(trace);
  const count = Math.max(fewestStations, Math.round(length / step));
  const stationOf = (s: number): Station[] => {
    const { parameters, slope } = placeAt(trace, edge, s);
    const station = stationAt(view, bounds, gate, edge, s, parameters, slope);
    return station ? [station] : [];
  };
  const first = Array.from({ length: count }, (_, k) => ((k + 0.5) / count) * length);
  const stations = first.flatMap(stationOf);
  // one alone may be a corner of a feature: it is looked at again beside it
  const again = stations.flatMap(({ s, inside }, k) =>
    inside && !stations.at(k + 1)?.inside && !(k > 0 && stations[k - 1].inside)
      ? [s - length / count / 3, s + length / count / 3]
      : [],
  );
  stations.push(...again.flatMap(stationOf));
  stations.sort((a, b) => a.s - b.s);
  const cover: ParameterQuad[] = [];
  const feet: Vector[] = [];
  const found = runsOf(stations).flatMap(([first, last]): Encroachment[] => {
    const run = stations
      .slice(first, last + 1)
      .filter((station): station is Encroaching => station.inside !== null);
    const [before, after] = [stations.at(first - 1), stations.at(last + 1)];
    const from = endOf(run[0], first > 0 ? before : undefined, 0);
    const to = endOf(run[run.length - 1], after, length);
    const radius = middleValue(run.map(({ inside }) => inside.radius));
    const turn = middleValue(run.map(({ inside }) => inside.turn));
    const depths = run.map((_, k) => {
      const wide = Math.min(smoothing, k, run.length - 1 - k);
      return middleValue(run.slice(k - wide, k + wide + 1).map(({ inside }) => inside.depth));
    });
    const deepest = depths.reduce((best, depth, k) => (depth > depths[best] ? k : best), 0);
    if (!isTight({ radius, turn }, bounds)) return [];
    const leadsDeeper = (first > 0 && before!.isDeep) || (after !== undefined && after.isDeep);
    if (leadsDeeper && to - from < slantDepths * depths[deepest]) return [];
    const ends = [from, to].map((s, k): Encroaching => {
      const own = run[k === 0 ? 0 : run.length - 1];
      const { parameters } = placeAt(trace, edge, s);
      const onset: Parameters = [
        own.inside.onset[0] + parameters[0] - own.parameters[0],
        own.inside.onset[1] + parameters[1] - own.parameters[1],
      ];
      return { ...own, s, parameters, inside: { ...own.inside, onset } };
    });
    const chain = [ends[0], ...run, ends[1]];
    chain.slice(1).forEach((next, k) => {
      const own = chain[k];
      cover.push([own.parameters, next.parameters, next.inside.onset, own.inside.onset]);
    });
    feet.push(...run.map(({ inside }) => inside.foot));
    const { parameters, point } = run[deepest];
    return [
      {
        edge: index,
        from,
        to,
        depth: depths[deepest],
        usual: middleValue(depths),
        error: onsetError(view, radius, turn),
        radius,
        turn,
        position: point,
        u: parameters[0],
        v: parameters[1],
      },
    ];
  });
  return { found, cover, feet };
}

/**
 * The stretches of a panel's border that lie over a fillet or a feature line of the scan: at stations
 * along the border the turning of the scan is followed across it, on the panel and past it; the feature
 * begins where a calm line gives way to a ramp. `edges`: of outlineEdges.
 */
export function encroachments(
  view: ScanView,
  edges: readonly OutlineEdge[],
  bounds: FeatureBounds,
  gate: Gate,
): BorderEncroachments {
  const traces = edges.map(({ curve }) => edgeTrace(edgeImage(view.net, curve)));
  const total = traces.reduce((sum, trace) => sum + (trace ? lengthOf(trace) : 0), 0);
  const step = Math.max(stationStep, total / mostStations);
  const own = edges.flatMap((edge, k) => {
    const trace = traces[k];
    return trace ? [edgeEncroachments(view, bounds, gate, edge, k, trace, step)] : [];
  });
  return {
    found: own.flatMap(({ found }) => found).toSorted((a, b) => b.depth - a.depth),
    cover: own.flatMap(({ cover }) => cover),
    feet: own.flatMap(({ feet }) => feet),
    traces: traces.filter((trace) => trace !== null),
  };
}

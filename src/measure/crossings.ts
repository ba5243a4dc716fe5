import { surfaceJet } from '../geometry/evaluation.ts';
import { domain } from '../geometry/knots.ts';
import { difference, distance, dot, scaled, sum, type Vector } from '../geometry/vector.ts';
import { traceNode, type EdgeTrace } from './edgeTrace.ts';
import type { Gate } from './encroachments.ts';
import type { Parameters, ParameterQuad } from './featureMask.ts';
import {
  featureMeetings,
  type Bend,
  type FeatureBounds,
  type Meeting,
  type ScanView,
} from './featureMeetings.ts';
import type { LeanLines } from './leanLines.ts';
import { leanSteps, suspects } from './leanSteps.ts';

/** A feature of the scan that runs through a panel, farther from its border than that can be pulled back. */
export interface Crossing extends Bend {
  /** mm from its one end to the other. */
  readonly length: number;
  /** The middle of where it was met, mm on the scan. */
  readonly position: Vector;
  /** From there to the border, mm. */
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

/** A feature met on a line across the panel. */
interface LineMeeting extends Meeting {
  /** What of the panel lies over it, to the middle between the lines. */
  readonly quad: ParameterQuad;
  readonly middle: Parameters;
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

function lineMeetings(
  view: ScanView,
  bounds: FeatureBounds,
  gate: Gate,
  { side, along, across, leans, step }: LeanLines,
): LineMeeting[] {
  const width = Math.max(2, Math.round(gate.window / step));
  const placed = (at: number, other: number): Parameters =>
    side === 0 ? [at, other] : [other, at];
  return across.flatMap((other, line) =>
    suspects(leanSteps(leans[line], width), gate.least).flatMap((k): LineMeeting[] => {
      const start = placed(along[k], other);
      const jet = surfaceJet(view.net, start[0], start[1]);
      const close = featureMeetings(view, bounds, start, side === 0 ? jet.u : jet.v, {
        ahead: around,
        back: around,
      });
      return close.met.flatMap((meeting): LineMeeting[] => {
        const [a, b] = [close.parametersAt(meeting.from), close.parametersAt(meeting.to)];
        if (!a || !b || meeting.from > besides || meeting.to < -besides) return [];
        const [low, high] = [Math.min(a[side], b[side]), Math.max(a[side], b[side])];
        const [left, right] = halves(view, side === 0 ? 1 : 0, across, line);
        return [
          {
            ...meeting,
            middle: placed((low + high) / 2, other),
            quad: [placed(low, left), placed(high, left), placed(high, right), placed(low, right)],
          },
        ];
      });
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

/** Meetings in groups: those of a group are near another of it, and turn the same way. */
function groupsOf(all: readonly LineMeeting[]): LineMeeting[][] {
  const parent = all.map((_, k) => k);
  const root = (k: number): number => {
    let at = k;
    while (parent[at] !== at) at = parent[at];
    return at;
  };
  for (let a = 0; a < all.length; a++)
    for (let b = 0; b < a; b++)
      if (all[a].turn * all[b].turn > 0 && distance(all[a].foot, all[b].foot) < together)
        parent[root(a)] = root(b);
  const groups = new Map<number, LineMeeting[]>();
  all.forEach((meeting, k) => {
    const own = groups.get(root(k));
    if (own) own.push(meeting);
    else groups.set(root(k), [meeting]);
  });
  return [...groups.values()];
}

const middleOf = (values: readonly number[]): number =>
  values.toSorted((a, b) => a - b)[values.length >> 1];

/**
 * The features of a scan that run through a panel, the longest first, and what of the panel lies over
 * them. `border`: its edges, and where features encroach on it; those are no crossings.
 */
export function crossings(
  view: ScanView,
  lines: readonly LeanLines[],
  bounds: FeatureBounds,
  gate: Gate,
  border: { readonly traces: readonly EdgeTrace[]; readonly feet: readonly Vector[] },
): { readonly found: readonly Crossing[]; readonly cover: readonly ParameterQuad[] } {
  const met = lines
    .flatMap((own) => lineMeetings(view, bounds, gate, own))
    .filter(({ foot }) => !border.feet.some((other) => distance(foot, other) < alike));
  const groups = groupsOf(met).filter((own) => own.length >= fewestMet);
  const found = groups.map((own): Crossing => {
    let length = 0;
    for (const a of own) for (const b of own) length = Math.max(length, distance(a.foot, b.foot));
    const mean = (axis: 0 | 1 | 2): number =>
      own.reduce((total, { foot }) => total + foot[axis], 0) / own.length;
    const centre: Vector = [mean(0), mean(1), mean(2)];
    const nearest = own.reduce((a, b) =>
      distance(b.foot, centre) < distance(a.foot, centre) ? b : a,
    );
    return {
      length,
      position: nearest.foot,
      depth: Math.min(...border.traces.map((trace) => offTrace(nearest.foot, trace))),
      u: nearest.middle[0],
      v: nearest.middle[1],
      radius: middleOf(own.map(({ radius }) => radius)),
      turn: middleOf(own.map(({ turn }) => turn)),
    };
  });
  return {
    found: found.toSorted((a, b) => b.length - a.length),
    cover: groups.flatMap((own) => own.map(({ quad }) => quad)),
  };
}

import type { ControlNet } from './controlNet.ts';
import { surfacePoint } from './evaluation.ts';
import { domain } from './knots.ts';
import type { Coordinates } from './splineCurve.ts';
import { distance, type Vector } from './vector.ts';

/** A surface as its parameter plane has it: where it ends, where it closes, where an edge is a point. */
export interface Sheet {
  readonly net: ControlNet;
  /** Lowest and highest u, then v. */
  readonly domain: readonly [readonly [number, number], readonly [number, number]];
  /** Width of the domain in a direction in which the surface closes, else null. */
  readonly period: readonly [number | null, number | null];
  /**
   * collapsed[0]: the edges at the lowest and the highest u, where v is free on a collapsed one;
   * collapsed[1]: those at the lowest and the highest v.
   */
  readonly collapsed: readonly [readonly [boolean, boolean], readonly [boolean, boolean]];
  /** What counts as one place, mm. */
  readonly reach: number;
}

/** Points of an edge looked at for each of its control points: more than its curve can waver between. */
const looksPerPoint = 3;

/** The surface with what is said of its edges within `reach`, mm. */
export function sheetOf(net: ControlNet, reach: number): Sheet {
  const ends = [0, 1].map((side) => domain(net.knots[side], net.degree[side]));
  /** Points at a share of the way in direction `side`, all along the other. */
  const across = (side: 0 | 1, share: number): Vector[] => {
    const [from, to] = ends[side];
    const [low, high] = ends[1 - side];
    const at = share === 1 ? to : from + share * (to - from);
    const count = looksPerPoint * (side === 0 ? net.rows : net.columns);
    return Array.from({ length: count + 1 }, (_, k) => {
      const other = k === count ? high : low + (k / count) * (high - low);
      return side === 0 ? surfacePoint(net, at, other) : surfacePoint(net, other, at);
    });
  };
  const lines = ([0, 1] as const).map((side) => ({
    first: across(side, 0),
    middle: across(side, 0.5),
    last: across(side, 1),
  }));
  const farthest = (a: readonly Vector[], b: (k: number) => Vector): number =>
    a.reduce((most, p, k) => Math.max(most, distance(p, b(k))), 0);
  const period = ([0, 1] as const).map((side) => {
    const { first, middle, last } = lines[side];
    const closed =
      farthest(first, (k) => last[k]) <= reach && farthest(first, (k) => middle[k]) > reach;
    return closed ? ends[side][1] - ends[side][0] : null;
  });
  const collapsed = lines.map(({ first, last }) =>
    [first, last].map((edge) => farthest(edge, () => edge[0]) <= reach),
  );
  return {
    net,
    domain: ends as unknown as Sheet['domain'],
    period: period as unknown as Sheet['period'],
    collapsed: collapsed as unknown as Sheet['collapsed'],
    reach,
  };
}

/** A parameter brought into the domain: by whole periods where the surface closes, else to its edge. */
export function inDomain(sheet: Sheet, side: 0 | 1, value: number): number {
  const [from, to] = sheet.domain[side];
  if (value >= from && value <= to) return value;
  const period = sheet.period[side];
  const wrapped = period === null ? value : value - period * Math.floor((value - from) / period);
  return Math.min(Math.max(wrapped, from), to);
}

/** The point of the surface at a place of the plane, in or out of the domain. */
export const sheetPoint = (sheet: Sheet, [u, v]: Coordinates): Vector =>
  surfacePoint(sheet.net, inDomain(sheet, 0, u), inDomain(sheet, 1, v));

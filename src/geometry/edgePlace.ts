import { bernsteinRoots } from './bernsteinPatch.ts';
import { diagonal, type ControlNet } from './controlNet.ts';
import { thirdJet, type ThirdJet } from './evaluation.ts';
import { breakpoints, domain, spanIndex } from './knots.ts';
import type { OutlineEdge } from './outlineEdge.ts';
import { sheetOf } from './sheet.ts';
import { bezierPieces, curveJet } from './splineCurve.ts';
import { difference, dot, length, scaled, sum, type Vector } from './vector.ts';

/** A place on an outline edge, with the surface there. */
export interface EdgePlace {
  /** Parameter of the edge's curve. */
  readonly at: number;
  readonly jet: ThirdJet;
  /** Derivative of the edge in space by the curve's parameter, mm per parameter unit. */
  readonly along: Vector;
  /** Its second derivative, mm per parameter unit^2. */
  readonly bend: Vector;
}

/** Knot spans that an edge runs in. */
export interface EdgeSpans {
  readonly curve: number;
  readonly surface: readonly [number, number];
}

/** An outline edge with what is asked of its surface again and again. */
export interface EdgeTrack {
  readonly net: ControlNet;
  readonly edge: OutlineEdge;
  /** The net's diagonal, mm. */
  readonly size: number;
  readonly domain: readonly [readonly [number, number], readonly [number, number]];
  /** Width of the domain where the surface closes and the edge leaves the domain, else null. */
  readonly period: readonly [number | null, number | null];
}

/** Share of a range within which a parameter stands on a knot. */
const onKnot = 1e-9;
/** Share of a range by which a span is held on to beyond its knots: places of a break differ by so much. */
const heldShare = 1e-6;
/** Share of the diagonal within which the ends of a surface that closes are one. */
const closedShare = 1e-5;

export function edgeTrack(net: ControlNet, edge: OutlineEdge): EdgeTrack {
  const size = diagonal(net);
  const ranges = [0, 1].map((side) => domain(net.knots[side], net.degree[side]));
  const leaves = ranges.some(([low, high], side) => {
    const close = onKnot * (high - low);
    const { points } = edge.curve;
    return points.some((x, k) => k % 2 === side && (x < low - close || x > high + close));
  });
  return {
    net,
    edge,
    size,
    domain: ranges as unknown as EdgeTrack['domain'],
    period: leaves ? sheetOf(net, closedShare * size).period : [null, null],
  };
}

/** A knot span that holds a value up to rounding, or the one in which the value lies. */
function heldSpan(knots: Float64Array, degree: number, value: number, span?: number): number {
  if (span !== undefined) {
    const close = heldShare * (knots[knots.length - 1] - knots[0]);
    if (value >= knots[span] - close && value <= knots[span + 1] + close) return span;
  }
  return spanIndex(knots, degree, value);
}

/** A parameter brought into the domain: by periods towards the span, or to the nearer end. */
function inSurface(track: EdgeTrack, side: 0 | 1, value: number, span?: number): number {
  const [low, high] = track.domain[side];
  const period = track.period[side];
  if (period === null) return Math.min(Math.max(value, low), high);
  const knots = track.net.knots[side];
  const middle = span === undefined ? (low + high) / 2 : (knots[span] + knots[span + 1]) / 2;
  const wrapped = value - period * Math.round((value - middle) / period);
  return Math.min(Math.max(wrapped, low), high);
}

/** The place at a parameter of the edge; `spans` choose the side at knots. */
export function edgePlace(track: EdgeTrack, at: number, spans?: EdgeSpans): EdgePlace {
  const { net, edge } = track;
  const { knots, degree } = edge.curve;
  const [[u0, v0], [u1, v1], [u2, v2]] = curveJet(
    edge.curve,
    at,
    heldSpan(knots, degree, at, spans?.curve),
  );
  const [u, v] = [
    inSurface(track, 0, u0, spans?.surface[0]),
    inSurface(track, 1, v0, spans?.surface[1]),
  ];
  const jet = thirdJet(net, u, v, [
    heldSpan(net.knots[0], net.degree[0], u, spans?.surface[0]),
    heldSpan(net.knots[1], net.degree[1], v, spans?.surface[1]),
  ]);
  const across = (axis: 0 | 1 | 2): number =>
    jet.uu[axis] * u1 * u1 +
    2 * jet.uv[axis] * u1 * v1 +
    jet.vv[axis] * v1 * v1 +
    jet.u[axis] * u2 +
    jet.v[axis] * v2;
  return {
    at,
    jet,
    along: sum(scaled(jet.u, u1), scaled(jet.v, v1)),
    bend: [across(0), across(1), across(2)],
  };
}

/**
 * The spans round a parameter of the edge that is no break. Where the edge runs along a line of knots,
 * those on the kept side.
 */
export function edgeSpans(track: EdgeTrack, at: number): EdgeSpans {
  const { net, edge } = track;
  const [[u, v], [du, dv]] = curveJet(edge.curve, at);
  const [intoU, intoV] = edge.keptOnLeft ? [-dv, du] : [dv, -du];
  const span = (side: 0 | 1, value: number, into: number): number => {
    const [low, high] = track.domain[side];
    const shifted = value + 2 * onKnot * (high - low) * Math.sign(into);
    return spanIndex(net.knots[side], net.degree[side], inSurface(track, side, shifted));
  };
  return {
    curve: spanIndex(edge.curve.knots, edge.curve.degree, at),
    surface: [span(0, u, intoU), span(1, v, intoV)],
  };
}

/** The parameters strictly between two of the edge, in order, at which it meets a knot of its own or of its surface. */
export function edgeBreaks(track: EdgeTrack, from: number, to: number): number[] {
  const { net, edge } = track;
  const [low, high] = from < to ? [from, to] : [to, from];
  if (!(high > low)) return [];
  const found: number[] = [];
  for (const piece of bezierPieces(edge.curve, [low, high])) {
    found.push(piece.from);
    for (const side of [0, 1] as const) {
      const [start, end] = track.domain[side];
      const close = onKnot * (end - start);
      const own = piece.points.map((p) => p[side] / p[2]);
      const [least, most] = [Math.min(...own), Math.max(...own)];
      const period = track.period[side];
      const turns = period === null ? [0] : [-1, 0, 1];
      for (const { value } of breakpoints(net.knots[side])) {
        for (const turn of turns) {
          const knot = value + turn * (period ?? 0);
          // an edge that stays on a line of knots does not cross it
          if (!(least < knot - close || most > knot + close) || least > knot || most < knot)
            continue;
          const values = Float64Array.from(piece.points, (p) => p[side] - knot * p[2]);
          for (const share of bernsteinRoots(values))
            found.push(piece.from + share * (piece.to - piece.from));
        }
      }
    }
  }
  const close = onKnot * (high - low);
  return found
    .filter((t) => t > low + close && t < high - close)
    .sort((p, q) => p - q)
    .filter((t, k, all) => k === 0 || t > all[k - 1] + close);
}

const mostSteps = 60;
/** Share of the diagonal below which a step towards the foot is rounding. */
const restShare = 1e-15;
/** Share of the range below which the step after the next is rounding: Newton's steps square. */
const lastShare = 1e-7;

/**
 * The place of the edge nearest to a point, between two parameters, sought from a third: the root of
 * (X(t) - P) . X'(t) by Newton's method, kept between values of either sign by halving; an end where
 * there is no root on its way.
 */
export function edgeFoot(
  track: EdgeTrack,
  [from, to]: readonly [number, number],
  point: Vector,
  start: number,
  spans?: EdgeSpans,
): EdgePlace {
  const [first, last] = from < to ? [from, to] : [to, from];
  const range = last - first;
  // the foot lies between both; an end counts as one of them before it is looked at
  let [low, high] = [first, last];
  let [lowSeen, highSeen] = [false, false];
  let at = Math.min(Math.max(start, low), high);
  let place = edgePlace(track, at, spans);
  for (let step = 0; step < mostSteps; step++) {
    const off = difference(place.jet.point, point);
    const slope = dot(off, place.along);
    if (slope > 0) [high, highSeen] = [at, true];
    else [low, lowSeen] = [at, true];
    const rise = dot(place.along, place.along) + dot(off, place.bend);
    const newton = rise > 0 ? at - slope / rise : slope > 0 ? -Infinity : Infinity;
    const isRest = Math.abs(newton - at) * length(place.along) <= restShare * track.size;
    if (isRest || !(high > low)) return place;
    let next = newton;
    if (newton <= low) next = lowSeen ? (low + high) / 2 : low;
    if (newton >= high) next = highSeen ? (low + high) / 2 : high;
    if (next === at) return place;
    const isLast = next === newton && Math.abs(next - at) <= lastShare * range;
    at = next;
    place = edgePlace(track, at, spans);
    if (isLast) return place;
  }
  return place;
}

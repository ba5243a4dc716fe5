import type { ControlNet } from '../geometry/controlNet.ts';
import { surfaceJet, surfaceNormal, type SurfaceJet } from '../geometry/evaluation.ts';
import { domain } from '../geometry/knots.ts';
import { normalCurvature, parameterDirection } from '../geometry/surfaceCurvature.ts';
import {
  difference,
  distance,
  dot,
  scaled,
  squareTo,
  sum,
  unit,
  type Vector,
} from '../geometry/vector.ts';
import type { Kept } from './surfaceLook.ts';

/** Places one after the other on the straightest way over a panel, and past its border as the panel would go on. */
export interface PanelPath {
  /** mm along the way from where it started, rising. */
  readonly run: Float64Array;
  /** Three numbers a place, mm. */
  readonly points: Float64Array;
  /** Unit normals along S_u x S_v, and unit tangents along the way. */
  readonly normals: Float64Array;
  readonly ways: Float64Array;
  /** How far the panel has turned toward the way, radians, from where it started; falls where it bends to its normal. */
  readonly turns: Float64Array;
  /** Parameters, two numbers a place; NaN past the border of what is kept. */
  readonly parameters: Float64Array;
}

interface Stand {
  readonly u: number;
  readonly v: number;
  readonly jet: SurfaceJet;
  readonly normal: Vector;
  /** Unit tangent in which the way is walked. */
  readonly along: Vector;
  readonly run: number;
  readonly turn: number;
}

/** Past its border a panel goes on in an arc, but turns no farther than this, radians. */
const farthestTurn = 0.5;
/** Shares of a domain by which a parameter may be outside for rounding. */
const rounding = 1e-9;

function within(net: ControlNet, side: 0 | 1, w: number): number | null {
  const [from, to] = domain(net.knots[side], net.degree[side]);
  const inside = Math.min(to, Math.max(from, w));
  return Math.abs(w - inside) <= rounding * (to - from) ? inside : null;
}

function nextStand(net: ControlNet, kept: Kept, from: Stand, step: number): Stand | null {
  const ab = parameterDirection(from.jet, from.along);
  if (!ab) return null;
  const [u, v] = [within(net, 0, from.u + ab[0] * step), within(net, 1, from.v + ab[1] * step)];
  if (u === null || v === null || kept?.(u, v) === 'outside') return null;
  const jet = surfaceJet(net, u, v);
  const normal = surfaceNormal(jet);
  const along = normal && unit(squareTo(from.along, normal));
  if (!normal || !along) return null;
  const run = from.run + distance(jet.point, from.jet.point);
  const turn = from.turn + Math.atan2(dot(normal, from.along), dot(normal, from.normal));
  return { u, v, jet, normal, along, run, turn };
}

interface Place {
  readonly run: number;
  readonly point: Vector;
  readonly normal: Vector;
  readonly along: Vector;
  readonly turn: number;
  readonly u: number;
  readonly v: number;
}

const placeOf = ({ run, jet, normal, along, turn, u, v }: Stand): Place => ({
  run,
  point: jet.point,
  normal,
  along,
  turn,
  u,
  v,
});

/** The place `x` mm past a stand, on the arc in which the panel leaves it. */
function placePast({ jet, normal, along, run, turn }: Stand, x: number): Place {
  const bend = normalCurvature(jet, along) ?? 0;
  const on = Math.min(x, farthestTurn / Math.max(Math.abs(bend), 1e-12));
  const angle = bend * on;
  const half = angle / 2;
  // chord of the arc: length on * sin(half) / half, half way turned
  const chord = on * (Math.abs(half) > 1e-9 ? Math.sin(half) / half : 1);
  const toward = sum(scaled(along, Math.cos(half)), scaled(normal, Math.sin(half)));
  const way = sum(scaled(along, Math.cos(angle)), scaled(normal, Math.sin(angle)));
  return {
    run: run + x,
    point: sum(sum(jet.point, scaled(toward, chord)), scaled(way, x - on)),
    normal: difference(scaled(normal, Math.cos(angle)), scaled(along, Math.sin(angle))),
    along: way,
    turn: turn - angle,
    u: NaN,
    v: NaN,
  };
}

/** mm, or the step where that is wider, between the places that are evaluated; those between are interpolated. */
const evaluated = 4;

/** The place at a share of the way between two: a cubic with the ways at both ends. */
function placeBetween(a: Place, b: Place, share: number): Place {
  const width = b.run - a.run;
  const [p, q] = [share, 1 - share];
  const mixed = (of: (place: Place) => Vector): Vector => sum(scaled(of(a), q), scaled(of(b), p));
  const hermite = (axis: 0 | 1 | 2): number =>
    q * q * (1 + 2 * p) * a.point[axis] +
    p * p * (1 + 2 * q) * b.point[axis] +
    p * q * width * (q * a.along[axis] - p * b.along[axis]);
  return {
    run: a.run + p * width,
    point: [hermite(0), hermite(1), hermite(2)],
    normal: unit(mixed(({ normal }) => normal)) ?? a.normal,
    along: unit(mixed(({ along }) => along)) ?? a.along,
    turn: q * a.turn + p * b.turn,
    u: q * a.u + p * b.u,
    v: q * a.v + p * b.v,
  };
}

/** Places at even steps along the way from a stand, past the border where it ends. */
function walked(net: ControlNet, kept: Kept, start: Stand, { step, count }: Steps): Place[] {
  const each = Math.max(1, Math.round(evaluated / step));
  const places: Place[] = [];
  let at = start;
  let isPast = false;
  while (places.length < count) {
    const many = Math.min(each, count - places.length);
    let next = isPast ? null : nextStand(net, kept, at, many * step);
    if (next) {
      const [a, b] = [placeOf(at), placeOf(next)];
      for (let k = 1; k < many; k++) places.push(placeBetween(a, b, k / many));
      places.push(b);
      at = next;
      continue;
    }
    // up to the border step by step, then past it
    for (let k = 1; k <= many && !isPast; k++) {
      next = nextStand(net, kept, at, step);
      if (next) places.push(placeOf((at = next)));
      else isPast = true;
    }
    if (!isPast) continue;
    for (let k = 1; places.length < count; k++) places.push(placePast(at, k * step));
  }
  return places;
}

/** So many even steps, mm. */
export interface Steps {
  readonly step: number;
  readonly count: number;
}

/**
 * The places at which one arrives from (u, v) in the direction `way` by the steps `ahead`, and the other
 * way by the steps `back`; with wider steps, `far` more of them, at both ends. Null where the panel has
 * no normal.
 */
export function panelPath(
  net: ControlNet,
  kept: Kept,
  [u, v]: readonly [number, number],
  way: Vector,
  { step, ahead, back }: { readonly step: number; readonly ahead: number; readonly back: number },
): PanelPath | null {
  const jet = surfaceJet(net, u, v);
  const normal = surfaceNormal(jet);
  const along = normal && unit(squareTo(way, normal));
  if (!normal || !along) return null;
  const start: Stand = { u, v, jet, normal, along, run: 0, turn: 0 };
  const steps = (length: number): Steps => ({
    step,
    count: Math.max(0, Math.round(length / step)),
  });
  const behind = walked(net, kept, { ...start, along: scaled(along, -1) }, steps(back)).map(
    (place): Place => ({
      ...place,
      run: -place.run,
      along: scaled(place.along, -1),
      turn: -place.turn,
    }),
  );
  const places = [...behind.reverse(), placeOf(start), ...walked(net, kept, start, steps(ahead))];
  const vectors = (of: (place: Place) => Vector): Float64Array => {
    const flat = new Float64Array(3 * places.length);
    places.forEach((place, k) => flat.set(of(place), 3 * k));
    return flat;
  };
  const parameters = new Float64Array(2 * places.length);
  places.forEach((place, k) => parameters.set([place.u, place.v], 2 * k));
  return {
    run: Float64Array.from(places, (place) => place.run),
    points: vectors(({ point }) => point),
    normals: vectors((place) => place.normal),
    ways: vectors((place) => place.along),
    turns: Float64Array.from(places, ({ turn }) => turn),
    parameters,
  };
}

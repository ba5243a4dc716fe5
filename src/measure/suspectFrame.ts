import type { ControlNet } from '../geometry/controlNet.ts';
import { surfaceJet, surfaceNormal } from '../geometry/evaluation.ts';
import { footFrom } from '../geometry/foot.ts';
import { inDomain, type Sheet } from '../geometry/sheet.ts';
import { parameterDirection } from '../geometry/surfaceCurvature.ts';
import {
  cross,
  difference,
  dot,
  length,
  scaled,
  squareTo,
  sum,
  unit,
  type Vector,
} from '../geometry/vector.ts';
import type { Kept } from './surfaceLook.ts';
import type { WobbleSuspect } from './wobbleSuspect.ts';

/** A panel's surface as it is asked about its wobbles. */
export interface WobbledSurface {
  readonly net: ControlNet;
  /** 1 where S_u x S_v points outward, else -1. */
  readonly outward: 1 | -1;
  /** What of it is kept; null: all. */
  readonly kept: Kept;
}

/** The same with what is known of its edges. */
export interface SheetedSurface extends WobbledSurface {
  readonly sheet: Sheet;
}

/** A suspect's place on the surface and its axes. */
export interface SuspectFrame {
  readonly suspect: WobbleSuspect;
  readonly at: readonly [number, number];
  readonly origin: Vector;
  readonly along: Vector;
  readonly across: Vector;
  readonly outward: Vector;
}

/** `find`: the nearest place of the surface to a point. Null where a suspect has no extent or no direction there. */
export function suspectFrame(
  { net, outward, sheet }: SheetedSurface,
  find: (point: Vector) => { readonly at: readonly [number, number] },
  suspect: WobbleSuspect,
): SuspectFrame | null {
  // without an extent there is no wobble
  const { lengths } = suspect;
  if (!lengths.every((wave) => wave > 0) || !lengths.some(Number.isFinite)) return null;
  const { at } = suspect.at
    ? footFrom(sheet, suspect.position, suspect.at)
    : find(suspect.position);
  const jet = surfaceJet(net, inDomain(sheet, 0, at[0]), inDomain(sheet, 1, at[1]));
  const normal = surfaceNormal(jet);
  const along = normal && unit(squareTo(suspect.along, normal));
  if (!normal || !along) return null;
  const out = scaled(normal, outward);
  return { suspect, at, origin: jet.point, along, across: cross(out, along), outward: out };
}

const mostPlaceSteps = 20;
/** Off by less than this share of the way from the frame's origin a place is found. */
const placeShare = 1e-6;

/** A place of the surface over a frame's plane. */
export interface PlaceOver {
  readonly at: readonly [number, number];
  readonly height: number;
}

/**
 * The surface over a place of a frame's plane, by Newton's method from parameters nearby; null where it has
 * none there, or none that is kept.
 */
export function placeOver(
  { net, kept, sheet }: SheetedSurface,
  frame: SuspectFrame,
  [x, y]: readonly [number, number],
  start: readonly [number, number],
): PlaceOver | null {
  let [u, v] = start;
  const wanted = sum(scaled(frame.along, x), scaled(frame.across, y));
  for (let step = 0; step < mostPlaceSteps; step++) {
    const [inU, inV] = [inDomain(sheet, 0, u), inDomain(sheet, 1, v)];
    if (sheet.period[0] === null) u = inU;
    if (sheet.period[1] === null) v = inV;
    const jet = surfaceJet(net, inU, inV);
    const from = difference(jet.point, frame.origin);
    const off = squareTo(difference(wanted, from), frame.outward);
    if (length(off) <= placeShare * (length(from) + length(wanted)))
      return kept && kept(inU, inV) === 'outside'
        ? null
        : { at: [u, v], height: dot(from, frame.outward) };
    const way = parameterDirection(
      { u: squareTo(jet.u, frame.outward), v: squareTo(jet.v, frame.outward) },
      off,
    );
    if (!way) return null;
    u += way[0];
    v += way[1];
  }
  return null;
}

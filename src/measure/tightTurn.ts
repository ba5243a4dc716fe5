import { diagonal, type ControlNet } from '../geometry/controlNet.ts';
import { surfaceJet, type SurfaceJet } from '../geometry/evaluation.ts';
import { domain } from '../geometry/knots.ts';
import {
  parameterDirection,
  surfaceCurvature,
  type SurfaceCurvature,
} from '../geometry/surfaceCurvature.ts';
import { angleBetween, distance, scaled, squareTo, unit, type Vector } from '../geometry/vector.ts';
import type { Kept } from './surfaceLook.ts';
import type { TightRadius } from './tightRadii.ts';

/** Steps are this share of the radius at hand, so that a full turn takes some fifty. */
const stepShare = 1 / 8;
const mostSteps = 60;
/** No step is shorter than this share of the diagonal. */
const leastStepShare = 1e-8;

/** Curvature toward a side, 1/mm, and the direction in which the surface has it; any at an umbilic. */
function sharpest({ principal, directions }: SurfaceCurvature, side: 1 | -1) {
  return side > 0
    ? { bend: principal[0], direction: directions?.[0] ?? null }
    : { bend: -principal[1], direction: directions?.[1] ?? null };
}

interface Stand {
  readonly u: number;
  readonly v: number;
  readonly jet: SurfaceJet;
  readonly curvature: SurfaceCurvature;
}

/** A parameter of the domain, or one that is outside it but for rounding put back; else null. */
function within(net: ControlNet, side: 0 | 1, w: number): number | null {
  const [from, to] = domain(net.knots[side], net.degree[side]);
  const inside = Math.min(to, Math.max(from, w));
  return Math.abs(w - inside) <= 1e-9 * (to - from) ? inside : null;
}

function standAt(net: ControlNet, atU: number, atV: number, kept: Kept): Stand | null {
  const [u, v] = [within(net, 0, atU), within(net, 1, atV)];
  if (u === null || v === null || kept?.(u, v) === 'outside') return null;
  const jet = surfaceJet(net, u, v);
  const curvature = surfaceCurvature(jet);
  return curvature && { u, v, jet, curvature };
}

/** The place `step` mm farther along a tangent; where derivatives grow on the way, no farther than that. */
function next(net: ControlNet, from: Stand, along: Vector, step: number, kept: Kept): Stand | null {
  const ab = parameterDirection(from.jet, along);
  if (!ab) return null;
  for (let share = 1; share > 1e-4; share /= 2) {
    const stand = standAt(net, from.u + ab[0] * step * share, from.v + ab[1] * step * share, kept);
    if (stand && distance(stand.jet.point, from.jet.point) <= 1.5 * step) return stand;
  }
  return null;
}

/** Normals along the way from a place in one direction, as long as the surface is that tight. */
function normalsAlong(
  net: ControlNet,
  start: Stand,
  way: Vector,
  { side }: TightRadius,
  below: number,
  kept: Kept,
): Vector[] {
  const least = leastStepShare * diagonal(net);
  const normals: Vector[] = [];
  let [at, along] = [start, way];
  for (let k = 0; k < mostSteps; k++) {
    const { bend } = sharpest(at.curvature, side);
    const stand = next(net, at, along, Math.max(least, stepShare / bend), kept);
    if (!stand || sharpest(stand.curvature, side).bend * below < 1) break;
    normals.push(stand.curvature.normal);
    const turned = unit(squareTo(along, stand.curvature.normal));
    if (!turned) break;
    [at, along] = [stand, turned];
  }
  return normals;
}

/**
 * How much the normal of a surface turns where it is tight: the largest angle, radians, between normals
 * on the way through a tight radius, across the bend to both sides, as long as the radius of curvature
 * is below `below` mm. A fillet turns by what it joins; the tip of a flat cone, where the radius falls
 * to nothing, by hardly anything.
 */
export function tightTurn(net: ControlNet, radius: TightRadius, below: number, kept: Kept): number {
  const start = standAt(net, radius.u, radius.v, kept);
  if (!start) return 0;
  const way =
    sharpest(start.curvature, radius.side).direction ?? unit(start.jet.u) ?? unit(start.jet.v);
  if (!way) return 0;
  const normals = [
    start.curvature.normal,
    ...normalsAlong(net, start, way, radius, below, kept),
    ...normalsAlong(net, start, scaled(way, -1), radius, below, kept),
  ];
  return normals.reduce(
    (most, a, k) =>
      normals.slice(k + 1).reduce((own, b) => Math.max(own, angleBetween(a, b)), most),
    0,
  );
}

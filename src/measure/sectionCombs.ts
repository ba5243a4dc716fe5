import { basisRow } from '../geometry/basis.ts';
import { heldCoefficients, surfacePatches } from '../geometry/bernsteinPatch.ts';
import { diagonal, type ControlNet } from '../geometry/controlNet.ts';
import { surfaceJet, surfaceNormal, type SurfaceJet } from '../geometry/evaluation.ts';
import { curvatureExtrema } from '../geometry/curvatureExtrema.ts';
import { domain, grevilleAbscissae, interiorBreakpoints } from '../geometry/knots.ts';
import { planeSections } from '../geometry/planeSections.ts';
import { sheetOf, sheetPoint } from '../geometry/sheet.ts';
import type { Coordinates } from '../geometry/splineCurve.ts';
import { isSound, parameterDirection, secondForm } from '../geometry/surfaceCurvature.ts';
import type { Kept } from './surfaceLook.ts';
import { axes, cross, distance, dot, unit, type Vector } from '../geometry/vector.ts';

/** A section of a panel: a plane across an axis of the model, or a line of constant v (row) or u (column). */
export interface Section {
  readonly axis: 'x' | 'y' | 'z' | 'row' | 'column';
  /** mm along the axis; of a row v, of a column u. */
  readonly at: number;
}

/** The curvature of a section along it, at stations in order. */
export interface SectionComb extends Section {
  /** Parameters of the stations. */
  readonly parameters: readonly Coordinates[];
  /** Length along the section, mm, from 0. */
  readonly s: Float64Array;
  /**
   * Curvature, 1/mm, positive where the section bends away from the side that `sign` names: of a plane
   * section that of the curve about its plane, of a row or column the normal curvature along it.
   */
  readonly curvature: Float64Array;
  /** mm. */
  readonly points: readonly Vector[];
  /** Unit tangents of the section. */
  readonly tangents: readonly Vector[];
  readonly isClosed: boolean;
}

/**
 * In how many monotone pieces the curvature of a row (constant v) or column (constant u) runs, by the
 * exact test of curvatureExtrema on each of its spans; null for rational surfaces, where the test does
 * not hold. The curve's own curvature, in space; what trim and spec take away is not taken away here.
 */
export function monotonePieces(net: ControlNet, { axis, at }: Section): number | null {
  if (net.weights || (axis !== 'row' && axis !== 'column')) return null;
  const [held, along] = axis === 'row' ? ([1, 0] as const) : ([0, 1] as const);
  const last = domain(net.knots[held], net.degree[held])[1];
  const extrema = surfacePatches(net).flatMap((patch) => {
    const [from, to] = held === 0 ? patch.u : patch.v;
    if (at < from || at > to || (at === to && to < last)) return [];
    const share = (at - from) / (to - from);
    const axesOf = patch.coordinates
      .slice(0, 3)
      .map((coefficients) => heldCoefficients({ ...patch, coefficients }, held, share));
    const [start, end] = along === 0 ? patch.u : patch.v;
    return curvatureExtrema(axesOf).map((t) => start + t * (end - start));
  });
  return extrema.length + 1;
}

/** Planes that meet the surface at less than this angle cut sections that say little of it; sine. */
const leastSlant = 0.5;
/** Chord tolerance of a traced section as a share of the net's diagonal. */
const chordShare = 2e-5;
/** Stations on each span of a row or column, its ends included. */
const perSpan = 13;
const fewestStations = 5;

interface Station {
  readonly at: Coordinates;
  readonly point: Vector;
  readonly tangent: Vector;
  readonly curvature: number;
}

/** Where the surface can be told from, with its size: see isSound. */
interface Ground {
  readonly net: ControlNet;
  readonly size: number;
  /** 1 or -1: curvature is positive where a section bends away from this side of S_u x S_v. */
  readonly sign: 1 | -1;
}

/** 1/mm along a unit tangent, signed with `normal`; null where the derivatives span no plane. */
function bend(jet: SurfaceJet, normal: Vector, tangent: Vector): number | null {
  const ab = parameterDirection(jet, tangent);
  return ab && secondForm(jet, normal, ab);
}

/**
 * A station of the section across `plane`. The section's curvature is the surface's normal curvature
 * along it over the sine of the angle between plane and surface (Meusnier).
 */
function planeStation({ net, size, sign }: Ground, at: Coordinates, plane: Vector): Station | null {
  const jet = surfaceJet(net, at[0], at[1]);
  const normal = isSound(net, jet, size) ? surfaceNormal(jet) : null;
  const tangent = normal && unit(cross(normal, plane));
  if (!normal || !tangent) return null;
  const slant = Math.sqrt(Math.max(0, 1 - dot(normal, plane) ** 2));
  const bending = slant < leastSlant ? null : bend(jet, normal, tangent);
  if (bending === null) return null;
  return { at, point: jet.point, tangent, curvature: (-sign * bending) / slant };
}

function lineStation({ net, size, sign }: Ground, at: Coordinates, along: 0 | 1): Station | null {
  const jet = surfaceJet(net, at[0], at[1]);
  const normal = isSound(net, jet, size) ? surfaceNormal(jet) : null;
  const tangent = unit(along === 0 ? jet.u : jet.v);
  const bending = normal && tangent && bend(jet, normal, tangent);
  if (!tangent || bending === null) return null;
  return { at, point: jet.point, tangent, curvature: -sign * bending };
}

/** Stations as combs: parted where there is none, or where one is not kept. */
function combsOf(
  section: Section,
  stations: readonly (Station | null)[],
  isClosed: boolean,
  kept: Kept,
  least: number,
): SectionComb[] {
  const runs: Station[][] = [[]];
  for (const station of stations) {
    const run = runs[runs.length - 1];
    if (!station || (kept && kept(station.at[0], station.at[1]) === 'outside')) {
      if (run.length > 0) runs.push([]);
    } else if (run.length === 0 || distance(run[run.length - 1].point, station.point) > least)
      run.push(station);
  }
  const whole = isClosed && runs.length === 1;
  return runs
    .filter((run) => run.length >= fewestStations)
    .map((run): SectionComb => {
      const s = new Float64Array(run.length);
      for (let k = 1; k < run.length; k++)
        s[k] = s[k - 1] + distance(run[k].point, run[k - 1].point);
      return {
        ...section,
        parameters: run.map(({ at }) => at),
        s,
        curvature: Float64Array.from(run, ({ curvature }) => curvature),
        points: run.map(({ point }) => point),
        tangents: run.map(({ tangent }) => tangent),
        isClosed: whole,
      };
    });
}

/** Stations nearer to each other than this share of the diagonal are one. */
const oneShare = 1e-7;

/** The curvature combs of the sections across x, y and z at multiples of `spacing`, mm. */
export function planeCombs(
  net: ControlNet,
  spacing: number,
  sign: 1 | -1,
  kept: Kept,
): SectionComb[] {
  const size = diagonal(net);
  const sheet = sheetOf(net, oneShare * size);
  const patches = surfacePatches(net);
  const place = (at: Coordinates): Vector => sheetPoint(sheet, at);
  return (['x', 'y', 'z'] as const).flatMap((axis, which) => {
    let [low, high] = [Infinity, -Infinity];
    for (let k = which; k < net.points.length; k += 3) {
      low = Math.min(low, net.points[k]);
      high = Math.max(high, net.points[k]);
    }
    const combs: SectionComb[] = [];
    for (let k = Math.ceil(low / spacing); k * spacing < high; k++) {
      const plane = { normal: axes[axis], at: k * spacing };
      const lines = planeSections(patches, plane, {
        ...sheet,
        place,
        tolerance: chordShare * size,
      });
      for (const { points, isClosed } of lines) {
        const stations = points.map((at) => planeStation({ net, size, sign }, at, plane.normal));
        combs.push(...combsOf({ axis, at: plane.at }, stations, isClosed, kept, oneShare * size));
      }
    }
    return combs;
  });
}

/** The combs of the lines of constant v and of constant u at the Greville abscissae. */
export function lineCombs(net: ControlNet, sign: 1 | -1, kept: Kept): SectionComb[] {
  const size = diagonal(net);
  return ([0, 1] as const).flatMap((along) => {
    const across = along === 0 ? 1 : 0;
    const ends = domain(net.knots[along], net.degree[along]);
    const [low, high] = domain(net.knots[across], net.degree[across]);
    const inner = interiorBreakpoints(net.knots[along], net.degree[along]);
    const cuts = [ends[0], ...inner.map(({ value }) => value), ends[1]];
    const stops = cuts
      .slice(1)
      .flatMap((to, k) =>
        Array.from(
          { length: perSpan - 1 },
          (_, i) => cuts[k] + ((to - cuts[k]) * i) / (perSpan - 1),
        ),
      );
    stops.push(ends[1]);
    return Array.from(grevilleAbscissae(net.knots[across], net.degree[across]))
      .filter((held) => held >= low && held <= high)
      .flatMap((held) => {
        const section: Section = { axis: along === 0 ? 'row' : 'column', at: held };
        const stations = stops.map((t) =>
          lineStation({ net, size, sign }, along === 0 ? [t, held] : [held, t], along),
        );
        return combsOf(section, stations, false, kept, oneShare * size);
      });
  });
}

/** How much each control point sways the curvature along a tangent at one place, per mm along the normal. */
export interface Sway {
  readonly row: number;
  readonly column: number;
  /** 1/mm a mm. */
  readonly sway: number;
}

/**
 * The second derivative of each basis function along a unit tangent, a^2 N_uu + 2ab N_uv + b^2 N_vv with
 * tangent = a S_u + b S_v: what moving its control point by 1 mm along the normal adds to the normal
 * curvature there, but for terms in the surface's own bend. Weights are taken as they stand.
 */
export function curvatureSways(net: ControlNet, at: Coordinates, tangent: Vector): Sway[] {
  const bu = basisRow(net.knots[0], net.degree[0], at[0], 2);
  const bv = basisRow(net.knots[1], net.degree[1], at[1], 2);
  const ab = parameterDirection(surfaceJet(net, at[0], at[1]), tangent);
  if (!ab) return [];
  const [a, b] = ab;
  return Array.from({ length: (net.degree[0] + 1) * (net.degree[1] + 1) }, (_, k) => {
    const [i, j] = [k % (net.degree[0] + 1), Math.floor(k / (net.degree[0] + 1))];
    return {
      row: bv.first + j,
      column: bu.first + i,
      sway:
        a * a * bu.values[2][i] * bv.values[0][j] +
        2 * a * b * bu.values[1][i] * bv.values[1][j] +
        b * b * bu.values[0][i] * bv.values[2][j],
    };
  });
}

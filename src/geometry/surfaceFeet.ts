import { basisRow } from './basis.ts';
import { pointFromRows, surfacePoint, tangentsFromRows } from './evaluation.ts';
import { spanCount } from './knots.ts';
import { inDomain, type Sheet } from './sheet.ts';
import { cross, distance, dot, length, type Vector } from './vector.ts';

/** The feet of many points on a surface, in flat arrays; only where `isFoot` is 1 do the others count. */
export interface SurfaceFeet {
  /** 0: the point lies beyond the surface's border, or no foot was found. */
  readonly isFoot: Uint8Array;
  /** Places of the plane, u and v one after the other. */
  readonly at: Float64Array;
  /** x, y, z of each foot, mm, and of the unit normal there along S_u x S_v. */
  readonly points: Float64Array;
  readonly normals: Float64Array;
  /** mm, positive on the normal's side. */
  readonly distances: Float64Array;
}

/** Where on a surface feet are sought. */
export interface FootRegion {
  /** A place of the plane, and how far from its point feet may lie, mm. */
  readonly at: readonly [number, number];
  readonly radius: number;
}

/** Places of the plane and where they lead, from which searches start. */
interface Starts {
  readonly us: Float64Array;
  readonly vs: Float64Array;
  /** x, y, z and S_u and S_v: nine numbers a place, v by v. */
  readonly values: Float64Array;
}

const fewestPlaces = 25;
const mostPlaces = 161;
const perSpan = 4;
/** A box must be so much larger than the region that it surely holds it. */
const margin = 1.3;
const mostWidenings = 12;

/** The parameters of a box about a place, in one direction; a closed direction holds at most one round. */
function range(sheet: Sheet, side: 0 | 1, middle: number, half: number): readonly [number, number] {
  const [from, to] = sheet.domain[side];
  const period = sheet.period[side];
  if (period !== null) {
    const held = Math.min(half, period / 2);
    return [middle - held, middle + held];
  }
  return [Math.max(from, middle - half), Math.min(to, middle + half)];
}

/** A box of the plane beyond which the surface is farther from the region's middle than its radius. */
function regionBox(sheet: Sheet, { at, radius }: FootRegion) {
  const { net, domain } = sheet;
  const place = [inDomain(sheet, 0, at[0]), inDomain(sheet, 1, at[1])] as const;
  const middle = surfacePoint(net, place[0], place[1]);
  const rows = place.map((value, side) => basisRow(net.knots[side], net.degree[side], value, 1));
  const slopes = tangentsFromRows(net, rows[0], rows[1]);
  const widths = domain.map(([from, to]) => to - from);
  const halves = [slopes.u, slopes.v].map((slope, side) =>
    Math.min((margin * radius) / length(slope), widths[side]),
  );
  let box = [range(sheet, 0, place[0], halves[0]), range(sheet, 1, place[1], halves[1])];
  for (let round = 0; round < mostWidenings; round++) {
    const isNear = ([0, 1] as const).map((side) => {
      const other = side === 0 ? 1 : 0;
      const [low, high] = box[other];
      return box[side].some((end) => {
        const isEdge = domain[side].includes(end) && sheet.period[side] === null;
        if (isEdge || box[side][1] - box[side][0] >= widths[side]) return false;
        return Array.from({ length: fewestPlaces }, (_, k) => {
          const along = low + ((high - low) * k) / (fewestPlaces - 1);
          const uv = side === 0 ? [end, along] : [along, end];
          return surfacePoint(net, inDomain(sheet, 0, uv[0]), inDomain(sheet, 1, uv[1]));
        }).some((point) => distance(point, middle) < margin * radius);
      });
    });
    if (!isNear[0] && !isNear[1]) break;
    isNear.forEach((near, side) => {
      if (near) halves[side] *= 1.6;
    });
    box = [range(sheet, 0, place[0], halves[0]), range(sheet, 1, place[1], halves[1])];
  }
  return box;
}

function startsOf(sheet: Sheet, region: FootRegion): Starts {
  const { net, domain } = sheet;
  const box = regionBox(sheet, region);
  const [us, vs] = ([0, 1] as const).map((side) => {
    const [low, high] = box[side];
    const spans =
      (spanCount(net.knots[side], net.degree[side]) * (high - low)) /
      (domain[side][1] - domain[side][0]);
    const count = Math.min(mostPlaces, Math.max(fewestPlaces, Math.ceil(perSpan * spans) + 1));
    return Float64Array.from({ length: count }, (_, k) => low + ((high - low) * k) / (count - 1));
  });
  const rowsOf = (side: 0 | 1, all: Float64Array) =>
    Array.from(all, (value) =>
      basisRow(net.knots[side], net.degree[side], inDomain(sheet, side, value), 1),
    );
  const [rowsU, rowsV] = [rowsOf(0, us), rowsOf(1, vs)];
  const values = new Float64Array(9 * us.length * vs.length);
  rowsV.forEach((bv, j) =>
    rowsU.forEach((bu, i) => {
      const { u, v } = tangentsFromRows(net, bu, bv);
      values.set([...pointFromRows(net, bu, bv), ...u, ...v], 9 * (j * us.length + i));
    }),
  );
  return { us, vs, values };
}

/** Every so many starts are looked at first. */
const coarseStep = 6;

/** Number of the start nearest to a point: downhill over the starts from a coarse look at all of them. */
function nearestStart({ us, vs, values }: Starts, x: number, y: number, z: number): number {
  const columns = us.length;
  const rows = vs.length;
  let best = 0;
  let least = Infinity;
  const look = (k: number): void => {
    const [dx, dy, dz] = [values[9 * k] - x, values[9 * k + 1] - y, values[9 * k + 2] - z];
    const square = dx * dx + dy * dy + dz * dz;
    if (square < least) {
      best = k;
      least = square;
    }
  };
  for (let j = 0; j < rows; j += coarseStep)
    for (let i = 0; i < columns; i += coarseStep) look(j * columns + i);
  for (;;) {
    const before = best;
    const i = best % columns;
    const j = (best - i) / columns;
    const lastColumn = Math.min(columns - 1, i + 1);
    const lastRow = Math.min(rows - 1, j + 1);
    for (let b = Math.max(0, j - 1); b <= lastRow; b++)
      for (let a = Math.max(0, i - 1); a <= lastColumn; a++) look(b * columns + a);
    if (best === before) return best;
  }
}

const mostSteps = 12;
/** A step shorter than this share of the region's radius is no step. */
const restShare = 1e-5;

/**
 * The feet of points (x, y, z one after the other, mm) that lie near a surface, on the part of it within a
 * region: Gauss and Newton's steps from the nearest of a grid of places, without second derivatives,
 * which converge by the share that the distance is of the surface's radius. Some microseconds a
 * point.
 */
export function surfaceFeet(sheet: Sheet, places: Float64Array, region: FootRegion): SurfaceFeet {
  const { net, domain, period } = sheet;
  const starts = startsOf(sheet, region);
  const count = places.length / 3;
  const feet = {
    isFoot: new Uint8Array(count),
    at: new Float64Array(2 * count),
    points: new Float64Array(3 * count),
    normals: new Float64Array(3 * count),
    distances: new Float64Array(count),
  };
  const rest = restShare * region.radius;
  /** A parameter held at the domain's edges, unless the surface closes there. */
  const held = (side: 0 | 1, value: number): number =>
    period[side] === null ? Math.min(Math.max(value, domain[side][0]), domain[side][1]) : value;
  for (let k = 0; k < count; k++) {
    const place: Vector = [places[3 * k], places[3 * k + 1], places[3 * k + 2]];
    const start = nearestStart(starts, place[0], place[1], place[2]);
    let u = starts.us[start % starts.us.length];
    let v = starts.vs[Math.floor(start / starts.us.length)];
    const own = starts.values.subarray(9 * start, 9 * start + 9);
    let point: Vector = [own[0], own[1], own[2]];
    let su: Vector = [own[3], own[4], own[5]];
    let sv: Vector = [own[6], own[7], own[8]];
    for (let step = 0; step < mostSteps; step++) {
      const off: Vector = [place[0] - point[0], place[1] - point[1], place[2] - point[2]];
      const [e, f, g] = [dot(su, su), dot(su, sv), dot(sv, sv)];
      const [p, q] = [dot(off, su), dot(off, sv)];
      const det = e * g - f * f;
      if (!(det > 1e-12 * e * g)) break;
      let du = (g * p - f * q) / det;
      let dv = (e * q - f * p) / det;
      // at an edge that would be passed, along it alone
      if (held(0, u + du) === u && du !== 0) [du, dv] = [0, q / g];
      else if (held(1, v + dv) === v && dv !== 0) [du, dv] = [p / e, 0];
      const [nextU, nextV] = [held(0, u + du), held(1, v + dv)];
      const moved = Math.abs(nextU - u) * Math.sqrt(e) + Math.abs(nextV - v) * Math.sqrt(g);
      if (moved <= rest && step > 0) {
        const normal = cross(su, sv);
        const size = length(normal);
        const across = dot(off, normal) / size;
        // what is left along the surface is left because the surface ends
        const aside = Math.sqrt(Math.max(0, dot(off, off) - across * across));
        feet.at[2 * k] = u;
        feet.at[2 * k + 1] = v;
        for (let axis = 0; axis < 3; axis++) {
          feet.points[3 * k + axis] = point[axis];
          feet.normals[3 * k + axis] = normal[axis] / size;
        }
        feet.distances[k] = across;
        feet.isFoot[k] = aside <= 1e-4 * (Math.abs(across) + region.radius) ? 1 : 0;
        break;
      }
      [u, v] = [nextU, nextV];
      const bu = basisRow(net.knots[0], net.degree[0], inDomain(sheet, 0, u), 1);
      const bv = basisRow(net.knots[1], net.degree[1], inDomain(sheet, 1, v), 1);
      point = pointFromRows(net, bu, bv);
      ({ u: su, v: sv } = tangentsFromRows(net, bu, bv));
    }
  }
  return feet;
}

import { basisRow } from '../geometry/basis.ts';
import { diagonal, type ControlNet } from '../geometry/controlNet.ts';
import { curvatureGrid } from '../geometry/curvatureGrid.ts';
import {
  pointFromRows,
  surfaceNormal,
  surfacePoint,
  tangentsFromRows,
} from '../geometry/evaluation.ts';
import type { ParameterBox } from '../geometry/keptPart.ts';
import { spanCount } from '../geometry/knots.ts';
import type { ScanBody } from '../geometry/scanBody.ts';
import { scanFeet, scanStandings } from '../geometry/scanFeet.ts';
import { distance, scaled, type Vector } from '../geometry/vector.ts';
import type { Kept } from './surfaceLook.ts';

/** How a place of a panel stands to the scan. */
export const latticeStandings = {
  /** The scan lies behind it: it counts. */
  over: 0,
  /** Nothing of the scan lies behind it: a hole, beyond its border, out of reach, or turned away. */
  open: 1,
  /** Outside what is kept, or without a normal: no place of the panel. */
  none: 2,
  /** Over a fillet or a feature line of the scan: not the panel's fault. */
  feature: 3,
} as const;

/**
 * A panel's places on a grid of parameters against a scan, row by row in v: place (j, i) is number
 * j * columns + i.
 */
export interface ScanLattice {
  /** Parameters in u and in v, rising. */
  readonly at: readonly [Float64Array, Float64Array];
  readonly columns: number;
  readonly rows: number;
  /** Three numbers a place, mm. */
  readonly points: Float64Array;
  /** Unit normals outward, three numbers a place; NaN where there is none. */
  readonly normals: Float64Array;
  /** mm^2 that each place stands for. */
  readonly areas: Float64Array;
  /** Panel minus scan along the outward side, mm; NaN where the scan is not behind it. */
  readonly distances: Float64Array;
  /** Sine of the angle between panel and scan: what a distance changes by over a millimetre at most. */
  readonly slopes: Float64Array;
  /** Of latticeStandings. */
  readonly standings: Uint8Array;
  /** 1: the scan's front is on the panel's outward side; -1: its back is. */
  readonly facing: 1 | -1;
  /** Widest step between neighbouring places, mm. */
  readonly step: number;
}

/** What is asked about, besides the panel itself. */
export interface ScanQuestion {
  readonly net: ControlNet;
  /** The outward side of S_u x S_v. */
  readonly sign: 1 | -1;
  readonly kept: Kept;
  /** Whether a place lies over a feature of the scan, where no distance counts. */
  readonly isOver?: (u: number, v: number) => boolean;
  readonly body: ScanBody;
  /** mm within which the scan is sought. */
  readonly reach: number;
  /** mm to which the largest distance is to be proven, where a twentieth of it is less. */
  readonly fine: number;
}

/** Places at most: beyond them the steps grow wider than the scan's triangles. */
const mostPlaces = 1_000_000;
/** Places across a span, so that nothing of the panel's own shape is missed, and across a panel. */
const perSpan = 8;
const fewestAcross = 24;
/** Looks by which the lines are spread. */
const looks = { across: 9, along: 96 };
/** Places that are asked for at a time. */
const stripPlaces = 1 << 15;

/** Lengths along one direction up to each look, of the longest line there, mm. */
function longestLengths(
  net: ControlNet,
  box: ParameterBox,
  side: 0 | 1,
): { readonly at: number[]; readonly lengths: number[] } {
  const [along, across] = [box[side], box[1 - side]];
  const parameter = ([from, to]: readonly [number, number], share: number): number =>
    from + share * (to - from);
  const place = (s: number, t: number): Vector =>
    side === 0 ? surfacePoint(net, s, t) : surfacePoint(net, t, s);
  const at = Array.from({ length: looks.along + 1 }, (_, k) => parameter(along, k / looks.along));
  const lines = Array.from({ length: looks.across }, (_, k) => {
    const t = parameter(across, k / (looks.across - 1));
    return at.map((s) => place(s, t));
  });
  const lengths = [0];
  for (let k = 1; k < at.length; k++)
    lengths.push(lengths[k - 1] + Math.max(...lines.map((line) => distance(line[k], line[k - 1]))));
  return { at, lengths };
}

/** Parameters whose lines lie as far apart as can be seen; `count` steps. */
function evenParameters(
  at: readonly number[],
  lengths: readonly number[],
  count: number,
): Float64Array {
  const total = lengths[lengths.length - 1];
  const last = at.length - 1;
  let k = 1;
  return Float64Array.from({ length: count + 1 }, (_, step) => {
    if (step === 0) return at[0];
    if (step === count) return at[last];
    if (!(total > 0)) return at[0] + (step / count) * (at[last] - at[0]);
    const wanted = (total * step) / count;
    while (k < last && lengths[k] < wanted) k += 1;
    const width = lengths[k] - lengths[k - 1];
    const share = width > 0 ? (wanted - lengths[k - 1]) / width : 1;
    return at[k - 1] + share * (at[k] - at[k - 1]);
  });
}

/** The parameter lines of a lattice, and how far apart they lie at most, mm. */
function latticeLines(
  net: ControlNet,
  box: ParameterBox,
  spacing: number,
): { readonly at: [Float64Array, Float64Array]; readonly step: number } {
  const sides = ([0, 1] as const).map((side) => longestLengths(net, box, side));
  const totals = sides.map(({ lengths }) => lengths[lengths.length - 1]);
  const fewest = ([0, 1] as const).map((side) =>
    Math.max(fewestAcross, perSpan * spanCount(net.knots[side], net.degree[side])),
  );
  const wanted = totals.map((total, side) => Math.max(fewest[side], Math.ceil(total / spacing)));
  const places = wanted[0] * wanted[1];
  const shrink = Math.min(1, Math.sqrt(mostPlaces / places));
  const counts = wanted.map((count, side) =>
    Math.max(Math.min(count, fewest[side]), Math.floor(count * shrink)),
  );
  return {
    at: [
      evenParameters(sides[0].at, sides[0].lengths, counts[0]),
      evenParameters(sides[1].at, sides[1].lengths, counts[1]),
    ],
    step: Math.max(totals[0] / counts[0], totals[1] / counts[1]),
  };
}

/** Areas that places stand for: a quarter of each cell around them, by the cross product of its diagonals. */
function placeAreas(points: Float64Array, columns: number, rows: number): Float64Array {
  const areas = new Float64Array(columns * rows);
  for (let row = 0; row + 1 < rows; row++)
    for (let column = 0; column + 1 < columns; column++) {
      const k = row * columns + column;
      const [a, b, c, d] = [3 * k, 3 * (k + 1), 3 * (k + columns), 3 * (k + columns + 1)];
      const px = points[d] - points[a];
      const py = points[d + 1] - points[a + 1];
      const pz = points[d + 2] - points[a + 2];
      const qx = points[c] - points[b];
      const qy = points[c + 1] - points[b + 1];
      const qz = points[c + 2] - points[b + 2];
      const area = Math.hypot(py * qz - pz * qy, pz * qx - px * qz, px * qy - py * qx) / 8;
      areas[k] += area;
      areas[k + 1] += area;
      areas[k + columns] += area;
      areas[k + columns + 1] += area;
    }
  return areas;
}

/** Feet of some places on a scan: distances in front of it, and the cosine to the outward normals. */
interface Seen {
  readonly distances: Float64Array;
  readonly cosines: Float64Array;
  readonly isOpen: Uint8Array;
}

/** What is seen from places with normals (three numbers each). */
function seenFrom(
  body: ScanBody,
  points: Float64Array,
  normals: Float64Array,
  reach: number,
): Seen {
  const feet = scanFeet(body, points, reach, normals);
  const count = feet.distances.length;
  const cosines = new Float64Array(count);
  const isOpen = new Uint8Array(count);
  for (let k = 0; k < count; k++) {
    cosines[k] =
      normals[3 * k] * feet.normals[3 * k] +
      normals[3 * k + 1] * feet.normals[3 * k + 1] +
      normals[3 * k + 2] * feet.normals[3 * k + 2];
    if (feet.standings[k] !== scanStandings.over || !Number.isFinite(cosines[k])) isOpen[k] = 1;
  }
  return { distances: feet.distances, cosines, isOpen };
}

/** Points, and normals outward, of parameters on a grid. */
function gridOf({ net, sign }: ScanQuestion, us: ArrayLike<number>, vs: ArrayLike<number>) {
  const rowsOf = (side: 0 | 1, at: ArrayLike<number>) =>
    Array.from(at, (w) => basisRow(net.knots[side], net.degree[side], w, 2));
  const { points, normals, isBlind } = curvatureGrid(net, rowsOf(0, us), rowsOf(1, vs));
  if (sign < 0) for (let k = 0; k < normals.length; k++) normals[k] = -normals[k];
  return { points, normals, isBlind };
}

/**
 * A panel against a scan on a grid whose lines lie no farther apart than the scan's triangles are wide
 * (as far as a million places allow), so that no vertex of the scan lies between places unseen. `box`:
 * the parameters between which anything may be kept.
 */
export function scanLattice(question: ScanQuestion, box: ParameterBox): ScanLattice {
  const { net, kept, body, reach } = question;
  const { at, step } = latticeLines(net, box, body.spacing);
  const [columns, rows] = [at[0].length, at[1].length];
  const count = columns * rows;
  const points = new Float64Array(3 * count);
  const normals = new Float64Array(3 * count);
  const distances = new Float64Array(count).fill(NaN);
  const slopes = new Float64Array(count);
  const standings = new Uint8Array(count).fill(latticeStandings.none);
  const cosines = new Float64Array(count);
  const strip = Math.max(1, Math.floor(stripPlaces / columns));
  const asked = new Int32Array(strip * columns);
  for (let first = 0; first < rows; first += strip) {
    const grid = gridOf(question, at[0], at[1].subarray(first, first + strip));
    points.set(grid.points, 3 * first * columns);
    normals.set(grid.normals, 3 * first * columns);
    let number = 0;
    for (let k = 0; k < grid.isBlind.length; k++) {
      const whole = first * columns + k;
      const isKept =
        !kept || kept(at[0][whole % columns], at[1][Math.floor(whole / columns)]) !== 'outside';
      if (grid.isBlind[k] === 0 && isKept) asked[number++] = whole;
    }
    const [places, upright] = [new Float64Array(3 * number), new Float64Array(3 * number)];
    for (let k = 0; k < number; k++)
      for (let axis = 0; axis < 3; axis++) {
        places[3 * k + axis] = points[3 * asked[k] + axis];
        upright[3 * k + axis] = normals[3 * asked[k] + axis];
      }
    const seen = seenFrom(body, places, upright, reach);
    for (let k = 0; k < number; k++) {
      const whole = asked[k];
      standings[whole] = seen.isOpen[k] === 0 ? latticeStandings.over : latticeStandings.open;
      distances[whole] = seen.distances[k];
      cosines[whole] = seen.cosines[k];
    }
  }
  const areas = placeAreas(points, columns, rows);
  let front = 0;
  for (let k = 0; k < count; k++)
    if (standings[k] === latticeStandings.over) front += areas[k] * cosines[k];
  const facing = front < 0 ? -1 : 1;
  for (let k = 0; k < count; k++) {
    // what faces the other way is another sheet of the scan
    if (standings[k] === latticeStandings.over && !(facing * cosines[k] > 0))
      standings[k] = latticeStandings.open;
    if (standings[k] !== latticeStandings.over) distances[k] = NaN;
    else {
      distances[k] *= facing;
      slopes[k] = Math.sqrt(Math.max(0, 1 - cosines[k] * cosines[k]));
    }
  }
  return {
    at,
    columns,
    rows,
    points,
    normals,
    areas,
    distances,
    slopes,
    standings,
    facing,
    step: Math.min(step, diagonal(net)),
  };
}

/** A lattice in which the places of a mask do not count: they lie over a feature of the scan. */
export function maskedLattice(lattice: ScanLattice, mask: Uint8Array): ScanLattice {
  const standings = lattice.standings.map((standing, k) =>
    mask[k] !== 0 && standing !== latticeStandings.none ? latticeStandings.feature : standing,
  );
  return {
    ...lattice,
    standings,
    distances: lattice.distances.map((distance, k) => (mask[k] === 0 ? distance : NaN)),
  };
}

/** Distances and slopes at single parameters, as scanLattice gives them; distance NaN where it has none. */
export interface ScanPlace {
  readonly u: number;
  readonly v: number;
  readonly point: Vector;
  readonly distance: number;
  readonly slope: number;
}

/** Panel minus scan at parameters of no grid. */
export function scanPlaces(
  question: ScanQuestion,
  facing: 1 | -1,
  parameters: readonly (readonly [number, number])[],
): ScanPlace[] {
  const count = parameters.length;
  const [points, normals] = [new Float64Array(3 * count), new Float64Array(3 * count)];
  const isKept = new Uint8Array(count);
  const { net, sign, kept, isOver } = question;
  parameters.forEach(([u, v], k) => {
    const [bu, bv] = [
      basisRow(net.knots[0], net.degree[0], u, 1),
      basisRow(net.knots[1], net.degree[1], v, 1),
    ];
    points.set(pointFromRows(net, bu, bv), 3 * k);
    const normal = surfaceNormal(tangentsFromRows(net, bu, bv));
    if (!normal) return;
    normals.set(scaled(normal, sign), 3 * k);
    if ((!kept || kept(u, v) !== 'outside') && !isOver?.(u, v)) isKept[k] = 1;
  });
  const { distances, cosines, isOpen } = seenFrom(question.body, points, normals, question.reach);
  return parameters.map(([u, v], k): ScanPlace => {
    const isSeen = isKept[k] === 1 && isOpen[k] === 0 && facing * cosines[k] > 0;
    return {
      u,
      v,
      point: [points[3 * k], points[3 * k + 1], points[3 * k + 2]],
      distance: isSeen ? facing * distances[k] : NaN,
      slope: isSeen ? Math.sqrt(Math.max(0, 1 - cosines[k] * cosines[k])) : 1,
    };
  });
}

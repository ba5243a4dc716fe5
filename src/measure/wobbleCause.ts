import { diagonal, type ControlNet } from '../geometry/controlNet.ts';
import { surfaceJet, surfaceNormal } from '../geometry/evaluation.ts';
import { footFinder, footFrom } from '../geometry/foot.ts';
import { leavesWithin } from '../geometry/leavesWithin.ts';
import type { ScanBody } from '../geometry/scanBody.ts';
import { inDomain, sheetOf, type Sheet } from '../geometry/sheet.ts';
import { parameterDirection } from '../geometry/surfaceCurvature.ts';
import { surfaceFeet } from '../geometry/surfaceFeet.ts';
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
import { aimedTemplate, type SurfacePoints } from './aimedTemplate.ts';
import type { Kept } from './surfaceLook.ts';
import { taper, windowLengths, type Template, type WindowPoints } from './templateFit.ts';
import { wideWindow, wobbleShare, type WobbleShare } from './wobbleShare.ts';
import type { WobbleSuspect } from './wobbleSuspect.ts';

/** A panel's surface as it is asked about its wobbles. */
export interface WobbledSurface {
  readonly net: ControlNet;
  /** 1 where S_u x S_v points outward, else -1. */
  readonly outward: 1 | -1;
  /** What of it is kept; null: all. */
  readonly kept: Kept;
}

/** How surface and scan depart from the local polynomials along a line through the wobble; mm. */
export interface WobblePicture {
  /** Along the wobble's long axis, from its top. */
  readonly at: readonly number[];
  /** Outward; null where there is no surface, or nothing of the scan. */
  readonly surface: readonly (number | null)[];
  readonly scan: readonly (number | null)[];
}

/** Whose a suspected wobble is, with the line that a designer is shown. */
export interface WobbleCause extends Omit<WobbleShare, 'levels'> {
  /** The top of the wobble as it was found near the suspect's place, mm; null where that is not on the surface. */
  readonly position: Vector | null;
  /** Its wavelengths, found likewise, mm. */
  readonly lengths: readonly [number, number];
  /** Null where nothing could be fitted. */
  readonly picture: WobblePicture | null;
}

/** A suspect's place on the surface and its axes. */
interface SuspectFrame {
  readonly suspect: WobbleSuspect;
  readonly at: readonly [number, number];
  readonly origin: Vector;
  readonly along: Vector;
  readonly across: Vector;
  readonly outward: Vector;
}

/** A suspect's window, and the bump in it that the surface shows best. */
interface AimedFrame extends SuspectFrame {
  readonly points: WindowPoints;
  /** In the frame's axes. */
  readonly top: readonly [number, number];
  readonly lengths: readonly [number, number];
}

/** What counts as one place, as a share of the diagonal. */
const oneShare = 1e-7;

function suspectFrame(
  { net, outward }: WobbledSurface,
  sheet: Sheet,
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

/** The chord to a place so far along a bent surface is no longer than the way; but the wobble's foot lies in the plane. */
const ballMargin = 1.25;
/** Vertices that are looked at, at most some more than the fit uses. */
const mostVertices = 12_000;

/** Vertices of a scan around a place, mm, and the sums of their triangles' normals, one after the other. */
interface ScanVertices {
  readonly places: Float64Array;
  readonly normals: Float64Array;
}

/** The vertices within `radius` mm; where there are many, the first corners of every so many-th triangle. */
function scanVertices({ tree }: ScanBody, place: Vector, radius: number): ScanVertices {
  const { vertices, triangles: corners } = tree.mesh;
  let triangles = 0;
  const leaves: number[] = [];
  leavesWithin(tree, place, radius, (first, count) => {
    triangles += count;
    leaves.push(first, count);
  });
  // a mesh has half as many vertices as triangles
  const stride = Math.max(1, Math.floor(triangles / (2 * mostVertices)));
  const cornersTaken = stride === 1 ? 3 : 1;
  const room = Math.ceil((cornersTaken * triangles) / stride);
  const places = new Float64Array(3 * room);
  const normals = new Float64Array(3 * room);
  const numbers = new Map<number, number>();
  const square = radius * radius;
  let [seen, next] = [0, 0];
  for (let leaf = 0; leaf < leaves.length; leaf += 2) {
    const [first, count] = [leaves[leaf], leaves[leaf + 1]];
    for (; next < seen + count; next += stride) {
      const at = 3 * (first + next - seen);
      const [a, b, c] = [3 * corners[at], 3 * corners[at + 1], 3 * corners[at + 2]];
      const ux = vertices[b] - vertices[a];
      const uy = vertices[b + 1] - vertices[a + 1];
      const uz = vertices[b + 2] - vertices[a + 2];
      const vx = vertices[c] - vertices[a];
      const vy = vertices[c + 1] - vertices[a + 1];
      const vz = vertices[c + 2] - vertices[a + 2];
      for (let corner = 0; corner < cornersTaken; corner++) {
        const vertex = 3 * corners[at + corner];
        let number = numbers.get(vertex);
        if (number === undefined) {
          const x = vertices[vertex] - place[0];
          const y = vertices[vertex + 1] - place[1];
          const z = vertices[vertex + 2] - place[2];
          if (x * x + y * y + z * z > square) continue;
          number = 3 * numbers.size;
          numbers.set(vertex, number);
          for (let axis = 0; axis < 3; axis++) places[number + axis] = vertices[vertex + axis];
        }
        normals[number] += uy * vz - uz * vy;
        normals[number + 1] += uz * vx - ux * vz;
        normals[number + 2] += ux * vy - uy * vx;
      }
    }
    seen += count;
  }
  const used = 3 * numbers.size;
  return { places: places.subarray(0, used), normals: normals.subarray(0, used) };
}

/** Triangles that stand more askew to the surface than this cosine, or face the other way, are of something else. */
const leastFacing = 0.3;
/** Beyond this slant the surface has no height over the plane to speak of. */
const leastUpright = 0.5;
/** Scan points farther than this from the middle of the others' distances, mm and in their median deviations. */
const strayGap = 5;
const strayDeviations = 8;

const median = (values: readonly number[]): number => {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted.length > 0 ? sorted[sorted.length >> 1] : 0;
};

/** The scan's points in the window about a suspect, in its frame. */
function windowPoints(
  surface: WobbledSurface,
  sheet: Sheet,
  scan: ScanBody,
  { suspect, at, origin, along, across, outward }: SuspectFrame,
): WindowPoints {
  const radius = ballMargin * wideWindow.reach * Math.max(...windowLengths(suspect.lengths));
  const { places, normals } = scanVertices(scan, origin, radius);
  const feet = surfaceFeet(sheet, places, { at, radius });
  const sides = new Float64Array(feet.isFoot.length);
  // the scan's own front may be the surface's back: the side that more and nearer triangles show is taken
  let votes = 0;
  for (let k = 0; k < sides.length; k++) {
    if (feet.isFoot[k] === 0) continue;
    const size = Math.hypot(normals[3 * k], normals[3 * k + 1], normals[3 * k + 2]);
    let facing = 0;
    for (let axis = 0; axis < 3; axis++)
      facing += feet.normals[3 * k + axis] * normals[3 * k + axis];
    sides[k] = facing / (size || 1);
    votes += Math.sign(sides[k]) / (1 + (feet.distances[k] / scan.spacing) ** 2);
  }
  const front = votes < 0 ? -1 : 1;
  const { kept, outward: sign } = surface;
  const taken: (readonly [number, number, number, number])[] = [];
  for (let k = 0; k < sides.length; k++) {
    if (feet.isFoot[k] === 0 || front * sides[k] < leastFacing) continue;
    const normal: Vector = [
      sign * feet.normals[3 * k],
      sign * feet.normals[3 * k + 1],
      sign * feet.normals[3 * k + 2],
    ];
    const upright = dot(normal, outward);
    if (upright < leastUpright) continue;
    const [u, v] = [inDomain(sheet, 0, feet.at[2 * k]), inDomain(sheet, 1, feet.at[2 * k + 1])];
    if (kept && kept(u, v) === 'outside') continue;
    const foot: Vector = [feet.points[3 * k], feet.points[3 * k + 1], feet.points[3 * k + 2]];
    const from = difference(foot, origin);
    // over the plane both heights are as much longer than along the normal as that slants
    taken.push([
      dot(from, along),
      dot(from, across),
      dot(from, outward),
      (sign * feet.distances[k]) / upright,
    ]);
  }
  const middle = median(taken.map(([, , , gap]) => gap));
  const spread = median(taken.map(([, , , gap]) => Math.abs(gap - middle)));
  const bound = strayGap + strayDeviations * spread;
  const near = taken.filter(([, , , gap]) => Math.abs(gap - middle) <= bound);
  const column = (which: 0 | 1 | 2 | 3): Float64Array =>
    Float64Array.from(near, (point) => point[which]);
  return { x: column(0), y: column(1), height: column(2), gap: column(3) };
}

/** Suspects farther apart than this many wavelengths do not disturb each other. */
const besideReach = 1.3;
/** Nearer ones than this are one and the same wobble, found twice. */
const sameReach = 0.4;

const meanLength = (lengths: readonly [number, number]): number => {
  const [a, b] = windowLengths(lengths);
  return Math.sqrt(a * b);
};

/** The bump of a frame, without one as the suspect has it. */
type Bump = SuspectFrame & Pick<AimedFrame, 'top' | 'lengths'>;

const unaimed = (frame: SuspectFrame): Bump => ({
  ...frame,
  top: [0, 0],
  lengths: frame.suspect.lengths,
});

const topOf = ({ origin, along, across, top }: Bump): Vector =>
  sum(origin, sum(scaled(along, top[0]), scaled(across, top[1])));

/** The other bumps that a fit must allow for, in the axes of one about its top. */
function besideOf(own: Bump, all: readonly Bump[]): Template[] {
  return all.flatMap((other) => {
    if (other.suspect === own.suspect) return [];
    const way = difference(topOf(other), topOf(own));
    const at = [dot(way, own.along), dot(way, own.across)] as const;
    const apart = Math.hypot(...at) / Math.max(meanLength(own.lengths), meanLength(other.lengths));
    if (apart < sameReach || apart > besideReach) return [];
    const [c, s] = [dot(other.along, own.along), dot(other.along, own.across)];
    const size = Math.hypot(c, s);
    if (!(size > leastUpright)) return [];
    return [{ at, turn: [c / size, s / size] as const, lengths: other.lengths }];
  });
}

/** How far from a suspect's place, and how much longer or shorter than it says, its bump is sought. */
const leeway = { way: 0.25, factor: 1.5 } as const;

const mostPlaceSteps = 20;
/** Off by less than this share of the way from the frame's origin a place is found. */
const placeShare = 1e-6;

/** A place of the surface over a frame's plane. */
interface PlaceOver {
  readonly at: readonly [number, number];
  readonly height: number;
}

/**
 * The surface over a place of a frame's plane, by Newton's method from parameters nearby; null where it has
 * none there, or none that is kept.
 */
function placeOver(
  { net, kept }: WobbledSurface,
  sheet: Sheet,
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

/** Places of the surface to each side of a suspect, along each axis, that are looked at to aim. */
const aimingPlaces = 13;

/** The surface over a grid of a suspect's window, as far as it goes on from the middle. */
function surfacePoints(surface: WobbledSurface, sheet: Sheet, frame: SuspectFrame): SurfacePoints {
  const wide = windowLengths(frame.suspect.lengths);
  const gaps = wide.map((wave) => (wideWindow.reach * wave) / aimingPlaces);
  const points: (readonly [number, number, number])[] = [];
  const seen = new Set<string>();
  const waiting: { i: number; j: number; start: readonly [number, number] }[] = [];
  const ask = (i: number, j: number, start: readonly [number, number]): void => {
    const key = `${i} ${j}`;
    if (seen.has(key) || taper(wide, wideWindow, i * gaps[0], j * gaps[1]) === 0) return;
    seen.add(key);
    waiting.push({ i, j, start });
  };
  ask(0, 0, frame.at);
  for (let k = 0; k < waiting.length; k++) {
    const { i, j, start } = waiting[k];
    const [x, y] = [i * gaps[0], j * gaps[1]];
    const place = placeOver(surface, sheet, frame, [x, y], start);
    if (!place) continue;
    points.push([x, y, place.height]);
    for (const [di, dj] of [
      [1, 0],
      [-1, 0],
      [0, 1],
      [0, -1],
    ])
      ask(i + di, j + dj, place.at);
  }
  return {
    x: Float64Array.from(points, ([x]) => x),
    y: Float64Array.from(points, ([, y]) => y),
    height: Float64Array.from(points, ([, , height]) => height),
  };
}

function aimedFrame(
  surface: WobbledSurface,
  sheet: Sheet,
  frame: SuspectFrame,
  points: WindowPoints,
  beside: readonly Template[],
): AimedFrame {
  const { at, lengths } = aimedTemplate(
    surfacePoints(surface, sheet, frame),
    frame.suspect.lengths,
    beside,
    wideWindow,
    leeway,
  );
  const [x, y] = at;
  const moved = { ...points, x: points.x.map((v) => v - x), y: points.y.map((v) => v - y) };
  return { ...frame, points: moved, top: at, lengths };
}

const pictureStations = 33;
/** Scan points so near to the line count for the picture: a share of the wavelength across, or so many edges. */
const stripShare = 1 / 8;
const stripEdges = 1.5;
/** Places of a line through a wobble's top along its longer wavelength; of a ridge across it. */
function linePlaces(
  given: readonly [number, number],
  lengths: readonly [number, number],
): {
  readonly along: 0 | 1;
  readonly at: readonly number[];
  readonly places: readonly (readonly [number, number])[];
} {
  const isRidge = !given.every(Number.isFinite);
  const along = isRidge === given[0] < given[1] ? 0 : 1;
  const long = windowLengths(lengths)[along];
  const at = Array.from(
    { length: pictureStations },
    (_, k) => long * ((2 * k) / (pictureStations - 1) - 1),
  );
  return { along, at, places: at.map((t) => (along === 0 ? [t, 0] : [0, t])) };
}

/** What a designer is shown of a wobble. */
function wobblePicture(
  surface: WobbledSurface,
  sheet: Sheet,
  frame: AimedFrame,
  levels: NonNullable<WobbleShare['levels']>,
  spacing: number,
): WobblePicture {
  const { lengths, points, top } = frame;
  const { along, at, places } = linePlaces(frame.suspect.lengths, lengths);
  const wide = windowLengths(lengths);
  const [run, off] = along === 0 ? [points.x, points.y] : [points.y, points.x];
  const strip = Math.max(stripShare * wide[1 - along], stripEdges * spacing);
  const half = Math.max(wide[along] / (pictureStations - 1), stripEdges * spacing);
  const own = places.map(([x, y], k) => {
    const place = placeOver(surface, sheet, frame, [top[0] + x, top[1] + y], frame.at);
    return place && place.height - levels.surface[k];
  });
  const gaps = at.map((t, station) => {
    let [count, total] = [0, 0];
    for (let k = 0; k < run.length; k++)
      if (Math.abs(run[k] - t) <= half && Math.abs(off[k]) <= strip) {
        count += 1;
        total += points.gap[k];
      }
    return count > 0 ? total / count - levels.gap[station] : null;
  });
  return {
    at,
    surface: own,
    scan: own.map((height, k) => {
      const gap = gaps[k];
      return height === null || gap === null ? null : height + gap;
    }),
  };
}

const empty = new Float64Array(0);
const noPoints: WindowPoints = { x: empty, y: empty, height: empty, gap: empty };

/**
 * Whose the suspected wobbles of one surface are, in the order of the suspects. Each is first aimed at: its
 * place and wavelengths need be known to a quarter and a half only. Suspects close to each other are
 * fitted together, so all of a panel's are best given at once.
 */
export function wobbleCauses(
  surface: WobbledSurface,
  scan: ScanBody,
  suspects: readonly WobbleSuspect[],
): WobbleCause[] {
  const { net } = surface;
  const { spacing } = scan;
  const sheet = sheetOf(net, oneShare * diagonal(net));
  const find = footFinder(sheet);
  const frames = suspects.map((suspect) => suspectFrame(surface, sheet, find, suspect));
  const bumps = frames.filter((frame) => frame !== null).map(unaimed);
  const aimed = frames.map(
    (frame) =>
      frame &&
      aimedFrame(
        surface,
        sheet,
        frame,
        windowPoints(surface, sheet, scan, frame),
        besideOf(unaimed(frame), bumps),
      ),
  );
  const sound = aimed.filter((frame) => frame !== null);
  return aimed.map((frame, k) => {
    const lengths = frame?.lengths ?? suspects[k].lengths;
    const { levels, ...share } = wobbleShare(
      frame?.points ?? noPoints,
      { lengths, beside: frame ? besideOf(frame, sound) : [], spacing },
      Float64Array.from(frame ? linePlaces(suspects[k].lengths, lengths).places.flat() : []),
    );
    return {
      ...share,
      position: frame && topOf(frame),
      lengths,
      picture: frame && levels ? wobblePicture(surface, sheet, frame, levels, spacing) : null,
    };
  });
}

import type { ScanBody } from '../geometry/scanBody.ts';
import { scanFeet, scanStandings } from '../geometry/scanFeet.ts';
import {
  cross,
  difference,
  dot,
  length,
  scaled,
  sum,
  vectorAt,
  type Vector,
} from '../geometry/vector.ts';
import type { PanelSamples } from './panelSamples.ts';
import { inScan, otherReadings, plainReading, type ScanReading } from './scanReadings.ts';

/**
 * How a scan lies to a panel. `aligned`: the panel can be judged by it as it is, near or somewhat off,
 * whole or in part. `misread`: it lies on the scan where the scan's numbers are read another way (units,
 * axes). `shifted`: where the scan is moved by `shift` (mm; along what is flat or the same all along it
 * means nothing). `far`: none of these.
 */
export type ScanAlignment =
  | { readonly kind: 'aligned' }
  | (Gaps & { readonly kind: 'misread'; readonly reading: ScanReading })
  | (Gaps & { readonly kind: 'shifted'; readonly shift: Vector })
  | (Gaps & { readonly kind: 'far' });

/** The least and the median distance from the panel to the scan as it is, mm. */
interface Gaps {
  readonly nearest: number;
  readonly middle: number;
}

// Lengths are shares of the panel's diagonal, unless they are said to be of the scan.
/** So far off a panel still lies on the scan: honest work may be off by two thirds of it. */
const nearShare = 0.03;
/** Small panels may be off by a triangle's side, or this share of the scan's diagonal; but by no more than that of their own. */
const nearOfScan = 0.001;
const nearOfSmall = 0.15;
/**
 * What is read otherwise, or moved, must lie closer: anything smooth finds a reading that it fits a little.
 * Scans of few triangles lie off the body by some of a triangle's side, but by no more than that of the panel.
 */
const snugShare = 0.006;
const snugOfSide = 0.25;
const snugOfSmall = 0.02;
/** A panel smaller than so many triangles' sides lies anywhere; one of so many on the scan is proof. */
const fewestSides = 5;
const sidesOfProof = 20;
/** Cosine of the angle up to which normals of panel and scan agree: noise turns those of small triangles. */
const alikeNormals = 0.75;
/** Cosine of the angle to the scan's normal up to which a place lies over its foot, not beside the scan. */
const overFoot = 0.8;
/** Of the samples that lie over the scan so many are near where it is the right one; and so many of all. */
const mostNear = 0.7;
const fewestNear = 0.05;
/** Where so many are near, and lie snugly on the whole, nothing else is looked for. */
const plainlyNear = 0.8;
/** Where nothing fits better, a panel with so many near can be judged, badly as it lies. */
const fewestJudged = 0.3;
/** The same of other readings: of those over the scan; of all; and of all where the plain one fits in part. */
const mostSnug = 0.8;
const fewestSnug = 0.6;
const nearlyAll = 0.95;
/** And that many times closer than the plain one it must lie there, by the root mean square. */
const timesCloser = 5;
/** Readings whose shares differ by less, or their distances by a smaller ratio, fit alike. */
const alikeShare = 0.05;
const alikeRatio = 1.5;
/** Samples for a first look, and the share of them that must be as near as all are to be. */
const firstLook = 32;
const firstShare = 0.75;

/** Least and greatest coordinates. */
interface Box {
  readonly low: Vector;
  readonly high: Vector;
}

function boxOf(places: Float64Array): Box {
  const low: [number, number, number] = [Infinity, Infinity, Infinity];
  const high: [number, number, number] = [-Infinity, -Infinity, -Infinity];
  for (let at = 0; at < places.length; at++) {
    const axis = at % 3;
    if (places[at] < low[axis]) low[axis] = places[at];
    if (places[at] > high[axis]) high[axis] = places[at];
  }
  return { low, high };
}

const boxSize = ({ low, high }: Box): number =>
  Math.hypot(high[0] - low[0], high[1] - low[1], high[2] - low[2]);

/** What a panel and a scan are compared by. */
interface Pair {
  readonly samples: PanelSamples;
  readonly size: number;
  readonly body: ScanBody;
  readonly scanBox: Box;
  readonly scanSize: number;
}

/** A scan read in one way, moved by a vector (mm). */
interface Stand {
  readonly reading: ScanReading;
  readonly shift: Vector;
}

/** How a panel lies to a scan that stands so. */
interface Fit {
  /** Shares of the samples: near it, and over it but not near. */
  readonly near: number;
  readonly off: number;
  /** Root mean square of the distances of those that are near, mm. */
  readonly rms: number;
}

const unmoved: Vector = [0, 0, 0];

/** Of some samples that are near within a distance (mm); what is beyond the reach (mm) counts as beside. */
function fitOf(
  { samples, body }: Pair,
  { reading, shift }: Stand,
  near: number,
  reach: number,
): Fit {
  const { factor } = reading;
  const places = inScan(reading, samples.places, shift);
  const normals = inScan({ ...reading, factor: 1 }, samples.normals);
  const feet = scanFeet(body, places, reach / factor);
  const count = places.length / 3;
  let [nearCount, offCount, squares] = [0, 0, 0];
  for (let k = 0; k < count; k++) {
    if (feet.standings[k] !== scanStandings.over) continue;
    const gap = Math.abs(feet.distances[k]);
    const at = 3 * k;
    const [nx, ny, nz] = [feet.normals[at], feet.normals[at + 1], feet.normals[at + 2]];
    const turn = nx * normals[at] + ny * normals[at + 1] + nz * normals[at + 2];
    const rise =
      nx * (places[at] - feet.points[at]) +
      ny * (places[at + 1] - feet.points[at + 1]) +
      nz * (places[at + 2] - feet.points[at + 2]);
    const isAlike = Math.abs(turn) >= alikeNormals;
    if (isAlike && factor * gap <= near) {
      nearCount++;
      squares += (factor * gap) ** 2;
    } else if (factor * gap <= near || Math.abs(rise) >= overFoot * gap) offCount++;
  }
  return {
    near: nearCount / count,
    off: offCount / count,
    rms: nearCount > 0 ? Math.sqrt(squares / nearCount) : Infinity,
  };
}

/** A few of the samples, evenly. */
function thinned({ places, normals }: PanelSamples): PanelSamples {
  const step = Math.max(1, Math.floor(places.length / 3 / firstLook));
  const taken = (all: Float64Array): Float64Array =>
    all.filter((_, at) => Math.floor(at / 3) % step === 0);
  return { places: taken(places), normals: taken(normals) };
}

/** Whether the places' box lies over enough of the scan's for a fit. */
function meetsScan({ low, high }: Box, scan: Box, slack: number): boolean {
  return [0, 1, 2].every((axis) => {
    const shared =
      Math.min(high[axis], scan.high[axis] + slack) - Math.max(low[axis], scan.low[axis] - slack);
    return shared >= fewestSnug * (high[axis] - low[axis]);
  });
}

/** How near counts of the plain reading, mm; of small panels it hangs on the scan as well. */
const nearWithin = ({ size, body, scanSize }: Pair): number =>
  Math.max(
    nearShare * size,
    Math.min(Math.max(body.spacing, nearOfScan * scanSize), nearOfSmall * size),
  );

/** How near counts of any other, mm, where the scan's numbers are multiplied by a factor. */
const snugWithin = ({ size, body }: Pair, factor: number): number =>
  Math.max(snugShare * size, Math.min(snugOfSide * factor * body.spacing, snugOfSmall * size));

const isSnug = ({ near, off }: Fit, least: number): boolean =>
  near >= least && near >= mostSnug * (near + off);

/**
 * The reading of the scan, other than the plain one, that lays at least so large a share of the samples
 * snugly on it; the panel is to be as large as so many sides of its triangles. Null: none does.
 */
function fittingReading(
  pair: Pair,
  least: number,
  sides: number,
): readonly [ScanReading, Fit] | null {
  const { size, body, samples } = pair;
  const few = { ...pair, samples: thinned(samples) };
  const panelBox = boxOf(samples.places);
  const corners = Float64Array.of(...panelBox.low, ...panelBox.high);
  const found = otherReadings.flatMap((reading): (readonly [ScanReading, Fit])[] => {
    const { factor } = reading;
    if (size < sides * factor * body.spacing) return [];
    const near = snugWithin(pair, factor);
    if (!meetsScan(boxOf(inScan(reading, corners)), pair.scanBox, near / factor)) return [];
    const stand = { reading, shift: unmoved };
    if (fitOf(few, stand, near, near).near < firstShare * least) return [];
    const fit = fitOf(pair, stand, near, size);
    return isSnug(fit, least) ? [[reading, fit]] : [];
  });
  const best = Math.max(...found.map(([, { near }]) => near));
  const full = found.filter(([, { near }]) => near >= best - alikeShare);
  const closest = Math.min(...full.map(([, { rms }]) => rms));
  // the first is the plainest
  return full.find(([, { rms }]) => rms <= alikeRatio * closest) ?? null;
}

/** Rounds of the search for a shift, at first and of the best. */
const firstRounds = 6;
const lastRounds = 25;
/** Of the samples, those nearest to the scan that a round goes by. */
const followed = 0.75;
/** Starts that are followed to the end. */
const bestStarts = 3;

/**
 * A shift of the scan bettered: each round moves it by the least squares of the distances along the
 * scan's normals, of the samples that are nearest (iterated closest points, point to plane; from memory).
 */
function bettered({ samples, body, size }: Pair, start: Vector, rounds: number): Vector {
  let shift = start;
  for (let round = 0; round < rounds; round++) {
    const places = inScan(plainReading, samples.places, shift);
    const { distances, points, normals } = scanFeet(body, places, Infinity);
    const gaps = distances.map(Math.abs);
    const most = gaps.toSorted()[Math.floor(followed * (gaps.length - 1))];
    const rows: [[number, number, number], [number, number, number], [number, number, number]] = [
      [0, 0, 0],
      [0, 0, 0],
      [0, 0, 0],
    ];
    const right: [number, number, number] = [0, 0, 0];
    let count = 0;
    for (let k = 0; k < gaps.length; k++) {
      if (gaps[k] > most) continue;
      count++;
      const n = vectorAt(normals, k);
      const rise = dot(n, difference(vectorAt(places, k), vectorAt(points, k)));
      for (const a of [0, 1, 2] as const) {
        right[a] += n[a] * rise;
        for (const b of [0, 1, 2] as const) rows[a][b] += n[a] * n[b];
      }
    }
    // a little damping, so that what no normal tells of stays where it is
    for (const a of [0, 1, 2] as const) rows[a][a] += 1e-4 * count;
    const [x, y, z] = rows;
    const volume = dot(x, cross(y, z));
    // Cramer's rule; rows and columns are alike
    const step = scaled(
      [dot(right, cross(y, z)), dot(right, cross(z, x)), dot(right, cross(x, y))],
      1 / volume,
    );
    shift = sum(shift, step);
    if (length(step) < 1e-6 * size) break;
  }
  return shift;
}

/** Where a shift is sought from: nowhere, and where the boxes' low ends, middles or high ends meet. */
function shiftStarts(panel: Box, scan: Box): Vector[] {
  const ends = ([0, 1, 2] as const).map((axis) => [
    panel.low[axis] - scan.low[axis],
    (panel.low[axis] + panel.high[axis] - scan.low[axis] - scan.high[axis]) / 2,
    panel.high[axis] - scan.high[axis],
  ]);
  const [xs, ys, zs] = ends;
  return [unmoved, ...xs.flatMap((x) => ys.flatMap((y) => zs.map((z): Vector => [x, y, z])))];
}

/** The shift of the scan that lays it snugly on the panel; null: none does. */
function fittingShift(pair: Pair): readonly [Vector, Fit] | null {
  const { samples, scanBox, size } = pair;
  const few = { ...pair, samples: thinned(samples) };
  const snug = snugWithin(pair, 1);
  const fitAt = (own: Pair, shift: Vector, near: number): readonly [Vector, Fit] => [
    shift,
    fitOf(own, { reading: plainReading, shift }, near, size),
  ];
  const best = shiftStarts(boxOf(samples.places), scanBox)
    .map((start) => fitAt(few, bettered(few, start, firstRounds), nearShare * size))
    .sort(([, a], [, b]) => b.near - a.near || a.rms - b.rms)
    .slice(0, bestStarts)
    .map(([start]) => fitAt(pair, bettered(pair, start, lastRounds), snug))
    .filter(([, fit]) => isSnug(fit, mostSnug))
    .sort(([, a], [, b]) => a.rms - b.rms);
  return best[0] ?? null;
}

function gapsOf({ samples, body }: Pair): Gaps {
  const { distances } = scanFeet(body, samples.places, Infinity);
  const gaps = distances.map(Math.abs).sort();
  return { nearest: gaps[0], middle: gaps[gaps.length >> 1] };
}

/**
 * How a scan lies to a panel (or to several together: the more samples, the surer), so that units or axes
 * that do not match are told and never judged. Other readings are tried only where the panel does not
 * lie on the scan as it is: then it takes some tenths of a second, else a few milliseconds. Of readings
 * that fit alike the plainest is told: of a body that is the same when its axes are swapped, `aligned`.
 * Null where there are no samples.
 */
export function scanAlignment(samples: PanelSamples, body: ScanBody): ScanAlignment | null {
  if (samples.places.length === 0) return null;
  const scanBox = body.tree.box;
  const size = boxSize(boxOf(samples.places));
  const pair: Pair = { samples, size, body, scanBox, scanSize: boxSize(scanBox) };
  const near = nearWithin(pair);
  const plain = fitOf(pair, { reading: plainReading, shift: unmoved }, near, size);
  if (plain.near >= fewestNear && plain.near >= mostNear * (plain.near + plain.off)) {
    // a panel as small as the triangles lies anywhere: what is read otherwise must fit much larger
    const isTiny = size < fewestSides * body.spacing;
    const isPlain = plain.near >= plainlyNear && plain.rms <= snugWithin(pair, 1);
    if (isPlain && !isTiny) return { kind: 'aligned' };
    const better = fittingReading(pair, nearlyAll, isTiny ? sidesOfProof : fewestSides);
    return better && timesCloser * better[1].rms < plain.rms
      ? { kind: 'misread', reading: better[0], ...gapsOf(pair) }
      : { kind: 'aligned' };
  }
  const least = Math.min(nearlyAll, Math.max(fewestSnug, 2 * plain.near));
  const reading = fittingReading(pair, least, fewestSides);
  if (reading) return { kind: 'misread', reading: reading[0], ...gapsOf(pair) };
  const shift = fittingShift(pair);
  if (shift) return { kind: 'shifted', shift: shift[0], ...gapsOf(pair) };
  return plain.near >= fewestJudged ? { kind: 'aligned' } : { kind: 'far', ...gapsOf(pair) };
}

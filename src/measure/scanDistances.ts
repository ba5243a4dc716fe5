import { vectorAt, type Vector } from '../geometry/vector.ts';
import {
  latticeStandings,
  scanPlaces,
  type ScanLattice,
  type ScanPlace,
  type ScanQuestion,
} from './scanLattice.ts';

/** The farthest that a panel lies off the scan on one side, or in one region. */
export interface Extreme {
  /** Panel minus scan along the outward side, mm. */
  readonly value: number;
  readonly u: number;
  readonly v: number;
  /** mm. */
  readonly position: Vector;
  /** No distance there exceeds this, mm: `value` is proven to that. */
  readonly atMost: number;
}

/** How far a panel lies off the scan, over all places behind which the scan lies. */
export interface ScanDistances {
  readonly lattice: ScanLattice;
  /** mm^2 of the panel, and the share of it behind which the scan lies, of 1; 0 where there is no area. */
  readonly area: number;
  readonly coveredShare: number;
  /** Weighted with area, mm; NaN where nothing is covered. */
  readonly mean: number;
  readonly rms: number;
  /** Below which 5, 50 and 95 % of the area lie, mm. */
  readonly percentiles: readonly [number, number, number];
  /** Share of the covered area on the side on which the mean lies. */
  readonly oneSide: number;
  /** Farthest out, and farthest in; null where nothing lies on that side. */
  readonly outmost: Extreme | null;
  readonly inmost: Extreme | null;
}

/** A connected part of a panel that lies off the scan by a distance or more, on one side. */
export interface FarRegion {
  readonly side: 'out' | 'in';
  /** mm^2 that lies off by the distance or more. */
  readonly area: number;
  /** Of that area, mm. */
  readonly centroid: Vector;
  readonly peak: Extreme;
  /** Numbers of its places in the lattice, rising. */
  readonly places: readonly number[];
}

/** The largest is proven within this share of itself. */
const provenShare = 0.05;
/** Slopes between places may exceed what is seen at them. */
const steeper = { times: 1.5, by: 0.002 };
/** Cells halved at most, and times. */
const mostCells = 3000;
const mostRounds = 12;

/** What is known at a corner of a cell. */
type Corner = Pick<ScanPlace, 'u' | 'v' | 'point' | 'distance' | 'slope'>;

/** A cell of parameters with what is known of it. */
interface Cell {
  /** At low u and v, at high u, at high v, at both. */
  readonly corners: readonly [Corner, Corner, Corner, Corner];
  /** No distance in it exceeds this on the side that is asked for, mm. */
  readonly most: number;
}

/** Half the longer diagonal of four points: from any place of a cell to its nearest corner, mm. */
const halfDiagonal = (a: Vector, b: Vector, c: Vector, d: Vector): number =>
  Math.max(
    Math.hypot(d[0] - a[0], d[1] - a[1], d[2] - a[2]),
    Math.hypot(c[0] - b[0], c[1] - b[1], c[2] - b[2]),
  ) / 2;

/**
 * A cell with what its corners say of it: a distance changes along the surface by no more than the sine
 * of the angle to what it is measured to.
 */
function cellOf(corners: Cell['corners'], side: 1 | -1): Cell {
  let [most, slope] = [-Infinity, 0];
  let isWhole = true;
  for (const corner of corners) {
    if (Number.isNaN(corner.distance)) {
      isWhole = false;
      continue;
    }
    most = Math.max(most, side * corner.distance);
    slope = Math.max(slope, corner.slope);
  }
  const [a, b, c, d] = corners;
  const fastest = isWhole ? Math.min(1, steeper.times * slope + steeper.by) : 1;
  return { corners, most: most + fastest * halfDiagonal(a.point, b.point, c.point, d.point) };
}

/** The cell of a lattice whose first corner is place k; null where it is not covered, or has no more than `over`. */
function latticeCell(lattice: ScanLattice, k: number, side: 1 | -1, over: number): Cell | null {
  const { at, columns, points, distances, slopes, step } = lattice;
  const numbers = [k, k + 1, k + columns, k + columns + 1] as const;
  let [most, slope] = [-Infinity, 0];
  for (const number of numbers) {
    const own = side * distances[number];
    if (own > most) most = own;
    slope = Math.max(slope, Number.isNaN(own) ? 1 : slopes[number]);
  }
  // no need to look closer: no half diagonal is longer than a step
  if (!(most + Math.min(1, steeper.times * slope + steeper.by) * step > over)) return null;
  const [a, b, c, d] = numbers.map((number): Corner => ({
    u: at[0][number % columns],
    v: at[1][Math.floor(number / columns)],
    point: vectorAt(points, number),
    distance: distances[number],
    slope: slopes[number],
  }));
  const cell = cellOf([a, b, c, d], side);
  return cell.most > over ? cell : null;
}

/** The middles of a cell's sides, and its own: low v, low u, middle, high u, high v. */
function middles({ corners: [a, , , d] }: Cell): readonly (readonly [number, number])[] {
  const [mu, mv] = [(a.u + d.u) / 2, (a.v + d.v) / 2];
  return [
    [mu, a.v],
    [a.u, mv],
    [mu, mv],
    [d.u, mv],
    [mu, d.v],
  ];
}

/** The four quarters of a cell, by what is known at its middles. */
function quarters({ corners: [a, b, c, d] }: Cell, found: readonly Corner[], side: 1 | -1): Cell[] {
  const [below, left, middle, right, above] = found;
  return [
    cellOf([a, below, left, middle], side),
    cellOf([below, b, middle, right], side),
    cellOf([left, middle, c, above], side),
    cellOf([middle, right, above, d], side),
  ];
}

/** The farthest place among some of a lattice, on a side; null where none lies there. */
function farthestPlace(
  lattice: ScanLattice,
  side: 1 | -1,
  places: Iterable<number>,
): Extreme | null {
  const { at, columns, distances, points } = lattice;
  let far = -1;
  for (const k of places) if (side * distances[k] > (far < 0 ? 0 : side * distances[far])) far = k;
  return far < 0
    ? null
    : {
        value: distances[far],
        u: at[0][far % columns],
        v: at[1][Math.floor(far / columns)],
        position: vectorAt(points, far),
        atMost: Math.abs(distances[far]),
      };
}

/**
 * The farthest distance within cells, refined from a start: cells that may hold a farther one are
 * halved until none can exceed it by a twentieth. A distance changes along a surface by no more than
 * the sine of the angle between it and what it is measured to, which is taken half as large again as
 * at a cell's corners.
 */
function refined(
  question: ScanQuestion,
  facing: 1 | -1,
  start: Extreme,
  side: 1 | -1,
  cells: Iterable<Cell>,
): Extreme {
  let best = start;
  /** A distance up to which the one that was found counts as the largest, mm. */
  const enough = ({ value }: Extreme): number =>
    Math.abs(value) + Math.max(question.fine, provenShare * Math.abs(value));
  // what cannot be farther than the start by enough need not be kept
  let dropped = Math.abs(start.value);
  let waiting: Cell[] = [];
  for (const cell of cells)
    if (cell.most > enough(start)) waiting.push(cell);
    else dropped = Math.max(dropped, cell.most);
  let left = mostCells;
  for (let round = 0; round < mostRounds && left > 0; round++) {
    const wanted = enough(best);
    const now = waiting
      .filter(({ most }) => most > wanted)
      .toSorted((a, b) => b.most - a.most)
      .slice(0, left);
    if (now.length === 0) break;
    left -= now.length;
    const places = scanPlaces(question, facing, now.flatMap(middles));
    for (const { u, v, point, distance } of places)
      if (side * distance > side * best.value)
        best = { value: distance, u, v, position: point, atMost: Math.abs(distance) };
    const halved = new Set(now);
    waiting = [
      ...waiting.filter((cell) => !halved.has(cell)),
      ...now.flatMap((cell, k) => quarters(cell, places.slice(5 * k, 5 * k + 5), side)),
    ];
  }
  const most = waiting.reduce((so, cell) => Math.max(so, cell.most), dropped);
  return { ...best, atMost: Math.max(most, Math.abs(best.value)) };
}

/** The covered cells of a lattice in which a distance may exceed the one that was found. */
function* latticeCells(lattice: ScanLattice, side: 1 | -1, { value }: Extreme): Generator<Cell> {
  for (let row = 0; row + 1 < lattice.rows; row++)
    for (let column = 0; column + 1 < lattice.columns; column++) {
      const cell = latticeCell(lattice, row * lattice.columns + column, side, Math.abs(value));
      if (cell) yield cell;
    }
}

function* numbersUpTo(count: number): Generator<number> {
  for (let k = 0; k < count; k++) yield k;
}

function extreme(question: ScanQuestion, lattice: ScanLattice, side: 1 | -1): Extreme | null {
  const start = farthestPlace(lattice, side, numbersUpTo(lattice.distances.length));
  if (!start) return null;
  return refined(question, lattice.facing, start, side, latticeCells(lattice, side, start));
}

/** Bins of distances by which percentiles are told: to a hundred-thousandth of their range. */
const bins = 100_000;

/** Distances below which shares of the covered area lie, mm. */
function percentilesOf(
  { distances, areas }: ScanLattice,
  shares: readonly number[],
  from: number,
  to: number,
): number[] {
  const held = new Float64Array(bins + 1);
  let total = 0;
  const scale = to > from ? bins / (to - from) : 0;
  for (let k = 0; k < distances.length; k++) {
    if (Number.isNaN(distances[k])) continue;
    held[Math.round((distances[k] - from) * scale)] += areas[k];
    total += areas[k];
  }
  return shares.map((share) => {
    let sum = 0;
    for (let bin = 0; bin <= bins; bin++) {
      sum += held[bin];
      if (sum >= share * total) return scale > 0 ? from + bin / scale : from;
    }
    return to;
  });
}

/** How far a panel lies off a scan, from its lattice. */
export function scanDistances(question: ScanQuestion, lattice: ScanLattice): ScanDistances {
  const { distances, areas, standings } = lattice;
  let [area, covered, sum, squares] = [0, 0, 0, 0];
  let [from, to] = [Infinity, -Infinity];
  for (let k = 0; k < distances.length; k++) {
    if (standings[k] === latticeStandings.none || standings[k] === latticeStandings.feature)
      continue;
    area += areas[k];
    const d = distances[k];
    if (Number.isNaN(d)) continue;
    covered += areas[k];
    sum += areas[k] * d;
    squares += areas[k] * d * d;
    if (d < from) from = d;
    if (d > to) to = d;
  }
  const mean = sum / covered;
  let side = 0;
  for (let k = 0; k < distances.length; k++) if (distances[k] * mean > 0) side += areas[k];
  const isSeen = covered > 0;
  const [low, middle, high] = isSeen
    ? percentilesOf(lattice, [0.05, 0.5, 0.95], from, to)
    : [NaN, NaN, NaN];
  return {
    lattice,
    area,
    coveredShare: area > 0 ? covered / area : 0,
    mean: isSeen ? mean : NaN,
    rms: isSeen ? Math.sqrt(squares / covered) : NaN,
    percentiles: [low, middle, high],
    oneSide: isSeen ? side / covered : 0,
    outmost: extreme(question, lattice, 1),
    inmost: extreme(question, lattice, -1),
  };
}

/** Share of the covered area that lies off by less than a distance, of 1. */
export function withinShare({ lattice }: ScanDistances, limit: number): number {
  const { distances, areas } = lattice;
  let [within, covered] = [0, 0];
  for (let k = 0; k < distances.length; k++) {
    if (Number.isNaN(distances[k])) continue;
    covered += areas[k];
    if (Math.abs(distances[k]) < limit) within += areas[k];
  }
  return covered > 0 ? within / covered : 0;
}

/** Places off by this share of the distance join what is off by all of it: noise cuts no region up. */
const joiningShare = 0.8;

/** Groups of neighbouring places that are off by `joining` or more on a side. */
function connected(
  { distances, columns, rows }: ScanLattice,
  side: 1 | -1,
  joining: number,
): number[][] {
  const isOff = (k: number): boolean => side * distances[k] >= joining;
  const seen = new Uint8Array(distances.length);
  const groups: number[][] = [];
  for (let start = 0; start < distances.length; start++) {
    if (seen[start] !== 0 || !isOff(start)) continue;
    seen[start] = 1;
    const group = [start];
    for (let next = 0; next < group.length; next++) {
      const [row, column] = [Math.floor(group[next] / columns), group[next] % columns];
      for (let j = Math.max(0, row - 1); j <= Math.min(rows - 1, row + 1); j++)
        for (let i = Math.max(0, column - 1); i <= Math.min(columns - 1, column + 1); i++) {
          const k = j * columns + i;
          if (seen[k] !== 0 || !isOff(k)) continue;
          seen[k] = 1;
          group.push(k);
        }
    }
    groups.push(group.sort((a, b) => a - b));
  }
  return groups;
}

/** Cells around the places of a region. */
function cellsAround(lattice: ScanLattice, places: readonly number[], side: 1 | -1): Cell[] {
  const { columns, rows } = lattice;
  const numbers = new Set<number>();
  for (const k of places) {
    const [row, column] = [Math.floor(k / columns), k % columns];
    for (let j = Math.max(0, row - 1); j <= Math.min(rows - 2, row); j++)
      for (let i = Math.max(0, column - 1); i <= Math.min(columns - 2, column); i++)
        numbers.add(j * columns + i);
  }
  return [...numbers].flatMap((k) => latticeCell(lattice, k, side, 0) ?? []);
}

/** Regions that are told by themselves. */
const mostRegions = 12;

function region(
  question: ScanQuestion,
  lattice: ScanLattice,
  side: 1 | -1,
  places: readonly number[],
  limit: number,
): FarRegion {
  const { points, areas, distances } = lattice;
  let area = 0;
  const centroid: [number, number, number] = [0, 0, 0];
  for (const k of places) {
    if (side * distances[k] < limit) continue;
    area += areas[k];
    for (let axis = 0; axis < 3; axis++) centroid[axis] += areas[k] * points[3 * k + axis];
  }
  const start = farthestPlace(lattice, side, places)!;
  const cells = cellsAround(lattice, places, side);
  return {
    side: side > 0 ? 'out' : 'in',
    area,
    centroid:
      area > 0 ? [centroid[0] / area, centroid[1] / area, centroid[2] / area] : start.position,
    peak: refined(question, lattice.facing, start, side, cells),
    places,
  };
}

/**
 * The connected regions of a panel that lie off the scan by `limit` mm or more, the farthest first, at
 * most twelve; `more` counts those left out.
 */
export function farRegions(
  question: ScanQuestion,
  { lattice, outmost, inmost }: ScanDistances,
  limit: number,
): { readonly regions: readonly FarRegion[]; readonly more: number } {
  const found = ([1, -1] as const).flatMap((side) => {
    const far = side > 0 ? outmost : inmost;
    if (!far || Math.abs(far.value) < limit) return [];
    const groups = connected(lattice, side, joiningShare * limit)
      .map((places) => ({
        side,
        places,
        far: Math.abs(farthestPlace(lattice, side, places)!.value),
      }))
      .filter((group) => group.far >= limit);
    // a peak between places of the lattice, which themselves are within
    if (groups.length === 0)
      return [{ side, far: Math.abs(far.value), places: [nearestPlace(lattice, far)] }];
    return groups;
  });
  const order = found.toSorted((a, b) => b.far - a.far || a.places[0] - b.places[0]);
  const regions = order
    .slice(0, mostRegions)
    .map(({ side, places }) => region(question, lattice, side, places, limit))
    .toSorted((a, b) => Math.abs(b.peak.value) - Math.abs(a.peak.value));
  return { regions, more: order.length - regions.length };
}

/**
 * The places of a lattice that lie off the scan on a side around a position: the connected region that
 * farRegions would tell with that limit; none where the nearest place is within.
 */
export function regionAround(
  { lattice }: ScanDistances,
  side: 'out' | 'in',
  limit: number,
  position: Vector,
): readonly number[] {
  const near = nearestPlace(lattice, { position });
  const sign = side === 'out' ? 1 : -1;
  return (
    connected(lattice, sign, joiningShare * limit).find((places) => places.includes(near)) ?? []
  );
}

/** The covered place of a lattice that is nearest to a position. */
function nearestPlace(
  { points, distances }: ScanLattice,
  { position }: Pick<Extreme, 'position'>,
): number {
  let [nearest, least] = [-1, Infinity];
  for (let k = 0; k < distances.length; k++) {
    if (Number.isNaN(distances[k])) continue;
    const [x, y, z] = vectorAt(points, k);
    const square = (x - position[0]) ** 2 + (y - position[1]) ** 2 + (z - position[2]) ** 2;
    if (square < least) [nearest, least] = [k, square];
  }
  return nearest;
}

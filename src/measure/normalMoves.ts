import { inverse, Matrix, solve } from 'ml-matrix';
import type { ControlNet } from '../geometry/controlNet.ts';
import { dot, vectorAt, type Vector } from '../geometry/vector.ts';
import { gridShares } from './gridShares.ts';

/**
 * How a panel lies to its scan on a grid of parameters: place (j, i), the j-th parameter in v and the
 * i-th in u, is number j * us.length + i.
 */
export interface GapGrid {
  readonly us: Float64Array;
  readonly vs: Float64Array;
  /** Unit normals of the panel, outward, three numbers a place; NaN where it has none. */
  readonly normals: Float64Array;
  /** Panel minus scan along the outward normal, mm; NaN where it is not known. */
  readonly gaps: Float64Array;
  /** Of the panel that a place stands for, mm^2. */
  readonly areas: Float64Array;
}

/** Places of a grid from one to another, both included: in u, and in v. */
export type GridWindow = readonly [readonly [number, number], readonly [number, number]];

/** A move of one control point along the panel's outward normal over it; outward is positive. */
export interface NormalMove {
  readonly row: number;
  readonly column: number;
  /** mm */
  readonly by: number;
  /** Three standard errors of it, mm: of noise, and of what else the window's common shape may be. */
  readonly error: number;
}

/** A control point that may be moved. */
export interface MovablePoint {
  readonly row: number;
  readonly column: number;
  /** The direction in which it is moved: of length 1. */
  readonly normal: Vector;
}

/** Points that are tried together with those chosen before: the likeliest. */
const tried = 6;
/** A point is taken that mends this share of what is left: of a thousand places, eight standard errors. */
const leastGain = 0.02;
/** Points of a group at most: with more of them a row or the panel is to be looked at, not points. */
const mostPoints = 8;
/** Of what a point does to the panel so much must lie within the window. */
const leastWithin = 0.5;
/** A point whose doing the nuisance tells but for this share of it is no point of its own. */
const leastOwn = 1e-4;
/** Blocks a side for the errors: what is left is alike from place to place. */
const blocksAside = 8;
const mostTaken = 0.7;

/** Places of a window at which the gap is known. */
interface WindowPlaces {
  readonly numbers: readonly number[];
  /** Weights with a mean of 1, by area; and their roots. */
  readonly weights: Float64Array;
  /** Block of each, of `blocks`. */
  readonly block: Int32Array;
  readonly blocks: number;
  /** -1 to 1 over the window. */
  readonly a: Float64Array;
  readonly b: Float64Array;
}

function windowPlaces(grid: GapGrid, [[left, right], [bottom, top]]: GridWindow): WindowPlaces {
  const { us, vs, gaps, areas, normals } = grid;
  const numbers: number[] = [];
  for (let j = bottom; j <= top; j++)
    for (let i = left; i <= right; i++) {
      const k = j * us.length + i;
      if (Number.isFinite(gaps[k]) && Number.isFinite(normals[3 * k]) && areas[k] > 0)
        numbers.push(k);
    }
  const area = numbers.reduce((all, k) => all + areas[k], 0) / numbers.length;
  const share = (at: Float64Array, k: number, from: number, to: number): number =>
    to > from ? (2 * (at[k] - at[from])) / (at[to] - at[from]) - 1 : 0;
  const a = Float64Array.from(numbers, (k) => share(us, k % us.length, left, right));
  const b = Float64Array.from(numbers, (k) => share(vs, Math.floor(k / us.length), bottom, top));
  const step = (t: number): number =>
    Math.min(blocksAside - 1, Math.floor(((t + 1) / 2) * blocksAside));
  const known = new Map<number, number>();
  const block = Int32Array.from(numbers, (_, m) => {
    const own = step(b[m]) * blocksAside + step(a[m]);
    if (!known.has(own)) known.set(own, known.size);
    return known.get(own)!;
  });
  return {
    numbers,
    weights: Float64Array.from(numbers, (k) => areas[k] / area),
    block,
    blocks: known.size,
    a,
    b,
  };
}

/** Weighted product of two columns. */
function product(weights: Float64Array, p: Float64Array, q: Float64Array): number {
  let all = 0;
  for (let m = 0; m < p.length; m++) all += weights[m] * p[m] * q[m];
  return all;
}

function without(values: Float64Array, share: number, other: Float64Array): void {
  for (let m = 0; m < values.length; m++) values[m] -= share * other[m];
}

/** Polynomials up to a degree over the window, square to each other and of length 1; null: none. */
function nuisanceColumns(
  { a, b, weights }: WindowPlaces,
  degree: number | null,
): readonly Float64Array[] {
  const columns: Float64Array[] = [];
  if (degree === null) return columns;
  for (let p = 0; p <= degree; p++)
    for (let q = 0; p + q <= degree; q++) {
      const column = a.map((x, m) => x ** p * b[m] ** q);
      const before = product(weights, column, column);
      // twice, for what rounding leaves
      for (let round = 0; round < 2; round++)
        for (const other of columns) without(column, product(weights, column, other), other);
      const size = product(weights, column, column);
      if (size > 1e-10 * before) columns.push(column.map((x) => x / Math.sqrt(size)));
    }
  return columns;
}

/** A point that may be moved, with what moving it by 1 mm does to the gaps. */
interface Candidate {
  readonly point: MovablePoint;
  /** At the window's places, less what the nuisance tells of it. */
  readonly column: Float64Array;
  readonly square: number;
}

/** How far a place of the grid goes outward, mm, when a point is moved by 1 mm: its basis function there. */
function effectOf(
  net: ControlNet,
  { us, vs, normals }: GapGrid,
): (point: MovablePoint, place: number) => number {
  const shares = gridShares(net, us, vs);
  return ({ row, column, normal }, place) => {
    const share = shares(row, column, place);
    return share === 0 ? 0 : share * dot(normal, vectorAt(normals, place));
  };
}

/** The points whose doing lies in the window for the most part, and is not all told by the nuisance. */
function candidates(
  net: ControlNet,
  points: readonly MovablePoint[],
  grid: GapGrid,
  { numbers, weights }: WindowPlaces,
  nuisance: readonly Float64Array[],
): Candidate[] {
  const effect = effectOf(net, grid);
  const isWithin = new Uint8Array(grid.areas.length);
  for (const k of numbers) isWithin[k] = 1;
  return points.flatMap((point): Candidate[] => {
    let [within, all] = [0, 0];
    for (let k = 0; k < isWithin.length; k++) {
      const square = grid.areas[k] * effect(point, k) ** 2;
      if (!(square > 0)) continue;
      all += square;
      if (isWithin[k] === 1) within += square;
    }
    if (!(within >= leastWithin * all && all > 0)) return [];
    const column = Float64Array.from(numbers, (k) => effect(point, k));
    const before = product(weights, column, column);
    for (const other of nuisance) without(column, product(weights, column, other), other);
    const square = product(weights, column, column);
    return square > leastOwn * before ? [{ point, column, square }] : [];
  });
}

/** A group of points with the moves that fit best together, and what they leave of the gaps. */
interface Fit {
  readonly group: readonly Candidate[];
  readonly gram: Matrix;
  /** What each point is off by, mm. */
  readonly off: readonly number[];
  readonly left: Float64Array;
  readonly square: number;
}

function fitOf(group: readonly Candidate[], gaps: Float64Array, weights: Float64Array): Fit {
  const gram = new Matrix(group.map((p) => group.map((q) => product(weights, p.column, q.column))));
  const right = group.map(({ column }) => product(weights, column, gaps));
  const off = solve(gram, Matrix.columnVector(right)).to1DArray();
  const left = Float64Array.from(gaps);
  group.forEach(({ column }, k) => without(left, off[k], column));
  return { group, gram, off, left, square: product(weights, left, left) };
}

/**
 * Standard errors of a group's moves, mm. What is left is no white noise: it is alike over some way, and the
 * errors grow by how much more the means of blocks scatter than they would.
 */
function errorsOf(
  { group, gram, left, square }: Fit,
  { numbers, weights, block, blocks }: WindowPlaces,
  nuisance: number,
): readonly number[] {
  const known = numbers.length;
  const unknowns = group.length + nuisance;
  const variance = square / Math.max(known - unknowns, 1);
  const sums = new Float64Array(blocks);
  const counts = new Float64Array(blocks);
  left.forEach((value, m) => {
    sums[block[m]] += weights[m] * value;
    counts[block[m]] += weights[m];
  });
  const scatter = sums.reduce((all, sum, k) => all + (sum * sum) / counts[k], 0) / blocks;
  const taken = Math.min(unknowns + 1, mostTaken * blocks);
  const swell = variance > 0 ? Math.max(1, ((scatter / variance) * blocks) / (blocks - taken)) : 1;
  const spread = inverse(gram);
  return group.map((_, k) => Math.sqrt(variance * swell * Math.max(spread.get(k, k), 0)));
}

/**
 * Which control points stand off the scan, and by how much, so that moving them brings a region of the panel
 * to it: groups of one point, of two, of three ... , each with the moves that fit best together. What all
 * of the window has in common is told by a polynomial (of `nuisanceDegree`; null: none) and is no
 * point's; then the points' own basis functions are fitted to the gaps by least squares. Of the points
 * that would mend most, some are tried together with those chosen before, and the one that leaves least
 * is added, until the next would mend next to nothing. One way to do it: with several points off, others
 * may do as well. Source: orthogonal matching pursuit (from memory), with the
 * settings that this project measured.
 */
export function normalMoves(
  net: ControlNet,
  points: readonly MovablePoint[],
  grid: GapGrid,
  window: GridWindow,
  nuisanceDegree: number | null,
): readonly (readonly NormalMove[])[] {
  const places = windowPlaces(grid, window);
  const { weights } = places;
  const nuisance = nuisanceColumns(places, nuisanceDegree);
  const gaps = Float64Array.from(places.numbers, (k) => grid.gaps[k]);
  for (const column of nuisance) without(gaps, product(weights, gaps, column), column);
  const able = candidates(net, points, grid, places, nuisance);
  const further = nuisanceColumns(places, (nuisanceDegree ?? 0) + 1).slice(nuisance.length);
  /** The moves of a group where the nuisance is told by a polynomial of one degree more. */
  const otherwise = (group: readonly Candidate[]): readonly number[] => {
    const beyond = (values: Float64Array): Float64Array => {
      const own = Float64Array.from(values);
      for (const column of further) without(own, product(weights, own, column), column);
      return own;
    };
    const columns = group.map((one) => ({ ...one, column: beyond(one.column) }));
    return fitOf(columns, beyond(gaps), weights).off;
  };
  const groups: (readonly NormalMove[])[] = [];
  let last: Pick<Fit, 'group' | 'left' | 'square'> = {
    group: [],
    left: gaps,
    square: product(weights, gaps, gaps),
  };
  while (groups.length < mostPoints) {
    const { group, left, square } = last;
    const next = able
      .filter((candidate) => !group.includes(candidate))
      .map((candidate) => ({
        candidate,
        pull: Math.abs(product(weights, left, candidate.column)) / Math.sqrt(candidate.square),
      }))
      .sort((a, b) => b.pull - a.pull)
      .slice(0, tried)
      .map(({ candidate }) => fitOf([...group, candidate], gaps, weights))
      .reduce<Fit | null>((best, fit) => (best && best.square <= fit.square ? best : fit), null);
    if (!next || !(next.square <= (1 - leastGain) * square)) break;
    const errors = errorsOf(next, places, nuisance.length);
    const others = otherwise(next.group);
    groups.push(
      next.group.map(({ point: { row, column } }, k) => ({
        row,
        column,
        by: -next.off[k],
        error: 3 * Math.hypot(errors[k], others[k] - next.off[k]),
      })),
    );
    last = next;
  }
  return groups;
}

import { basisRow } from '../geometry/basis.ts';
import { diagonal, type ControlNet } from '../geometry/controlNet.ts';
import { curvatureGrid, type CurvatureGrid } from '../geometry/curvatureGrid.ts';
import { domain } from '../geometry/knots.ts';
import { angleBetween, distance, vectorAt, type Vector } from '../geometry/vector.ts';
import type { Kept, SurfaceLook } from './surfaceLook.ts';
import type { TightRadius } from './tightRadii.ts';

/** Two places next to each other, and how much the normal turns between them. */
export interface NormalFlip {
  /** Radians, up to pi. */
  readonly angle: number;
  /** Midway, mm. */
  readonly position: Vector;
  readonly u: number;
  readonly v: number;
}

/** Places this share of the diagonal apart are next to each other. */
const nextTo = 1e-6;
/** Less than this turns nothing over, radians. */
const leastTurn = Math.PI / 18;
/** Steps of the look from which an abrupt turn is sought: those over which the normal turns most. */
const starts = 4;
/** Parameters each way of the grids that close in. */
const across = 5;
const mostRounds = 40;
/**
 * Places next to each other are also no farther apart than this share of a step of the look: around a
 * collapsed edge all places are close together, and the normal turns from one parameter to the next.
 */
const stepShare = 1 / 16;

/** Grid numbers of two places that follow each other along a row or column, and the turn between. */
interface Turn {
  readonly from: number;
  readonly to: number;
  readonly angle: number;
}

/**
 * The turns along all rows and columns of a grid. Places without a normal are stepped over (a cusp may
 * lie on one), those outside end the run.
 */
function turns(grid: CurvatureGrid, isOutside: (at: number) => boolean): Turn[] {
  const { columns, rows, isBlind, normals } = grid;
  const found: Turn[] = [];
  const alongLine = (count: number, numberOf: (k: number) => number): void => {
    let last = -1;
    for (let k = 0; k < count; k++) {
      const at = numberOf(k);
      if (isOutside(at)) last = -1;
      else if (isBlind[at] === 0) {
        if (last >= 0) {
          const angle = angleBetween(vectorAt(normals, last), vectorAt(normals, at));
          if (angle > leastTurn) found.push({ from: last, to: at, angle });
        }
        last = at;
      }
    }
  };
  for (let row = 0; row < rows; row++) alongLine(columns, (k) => row * columns + k);
  for (let column = 0; column < columns; column++) alongLine(rows, (k) => k * columns + column);
  return found;
}

/** Two places of a surface, by their parameters. */
type Pair = readonly [readonly [number, number], readonly [number, number]];

const spread = (from: number, to: number): number[] =>
  Array.from({ length: across }, (_, k) => from + ((to - from) * k) / (across - 1));

/** A grid of places on the rectangle between two corners, kept within the domain. */
function rectangle(net: ControlNet, [low, high]: Pair, kept: Kept) {
  const at = ([0, 1] as const).map((side) => {
    const [from, to] = domain(net.knots[side], net.degree[side]);
    return spread(Math.max(from, low[side]), Math.min(to, high[side]));
  });
  const [rowsU, rowsV] = ([0, 1] as const).map((side) =>
    at[side].map((w) => basisRow(net.knots[side], net.degree[side], w, 2)),
  );
  const placeOf = (k: number): readonly [number, number] => [
    at[0][k % across],
    at[1][Math.floor(k / across)],
  ];
  return {
    grid: curvatureGrid(net, rowsU, rowsV),
    placeOf,
    isOutside: (k: number): boolean => kept !== null && kept(...placeOf(k)) === 'outside',
  };
}

const midway = (a: readonly number[], b: readonly number[]): number[] =>
  a.map((x, axis) => (x + b[axis]) / 2);

function flipOf(grid: CurvatureGrid, { from, to, angle }: Turn, [a, b]: Pair): NormalFlip {
  const position = midway(vectorAt(grid.points, from), vectorAt(grid.points, to));
  const [u, v] = midway(a, b);
  return { angle, position: position as unknown as Vector, u, v };
}

/**
 * Closes in on the most abrupt turn between two places of the look; `reach`: parameters to each side
 * of the line between them. Null where the turn wears off, as it does where the surface is round.
 */
function closedIn(
  net: ControlNet,
  start: Pair,
  reach: readonly [number, number],
  near: number,
  kept: Kept,
): NormalFlip | null {
  let pair = start;
  let [reachU, reachV] = reach;
  for (let round = 0; round < mostRounds; round++) {
    const [[ua, va], [ub, vb]] = pair;
    const alongU = ua !== ub;
    const { grid, placeOf, isOutside } = rectangle(
      net,
      alongU
        ? [
            [ua, va - reachV],
            [ub, va + reachV],
          ]
        : [
            [ua - reachU, va],
            [ua + reachU, vb],
          ],
      kept,
    );
    const found = turns(grid, isOutside);
    if (found.length === 0) return null;
    const turn = found.reduce((a, b) => (b.angle > a.angle ? b : a));
    pair = [placeOf(turn.from), placeOf(turn.to)];
    const apart = distance(vectorAt(grid.points, turn.from), vectorAt(grid.points, turn.to));
    if (apart <= near && round > 0) return flipOf(grid, turn, pair);
    [reachU, reachV] = [reachU / 2, reachV / 2];
  }
  return null;
}

/** The largest turn between any two places next to a tight radius. */
function besideRadius(
  net: ControlNet,
  { u, v }: TightRadius,
  reach: readonly [number, number],
  near: number,
  kept: Kept,
): NormalFlip | null {
  const pointsAt = (
    low: readonly [number, number],
    high: readonly [number, number],
  ): Float64Array => rectangle(net, [low, high], null).grid.points;
  let [du, dv] = reach.map((step) => step * stepShare);
  const last = across * across - 1;
  for (let halving = 0; halving < mostRounds; halving++) {
    const along = pointsAt([u - du, v], [u + du, v]);
    const over = pointsAt([u, v - dv], [u, v + dv]);
    const isLong = [along, over].map(
      (points) => distance(vectorAt(points, 0), vectorAt(points, last)) > near / Math.SQRT2,
    );
    if (!isLong[0] && !isLong[1]) break;
    if (isLong[0]) du /= 2;
    if (isLong[1]) dv /= 2;
  }
  const { grid, placeOf, isOutside } = rectangle(
    net,
    [
      [u - du, v - dv],
      [u + du, v + dv],
    ],
    kept,
  );
  let most: Turn | null = null;
  for (let from = 0; from <= last; from++)
    for (let to = from + 1; to <= last; to++) {
      if (grid.isBlind[from] !== 0 || grid.isBlind[to] !== 0) continue;
      const angle = angleBetween(vectorAt(grid.normals, from), vectorAt(grid.normals, to));
      if (angle > (most?.angle ?? leastTurn) && !isOutside(from) && !isOutside(to))
        most = { from, to, angle };
    }
  return most && flipOf(grid, most, [placeOf(most.from), placeOf(most.to)]);
}

/**
 * The most abrupt turn of a surface's normal: the largest angle between normals of places next to each
 * other, a millionth of the diagonal apart; none where it is under 10 degrees. Where a surface is
 * round, however tightly, the turn wears off as the places come closer; at a fold or a cusp it stays.
 * Sought from the steps of the look over which the normal turns most, and beside the tightest radii:
 * a turn by a within a length h asks for a radius of h / a or less on the way. A collapsed edge is none.
 * Answers to the entity abrupt_change_of_surface_normal of ISO 10303-59.
 */
export function normalFlips(
  look: SurfaceLook,
  kept: Kept,
  radii: readonly TightRadius[],
): NormalFlip[] {
  const { net, at, step, grid, isOutside } = look;
  const near = nextTo * diagonal(net);
  const placeOf = (k: number): readonly [number, number] => [
    at[0][k % grid.columns],
    at[1][Math.floor(k / grid.columns)],
  ];
  const found = [
    ...turns(grid, (k) => isOutside[k] !== 0)
      .toSorted((a, b) => b.angle - a.angle)
      .slice(0, starts)
      .map(({ from, to }) => closedIn(net, [placeOf(from), placeOf(to)], step, near, kept)),
    ...radii
      .filter(({ radius }) => radius * leastTurn <= near)
      .map((radius) => besideRadius(net, radius, step, near, kept)),
  ].filter((flip) => flip !== null);
  return found.length === 0 ? [] : [found.reduce((a, b) => (b.angle > a.angle ? b : a))];
}

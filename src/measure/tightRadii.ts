import { basisRow } from '../geometry/basis.ts';
import { diagonal, type ControlNet } from '../geometry/controlNet.ts';
import { curvatureGrid, type CurvatureGrid } from '../geometry/curvatureGrid.ts';
import { domain } from '../geometry/knots.ts';
import { vectorAt, type Vector } from '../geometry/vector.ts';
import type { Kept, SurfaceLook } from './surfaceLook.ts';

/** Where a surface bends most toward one of its sides. */
export interface TightRadius {
  /** The side its centre of curvature lies on: that of S_u x S_v (1) or the other (-1). */
  readonly side: 1 | -1;
  /** The smaller principal radius there, mm; 0 where the surface comes to a cusp. */
  readonly radius: number;
  /** mm. */
  readonly position: Vector;
  readonly u: number;
  readonly v: number;
}

/** Places of the look from which the least radius is sought: the tightest that are so among their neighbours. */
const starts = 4;
/** Parameters each way of the grids that close in, over half the width of the one before. */
const across = 5;
const mostRounds = 40;
/** Closing in ends where the curvature differs by less than this share all over a grid. */
const settledSpread = 0.02;
/** Radii below this share of the diagonal are none; those above its inverse are flat, and bend to no side. */
const cuspShare = 1e-5;

interface Place {
  readonly u: number;
  readonly v: number;
  /** Toward the side that is asked for, 1/mm. */
  readonly bend: number;
  readonly position: Vector;
}

/** Curvature toward a side: k1 >= k2 are signed with S_u x S_v. NaN where there is none. */
const bendAt = ({ k1, k2 }: CurvatureGrid, at: number, side: 1 | -1): number =>
  side > 0 ? k1[at] : -k2[at];

/** The tightest places of a look that none of the eight around them exceeds. */
function tightest({ at, grid, isOutside }: SurfaceLook, side: 1 | -1, least: number): Place[] {
  const { columns, rows } = grid;
  const bends = grid.k1.map((_, k) => {
    const bend = bendAt(grid, k, side);
    return bend > least && isOutside[k] === 0 ? bend : 0;
  });
  const found: number[] = [];
  for (let row = 0; row < rows; row++)
    for (let column = 0; column < columns; column++) {
      const k = row * columns + column;
      if (bends[k] === 0) continue;
      let isPeak = true;
      for (let j = Math.max(0, row - 1); isPeak && j <= Math.min(rows - 1, row + 1); j++)
        for (let i = Math.max(0, column - 1); i <= Math.min(columns - 1, column + 1); i++)
          if (bends[j * columns + i] > bends[k]) isPeak = false;
      if (isPeak) found.push(k);
    }
  return found
    .toSorted((a, b) => bends[b] - bends[a])
    .slice(0, starts)
    .map((k) => ({
      u: at[0][k % columns],
      v: at[1][Math.floor(k / columns)],
      bend: bends[k],
      position: vectorAt(grid.points, k),
    }));
}

/** `across` parameters around a middle, kept within the domain. */
function around(net: ControlNet, side: 0 | 1, middle: number, reach: number): number[] {
  const [from, to] = domain(net.knots[side], net.degree[side]);
  return Array.from({ length: across }, (_, k) =>
    Math.min(to, Math.max(from, middle + reach * ((2 * k) / (across - 1) - 1))),
  );
}

/** Closes in on the tightest kept place near a start; `reach`: parameters each way to begin with. */
function closedIn(
  net: ControlNet,
  side: 1 | -1,
  start: Place,
  reach: readonly [number, number],
  kept: Kept,
): Place {
  let best = start;
  let [reachU, reachV] = reach;
  for (let round = 0; round < mostRounds; round++) {
    const [us, vs] = [around(net, 0, best.u, reachU), around(net, 1, best.v, reachV)];
    const grid = curvatureGrid(
      net,
      us.map((u) => basisRow(net.knots[0], net.degree[0], u, 2)),
      vs.map((v) => basisRow(net.knots[1], net.degree[1], v, 2)),
    );
    let least = Infinity;
    for (let k = 0; k < across * across; k++) {
      const bend = bendAt(grid, k, side);
      if (bend < least) least = bend;
      const [u, v] = [us[k % across], vs[Math.floor(k / across)]];
      if (bend > best.bend && (!kept || kept(u, v) !== 'outside'))
        best = { u, v, bend, position: vectorAt(grid.points, k) };
    }
    if (least >= (1 - settledSpread) * best.bend) break;
    [reachU, reachV] = [reachU / 2, reachV / 2];
  }
  return best;
}

/**
 * The least radii of curvature on each side of a surface that bends to it at all, over all places that
 * are kept, the tightest first: the smaller principal radius of those whose centre lies there, at up to
 * four places where it is least among its surroundings. Sought from the tightest places of the look by
 * grids that close in, to less than 1 %. Answers to the entity surface_with_small_curvature_radius of
 * ISO 10303-59.
 */
export function tightRadii(look: SurfaceLook, kept: Kept): TightRadius[] {
  const { net, step } = look;
  const size = diagonal(net);
  const [flat, cusp] = [cuspShare / size, cuspShare * size];
  return ([1, -1] as const)
    .flatMap((side) =>
      tightest(look, side, flat).map((start): TightRadius => {
        const { u, v, bend, position } = closedIn(net, side, start, step, kept);
        return { side, radius: 1 / bend, position, u, v };
      }),
    )
    .toSorted((a, b) => a.radius - b.radius)
    .map((place) => (place.radius > cusp ? place : { ...place, radius: 0 }));
}

import type { ControlNet } from '../geometry/controlNet.ts';
import { surfacePoint } from '../geometry/evaluation.ts';
import { gridPlaces } from '../geometry/gridPlaces.ts';
import { valueWidth } from '../geometry/netValues.ts';
import { spanEnds, splineSpace } from '../geometry/splineSpace.ts';
import { distance } from '../geometry/vector.ts';
import { squaredGap } from './placeGaps.ts';
import { spanStations } from './spanStations.ts';

/** How far another net over the same domain departs from a net at most, mm, at equal parameters. */
export type NetDeviation = (other: ControlNet) => number;

/** A grid of parameters, and a surface there. */
interface Grid {
  readonly us: Float64Array;
  readonly vs: Float64Array;
  readonly places: Float64Array;
}

/** Ends of the spans of either net in one direction: the first's, and those of the other that lie apart. */
function sharedEnds(net: ControlNet, other: ControlNet, side: 0 | 1): number[] {
  const ends = spanEnds(splineSpace(net.knots[side], net.degree[side]));
  const close = 1e-9 * (ends[ends.length - 1] - ends[0]);
  const more = spanEnds(splineSpace(other.knots[side], other.degree[side])).filter((end) =>
    ends.every((own) => Math.abs(own - end) > close),
  );
  return [...ends, ...more].sort((a, b) => a - b);
}

/** Stations that are no lower than those around them, and over half as high as the highest; highest first. */
function hillsOf(squares: Float64Array, columns: number, highest: number): number[] {
  const rows = squares.length / columns;
  const found: number[] = [];
  for (let k = 0; k < squares.length; k++) {
    if (squares[k] <= highest / 4) continue;
    const [i, j] = [k % columns, Math.floor(k / columns)];
    let isTop = true;
    for (let dj = j > 0 ? -1 : 0; dj <= (j + 1 < rows ? 1 : 0); dj++)
      for (let di = i > 0 ? -1 : 0; di <= (i + 1 < columns ? 1 : 0); di++)
        if (squares[k + dj * columns + di] > squares[k]) isTop = false;
    if (isTop) found.push(k);
  }
  return found.sort((a, b) => squares[b] - squares[a]).slice(0, mostHills);
}

/** Hills that are climbed, highest first. */
const mostHills = 4;
/** Rounds of a climb: each looks at the eight places around. */
const rounds = 8;

/** The stations around a station: two to each side, for the ends of two spans are one place. */
const around = (at: Float64Array, k: number): readonly [number, number, number] => [
  at[Math.max(k - 2, 0)],
  at[k],
  at[Math.min(k + 2, at.length - 1)],
];

/** The height at the top of the hill around station (i, j) of a grid. */
function hilltop(
  gap: (u: number, v: number) => number,
  { us, vs }: Grid,
  i: number,
  j: number,
  start: number,
): number {
  const [lowU, midU, highU] = around(us, i);
  const [lowV, midV, highV] = around(vs, j);
  let [u, v, most] = [midU, midV, start];
  let [stepU, stepV] = [(highU - lowU) / 8, (highV - lowV) / 8];
  for (let round = 0; round < rounds; round++) {
    const [atU, atV] = [u, v];
    for (const du of [-stepU, 0, stepU])
      for (const dv of [-stepV, 0, stepV]) {
        const x = Math.min(Math.max(atU + du, lowU), highU);
        const y = Math.min(Math.max(atV + dv, lowV), highV);
        if (x === atU && y === atV) continue;
        const height = gap(x, y);
        if (height > most) [u, v, most] = [x, y, height];
      }
    // a step that led on is taken again
    if (u === atU && v === atV) [stepU, stepV] = [stepU / 3, stepV / 3];
  }
  return most;
}

/**
 * Distances at equal parameters: no less than those between the surfaces, and what a trim in the parameter
 * plane moves by. The grid has twice as many steps as the degree in each span of either net each way;
 * between its stations a hill rises by some hundredths of its height, which the climb adds.
 */
export function netDeviation(net: ControlNet): NetDeviation {
  const width = valueWidth(net);
  const grids = new Map<string, Grid>();
  function gridFor(other: ControlNet): Grid {
    const ends = ([0, 1] as const).map((side) => sharedEnds(net, other, side));
    const key = ends.map((list) => list.join()).join(';');
    const known = grids.get(key);
    if (known) return known;
    const [us, vs] = ends.map((list, side) => spanStations(list, net.degree[side]));
    const grid = { us, vs, places: gridPlaces(net, us, vs) };
    grids.set(key, grid);
    return grid;
  }

  return (other) => {
    const grid = gridFor(other);
    const { us, vs } = grid;
    const places = gridPlaces(other, us, vs);
    const squares = new Float64Array(us.length * vs.length);
    let highest = 0;
    for (let k = 0; k < squares.length; k++) {
      squares[k] = squaredGap(grid.places, places, k * width, width);
      highest = Math.max(highest, squares[k]);
    }
    if (!(highest < Infinity)) return Infinity;
    const gap = (u: number, v: number): number =>
      distance(surfacePoint(net, u, v), surfacePoint(other, u, v));
    return hillsOf(squares, us.length, highest).reduce(
      (most, k) =>
        Math.max(
          most,
          hilltop(gap, grid, k % us.length, Math.floor(k / us.length), Math.sqrt(squares[k])),
        ),
      Math.sqrt(highest),
    );
  };
}

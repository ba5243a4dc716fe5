import { basisTable, tableValues } from '../geometry/basisTable.ts';
import type { ControlNet } from '../geometry/controlNet.ts';
import { surfacePoint } from '../geometry/evaluation.ts';
import { netValues, turnedValues, valueWidth } from '../geometry/netValues.ts';
import { distance } from '../geometry/vector.ts';
import { squaredGap } from './placeGaps.ts';
import { spanStations } from './spanStations.ts';

/** How far another net over the same domain departs from a net at most, mm, at equal parameters. */
export type NetDeviation = (other: ControlNet) => number;

/** The surface at all pairs of stations: v outside, u inside, homogeneous where there are weights. */
function gridPlaces(net: ControlNet, us: Float64Array, vs: Float64Array): Float64Array {
  const width = valueWidth(net);
  const alongU = tableValues(
    basisTable(net.knots[0], net.degree[0], us),
    netValues(net),
    net.rows * width,
  );
  return tableValues(
    basisTable(net.knots[1], net.degree[1], vs),
    turnedValues(alongU, us.length, net.rows, width),
    us.length * width,
  );
}

/** Hills that are climbed, highest first. */
const mostHills = 4;
/** Each round of a climb looks at the places around, at a third of the step before. */
const rounds = 6;

/**
 * Distances at equal parameters: no less than those between the surfaces, and what a trim in the parameter
 * plane moves by. The grid has twice as many steps as the degree in each span each way; between its
 * stations a hill rises by some hundredths of its height, which the climb adds.
 */
export function netDeviation(net: ControlNet): NetDeviation {
  const us = spanStations(net.knots[0], net.degree[0]);
  const vs = spanStations(net.knots[1], net.degree[1]);
  const width = valueWidth(net);
  const own = gridPlaces(net, us, vs);
  const squares = (other: ControlNet): Float64Array => {
    const places = gridPlaces(other, us, vs);
    const found = new Float64Array(us.length * vs.length);
    for (let k = 0; k < found.length; k++) found[k] = squaredGap(own, places, k * width, width);
    return found;
  };

  /** The height at the top of the hill around station (i, j). */
  function top(other: ControlNet, i: number, j: number, start: number): number {
    const gap = (u: number, v: number): number =>
      distance(surfacePoint(net, u, v), surfacePoint(other, u, v));
    const around = (at: Float64Array, k: number): readonly [number, number, number] => [
      at[Math.max(k - 1, 0)],
      at[k],
      at[Math.min(k + 1, at.length - 1)],
    ];
    const [lowU, midU, highU] = around(us, i);
    const [lowV, midV, highV] = around(vs, j);
    let [u, v, most] = [midU, midV, start];
    let [stepU, stepV] = [(highU - lowU) / 4, (highV - lowV) / 4];
    for (let round = 0; round < rounds; round++) {
      const [atU, atV] = [u, v];
      for (const du of [-stepU, 0, stepU])
        for (const dv of [-stepV, 0, stepV]) {
          const [x, y] = [
            Math.min(Math.max(atU + du, lowU), highU),
            Math.min(Math.max(atV + dv, lowV), highV),
          ];
          if (x === atU && y === atV) continue;
          const height = gap(x, y);
          if (height > most) [u, v, most] = [x, y, height];
        }
      [stepU, stepV] = [stepU / 2.5, stepV / 2.5];
    }
    return most;
  }

  /** Stations that are no lower than those around them, and over half as high as the highest; highest first. */
  function hills(heights: Float64Array, highest: number): number[] {
    const columns = us.length;
    const found: number[] = [];
    for (let k = 0; k < heights.length; k++) {
      if (heights[k] <= highest / 4) continue;
      const [i, j] = [k % columns, Math.floor(k / columns)];
      let isTop = true;
      for (let dj = j > 0 ? -1 : 0; dj <= (j + 1 < vs.length ? 1 : 0); dj++)
        for (let di = i > 0 ? -1 : 0; di <= (i + 1 < columns ? 1 : 0); di++)
          if (heights[k + dj * columns + di] > heights[k]) isTop = false;
      if (isTop) found.push(k);
    }
    return found.sort((a, b) => heights[b] - heights[a]).slice(0, mostHills);
  }

  return (other) => {
    const heights = squares(other);
    const highest = heights.reduce((most, s) => Math.max(most, s), 0);
    if (!(highest < Infinity)) return Infinity;
    return hills(heights, highest).reduce(
      (most, k) =>
        Math.max(most, top(other, k % us.length, Math.floor(k / us.length), Math.sqrt(heights[k]))),
      Math.sqrt(highest),
    );
  };
}

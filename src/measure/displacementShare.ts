import type { ControlNet, Spot } from '../geometry/controlNet.ts';
import { dot, vectorAt, type Vector } from '../geometry/vector.ts';
import { gridShares } from './gridShares.ts';
import { latticeStandings, type ScanLattice } from './scanLattice.ts';
import { leftBeside, polynomialColumns, squareColumns, weightedDot } from './templateFit.ts';
import { causeOf, type ShareVerdict, type WobbleShare } from './wobbleShare.ts';

/** Whose a displacement of control points is: what the scan has of the bump that they make in the surface. */
export type DisplacementShare = ShareVerdict &
  Pick<WobbleShare, 'surface' | 'gap' | 'gapError' | 'share' | 'shareError'>;

/** Places that are looked at, at most. */
const mostPlaces = 6000;
/** Degrees of what is taken for misfit of another shape: the numbers are from the first, the others compare. */
const degrees = [3, 2, 4] as const;
/** Blocks across the window each way, over which residuals are taken together. */
const blocksAcross = 8;
/** Where less than this share of the bump is seen, nothing is said. */
const leastSeen = 0.5;
/** Beyond the polynomials less of the bump than this is none. */
const leastLeft = 0.05;

/** Height of the bump along the outward normals at places of a lattice, mm. */
function bumpHeights(
  net: ControlNet,
  { at, normals }: ScanLattice,
  places: readonly number[],
  displaced: readonly (Spot & { readonly by: Vector })[],
): Float64Array {
  const shares = gridShares(net, at[0], at[1]);
  return Float64Array.from(places, (place) =>
    displaced.reduce((height, { row, column, by }) => {
      const share = shares(row, column, place);
      return share === 0 ? height : height + share * dot(by, vectorAt(normals, place));
    }, 0),
  );
}

/** The bump's size in the distances beside polynomials, in bumps, and its standard error; null: the polynomials leave nothing of it. */
function bumpSize(
  bump: Float64Array,
  distances: Float64Array,
  weights: Float64Array,
  at: readonly [Float64Array, Float64Array],
  degree: number,
): { readonly size: number; readonly error: number } | null {
  const columns = squareColumns(polynomialColumns(at[0], at[1], degree), weights);
  const own = leftBeside(bump, columns, weights);
  const information = weightedDot(weights, own, own);
  if (!(information > leastLeft * leastLeft * weightedDot(weights, bump, bump))) return null;
  const gap = leftBeside(distances, columns, weights);
  const size = weightedDot(weights, own, gap) / information;
  // residuals are alike at neighbouring places: blocks stand for them (as in templateFit)
  const blocks = new Float64Array(blocksAcross * blocksAcross);
  for (let k = 0; k < bump.length; k++) {
    const [i, j] = [at[0][k], at[1][k]].map((t) =>
      Math.min(blocksAcross - 1, Math.floor(((t + 1) / 2) * blocksAcross)),
    );
    blocks[j * blocksAcross + i] += weights[k] * own[k] * (gap[k] - size * own[k]);
  }
  const sum = blocks.reduce((total, block) => total + block * block, 0);
  const used = Math.min(columns.length + 1, 0.7 * blocks.length);
  const scale = blocks.length / (blocks.length - used);
  return { size, error: Math.sqrt(sum * scale) / information };
}

/**
 * What a scan has of the bump that displaced control points make in a surface: the bump's shape and
 * size are known, so that it is sought in the distance to the scan alone, beside polynomials that stand
 * for all other misfit, by least squares weighted with area. `displaced`: by how much each point is off,
 * mm. Null where too little of the scan lies behind the bump, or a smooth misfit looks just like it. Our own
 * way; nothing published of the whole.
 */
export function displacementShare(
  net: ControlNet,
  lattice: ScanLattice,
  displaced: readonly (Spot & { readonly by: Vector })[],
): DisplacementShare | null {
  const { standings, distances, areas, at, columns } = lattice;
  const total = standings.reduce((n, s) => n + (s === latticeStandings.none ? 0 : 1), 0);
  const step = Math.max(1, Math.floor(Math.sqrt(total / mostPlaces)));
  const places: number[] = [];
  for (let k = 0; k < standings.length; k++) {
    const [row, column] = [Math.floor(k / columns), k % columns];
    if (row % step !== 0 || column % step !== 0) continue;
    if (standings[k] !== latticeStandings.none) places.push(k);
  }
  const heights = bumpHeights(net, lattice, places, displaced);
  const largest = heights.reduce((most, h) => (Math.abs(h) > Math.abs(most) ? h : most), 0);
  if (largest === 0) return null;
  const inside = places
    .map((place, k) => ({ place, height: heights[k] }))
    .filter(({ height }) => height !== 0);
  const seen = inside.filter(({ place }) => standings[place] === latticeStandings.over);
  const squares = (all: typeof inside): number =>
    all.reduce((sum, { place, height }) => sum + areas[place] * height * height, 0);
  if (!(squares(seen) > leastSeen * squares(inside))) return null;
  const bump = Float64Array.from(seen, ({ height }) => height);
  const own = Float64Array.from(seen, ({ place }) => distances[place]);
  const weights = Float64Array.from(seen, ({ place }) => areas[place]);
  const scaled = ([0, 1] as const).map((side) => {
    const parameters = Float64Array.from(
      seen,
      ({ place }) => at[side][side === 0 ? place % columns : Math.floor(place / columns)],
    );
    const low = parameters.reduce((a, b) => Math.min(a, b), Infinity);
    const high = parameters.reduce((a, b) => Math.max(a, b), -Infinity);
    return parameters.map((t) => (high > low ? (2 * (t - low)) / (high - low) - 1 : 0));
  });
  const sizes = degrees.flatMap(
    (degree) => bumpSize(bump, own, weights, [scaled[0], scaled[1]], degree) ?? [],
  );
  if (sizes.length < degrees.length) return null;
  const [{ size, error }] = sizes;
  const spread = Math.max(...sizes.map((other) => Math.abs(other.size - size)));
  const share = 1 - size;
  const shareError = 1.1 * Math.hypot(error, spread / 2) + 0.03;
  return {
    ...causeOf(share, shareError),
    surface: largest,
    gap: -size * largest,
    gapError: error * Math.abs(largest),
    share,
    shareError,
  };
}

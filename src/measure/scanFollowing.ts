import { cross, difference, dot, unit, vectorAt, type Vector } from '../geometry/vector.ts';
import { latticeStandings, type ScanLattice } from './scanLattice.ts';
import { leftBeside, polynomialColumns, squareColumns } from './templateFit.ts';

/** How closely a panel follows its scan around a place, what is smooth over the whole window aside. */
export interface ScanFollowing {
  /** Largest mean departure over a block of the window, mm, and its standard error. */
  readonly departure: number;
  readonly error: number;
}

/** The window's radius, and a block's side, in wavelengths. */
const radius = 0.75;
const blockSide = 0.25;
/** What is smooth there: a plane. A bend of the distance may be half of a wobble that is wider than was thought. */
const degree = 1;
/** Less of the window seen than this share of it says nothing; so do fewer places, and fewer in a block. */
const leastSeen = 0.8;
const fewestPlaces = 40;
const fewestInBlock = 4;

/** The axes of the plane that touches the panel at its place nearest to a position. */
function axesAt(
  { points, normals, standings }: ScanLattice,
  position: Vector,
): readonly [Vector, Vector] | null {
  let [nearest, least] = [-1, Infinity];
  for (let k = 0; k < standings.length; k++) {
    if (standings[k] !== latticeStandings.over) continue;
    const off = difference(vectorAt(points, k), position);
    const square = dot(off, off);
    if (square < least) [nearest, least] = [k, square];
  }
  if (nearest < 0) return null;
  const normal = vectorAt(normals, nearest);
  const other: Vector = Math.abs(normal[0]) < 0.6 ? [1, 0, 0] : [0, 1, 0];
  const first = unit(cross(normal, other));
  return first && [first, cross(normal, first)];
}

/**
 * What a panel's distance to the scan departs from a smooth run within 0.75 of a wavelength (mm) around
 * a position: where that is little beside a wobble of the panel, the scan has the wobble too, whatever
 * its shape. Null where too little of the scan is seen there.
 */
export function scanFollowing(
  lattice: ScanLattice,
  position: Vector,
  wavelength: number,
): ScanFollowing | null {
  const { points, standings, distances } = lattice;
  const axes = axesAt(lattice, position);
  if (!axes) return null;
  const reach = radius * wavelength;
  const seen: { readonly x: number; readonly y: number; readonly distance: number }[] = [];
  let all = 0;
  for (let k = 0; k < standings.length; k++) {
    if (standings[k] === latticeStandings.none) continue;
    const off = difference(vectorAt(points, k), position);
    if (!(dot(off, off) <= reach * reach)) continue;
    all += 1;
    if (standings[k] === latticeStandings.over)
      seen.push({ x: dot(off, axes[0]), y: dot(off, axes[1]), distance: distances[k] });
  }
  if (seen.length < fewestPlaces || seen.length < leastSeen * all) return null;
  const weights = new Float64Array(seen.length).fill(1);
  const smooth = squareColumns(
    polynomialColumns(
      Float64Array.from(seen, ({ x }) => x / reach),
      Float64Array.from(seen, ({ y }) => y / reach),
      degree,
    ),
    weights,
  );
  const rest = leftBeside(
    Float64Array.from(seen, ({ distance }) => distance),
    smooth,
    weights,
  );
  const side = blockSide * wavelength;
  const blocks = new Map<string, { count: number; sum: number; squares: number }>();
  seen.forEach(({ x, y }, k) => {
    const key = `${Math.floor(x / side)} ${Math.floor(y / side)}`;
    const block = blocks.get(key) ?? { count: 0, sum: 0, squares: 0 };
    block.count += 1;
    block.sum += rest[k];
    block.squares += rest[k] * rest[k];
    blocks.set(key, block);
  });
  let found: ScanFollowing | null = null;
  for (const { count, sum, squares } of blocks.values()) {
    if (count < fewestInBlock) continue;
    const departure = Math.abs(sum / count);
    const variance = Math.max(0, squares / count - departure * departure);
    if (!found || departure > found.departure)
      found = { departure, error: Math.sqrt(variance / (count - 1)) };
  }
  return found;
}

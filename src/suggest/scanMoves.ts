import { withMoves, type ControlNet } from '../geometry/controlNet.ts';
import { gridPoints } from '../geometry/gridPlaces.ts';
import type { ScanBody } from '../geometry/scanBody.ts';
import { grevilleAbscissae } from '../geometry/knots.ts';
import { scaled, type Vector } from '../geometry/vector.ts';
import {
  normalMoves,
  type GapGrid,
  type GridWindow,
  type MovablePoint,
  type NormalMove,
} from '../measure/normalMoves.ts';
import { outwardGaps } from '../measure/outwardGaps.ts';
import { netNormals, outward, type OutwardSide } from '../measure/outwardSide.ts';

/** Moves of control points that bring a region of a panel to the scan, and what they leave. */
export interface ScanMoves {
  /** `vector`: the move in the model's frame, mm. */
  readonly moves: readonly (NormalMove & { readonly vector: Vector })[];
  /** The net with them made. */
  readonly net: ControlNet;
  /** The largest distance left, mm: in the region, and elsewhere of what was within the limit before. */
  readonly left: { readonly region: number; readonly around: number };
  /** Whether the region is within the wanted distance, and nothing else was pushed over the limit. */
  readonly holds: boolean;
}

/** What is asked of moves. */
interface Aim {
  /** Farthest that a panel may lie from the scan, mm, and the share of it that the region is to keep within. */
  readonly limit: number;
  readonly share: number;
  /** 1 for each control point, row by row, that stays where it is; null: those of the borders. */
  readonly locked: Uint8Array | null;
}

/** The points of a net's borders, which neighbours share. */
function borderPoints({ rows, columns }: ControlNet): Uint8Array {
  return Uint8Array.from({ length: rows * columns }, (_, k) => {
    const [row, column] = [Math.floor(k / columns), k % columns];
    return row === 0 || column === 0 || row === rows - 1 || column === columns - 1 ? 1 : 0;
  });
}

/** First and last place of the region in u and in v; null: it has none. */
function regionBox({ us, vs }: GapGrid, isRegion: Uint8Array): GridWindow | null {
  let [left, right, bottom, top] = [us.length, -1, vs.length, -1];
  isRegion.forEach((is, k) => {
    if (is === 0) return;
    const [i, j] = [k % us.length, Math.floor(k / us.length)];
    [left, right] = [Math.min(left, i), Math.max(right, i)];
    [bottom, top] = [Math.min(bottom, j), Math.max(top, j)];
  });
  return right < 0
    ? null
    : [
        [left, right],
        [bottom, top],
      ];
}

/**
 * The region with all that is moved by points that stand over it, or by the nearest one where none does: what
 * is off there tells their moves from each other's.
 */
function windowAround(net: ControlNet, grid: GapGrid, region: GridWindow): GridWindow {
  const [alongU, alongV] = ([0, 1] as const).map((side): readonly [number, number] => {
    const [knots, degree] = [net.knots[side], net.degree[side]];
    const at = side === 0 ? grid.us : grid.vs;
    const [from, to] = region[side].map((k) => at[k]);
    const off = Array.from(grevilleAbscissae(knots, degree), (xi) =>
      Math.max(from - xi, xi - to, 0),
    );
    const least = Math.min(...off);
    const over = [...off.keys()].filter((k) => off[k] <= least);
    const low = Math.min(from, knots[over[0]]);
    const high = Math.max(to, knots[over[over.length - 1] + degree + 1]);
    const within = [...at.keys()].filter((k) => at[k] >= low && at[k] <= high);
    return [within[0], within[within.length - 1]];
  });
  return [alongU, alongV];
}

/**
 * The largest distances after moves. Places that have come to lie beside the scan are left out, but where
 * half of the region has, it is taken to be as far off as it was.
 */
function gapsLeft(
  grid: GapGrid,
  after: Float64Array,
  isRegion: Uint8Array,
  limit: number,
): ScanMoves['left'] {
  let [region, before, around, known, all] = [0, 0, 0, 0, 0];
  after.forEach((gap, k) => {
    const was = Math.abs(grid.gaps[k]);
    if (isRegion[k] === 1) {
      all++;
      before = Math.max(before, was);
      if (Number.isNaN(gap)) return;
      known++;
      region = Math.max(region, Math.abs(gap));
    } else if (was < limit && Math.abs(gap) > around) around = Math.abs(gap);
  });
  return { region: 2 * known > all ? region : before, around };
}

const worst = ({ left }: ScanMoves): number => Math.max(left.region, left.around);

/** Scan is sought so many times as far as the panel is off, or may be. */
const reachTimes = 3;
/** A polynomial of this degree is no point's doing; where the region cannot be brought in so, none is. */
const nuisances = [2, null];

/**
 * The fewest moves of control points along the panel's normal that bring a region to the scan, measured
 * again on the moved surface; where no group does, the one that leaves least. `isRegion`: 1 at each place
 * of the grid that lies in the region. Null where moving no point would mend it.
 */
export function scanMoves(
  net: ControlNet,
  side: OutwardSide,
  body: ScanBody,
  grid: GapGrid,
  isRegion: Uint8Array,
  { limit, share, locked }: Aim,
): ScanMoves | null {
  const region = regionBox(grid, isRegion);
  if (!region) return null;
  const window = windowAround(net, grid, region);
  const stays = locked ?? borderPoints(net);
  const directions = outward(netNormals(net), side);
  const points = directions.flatMap((normal, k): MovablePoint[] =>
    normal && stays[k] === 0
      ? [{ row: Math.floor(k / net.columns), column: k % net.columns, normal }]
      : [],
  );
  const farthest = grid.gaps.reduce(
    (most, gap) => (Math.abs(gap) > most ? Math.abs(gap) : most),
    0,
  );
  const reach = reachTimes * Math.max(farthest, limit);

  function tried(group: readonly NormalMove[]): ScanMoves {
    const moves = group.map((move) => ({
      ...move,
      vector: scaled(directions[move.row * net.columns + move.column]!, move.by),
    }));
    const moved = withMoves(
      net,
      moves.map(({ row, column, vector }) => ({ spot: { row, column }, by: vector })),
    );
    const gaps = outwardGaps(body, gridPoints(moved, grid.us, grid.vs), grid.normals, reach);
    const left = gapsLeft(grid, gaps, isRegion, limit);
    return { moves, net: moved, left, holds: left.region < share * limit && left.around < limit };
  }

  let best: ScanMoves | null = null;
  for (const degree of nuisances)
    for (const moves of normalMoves(net, points, grid, window, degree)) {
      const found = tried(moves);
      if (found.holds) return found;
      if (!best || worst(found) < worst(best)) best = found;
    }
  return best;
}

import { keptBox } from '../geometry/keptPart.ts';
import { length } from '../geometry/vector.ts';
import { outwardNormal } from '../measure/outwardSide.ts';
import type { GapGrid } from '../measure/normalMoves.ts';
import { regionAround, scanDistances, type ScanDistances } from '../measure/scanDistances.ts';
import { scanLattice, type ScanLattice } from '../measure/scanLattice.ts';
import type { Judgement, Miss } from '../rules/rule.ts';
import type { Scanned, Subject } from '../rules/subject.ts';
import { moveParts, type Nudge } from './nudges.ts';
import { scanMoves, type ScanMoves } from './scanMoves.ts';

/** Places each way on which moves are sought; they are measured again on all. */
const mostAcross = 64;
/** A region is brought within this share of what the panel may lie off. */
const wantedShare = 0.9;

type Seen = Extract<Scanned, { readonly kind: 'seen' }>;

/** The lattice with every so many-th line, and which of its places a region holds. */
function thinned(
  { at, columns, rows, normals, distances, areas }: ScanLattice,
  region: readonly number[],
): { readonly grid: GapGrid; readonly isRegion: Uint8Array } {
  const step = [columns, rows].map((count) => Math.max(1, Math.ceil(count / mostAcross)));
  const lines = [columns, rows].map((count, side) =>
    Array.from({ length: Math.floor((count - 1) / step[side]) + 1 }, (_, k) => k * step[side]),
  );
  const numbers = lines[1].flatMap((row) => lines[0].map((column) => row * columns + column));
  const isRegion = new Uint8Array(numbers.length);
  for (const place of region) {
    const [i, j] = [place % columns, Math.floor(place / columns)].map((k, side) =>
      Math.min(lines[side].length - 1, Math.round(k / step[side])),
    );
    isRegion[j * lines[0].length + i] = 1;
  }
  return {
    grid: {
      us: Float64Array.from(lines[0], (k) => at[0][k]),
      vs: Float64Array.from(lines[1], (k) => at[1][k]),
      normals: Float64Array.from(numbers.flatMap((k) => [...normals.subarray(3 * k, 3 * k + 3)])),
      gaps: Float64Array.from(numbers, (k) => distances[k]),
      areas: Float64Array.from(numbers, (k) => areas[k] * step[0] * step[1]),
    },
    isRegion,
  };
}

/** The largest distance of a panel from its scan, mm. */
const largest = ({ outmost, inmost }: ScanDistances): number =>
  Math.max(outmost?.value ?? 0, -(inmost?.value ?? 0));

/** The moves that bring one region in, measured again all over the panel; null where none do. */
function regionNudge(subject: Subject, seen: Seen, miss: Miss): Nudge | null {
  const { net, side, scan, keptRegion } = subject;
  if (!scan || !miss.position) return null;
  const { question, distances } = seen;
  const region = regionAround(distances, miss.direction ?? 'out', scan.limit, miss.position);
  if (region.length === 0) return null;
  const { grid, isRegion } = thinned(distances.lattice, region);
  const movedBy = (locked: Uint8Array | null): ScanMoves | null => {
    const aim = { limit: scan.limit, share: wantedShare, locked };
    const found = scanMoves(net, side, question.body, grid, isRegion, aim);
    return found?.holds && found.moves.length > 0 ? found : null;
  };
  // the border's own points only where the others do not do it
  const found = movedBy(null) ?? movedBy(new Uint8Array(net.rows * net.columns));
  if (!found) return null;
  const moved = { ...question, net: found.net };
  const after = scanDistances(moved, scanLattice(moved, keptBox(found.net, keptRegion.region)));
  const isMended = regionAround(after, miss.direction ?? 'out', scan.limit, miss.position).every(
    (place) => Math.abs(after.lattice.distances[place]) < scan.limit,
  );
  if (!isMended || largest(after) > largest(distances)) return null;
  const moves = found.moves.map(({ row, column, vector }) => ({ row, column, by: vector }));
  const far = moves.reduce((a, b) => (length(b.by) > length(a.by) ? b : a));
  const spot = { row: far.row, column: far.column };
  return {
    spot,
    vector: far.by,
    moves,
    either: [],
    parts: moveParts(net, spot, far.by, outwardNormal(net, spot, side)),
    leaves: found.left.region,
    leavesIn: 'mm',
  };
}

/**
 * Moves of control points that bring regions to the scan, each region by itself, by their misses: one way
 * to do it, measured again on a copy. A region that no few points bring in has none.
 */
export function regionNudges(
  subject: Subject,
  judgement: Judgement | undefined,
): ReadonlyMap<Miss, Nudge> {
  if (judgement?.outcome !== 'missed') return new Map();
  const seen = subject.scanned();
  if (seen.kind !== 'seen') return new Map();
  return new Map(
    judgement.misses.flatMap((miss) => {
      const nudge = miss.site.kind === 'region' ? regionNudge(subject, seen, miss) : null;
      return nudge ? [[miss, nudge] as const] : [];
    }),
  );
}

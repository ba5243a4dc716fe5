import type { ControlNet } from './controlNet.ts';
import { domain } from './knots.ts';
import { bezierPieces } from './splineCurve.ts';
import type { TrimRegion } from './trimRegion.ts';

/** `border`: so near to a loop that the file's tolerance does not tell. */
export type Standing = 'inside' | 'outside' | 'border';

/** A polynomial piece of a loop with the box of its control points. */
interface Piece {
  /** Points as [along the ray, across it, weight], the first two divided by the weight. */
  readonly points: readonly (readonly [number, number, number])[];
  readonly low: readonly [number, number];
  readonly high: readonly [number, number];
}

function boxed(points: Piece['points']): Piece {
  const low: [number, number] = [Infinity, Infinity];
  const high: [number, number] = [-Infinity, -Infinity];
  for (const point of points)
    for (const axis of [0, 1] as const) {
      low[axis] = Math.min(low[axis], point[axis]);
      high[axis] = Math.max(high[axis], point[axis]);
    }
  return { points, low, high };
}

/** Both halves of a piece, by de Casteljau's construction on homogeneous points. */
function halves({ points }: Piece): [Piece, Piece] {
  let level = points.map(([a, b, w]): [number, number, number] => [a * w, b * w, w]);
  const first = [level[0]];
  const last = [level[level.length - 1]];
  while (level.length > 1) {
    level = level.slice(1).map((p, k): [number, number, number] => {
      const q = level[k];
      return [(p[0] + q[0]) / 2, (p[1] + q[1]) / 2, (p[2] + q[2]) / 2];
    });
    first.push(level[0]);
    last.push(level[level.length - 1]);
  }
  const divided = (all: readonly (readonly [number, number, number])[]): Piece =>
    boxed(all.map(([a, b, w]) => [a / w, b / w, w]));
  return [divided(first), divided(last.reverse())];
}

/**
 * Half-widths of a box in the plane that lies within `tolerance` mm of its middle: no derivative is
 * longer than the longest leg of the net over its knots' gap, p |P_i+1 - P_i| / (u_i+p+1 - u_i+1)
 * (for rational surfaces times the ratio of the weights, twice: a bound that is safe, not sharp).
 */
function nearBox(net: ControlNet, tolerance: number): [number, number] {
  const { points, weights, columns } = net;
  let ratio = 1;
  if (weights) {
    const [least, most] = [Math.min(...weights), Math.max(...weights)];
    ratio = 2 * (most / least) ** 2;
  }
  return [0, 1].map((side) => {
    const knots = net.knots[side];
    const degree = net.degree[side];
    let most = 0;
    const step = side === 0 ? 3 : 3 * columns;
    for (let row = 0; row < net.rows - (side === 1 ? 1 : 0); row++)
      for (let column = 0; column < columns - (side === 0 ? 1 : 0); column++) {
        const at = 3 * (row * columns + column);
        const k = side === 0 ? column : row;
        const gap = knots[k + degree + 1] - knots[k + 1];
        if (gap <= 0) continue;
        const leg = Math.hypot(
          points[at + step] - points[at],
          points[at + step + 1] - points[at + 1],
          points[at + step + 2] - points[at + 2],
        );
        most = Math.max(most, (degree * leg) / gap);
      }
    const [from, to] = domain(knots, degree);
    const bound = most * ratio;
    const width = to - from;
    return Math.min(bound > 0 ? tolerance / (4 * bound) : width, width / 100);
  }) as [number, number];
}

/** Lists of pieces by stripes across the rays. */
const mostStripes = 4096;

/** Copies of a loop on each side, for a surface that closes. */
const copies = [-2, -1, 0, 1, 2];

/**
 * Says of any parameters whether they lie inside a region, by the parity of the crossings of a ray with
 * the loops. Exact: a piece whose box lies beside the ray counts nothing, one whose box lies ahead
 * counts by its ends, and one around the point is halved until it does either, or lies so near that the
 * answer is `border`, which is within `region.tolerance` of a loop. What is outside the domain is
 * outside.
 */
export function trimTest(net: ControlNet, region: TrimRegion): (u: number, v: number) => Standing {
  const { loops, period } = region;
  const ends = [0, 1].map((side) => domain(net.knots[side], net.degree[side]));
  const box = nearBox(net, region.tolerance);
  // Loops that run round in u are crossed by rays in v.
  const along = loops.some(({ winds }) => winds[0] !== 0) ? 1 : 0;
  const across = 1 - along;
  const near = [box[along], box[across]] as const;
  const rounds = loops.map(({ winds }) => winds[across]).filter((times) => times !== 0);
  // Two of them bound a band. Beside one alone its left side is kept: far along the rays where it runs
  // in +u, or in -v.
  const isLeftFar = rounds.reduce((sum, times) => sum + times, 0) > 0 === (along === 1);
  const farIsInside = rounds.length % 2 === 1 && isLeftFar;
  const pieces: Piece[] = [];
  for (const { curves, winds } of loops)
    for (const curve of curves)
      for (const { points } of bezierPieces(curve)) {
        const own = points.map(([u, v, w]): [number, number, number] =>
          along === 0 ? [u / w, v / w, w] : [v / w, u / w, w],
        );
        for (const a of period[along] === null ? [0] : copies)
          for (const b of period[across] === null ? [0] : copies) {
            // a loop that runs round is met by each ray of its kind once already
            if (a !== 0 && winds[across] !== 0) continue;
            const shift = [a * (period[along] ?? 0), b * (period[across] ?? 0)];
            pieces.push(boxed(own.map(([x, y, w]) => [x + shift[0], y + shift[1], w])));
          }
      }
  const [bottom, top] = ends[across];
  const stripes = Math.min(mostStripes, Math.max(16, 4 * pieces.length));
  const scale = stripes / (top - bottom);
  const stripeOf = (y: number): number =>
    Math.min(stripes - 1, Math.max(0, Math.floor((y - bottom) * scale)));
  const lists: Piece[][] = Array.from({ length: stripes }, () => []);
  for (const piece of pieces) {
    const [low, high] = [piece.low[1] - near[1], piece.high[1] + near[1]];
    if (high < bottom || low > top) continue;
    for (let k = stripeOf(low); k <= stripeOf(high); k++) lists[k].push(piece);
  }

  /** Crossings of the ray from (x, y) with a piece, odd or even; null where the piece is too near. */
  function isCrossed(piece: Piece, x: number, y: number): boolean | null {
    const { low, high, points } = piece;
    if (high[1] < y - near[1] || low[1] > y + near[1] || high[0] < x - near[0]) return false;
    const first = points[0];
    const last = points[points.length - 1];
    if (low[0] > x + near[0]) return first[1] > y !== last[1] > y;
    const isNear = (p: readonly [number, number, number]): boolean =>
      Math.abs(p[0] - x) <= near[0] && Math.abs(p[1] - y) <= near[1];
    if (isNear(first) || isNear(last)) return null;
    if (high[0] - low[0] < near[0] && high[1] - low[1] < near[1]) return null;
    let odd = false;
    for (const half of halves(piece)) {
      const crossed = isCrossed(half, x, y);
      if (crossed === null) return null;
      if (crossed) odd = !odd;
    }
    return odd;
  }

  return (u, v) => {
    const inside = [u, v].every((value, side) => value >= ends[side][0] && value <= ends[side][1]);
    if (!inside) return 'outside';
    const [x, y] = along === 0 ? [u, v] : [v, u];
    let odd = farIsInside;
    for (const piece of lists[stripeOf(y)]) {
      const crossed = isCrossed(piece, x, y);
      if (crossed === null) return 'border';
      if (crossed) odd = !odd;
    }
    return odd ? 'inside' : 'outside';
  };
}

import type { ControlNet } from './controlNet.ts';
import type { Knots } from './knots.ts';

/**
 * A grid of polynomial patches as exchange formats list them, each with Bezier points of its own.
 * Patch (i, j) spans breakpoints i to i + 1 in u and j to j + 1 in v and stands at j * columns + i.
 */
export interface PatchGrid {
  readonly degree: readonly [number, number];
  /** Strictly rising parameters, one more than there are patches in u and in v. */
  readonly breakpoints: readonly [Float64Array, Float64Array];
  /** 3 (p + 1) (q + 1) finite numbers each, millimetres; u runs fastest. */
  readonly patches: readonly Float64Array[];
}

export interface JoinedPatches {
  /** One net, or one for each block of patches where a line of the grid is torn; u runs fastest. */
  readonly nets: readonly ControlNet[];
  /** The widest gap (mm) between neighbours that were left apart; 0 where all hold together. */
  readonly gap: number;
}

/** How far extensions may differ where numbers carry all their digits: see `joinedPatches`. */
const allDigits = 1e-9;

/**
 * The shares of the Bezier points over [from, to] in the polar form at `values` (as many as the
 * degree): de Casteljau's steps, each with a parameter of its own. Source: Ramshaw, Blossoms are polar
 * forms (1989), from memory; held against evaluation in test/geometry.
 */
function polarShares(from: number, to: number, values: readonly number[]): Float64Array {
  const degree = values.length;
  const shares = Float64Array.from({ length: degree + 1 }, (_, k) => (k === 0 ? 1 : 0));
  // Run backwards: what weighs point k of a level is spread over points k and k + 1 of the one below.
  values.forEach((value, level) => {
    const s = (value - from) / (to - from);
    for (let k = level + 1; k > 0; k--) shares[k] = (1 - s) * shares[k] + s * shares[k - 1];
    shares[0] *= 1 - s;
  });
  return shares;
}

/** A rectangle of patches: the first and how many, in u and in v. */
interface Block {
  readonly grid: PatchGrid;
  readonly smooth: number;
  readonly first: readonly [number, number];
  readonly count: readonly [number, number];
}

const columnsOf = (grid: PatchGrid): number => grid.breakpoints[0].length - 1;

/** Every line of Bezier points that crosses the join before patch `at` (from the block's first). */
function* crossings(
  { grid, first, count }: Block,
  side: 0 | 1,
  at: number,
): Generator<{ before: Float64Array; after: Float64Array; from: number; step: number }> {
  const other = side === 0 ? 1 : 0;
  const strides = [1, grid.degree[0] + 1] as const;
  for (let k = 0; k < count[other]; k++) {
    const place = [first[0] + k, first[1] + k];
    place[side] = first[side] + at;
    const index = place[1] * columnsOf(grid) + place[0];
    const after = grid.patches[index];
    const before = grid.patches[index - (side === 0 ? 1 : columnsOf(grid))];
    for (let line = 0; line <= grid.degree[other]; line++)
      yield { before, after, from: 3 * line * strides[other], step: 3 * strides[side] };
  }
}

/** How far apart the patches on both sides of a join lie, and how smoothly they go on. */
interface Join {
  /** mm */
  readonly gap: number;
  /** Derivatives that agree, 0 to degree - 1; -1 where not even the points do. */
  readonly order: number;
}

/**
 * Extends the polynomial of the longer interval over the shorter one and compares Bezier points from
 * the join on: the first k + 1 agree just where derivatives 0 to k do.
 */
function joinOf(block: Block, side: 0 | 1, at: number): Join {
  const { grid, first, smooth } = block;
  const degree = grid.degree[side];
  const [start, middle, end] = grid.breakpoints[side].slice(first[side] + at - 1).subarray(0, 3);
  const forward = end - middle <= middle - start;
  const [from, to, far] = forward ? [start, middle, end] : [middle, end, start];
  const extension = Array.from({ length: degree }, (_, k) =>
    polarShares(
      from,
      to,
      Array.from({ length: degree }, (_v, i) => (i < k ? far : middle)),
    ),
  );
  const apart = new Float64Array(degree);
  let size = 0;
  let gap = 0;
  for (const { before, after, from: line, step } of crossings(block, side, at)) {
    const [long, short] = forward ? [before, after] : [after, before];
    const own = (k: number): number => line + step * (forward ? k : degree - k);
    for (let k = 0; k <= degree; k++) {
      let off = 0;
      let reach = 0;
      for (let axis = 0; axis < 3; axis++) {
        const x = short[own(k) + axis];
        reach += (x - short[own(0) + axis]) ** 2;
        if (k === degree) continue;
        let extended = 0;
        for (let i = 0; i <= degree; i++)
          extended += extension[k][i] * long[line + step * i + axis];
        off += (x - extended) ** 2;
      }
      size = Math.max(size, reach);
      if (k < degree) apart[k] = Math.max(apart[k], off);
    }
    gap = Math.max(gap, apart[0]);
  }
  const rough = apart.findIndex((off) => !(Math.sqrt(off) <= smooth * Math.sqrt(size)));
  return { gap: Math.sqrt(gap), order: rough < 0 ? degree - 1 : rough - 1 };
}

const joins = (block: Block, side: 0 | 1): Join[] =>
  Array.from({ length: block.count[side] - 1 }, (_, k) => joinOf(block, side, k + 1));

/** Where a control point comes from: the shares of the Bezier points of one patch. */
interface Origin {
  readonly patch: number;
  readonly shares: Float64Array;
}

interface Direction {
  readonly knots: Knots;
  readonly origins: readonly Origin[];
}

/** A clamped knot vector in which an inner breakpoint stands degree - order times. */
function directionOf(block: Block, side: 0 | 1): Direction {
  const { grid, first, count } = block;
  const degree = grid.degree[side];
  const values = grid.breakpoints[side].subarray(first[side], first[side] + count[side] + 1);
  const times = [
    degree + 1,
    ...joins(block, side).map(({ order }) => degree - Math.max(order, 0)),
    degree + 1,
  ];
  const knots = Array.from(values).flatMap((value, k) =>
    Array.from({ length: times[k] }, () => value),
  );
  // A control point is the polar form of any patch below it at the knots between; the patch around
  // the middle of these extrapolates least.
  let patch = 0;
  const origins = Array.from({ length: knots.length - degree - 1 }, (_, k): Origin => {
    const between = knots.slice(k + 1, k + degree + 1);
    const middle = between.reduce((total, value) => total + value, 0) / degree;
    while (patch < count[side] - 1 && values[patch + 1] < middle) patch++;
    return {
      patch: first[side] + patch,
      shares: polarShares(values[patch], values[patch + 1], between),
    };
  });
  return { knots: Float64Array.from(knots), origins };
}

function netOf(block: Block): ControlNet {
  const { grid } = block;
  const [u, v] = [directionOf(block, 0), directionOf(block, 1)];
  const [columns, rows] = [u.origins.length, v.origins.length];
  const points = new Float64Array(3 * columns * rows);
  let at = 0;
  for (const across of v.origins)
    for (const along of u.origins) {
      const patch = grid.patches[across.patch * columnsOf(grid) + along.patch];
      let from = 0;
      for (const q of across.shares)
        for (const p of along.shares) {
          const share = p * q;
          for (let axis = 0; axis < 3; axis++) points[at + axis] += share * patch[from + axis];
          from += 3;
        }
      at += 3;
    }
  return { degree: grid.degree, knots: [u.knots, v.knots], columns, rows, points, weights: null };
}

/** Runs of patches between torn joins: the first of each and how many. */
function runs(found: readonly Join[], tolerance: number): [first: number, count: number][] {
  const cuts = found.flatMap(({ gap }, k) => (gap <= tolerance ? [] : [k + 1]));
  const ends = [...cuts, found.length + 1];
  return [0, ...cuts].map((start, k) => [start, ends[k] - start]);
}

/**
 * Patches joined into B-splines. A breakpoint becomes a knot of multiplicity degree - k where the
 * patches on both sides agree in derivatives 0 to k all along it (once at least: the file has it), and
 * of multiplicity degree where only their edges meet, within `tolerance` (mm; the edge of one of them
 * is taken). Where they do not, the grid is cut along the whole line, and each block is a net of its own.
 * Derivatives 0 to k agree where the extension of one patch and the other patch differ in their Bezier
 * points 0 to k by at most the share `smooth` of the patch's size.
 */
export function joinedPatches(
  grid: PatchGrid,
  tolerance: number,
  smooth: number = allDigits,
): JoinedPatches {
  const count = grid.breakpoints.map((values) => values.length - 1) as [number, number];
  const whole: Block = { grid, smooth, first: [0, 0], count };
  const [across, along] = [joins(whole, 0), joins(whole, 1)];
  const torn = [...across, ...along].filter(({ gap }) => !(gap <= tolerance));
  return {
    nets: runs(along, tolerance).flatMap(([j, rows]) =>
      runs(across, tolerance).map(([i, columns]) =>
        netOf({ grid, smooth, first: [i, j], count: [columns, rows] }),
      ),
    ),
    gap: torn.reduce((most, { gap }) => Math.max(most, gap), 0),
  };
}

import {
  bernsteinRoots,
  bernsteinValue,
  bracketedRoot,
  heldCoefficients,
  patchHalves,
  type BernsteinPatch,
} from './bernsteinPatch.ts';
import type { Coordinates } from './splineCurve.ts';
import { distance, type Vector } from './vector.ts';

/** A line in the parameter plane along which a function is 0. */
export interface ContourLine {
  readonly points: readonly Coordinates[];
  /** Its last point is its first; on a surface that closes, up to a period. */
  readonly isClosed: boolean;
}

/** Where the contours lie, and how finely they are wanted. */
export interface ContourSheet {
  readonly domain: readonly [readonly [number, number], readonly [number, number]];
  /** Width of the domain in a direction in which the surface closes, else null. */
  readonly period: readonly [number | null, number | null];
  /** The place in space of parameters, mm. */
  readonly place: (at: Coordinates) => Vector;
  /** No leg of a line is farther than this from the contour at its middle, mm. */
  readonly tolerance: number;
}

/** Halvings of a patch in each direction before a cell is taken as it is. */
const deepest = 11;
/** Halvings of a line's legs. */
const finest = 16;
/** Halvings that each leg gets, so that one that crosses the contour at its middle is not taken for it. */
const coarsest = 2;

type Leg = readonly Coordinates[];

/** Sign of the change of coefficients along u (0) or v (1): 1 rises, -1 falls, 0 does both or neither. */
function trend({ degree: [p, q], coefficients: c }: BernsteinPatch, side: 0 | 1): number {
  let [rises, falls] = [false, false];
  const step = side === 0 ? 1 : p + 1;
  for (let j = 0; j <= (side === 0 ? q : q - 1); j++)
    for (let i = 0; i <= (side === 0 ? p - 1 : p); i++) {
      const at = j * (p + 1) + i;
      const change = c[at + step] - c[at];
      if (change > 0) rises = true;
      else if (change < 0) falls = true;
      if (rises && falls) return 0;
    }
  return rises ? 1 : falls ? -1 : 0;
}

/**
 * The contour in a cell in which the function only rises (or only falls) along `across`: at each place
 * along the other direction there is at most one. Its pieces end where it leaves the cell by the two
 * sides that lie across.
 */
function graphLegs(cell: BernsteinPatch, across: 0 | 1, sheet: ContourSheet): Leg[] {
  const along = across === 0 ? 1 : 0;
  const [low, high] = [heldCoefficients(cell, across, 0), heldCoefficients(cell, across, 1)];
  const lowRoots = bernsteinRoots(low);
  const highRoots = bernsteinRoots(high);
  const at = (t: number): Coordinates => {
    const held = heldCoefficients(cell, along, t);
    return place(
      t,
      held[0] < 0 === held[held.length - 1] < 0 ? nearerEnd(held) : bracketedRoot(held),
    );
  };
  const place = (t: number, root: number): Coordinates => {
    const [a, b] = [cell.u, cell.v];
    const [s, r] = along === 0 ? [t, root] : [root, t];
    return [a[0] + s * (a[1] - a[0]), b[0] + r * (b[1] - b[0])];
  };
  const ends = [
    ...lowRoots.map((t) => ({ t, root: 0 })),
    ...highRoots.map((t) => ({ t, root: 1 })),
  ].sort((a, b) => a.t - b.t);
  const cuts: { readonly t: number; readonly root: number | null }[] = [
    { t: 0, root: null },
    ...ends,
    { t: 1, root: null },
  ];
  const legs: Leg[] = [];
  for (let k = 0; k + 1 < cuts.length; k++) {
    const [from, to] = [cuts[k], cuts[k + 1]];
    if (!(to.t > from.t)) continue;
    const middle = (from.t + to.t) / 2;
    if (bernsteinValue(low, middle) < 0 === bernsteinValue(high, middle) < 0) continue;
    const first = from.root === null ? at(from.t) : place(from.t, from.root);
    const last = to.root === null ? at(to.t) : place(to.t, to.root);
    const ends: [Stop, Stop] = [
      { t: from.t, point: sheet.place(first) },
      { t: to.t, point: sheet.place(last) },
    ];
    legs.push([first, ...between(...ends, at, sheet, 0), last]);
  }
  return legs;
}

/** The end of a polynomial's range at which it is nearer to 0. */
const nearerEnd = (held: Float64Array): number =>
  Math.abs(held[0]) <= Math.abs(held[held.length - 1]) ? 0 : 1;

/** A place on a contour in a cell where it is a graph: how far along the cell, and where in space. */
interface Stop {
  readonly t: number;
  readonly point: Vector;
}

/** The points between two of a contour, as near to each other as the sheet's tolerance asks. */
function between(
  first: Stop,
  last: Stop,
  at: (t: number) => Coordinates,
  sheet: ContourSheet,
  depth: number,
): Coordinates[] {
  const t = (first.t + last.t) / 2;
  if (depth >= finest || !(t > first.t && t < last.t)) return [];
  const own = at(t);
  const middle: Stop = { t, point: sheet.place(own) };
  if (depth >= coarsest) {
    const [a, b] = [first.point, last.point];
    const chord: Vector = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2, (a[2] + b[2]) / 2];
    if (distance(middle.point, chord) <= sheet.tolerance) return depth === coarsest ? [own] : [];
  }
  return [
    ...between(first, middle, at, sheet, depth + 1),
    own,
    ...between(middle, last, at, sheet, depth + 1),
  ];
}

/** The contour in a cell too small to be halved, from the signs at its corners. */
function cornerLegs({ degree: [p, q], coefficients: c, u, v }: BernsteinPatch): Leg[] {
  const corners = [
    { at: [u[0], v[0]] as const, value: c[0] },
    { at: [u[1], v[0]] as const, value: c[p] },
    { at: [u[1], v[1]] as const, value: c[q * (p + 1) + p] },
    { at: [u[0], v[1]] as const, value: c[q * (p + 1)] },
  ];
  const crossings = corners.flatMap((a, k): Coordinates[] => {
    const b = corners[(k + 1) % 4];
    if (a.value < 0 === b.value < 0) return [];
    const t = a.value / (a.value - b.value);
    return [[a.at[0] + t * (b.at[0] - a.at[0]), a.at[1] + t * (b.at[1] - a.at[1])]];
  });
  return crossings.length === 4
    ? [crossings.slice(0, 2), crossings.slice(2)]
    : crossings.length === 2
      ? [crossings]
      : [];
}

/** All pieces of contour in a cell: halved until the function only rises or only falls one way. */
function cellLegs(cell: BernsteinPatch, sheet: ContourSheet, depth: number, found: Leg[]): void {
  const { coefficients } = cell;
  let [below, above] = [false, false];
  for (const c of coefficients)
    if (c < 0) below = true;
    else above = true;
  if (!below || !above) return;
  const [alongU, alongV] = [trend(cell, 0), trend(cell, 1)];
  if (alongU !== 0 || alongV !== 0) {
    const steeper = alongU !== 0 && alongV !== 0 ? steeperSide(cell) : alongU !== 0 ? 0 : 1;
    found.push(...graphLegs(cell, steeper, sheet));
    return;
  }
  if (depth >= deepest) {
    found.push(...cornerLegs(cell));
    return;
  }
  for (const half of patchHalves(cell, 0))
    for (const quarter of patchHalves(half, 1)) cellLegs(quarter, sheet, depth + 1, found);
}

/** The direction along which the function changes more from side to side of a cell. */
function steeperSide({ degree: [p, q], coefficients: c }: BernsteinPatch): 0 | 1 {
  const corner = (i: number, j: number): number => c[j * q * (p + 1) + i * p];
  const alongU = Math.abs(corner(1, 0) - corner(0, 0)) + Math.abs(corner(1, 1) - corner(0, 1));
  const alongV = Math.abs(corner(0, 1) - corner(0, 0)) + Math.abs(corner(1, 1) - corner(1, 0));
  return alongU >= alongV ? 0 : 1;
}

/** Ends of pieces nearer than this share of the domain are one place. */
const closeShare = 1e-7;

interface End {
  readonly leg: number;
  readonly isLast: boolean;
  /** As shares of the domain. */
  readonly at: Coordinates;
}

/** Pairs of ends that are one place, each end in one pair at most, the nearest first. */
function joinedEnds(
  ends: readonly End[],
  copies: (at: Coordinates) => Coordinates[],
): Map<End, End> {
  const cells = new Map<string, End[]>();
  const key = (x: number, y: number): string => `${x} ${y}`;
  const cellOf = (value: number): number => Math.floor(value / closeShare);
  for (const end of ends) {
    const own = key(cellOf(end.at[0]), cellOf(end.at[1]));
    const others = cells.get(own);
    if (others) others.push(end);
    else cells.set(own, [end]);
  }
  const pairs: { readonly a: End; readonly b: End; readonly far: number }[] = [];
  ends.forEach((a) => {
    for (const at of copies(a.at)) {
      const [x, y] = [cellOf(at[0]), cellOf(at[1])];
      for (let dx = -1; dx <= 1; dx++)
        for (let dy = -1; dy <= 1; dy++)
          for (const b of cells.get(key(x + dx, y + dy)) ?? []) {
            if (b === a || b.leg < a.leg || (b.leg === a.leg && !b.isLast)) continue;
            const far = Math.hypot(b.at[0] - at[0], b.at[1] - at[1]);
            if (far <= closeShare) pairs.push({ a, b, far });
          }
    }
  });
  const joined = new Map<End, End>();
  for (const { a, b } of pairs.sort((one, other) => one.far - other.far))
    if (!joined.has(a) && !joined.has(b)) {
      joined.set(a, b);
      joined.set(b, a);
    }
  return joined;
}

/** Pieces put end to end. */
function chained(legs: readonly Leg[], { domain, period }: ContourSheet): ContourLine[] {
  const share = (at: Coordinates): Coordinates => [
    (at[0] - domain[0][0]) / (domain[0][1] - domain[0][0]),
    (at[1] - domain[1][0]) / (domain[1][1] - domain[1][0]),
  ];
  const ends = legs.flatMap((leg, k): [End, End] => [
    { leg: k, isLast: false, at: share(leg[0]) },
    { leg: k, isLast: true, at: share(leg[leg.length - 1]) },
  ]);
  // at the border of a surface that closes, an end lies on the other border as well
  const copies = (at: Coordinates): Coordinates[] => {
    const shifts = ([0, 1] as const).map((side) => {
      if (period[side] === null) return [0];
      if (at[side] <= closeShare) return [0, 1];
      return at[side] >= 1 - closeShare ? [0, -1] : [0];
    });
    return shifts[0].flatMap((du) => shifts[1].map((dv): Coordinates => [at[0] + du, at[1] + dv]));
  };
  const joined = joinedEnds(ends, copies);
  const used = new Set<number>();
  const lines: ContourLine[] = [];
  const follow = (start: End): void => {
    const points: Coordinates[] = [];
    let end: End | undefined = start;
    let isClosed = false;
    while (end && !used.has(end.leg)) {
      used.add(end.leg);
      const leg: Leg = end.isLast ? legs[end.leg].toReversed() : legs[end.leg];
      const previous = points[points.length - 1];
      const repeats =
        previous !== undefined && distanceOf(share(previous), share(leg[0])) <= closeShare;
      points.push(...(repeats ? leg.slice(1) : leg));
      const other: End = ends[2 * end.leg + (end.isLast ? 0 : 1)];
      end = joined.get(other);
      isClosed = end === start;
    }
    lines.push({ points, isClosed });
  };
  for (const end of ends) if (!joined.has(end) && !used.has(end.leg)) follow(end);
  for (const end of ends) if (!used.has(end.leg)) follow(end);
  return lines;
}

const distanceOf = (a: Coordinates, b: Coordinates): number => Math.hypot(a[0] - b[0], a[1] - b[1]);

/**
 * The lines along which a piecewise polynomial is 0, ordered, closed ones included, none missed that is
 * wider than a 2048th of a patch: a cell is halved until the function only rises or only falls along u
 * or v (its Bernstein coefficients do), where the contour is a graph and its ends are roots on the
 * cell's sides. 0 counts as positive, so that a touch from above is no contour. `patches` are of one
 * function, which is continuous across them.
 */
export function contourLines(
  patches: readonly BernsteinPatch[],
  sheet: ContourSheet,
): ContourLine[] {
  const legs: Leg[] = [];
  for (const patch of patches) cellLegs(patch, sheet, 0, legs);
  const [width, height] = sheet.domain.map(([from, to]) => to - from);
  // a leg without length would join itself and part the two beside it
  const isLong = (leg: Leg): boolean =>
    leg.some(
      ([u, v]) => Math.hypot((u - leg[0][0]) / width, (v - leg[0][1]) / height) > closeShare / 4,
    );
  return chained(legs.filter(isLong), sheet);
}

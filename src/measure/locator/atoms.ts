import type { PanelSpectrum } from './panelSpectrum.ts';

/**
 * What one fault can be: a point off along its normal, a point slid within the surface, a line off,
 * a run of a line's points off.
 */
export type AtomKind = 'point' | 'drift' | 'line' | 'run';

/** Whether an atom moves points of a line together. */
export const isLinear = (kind: AtomKind): boolean => kind === 'line' || kind === 'run';

export interface Atom {
  readonly kind: AtomKind;
  /** Point of a point or drift, counted as in the spectrum; -1 for a line or a run. */
  readonly point: number;
  /** Place along the longer side, or null for a line that runs along it. */
  readonly i: number | null;
  /** Place along the shorter side, or null for a line that runs along it. */
  readonly j: number | null;
  /** Largest share of a displacement by 1 that the surface shows. */
  readonly peak: number;
  /** Which of `directions` a point or drift moves along; which of the profiles a line has. */
  readonly way: number;
  /** First and last place along its line, of a run. */
  readonly from?: number;
  readonly to?: number;
}

/** Neighbouring points of a row, from `start` on, and how far each moves along its normal at strength 1. */
interface RowMove {
  readonly start: number;
  readonly strengths: readonly number[];
}

/** Points that a line or run moves along their normals, and how far at strength 1. */
export interface LineMove {
  readonly members: readonly number[];
  readonly strengths: readonly number[];
}

/** Lines, or runs, of one row of points in the inside of the net: they stand together in the list. */
export interface LineBundle {
  readonly kind: 'line' | 'run';
  /** Where the row crosses, as in Atom. */
  readonly i: number | null;
  readonly j: number | null;
  /** The first of them in the list. */
  readonly first: number;
  readonly moves: readonly RowMove[];
  /** All points of the row in order. */
  readonly members: readonly number[];
  /**
   * squared()[axis][k * members + b]: square of the k-th one's coefficient b along the row; worked
   * out when first asked for.
   */
  readonly squared: () => readonly Float64Array[];
}

/** All atoms of a panel: for each direction every point, then the lines, then the runs. */
export interface Atoms {
  readonly list: readonly Atom[];
  /** Unit vectors at the points, one array a direction, [3 * k + axis]. */
  readonly directions: readonly Float64Array[];
  readonly bundles: readonly LineBundle[];
  /** How many atoms stand before the runs. */
  readonly plainCount: number;
  /** What a line or run moves, by its number in the list. */
  readonly lineMove: (atom: number) => LineMove;
  /**
   * patterns[axis][atom * coefficients + c]: how far a coefficient moves at strength 1; zeros before
   * the atom was filled.
   */
  readonly patterns: readonly Float64Array[];
  /** Works out the patterns of one atom, where that is not done yet: few are ever asked for. */
  readonly fill: (atom: number) => void;
}

/** Strengths of a line's points, end to end: stiff, faded out at both ends, one arch. */
const profiles: readonly ((share: number) => number)[] = [
  () => 1,
  (share) => {
    const t = Math.min(1, Math.min(share, 1 - share) / 0.35);
    return t * t * (3 - 2 * t);
  },
  (share) => Math.sin(Math.PI * share),
];

/** Fewest points of a run: one or two are points; and so many of the row stand at least. */
const shortestRun = 3;
const leastBeside = 2;
/** Rows with fewer points have no runs: what is off and what is not could be changed over. */
const leastRow = 6;

/** A row of points in the inside of the net, as `LineBundle`, and the coefficients of each point. */
interface Row extends Pick<LineBundle, 'i' | 'j' | 'members'> {
  readonly peak: number;
  /** single[axis][place * members + b]: coefficient b along the row of its point at `place`. */
  readonly single: readonly Float64Array[];
}

/** Inner rows of nets with at least 5 of them. */
function innerRows(spectrum: PanelSpectrum): Row[] {
  const [n, m] = spectrum.count;
  const made: Row[] = [];
  const add = (side: 0 | 1): void => {
    const { vectors, count } = spectrum.fitted[1 - side];
    for (let place = 1; place < spectrum.count[side] - 1; place++) {
      const members = Array.from({ length: count }, (_, q) =>
        side === 0 ? place * m + q : q * m + place,
      );
      const single = [0, 1, 2].map((axis) => {
        const own = new Float64Array(count * count);
        for (let at = 0; at < own.length; at++)
          own[at] = vectors[at] * spectrum.normals[3 * members[Math.floor(at / count)] + axis];
        return own;
      });
      const at = side === 0 ? { i: place, j: null } : { i: null, j: place };
      made.push({ ...at, peak: spectrum.fitted[side].peaks[place], members, single });
    }
  };
  if (n >= 5 && m >= 4) add(0);
  if (m >= 5 && n >= 4) add(1);
  return made;
}

/** Coefficients along a row of what a line or run of it moves, on one axis, at strength 1. */
function alongSpectrum({ members, single }: Row, axis: number, move: RowMove): Float64Array {
  const count = members.length;
  const made = new Float64Array(count);
  move.strengths.forEach((strength, q) => {
    const from = (move.start + q) * count;
    for (let b = 0; b < count; b++) made[b] += strength * single[axis][from + b];
  });
  return made;
}

/** The row as a whole with each profile. */
function wholeLines({ members }: Row): RowMove[] {
  const count = members.length;
  return profiles.map((profile) => ({
    start: 0,
    strengths: members.map((_, q) => profile((q + 0.5) / count)),
  }));
}

/** All points off alike, by the length of a run. */
const alike: (readonly number[])[] = [];

/** Its runs of three points or more, two short of the whole row, all of whose points are off alike. */
function runs({ members }: Row): RowMove[] {
  const made: RowMove[] = [];
  const count = members.length;
  const longest = count < leastRow ? 0 : count - leastBeside;
  for (let start = 0; start + shortestRun <= count; start++)
    for (let size = shortestRun; size <= Math.min(longest, count - start); size++) {
      alike[size] ??= Array.from({ length: size }, () => 1);
      made.push({ start, strengths: alike[size] });
    }
  return made;
}

/** Squares of the coefficients along a row, move by move; each run adds a point to the one before. */
function squaredSpectra(
  row: Row,
  kind: LineBundle['kind'],
  moves: readonly RowMove[],
  axis: number,
): Float64Array {
  const count = row.members.length;
  const made = new Float64Array(moves.length * count);
  const single = row.single[axis];
  let along: Float64Array = new Float64Array(count);
  for (let k = 0, at = 0; k < moves.length; k++) {
    const { start, strengths } = moves[k];
    if (kind === 'line' || k === 0 || moves[k - 1].start !== start)
      along = alongSpectrum(row, axis, moves[k]);
    else {
      const last = (start + strengths.length - 1) * count;
      for (let b = 0; b < count; b++) along[b] += single[last + b];
    }
    for (let b = 0; b < count; b++, at++) made[at] = along[b] * along[b];
  }
  return made;
}

/** Lines or runs of a row, of which the first stands at `first` in the list. */
function bundle(row: Row, kind: LineBundle['kind'], first: number): LineBundle {
  const { i, j, members } = row;
  const moves = kind === 'line' ? wholeLines(row) : runs(row);
  let squared: readonly Float64Array[] | null = null;
  return {
    kind,
    i,
    j,
    first,
    moves,
    members,
    squared: () => (squared ??= [0, 1, 2].map((axis) => squaredSpectra(row, kind, moves, axis))),
  };
}

function atomsOf({ kind, moves, i, j }: LineBundle, peak: number): Atom[] {
  return moves.map(({ start, strengths }, k): Atom =>
    kind === 'line'
      ? { kind, point: -1, i, j, peak, way: k }
      : { kind, point: -1, i, j, peak, way: 0, from: start, to: start + strengths.length - 1 },
  );
}

function collected(
  spectrum: PanelSpectrum,
  directions: readonly Float64Array[],
  rows: readonly Row[],
  kinds: readonly LineBundle['kind'][],
): Atoms {
  const [n, m] = spectrum.count;
  const [peaksU, peaksV] = spectrum.fitted.map(({ peaks }) => peaks);
  const { count, u, v } = spectrum.degrees;
  const list: Atom[] = directions.flatMap((_, way) =>
    Array.from({ length: spectrum.pointCount }, (_point, k): Atom => {
      const [i, j] = [Math.floor(k / m), k % m];
      const kind = way === 0 ? 'point' : 'drift';
      return { kind, point: k, i, j, peak: peaksU[i] * peaksV[j], way };
    }),
  );
  const bundles: LineBundle[] = [];
  for (const kind of kinds)
    for (const row of rows) {
      const made = bundle(row, kind, list.length);
      bundles.push(made);
      list.push(...atomsOf(made, row.peak));
    }
  const bundleOf = (atom: number): LineBundle => bundles.findLast(({ first }) => first <= atom)!;
  const lineMove = (atom: number): LineMove => {
    const { moves, members, first } = bundleOf(atom);
    const { start, strengths } = moves[atom - first];
    return { members: members.slice(start, start + strengths.length), strengths };
  };
  const patterns = [0, 1, 2].map(() => new Float64Array(list.length * count));
  const filled = new Uint8Array(list.length);
  const fill = (atom: number): void => {
    if (filled[atom] === 1) return;
    filled[atom] = 1;
    const { kind, point, way, i, j } = list[atom];
    const from = atom * count;
    for (let axis = 0; axis < 3; axis++) {
      const made = patterns[axis];
      if (!isLinear(kind)) {
        const part = directions[way][3 * point + axis];
        for (let c = 0; c < count; c++) made[from + c] = part * spectrum.marks[point * count + c];
        continue;
      }
      const { first, moves } = bundleOf(atom);
      const row = rows.find((one) => one.i === i && one.j === j)!;
      const along = alongSpectrum(row, axis, moves[atom - first]);
      for (let c = 0; c < count; c++)
        made[from + c] =
          i === null
            ? along[u[c]] * spectrum.fitted[1].vectors[(j ?? 0) * m + v[c]]
            : spectrum.fitted[0].vectors[i * n + u[c]] * along[v[c]];
    }
  };
  const plainCount = bundles.find(({ kind }) => kind === 'run')?.first ?? list.length;
  return { list, directions, bundles, plainCount, lineMove, patterns, fill };
}

/** Points along their normals only. */
export const normalAtoms = (spectrum: PanelSpectrum): Atoms =>
  collected(spectrum, [spectrum.normals], [], []);

const everyWay = (spectrum: PanelSpectrum): readonly Float64Array[] => [
  spectrum.normals,
  spectrum.alongU,
  spectrum.alongV,
];

/**
 * Points along their normals, points slid along their row or column, and interior rows and columns
 * of nets with at least 5 of them, with three profiles.
 */
export const atomsWithoutRuns = (spectrum: PanelSpectrum): Atoms =>
  collected(spectrum, everyWay(spectrum), innerRows(spectrum), ['line']);

/** The same and the runs of those rows and columns. */
export const allAtoms = (spectrum: PanelSpectrum): Atoms =>
  collected(spectrum, everyWay(spectrum), innerRows(spectrum), ['line', 'run']);

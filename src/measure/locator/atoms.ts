import type { PanelSpectrum } from './panelSpectrum.ts';

/** What one fault can be: a point off along its normal, a point slid within the surface, a line off. */
export type AtomKind = 'point' | 'drift' | 'line';

export interface Atom {
  readonly kind: AtomKind;
  /** Point of a point or drift, counted as in the spectrum; -1 for a line. */
  readonly point: number;
  /** Place along the longer side, or null for a line that runs along it. */
  readonly i: number | null;
  /** Place along the shorter side, or null for a line that runs along it. */
  readonly j: number | null;
  /** Largest share of a displacement by 1 that the surface shows. */
  readonly peak: number;
  /** Which of `directions` a point or drift moves along; which of the profiles a line has. */
  readonly way: number;
}

/** All atoms of a panel: for each direction every point, then the lines. */
export interface Atoms {
  readonly list: readonly Atom[];
  /** Unit vectors at the points, one array a direction, [3 * k + axis]. */
  readonly directions: readonly Float64Array[];
  /** Displacement of every point by a line of strength 1, one array a line, [3 * k + axis]. */
  readonly lineMoves: readonly Float64Array[];
  /** Coefficients of each line's moves by degree along the line, one array an axis. */
  readonly lineSpectra: readonly (readonly Float64Array[])[];
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

interface Line {
  readonly atom: Atom;
  readonly moves: Float64Array;
  readonly members: readonly number[];
}

function lines(spectrum: PanelSpectrum): Line[] {
  const [n, m] = spectrum.count;
  const made: Line[] = [];
  const add = (side: 0 | 1): void => {
    const length = spectrum.count[1 - side];
    for (let place = 1; place < spectrum.count[side] - 1; place++) {
      const members = Array.from({ length }, (_, q) =>
        side === 0 ? place * m + q : q * m + place,
      );
      profiles.forEach((profile, way) => {
        const moves = new Float64Array(3 * spectrum.pointCount);
        for (let q = 0; q < length; q++) {
          const k = members[q];
          const strength = profile((q + 0.5) / length);
          for (let axis = 0; axis < 3; axis++)
            moves[3 * k + axis] = spectrum.normals[3 * k + axis] * strength;
        }
        const at = side === 0 ? { i: place, j: null } : { i: null, j: place };
        const peak = spectrum.fitted[side].peaks[place];
        made.push({ atom: { kind: 'line', point: -1, ...at, peak, way }, moves, members });
      });
    }
  };
  if (n >= 5 && m >= 4) add(0);
  if (m >= 5 && n >= 4) add(1);
  return made;
}

/** Coefficients along a line, by degree, of what its points move on each axis. */
function alongSpectra(spectrum: PanelSpectrum, { atom, moves, members }: Line): Float64Array[] {
  const side = atom.i === null ? 0 : 1;
  const { vectors, count } = spectrum.fitted[side];
  return [0, 1, 2].map((axis) => {
    const made = new Float64Array(count);
    members.forEach((k, place) => {
      const by = moves[3 * k + axis];
      for (let b = 0; b < count; b++) made[b] += by * vectors[place * count + b];
    });
    return made;
  });
}

function collected(
  spectrum: PanelSpectrum,
  directions: readonly Float64Array[],
  withLines: boolean,
): Atoms {
  const [n, m] = spectrum.count;
  const [peaksU, peaksV] = spectrum.fitted.map(({ peaks }) => peaks);
  const { count, u, v } = spectrum.degrees;
  const drawn = withLines ? lines(spectrum) : [];
  const points = directions.flatMap((_, way) =>
    Array.from({ length: spectrum.pointCount }, (_point, k): Atom => {
      const [i, j] = [Math.floor(k / m), k % m];
      const kind = way === 0 ? 'point' : 'drift';
      return { kind, point: k, i, j, peak: peaksU[i] * peaksV[j], way };
    }),
  );
  const list = [...points, ...drawn.map(({ atom }) => atom)];
  const lineSpectra = drawn.map((line) => alongSpectra(spectrum, line));
  const patterns = [0, 1, 2].map(() => new Float64Array(list.length * count));
  const filled = new Uint8Array(list.length);
  const fill = (atom: number): void => {
    if (filled[atom] === 1) return;
    filled[atom] = 1;
    const { kind, point, way, i, j } = list[atom];
    const from = atom * count;
    for (let axis = 0; axis < 3; axis++) {
      const made = patterns[axis];
      if (kind !== 'line') {
        const part = directions[way][3 * point + axis];
        for (let c = 0; c < count; c++) made[from + c] = part * spectrum.marks[point * count + c];
        continue;
      }
      const along = lineSpectra[atom - points.length][axis];
      for (let c = 0; c < count; c++)
        made[from + c] =
          i === null
            ? along[u[c]] * spectrum.fitted[1].vectors[(j ?? 0) * m + v[c]]
            : spectrum.fitted[0].vectors[i * n + u[c]] * along[v[c]];
    }
  };
  return {
    list,
    directions,
    lineMoves: drawn.map(({ moves }) => moves),
    lineSpectra,
    patterns,
    fill,
  };
}

/** Points along their normals only. */
export const normalAtoms = (spectrum: PanelSpectrum): Atoms =>
  collected(spectrum, [spectrum.normals], false);

/**
 * Points along their normals, points slid along their row or column, and interior rows and columns
 * of nets with at least 5 of them, with three profiles.
 */
export const allAtoms = (spectrum: PanelSpectrum): Atoms =>
  collected(spectrum, [spectrum.normals, spectrum.alongU, spectrum.alongV], true);

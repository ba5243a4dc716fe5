import {
  polynomialColumns,
  squareColumns,
  taper,
  templateFit,
  templateValue,
  windowLengths,
  type Template,
  type TemplateFit,
  type WindowPoints,
  type WindowShape,
} from './templateFit.ts';

/** Why it is not said whose a wobble is. */
export type WobbleDoubt =
  /** Holes, borders or what is not kept leave too little of the scan, or of the surface. */
  | 'coverage'
  /** The surface has no wobble of this size here to speak of. */
  | 'small'
  /** The surface's own shape outweighs the wobble. */
  | 'design'
  /** A wider and a narrower window do not agree. */
  | 'windows'
  /** The scan's noise, or how unevenly the surface follows it, hides the wobble. */
  | 'noise'
  /** Both have a part in it. */
  | 'shared';

/** Probabilities that the true share is under 0.35, from 0.35 to 0.65, and over 0.65; together 1. */
export interface ShareChances {
  readonly model: number;
  readonly shared: number;
  readonly scan: number;
}

/** Whose a wobble is, and the numbers behind it. */
export interface WobbleShare {
  /** `model`: the scan is even there; `scan`: the scan has it too, in the same sense and size. */
  readonly cause: 'model' | 'scan' | 'unknown';
  /** Why it is unknown; null where it is not. */
  readonly doubt: WobbleDoubt | null;
  /** Probability that the cause is as said, at most 0.99; null where it is unknown. */
  readonly confidence: number | null;
  /** Height of the surface's wobble at its top, outward, mm. */
  readonly surface: number;
  /** By how much the scan lies outside the surface in the wobble's shape, mm, and its standard error. */
  readonly gap: number;
  readonly gapError: number;
  /** The scan's wobble over the surface's, and its standard error. */
  readonly share: number;
  readonly shareError: number;
  /** How much of what the surface has there beyond polynomials is this wobble: a correlation, 0 to 1. */
  readonly likeness: number;
  /** Difference of the surface's wobble between both windows over itself. */
  readonly change: number;
  /** What is left of the information, as a share of a scan without holes and borders. */
  readonly coverage: number;
  /** What the fitted polynomials make of height and gap at the places asked, mm; null where nothing was fitted. */
  readonly levels: TemplateFit['levels'] | null;
  /** Null where nothing is to be said for coverage, size, design or windows. */
  readonly chances: ShareChances | null;
}

/** What is known of a suspected wobble's place: its axes' origin is its top. */
export interface SuspectShape {
  /** Full wavelengths along x and y, mm; one may be Infinity: a ridge. */
  readonly lengths: readonly [number, number];
  /** Other suspects nearby, in the axes of this one. */
  readonly beside: readonly Template[];
  /** Median length of the scan's edges, mm. */
  readonly spacing: number;
}

/** The window that the numbers are from, and one to compare. */
export const wideWindow: WindowShape = { reach: 1.7, degree: 5 };
const narrowWindow: WindowShape = { reach: 1.35, degree: 4 };

// All limits below were chosen by our own simulation (test/wobble).
/** Wobbles smaller than this are not told apart from rounding and fitting, mm (root of the mean square). */
const leastRms = 0.004;
/** Under this share of that a share of the wobble is none. */
const vanishing = 1e-6;
/** Below it the design has as much of the shape as the wobble; to say `scan` of, more is asked. */
const leastLikeness = 0.35;
const leastScanLikeness = 0.65;
/** The same of the difference between both windows. */
const mostChange = 0.6;
const mostScanChange = 0.35;
const leastCoverage = 0.12;
/** Something is said from this chance on, and never with more than the other. */
const leastChance = 0.9;
const mostConfidence = 0.99;
/** A share under the first is the model's, over the second the scan's. */
const bounds = [0.35, 0.65] as const;

const normalDensity = (x: number, mean: number, deviation: number): number =>
  Math.exp(-0.5 * ((x - mean) / deviation) ** 2) / (deviation * Math.sqrt(2 * Math.PI));
const evenDensity = (x: number, low: number, high: number): number =>
  x >= low && x <= high ? 1 / (high - low) : 0;

/** How likely a true share is before anything is measured: the model's, the scan's, followed short, shared, opposite. */
const prior = (share: number): number =>
  0.27 * normalDensity(share, 0, 0.08) +
  0.27 * normalDensity(share, 1.03, 0.12) +
  0.08 * evenDensity(share, 1.1, 2.5) +
  0.23 * evenDensity(share, 0.1, 0.9) +
  0.15 * evenDensity(share, -2.5, -0.1) +
  0.002 * evenDensity(share, -4, 5);

const gridStep = 0.01;
const grid = Array.from({ length: 901 }, (_, k) => -4 + gridStep * k);
const priors = grid.map(prior);

/** Student's density with 4 degrees of freedom, but for a factor. */
const studentDensity = (t: number): number => (1 + (t * t) / 4) ** -2.5;

/** Chances of the true share, given the measured one and its error: Bayes' rule on a grid. */
function chancesOf(share: number, error: number): ShareChances {
  let [model, shared, scan] = [0, 0, 0];
  // a share far beyond the grid says no more than one at its end
  const held = Math.min(Math.max(share, grid[0]), grid[grid.length - 1]);
  grid.forEach((at, k) => {
    const weight = priors[k] * studentDensity((held - at) / error);
    if (at < bounds[0]) model += weight;
    else if (at > bounds[1]) scan += weight;
    else shared += weight;
  });
  const whole = model + shared + scan;
  return { model: model / whole, shared: shared / whole, scan: scan / whole };
}

/** Cells a wavelength for the coverage. */
const cellsPerWave = 12;
/** A cell is covered by a point so near to its middle: in edges of the scan, or in cells. */
const coverEdges = 0.8;
const coverCells = 0.6;

/** Information on a template's size that a set of places in its window holds, polynomials and others aside. */
function information(
  x: Float64Array,
  y: Float64Array,
  { lengths, beside }: SuspectShape,
  shape: WindowShape,
): number {
  const wide = windowLengths(lengths);
  const weights = Float64Array.from(x, (value, k) => taper(wide, shape, value, y[k]));
  const valued = (template: Template): Float64Array =>
    Float64Array.from(x, (value, k) => templateValue(template, value, y[k]));
  const bump = valued({ at: [0, 0], turn: [1, 0], lengths });
  const columns = squareColumns(
    [
      ...polynomialColumns(
        x.map((value) => value / (shape.reach * wide[0])),
        y.map((value) => value / (shape.reach * wide[1])),
        shape.degree,
      ),
      ...beside.map(valued),
      bump,
    ],
    weights,
  );
  const last = columns[columns.length - 1];
  if (!last) return 0;
  let part = 0;
  for (let k = 0; k < x.length; k++) part += weights[k] * last[k] * bump[k];
  return part * part;
}

/** The share of the information in a whole window that those of its cells hold in which the scan has points. */
function coverageOf(points: WindowPoints, suspect: SuspectShape, shape: WindowShape): number {
  if (points.x.length === 0) return 0;
  const [lx, ly] = windowLengths(suspect.lengths);
  const cell = [lx / cellsPerWave, ly / cellsPerWave];
  const half = Math.ceil(shape.reach * cellsPerWave);
  const columns = 2 * half + 1;
  const seen = new Uint8Array(columns * columns);
  const near = cell.map((size) => Math.max(coverCells, (coverEdges * suspect.spacing) / size));
  for (let k = 0; k < points.x.length; k++) {
    const [x, y] = [points.x[k] / cell[0], points.y[k] / cell[1]];
    const lastRow = Math.min(half, Math.floor(y + near[1]));
    const lastColumn = Math.min(half, Math.floor(x + near[0]));
    for (let j = Math.max(-half, Math.ceil(y - near[1])); j <= lastRow; j++)
      for (let i = Math.max(-half, Math.ceil(x - near[0])); i <= lastColumn; i++)
        seen[(j + half) * columns + i + half] = 1;
  }
  const all: (readonly [number, number, number])[] = [];
  for (let j = -half; j <= half; j++)
    for (let i = -half; i <= half; i++) {
      const [x, y] = [i * cell[0], j * cell[1]];
      if (taper([lx, ly], shape, x, y) > 0) all.push([x, y, seen[(j + half) * columns + i + half]]);
    }
  const held = (which: readonly (readonly [number, number, number])[]): number =>
    information(
      Float64Array.from(which, ([x]) => x),
      Float64Array.from(which, ([, y]) => y),
      suspect,
      shape,
    );
  const covered = all.filter(([, , isSeen]) => isSeen === 1);
  if (covered.length === all.length) return 1;
  const whole = held(all);
  return whole > 0 ? Math.min(1, held(covered) / whole) : 0;
}

/** Whose a wobble is, by the scan's share of it. */
export type ShareVerdict = Pick<WobbleShare, 'cause' | 'doubt' | 'confidence' | 'chances'>;

/** Whose a wobble is of which the scan has a share, known to a standard error. */
export function causeOf(share: number, error: number): ShareVerdict {
  const chances = chancesOf(share, error);
  const cause =
    chances.model >= leastChance ? 'model' : chances.scan >= leastChance ? 'scan' : null;
  return cause === null
    ? {
        cause: 'unknown',
        doubt: chances.shared >= leastChance ? 'shared' : 'noise',
        confidence: null,
        chances,
      }
    : { cause, doubt: null, confidence: Math.min(chances[cause], mostConfidence), chances };
}

const empty = new Float64Array(0);

/** Weights of the parts of a share's standard error. */
const errorWeights = { gap: 0.95, change: 0.35, likeness: 0.15, least: 0.03 } as const;

/**
 * Whose a suspected wobble is, from a scan's points around it: a bump of the suspect's place and size
 * is fitted to the surface and to the scan's distance from it, beyond all that polynomials make of
 * either. The scan's share is 1 + gap / surface: an instrument's gain, not a regression of the scan's
 * wobble on the surface's, since the design's own shape is in both and would draw that to 1. Method and
 * constants: our own simulation (test/wobble), weighted least squares, M-estimates (Huber, 1964),
 * variance from blocks; nothing published of this whole. `places` (x, y one after the other): where the
 * fitted polynomials are wanted, for a picture.
 */
export function wobbleShare(
  points: WindowPoints,
  suspect: SuspectShape,
  places: Float64Array = new Float64Array(0),
): WobbleShare {
  const { lengths, beside, spacing } = suspect;
  const coverage = coverageOf(points, suspect, wideWindow);
  const nothing = (doubt: WobbleDoubt): WobbleShare => ({
    cause: 'unknown',
    doubt,
    confidence: null,
    surface: 0,
    gap: 0,
    gapError: 0,
    share: 0,
    shareError: 0,
    likeness: 0,
    change: 0,
    coverage,
    levels: null,
    chances: null,
  });
  const wide = templateFit(points, lengths, beside, spacing, wideWindow, places);
  const narrow = templateFit(points, lengths, beside, spacing, narrowWindow, empty);
  if (!wide || !narrow) return nothing('coverage');
  if (wide.rms < vanishing * leastRms) return nothing('small');
  const { surface, gap, gapError, likeness, levels } = wide;
  const share = 1 + gap / surface;
  const change = Math.abs((surface - narrow.surface) / surface);
  const errors = {
    noise: (errorWeights.gap * gapError) / Math.abs(surface),
    windows: Math.abs(1 - share) * errorWeights.change * change,
    design: Math.abs(1 - share) * errorWeights.likeness * Math.sqrt(1 / likeness ** 2 - 1),
  };
  const shareError = Math.hypot(errors.noise, errors.windows, errors.design) + errorWeights.least;
  const numbers = { surface, gap, gapError, share, shareError, likeness, change, coverage, levels };
  const unknown = (doubt: WobbleDoubt, chances: ShareChances | null): WobbleShare => ({
    cause: 'unknown',
    doubt,
    confidence: null,
    ...numbers,
    chances,
  });
  if (coverage < leastCoverage) return unknown('coverage', null);
  if (wide.rms < leastRms) return unknown('small', null);
  if (likeness < leastLikeness) return unknown('design', null);
  if (change > mostChange) return unknown('windows', null);
  const chances = chancesOf(share, shareError);
  const said = (cause: 'model' | 'scan'): WobbleShare => ({
    cause,
    doubt: null,
    confidence: Math.min(chances[cause], mostConfidence),
    ...numbers,
    chances,
  });
  if (chances.model >= leastChance) return said('model');
  if (chances.scan >= leastChance) {
    // what surface and scan both have may be the design
    if (likeness < leastScanLikeness) return unknown('design', null);
    return change > mostScanChange ? unknown('windows', null) : said('scan');
  }
  if (chances.shared >= leastChance) return unknown('shared', chances);
  const largest = (['noise', 'windows', 'design'] as const).reduce((a, b) =>
    errors[b] > errors[a] ? b : a,
  );
  return unknown(largest, chances);
}

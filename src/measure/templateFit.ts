import { CholeskyDecomposition, Matrix } from 'ml-matrix';

/** Points of a scan over a place of a surface, in the place's own axes; all mm, one number a point. */
export interface WindowPoints {
  /** The foot of the point on the surface, in the plane that touches the surface at the place. */
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Of the surface over that plane, outward, at the foot. */
  readonly height: Float64Array;
  /** Of the scan over the surface, outward. */
  readonly gap: Float64Array;
}

/** A bump whose top is 1: exp(-(4.5^2 / 2) (x^2 / Lx^2 + y^2 / Ly^2)) in its own axes. */
export interface Template {
  /** Its top, mm. */
  readonly at: readonly [number, number];
  /** Direction of its first axis: cosine and sine. */
  readonly turn: readonly [number, number];
  /** Full wavelengths along its axes, mm; one may be Infinity: a ridge. */
  readonly lengths: readonly [number, number];
}

/** How wide a window is, in wavelengths to each side, and the degree of what is taken for design there. */
export interface WindowShape {
  readonly reach: number;
  readonly degree: number;
}

/** What a template finds in a window. */
export interface TemplateFit {
  /** Height of the bump in the surface, and of the scan's over that, mm. */
  readonly surface: number;
  readonly gap: number;
  /** Standard error of `gap`, mm. */
  readonly gapError: number;
  /** Correlation of the bump with what the surface has beyond the polynomials, without its sign. */
  readonly likeness: number;
  /** Root of the mean square of the bump in the surface beyond the polynomials, mm. */
  readonly rms: number;
  /** The polynomials of a fit with bumps, of the surface's height and of the gap, at the places asked, mm. */
  readonly levels: { readonly surface: Float64Array; readonly gap: Float64Array };
}

/** A Gaussian of standard deviation L / 4.5 is as wide at half its height as a cosine's bump of wavelength L. */
const deviationsPerWave = 4.5;
/** Points beyond this number are left out, evenly. */
const mostPoints = 8000;
/** Points a column, at least. */
const leastPointShare = 3;
/** Rounds in which outliers are drawn in. */
const rounds = 6;
/** Huber's bound, in robust standard deviations. */
const huberBound = 2.5;
const deviationPerMedian = 1.4826;
/** Residuals under this share of an edge of the scan are rounding: none is an outlier. */
const leastResidual = 1e-7;
/** A block's side: so many triangles, or this share of the wavelength. */
const blockTriangles = 6;
const blockShare = 1 / 4;
/** Blocks that columns may use up at most, as a share. */
const mostUsed = 0.7;
/** Less of a template beyond the polynomials, as a share of all of it, says nothing. */
const leastInformation = 1e-8;
/** So much of a column's square taken away leaves rounding to be taken as well. */
const muchLost = 1e-2;
/** A column of which less than this is left beside those before it is one of them. */
const leastLeft = 1e-7;

/** The lengths of the window: those of the template, and a ridge's own width along it. */
export const windowLengths = ([a, b]: readonly [number, number]): readonly [number, number] => [
  Number.isFinite(a) ? a : b,
  Number.isFinite(b) ? b : a,
];

/** The weight of a place in a window of a template at 0, 0 along the axes: 0 outside. */
export function taper(
  [lx, ly]: readonly [number, number],
  { reach }: WindowShape,
  x: number,
  y: number,
): number {
  const square = (x / (reach * lx)) ** 2 + (y / (reach * ly)) ** 2;
  return square < 1 ? Math.sqrt(1 - square) : 0;
}

/** The template's value at a place. */
export function templateValue({ at, turn, lengths }: Template, x: number, y: number): number {
  const [dx, dy] = [x - at[0], y - at[1]];
  const a = (turn[0] * dx + turn[1] * dy) / lengths[0];
  const b = (turn[0] * dy - turn[1] * dx) / lengths[1];
  return Math.exp(-0.5 * deviationsPerWave * deviationsPerWave * (a * a + b * b));
}

/** A number that looks random, of a whole number: the mixing of MurmurHash3 (A. Appleby, public domain; from memory). */
function mixed(value: number): number {
  let h = Math.imul(value ^ (value >>> 16), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return (h ^ (h >>> 16)) >>> 0;
}

/** Numbers of the points in the window; where there are too many, some, whatever order they stand in. */
function pointsInWindow(
  { x, y }: Pick<WindowPoints, 'x' | 'y'>,
  lengths: readonly [number, number],
  shape: WindowShape,
): number[] {
  const inside: number[] = [];
  for (let k = 0; k < x.length; k++) if (taper(lengths, shape, x[k], y[k]) > 0) inside.push(k);
  if (inside.length <= mostPoints) return inside;
  const bound = (mostPoints / inside.length) * 2 ** 32;
  return inside.filter((k) => mixed(k) < bound);
}

/** Over the length of the first. */
function plainDot(a: Float64Array, b: Float64Array): number {
  let total = 0;
  for (let k = 0; k < a.length; k++) total += a[k] * b[k];
  return total;
}

/** a times b, over the length of the first. */
function product(a: Float64Array, b: Float64Array): Float64Array {
  const made = new Float64Array(a.length);
  for (let k = 0; k < a.length; k++) made[k] = a[k] * b[k];
  return made;
}

export const weightedDot = (weights: Float64Array, a: Float64Array, b: Float64Array): number =>
  plainDot(product(weights, a), b);

/** a less `factor` times b, in place. */
function take(a: Float64Array, b: Float64Array, factor: number): void {
  for (let k = 0; k < a.length; k++) a[k] -= factor * b[k];
}

/**
 * Columns that span the same and are square to each other under the weights: Gram and Schmidt's method,
 * twice where a column loses much, which is enough (Giraud, Langou and Rozloznik, 2005; from memory).
 * Rows beyond the weights have no say and are carried along.
 */
export function squareColumns(
  columns: readonly Float64Array[],
  weights: Float64Array,
): Float64Array[] {
  const made: Float64Array[] = [];
  const weighted: Float64Array[] = [];
  for (const column of columns) {
    const own = Float64Array.from(column);
    const whole = weightedDot(weights, own, own);
    let left = whole;
    for (let round = 0; round === 0 || (round === 1 && left < muchLost * whole); round++) {
      made.forEach((other, k) => take(own, other, plainDot(weighted[k], own)));
      left = weightedDot(weights, own, own);
    }
    if (!(left > leastLeft * leastLeft * whole)) continue;
    const size = Math.sqrt(left);
    for (let k = 0; k < own.length; k++) own[k] /= size;
    made.push(own);
    weighted.push(product(weights, own));
  }
  return made;
}

/** What is left of values beside columns that are square to each other under the weights (of squareColumns). */
export function leftBeside(
  values: Float64Array,
  columns: readonly Float64Array[],
  weights: Float64Array,
): Float64Array {
  const own = Float64Array.from(values);
  for (const column of columns) take(own, column, weightedDot(weights, column, own));
  return own;
}

/** Products of Chebyshev polynomials T_p(a) T_q(b), p + q <= degree: they span all polynomials of it. */
export function polynomialColumns(
  a: Float64Array,
  b: Float64Array,
  degree: number,
): Float64Array[] {
  const chebyshev = (at: Float64Array): Float64Array[] => {
    const all = [new Float64Array(at.length).fill(1), Float64Array.from(at)];
    for (let p = 2; p <= degree; p++)
      all.push(at.map((t, k) => 2 * t * all[p - 1][k] - all[p - 2][k]));
    return all;
  };
  const [inA, inB] = [chebyshev(a), chebyshev(b)];
  return Array.from({ length: degree + 1 }, (_, whole) => whole).flatMap((whole) =>
    Array.from({ length: whole + 1 }, (_, q) =>
      inA[whole - q].map((value, k) => value * inB[q][k]),
    ),
  );
}

/** The coefficients of values on columns, least squares under weights; null where the columns fall together. */
function solver(
  columns: readonly Float64Array[],
  weights: Float64Array,
): ((values: Float64Array) => number[]) | null {
  const size = columns.length;
  const weighted = columns.map((column) => product(weights, column));
  const gram = Matrix.zeros(size, size);
  for (let i = 0; i < size; i++)
    for (let j = 0; j <= i; j++) {
      const value = plainDot(weighted[i], columns[j]);
      gram.set(i, j, value);
      gram.set(j, i, value);
    }
  const cholesky = new CholeskyDecomposition(gram);
  if (!cholesky.isPositiveDefinite()) return null;
  return (values) =>
    cholesky
      .solve(Matrix.columnVector(weighted.map((column) => plainDot(column, values))))
      .to1DArray();
}

/** What is left of values beside columns. */
function beyond(
  values: Float64Array,
  columns: readonly Float64Array[],
  factors: readonly number[],
): Float64Array {
  const left = Float64Array.from(values);
  columns.forEach((column, k) => take(left, column, factors[k]));
  return left;
}

const median = (values: Float64Array): number => values.sort()[values.length >> 1];

/** Beyond it a residual is an outlier, mm. */
function outlierBound(residuals: Float64Array, spacing: number): number {
  const middle = median(residuals.map(Math.abs));
  return Math.max(huberBound * deviationPerMedian * middle, leastResidual * spacing);
}

/**
 * Residuals of values beside columns that are square under the weights, outliers counting as if they were
 * at the bound: Huber's estimate by his modified residuals (Robust Statistics, 1981, section 7.8; from
 * memory).
 */
function robustResiduals(
  values: Float64Array,
  columns: readonly Float64Array[],
  weights: Float64Array,
  spacing: number,
): Float64Array {
  const weighted = columns.map((column) => product(weights, column));
  const residuals = values.slice(0, weights.length);
  let held = residuals;
  for (let round = 0; round < rounds; round++) {
    const steps = weighted.map((column) => plainDot(column, held));
    columns.forEach((column, k) => take(residuals, column, steps[k]));
    const bound = outlierBound(residuals, spacing);
    held = residuals.map((r) => Math.min(bound, Math.max(-bound, r)));
  }
  return residuals;
}

/** How much larger the variance of a mean is than that of independent residuals, from means over blocks. */
function varianceRatio(
  x: Float64Array,
  y: Float64Array,
  residuals: Float64Array,
  variance: number,
  side: number,
  columns: number,
): number {
  const blocks = new Map<string, { count: number; total: number }>();
  for (let k = 0; k < residuals.length; k++) {
    const key = `${Math.floor(x[k] / side)} ${Math.floor(y[k] / side)}`;
    const block = blocks.get(key);
    if (block) {
      block.count += 1;
      block.total += residuals[k];
    } else blocks.set(key, { count: 1, total: residuals[k] });
  }
  let sum = 0;
  for (const { count, total } of blocks.values()) sum += (total * total) / count;
  const used = Math.min(columns + 1, mostUsed * blocks.size);
  return Math.max(1, sum / variance / (blocks.size - used));
}

/**
 * The bump of a template at 0, 0 along the axes in what surface and scan have in a window beyond all
 * polynomials: least squares under a weight that falls to the window's edge, the gap's reweighted for
 * outliers (Huber, 1964). `beside`: bumps of other suspects, fitted along. Null where there are too few
 * points, or the polynomials leave nothing of the template there. The error of the gap counts in that the scan's
 * noise is alike at neighbouring points: variance of means over blocks (the batch means of time series,
 * in the plane). `places` (x, y one after the other): where the polynomials are wanted.
 */
export function templateFit(
  points: WindowPoints,
  lengths: readonly [number, number],
  beside: readonly Template[],
  spacing: number,
  shape: WindowShape,
  places: Float64Array,
): TemplateFit | null {
  const own: Template = { at: [0, 0], turn: [1, 0], lengths };
  const wide = windowLengths(lengths);
  const inside = pointsInWindow(points, wide, shape);
  const count = inside.length;
  const polynomialCount = ((shape.degree + 1) * (shape.degree + 2)) / 2;
  if (count < leastPointShare * (polynomialCount + 1 + beside.length)) return null;
  const rows = count + places.length / 2;
  const gathered = (from: Float64Array, which: 0 | 1): Float64Array =>
    Float64Array.from({ length: rows }, (_, k) =>
      k < count ? from[inside[k]] : places[2 * (k - count) + which],
    );
  const [x, y] = [gathered(points.x, 0), gathered(points.y, 1)];
  const taken = (from: Float64Array): Float64Array => {
    const values = new Float64Array(rows);
    for (let k = 0; k < count; k++) values[k] = from[inside[k]];
    return values;
  };
  const [height, gap] = [taken(points.height), taken(points.gap)];
  const tapered = Float64Array.from({ length: count }, (_, k) => taper(wide, shape, x[k], y[k]));
  const polynomials = squareColumns(
    polynomialColumns(
      x.map((value) => value / (shape.reach * wide[0])),
      y.map((value) => value / (shape.reach * wide[1])),
      shape.degree,
    ),
    tapered,
  );
  const bumps = [own, ...beside].map((template) =>
    Float64Array.from({ length: rows }, (_, k) => templateValue(template, x[k], y[k])),
  );
  const all = squareColumns([...polynomials, ...bumps], tapered);
  const residuals = robustResiduals(gap, all, tapered, spacing);
  const bound = outlierBound(residuals, spacing);
  const weights = tapered.map((w, k) => w * Math.min(1, bound / Math.abs(residuals[k])));

  const onPolynomials = solver(polynomials, weights);
  if (!onPolynomials) return null;
  const factors = [height, gap, ...bumps].map(onPolynomials);
  const [heightLeft, gapLeft, bumpLeft, ...othersLeft] = [height, gap, ...bumps].map((values, k) =>
    beyond(values, polynomials, factors[k]),
  );
  // what the other bumps explain is theirs
  const onOthers = othersLeft.length > 0 ? solver(othersLeft, weights) : () => [];
  if (!onOthers) return null;
  const shares = [heightLeft, gapLeft, bumpLeft].map(onOthers);
  const [heightOwn, gapOwn, bump] = [heightLeft, gapLeft, bumpLeft].map((values, k) =>
    beyond(values, othersLeft, shares[k]),
  );
  const information = weightedDot(weights, bump, bump);
  if (!(information > leastInformation * weightedDot(tapered, bumps[0], bumps[0]))) return null;
  const [surface, step] = [heightOwn, gapOwn].map(
    (values) => weightedDot(weights, bump, values) / information,
  );
  for (let k = 0; k < count; k++) residuals[k] = gapOwn[k] - step * bump[k];
  const whole = weights.reduce((total, w) => total + w, 0);
  const variance = weightedDot(weights, residuals, residuals) / whole;
  const side = Math.max(blockTriangles * spacing, blockShare * Math.sqrt(wide[0] * wide[1]));
  const ratio =
    variance > 0
      ? varianceRatio(x, y, residuals, variance, side, polynomials.length + beside.length)
      : 1;
  let doubled = 0;
  for (let k = 0; k < count; k++) doubled += (weights[k] * bump[k]) ** 2;
  const heightSize = weightedDot(weights, heightOwn, heightOwn);
  /** The polynomials of the fit with all bumps. */
  const level = (which: 0 | 1, size: number): Float64Array => {
    const sizes = [size, ...shares[which].map((share, k) => share - size * shares[2][k])];
    const joint = factors[which].map((factor, p) =>
      sizes.reduce((rest, own, k) => rest - own * factors[2 + k][p], factor),
    );
    return Float64Array.from({ length: rows - count }, (_, k) =>
      polynomials.reduce((total, column, p) => total + joint[p] * column[count + k], 0),
    );
  };
  return {
    surface,
    gap: step,
    gapError: Math.sqrt(variance * ratio * doubled) / information,
    likeness:
      heightSize > 0 ? Math.min(1, Math.abs(surface) * Math.sqrt(information / heightSize)) : 0,
    rms: Math.abs(surface) * Math.sqrt(information / whole),
    levels: { surface: level(0, surface), gap: level(1, step) },
  };
}

import type { BasisRow } from './basis.ts';
import { diagonal, type ControlNet } from './controlNet.ts';
import { domain } from './knots.ts';
import { soundShare } from './surfaceCurvature.ts';

/**
 * Points, normals and curvatures on a grid of parameters, as flat arrays: place (row j, column i),
 * the j-th parameter in v and the i-th in u, is number j * columns + i.
 */
export interface CurvatureGrid {
  /** Parameters in u, and in v. */
  readonly columns: number;
  readonly rows: number;
  /** Three numbers a place, mm. */
  readonly points: Float64Array;
  /** Unit normals along S_u x S_v, three numbers a place. */
  readonly normals: Float64Array;
  /** K, 1/mm^2. */
  readonly gaussian: Float64Array;
  /** H = (k1 + k2) / 2, 1/mm, signed with the normal, as k1 >= k2 are. */
  readonly mean: Float64Array;
  readonly k1: Float64Array;
  readonly k2: Float64Array;
  /**
   * 1 where the surface has no normal, or one made of rounding (a collapsed edge, and closer to it than
   * curvatures can be told: isSound): there, and there alone, normal and curvatures are NaN.
   */
  readonly isBlind: Uint8Array;
}

/** Control points of which a grid is made: multiplied by their weights, and with them, in a rational net. */
interface Poles {
  readonly values: Float64Array;
  readonly columns: number;
  /** Numbers a point: 3, or 4 with the weight. */
  readonly size: 3 | 4;
}

function polesOf({ points, weights, columns }: ControlNet): Poles {
  if (!weights) return { values: points, columns, size: 3 };
  const values = new Float64Array(4 * weights.length);
  for (let k = 0; k < weights.length; k++) {
    const w = weights[k];
    values[4 * k] = w * points[3 * k];
    values[4 * k + 1] = w * points[3 * k + 1];
    values[4 * k + 2] = w * points[3 * k + 2];
    values[4 * k + 3] = w;
  }
  return { values, columns, size: 4 };
}

/** Basis functions of all u, and their first and second derivatives, one after the other. */
interface FlatBasis {
  /** Functions a parameter: p + 1. */
  readonly count: number;
  readonly first: Int32Array;
  readonly n0: Float64Array;
  readonly n1: Float64Array;
  readonly n2: Float64Array;
}

function flatBasis(rows: readonly BasisRow[], count: number): FlatBasis {
  const flat = (order: number): Float64Array => {
    const all = new Float64Array(count * rows.length);
    rows.forEach(({ values }, k) => all.set(values[order], count * k));
    return all;
  };
  return {
    count,
    first: Int32Array.from(rows, ({ first }) => first),
    n0: flat(0),
    n1: flat(1),
    n2: flat(2),
  };
}

/**
 * The net contracted over v at one v: a curve's control points, and those of its first and second
 * derivative in v; three times `size` numbers a column.
 */
function contractRow(strip: Float64Array, { values, columns, size }: Poles, bv: BasisRow): void {
  const step = columns * size;
  const width = 3 * size;
  const [n0, n1, n2] = bv.values;
  strip.fill(0);
  for (let j = 0; j < n0.length; j++) {
    const [f0, f1, f2] = [n0[j], n1[j], n2[j]];
    let from = (bv.first + j) * step;
    for (let at = 0; at < columns * width; at += width)
      for (let axis = 0; axis < size; axis++, from++) {
        const value = values[from];
        strip[at + axis] += f0 * value;
        strip[at + size + axis] += f1 * value;
        strip[at + 2 * size + axis] += f2 * value;
      }
  }
}

/** Numbers of a jet: S, S_u, S_v, S_uu, S_uv, S_vv, three each; then the same of the weight, one each. */
const jetSize = 24;

/** The strip contracted over u at the k-th u: the jet of the place. */
function contractPlace(
  jet: Float64Array,
  strip: Float64Array,
  size: 3 | 4,
  basis: FlatBasis,
  k: number,
): void {
  const { count, first, n0, n1, n2 } = basis;
  const from = count * k;
  const width = 3 * size;
  let sx = 0;
  let sy = 0;
  let sz = 0;
  let ux = 0;
  let uy = 0;
  let uz = 0;
  let vx = 0;
  let vy = 0;
  let vz = 0;
  let ax = 0;
  let ay = 0;
  let az = 0;
  let bx = 0;
  let by = 0;
  let bz = 0;
  let cx = 0;
  let cy = 0;
  let cz = 0;
  let at = first[k] * width;
  for (let i = from; i < from + count; i++, at += width) {
    const f0 = n0[i];
    const f1 = n1[i];
    const f2 = n2[i];
    let x = strip[at];
    let y = strip[at + 1];
    let z = strip[at + 2];
    sx += f0 * x;
    sy += f0 * y;
    sz += f0 * z;
    ux += f1 * x;
    uy += f1 * y;
    uz += f1 * z;
    ax += f2 * x;
    ay += f2 * y;
    az += f2 * z;
    x = strip[at + size];
    y = strip[at + size + 1];
    z = strip[at + size + 2];
    vx += f0 * x;
    vy += f0 * y;
    vz += f0 * z;
    bx += f1 * x;
    by += f1 * y;
    bz += f1 * z;
    cx += f0 * strip[at + 2 * size];
    cy += f0 * strip[at + 2 * size + 1];
    cz += f0 * strip[at + 2 * size + 2];
  }
  jet[0] = sx;
  jet[1] = sy;
  jet[2] = sz;
  jet[3] = ux;
  jet[4] = uy;
  jet[5] = uz;
  jet[6] = vx;
  jet[7] = vy;
  jet[8] = vz;
  jet[9] = ax;
  jet[10] = ay;
  jet[11] = az;
  jet[12] = bx;
  jet[13] = by;
  jet[14] = bz;
  jet[15] = cx;
  jet[16] = cy;
  jet[17] = cz;
  if (size === 3) return;
  let w = 0;
  let wu = 0;
  let wv = 0;
  let wuu = 0;
  let wuv = 0;
  let wvv = 0;
  at = first[k] * width + 3;
  for (let i = from; i < from + count; i++, at += width) {
    w += n0[i] * strip[at];
    wu += n1[i] * strip[at];
    wuu += n2[i] * strip[at];
    wv += n0[i] * strip[at + 4];
    wuv += n1[i] * strip[at + 4];
    wvv += n0[i] * strip[at + 8];
  }
  jet[18] = w;
  jet[19] = wu;
  jet[20] = wv;
  jet[21] = wuu;
  jet[22] = wuv;
  jet[23] = wvv;
}

/** A rational jet by the quotient rule, as in surfaceJet. */
function divide(jet: Float64Array): void {
  const w = jet[18];
  const wu = jet[19];
  const wv = jet[20];
  for (let axis = 0; axis < 3; axis++) {
    const s = jet[axis] / w;
    const u = (jet[3 + axis] - wu * s) / w;
    const v = (jet[6 + axis] - wv * s) / w;
    jet[axis] = s;
    jet[3 + axis] = u;
    jet[6 + axis] = v;
    jet[9 + axis] = (jet[9 + axis] - 2 * wu * u - jet[21] * s) / w;
    jet[12 + axis] = (jet[12 + axis] - jet[22] * s - wu * v - wv * u) / w;
    jet[15 + axis] = (jet[15 + axis] - 2 * wv * v - jet[23] * s) / w;
  }
}

/** Squares of the least length of S_u and of S_v, mm per parameter unit, and of the sine between them. */
type Least = readonly [number, number, number];

/** What isSound asks for. */
function leastOf(net: ControlNet): Least {
  const length = soundShare * diagonal(net);
  const [u, v] = ([0, 1] as const).map((side) => {
    const [from, to] = domain(net.knots[side], net.degree[side]);
    return (length / (to - from)) ** 2;
  });
  return [u, v, soundShare ** 2];
}

/** Writes the place a jet tells of into the grid; the formulas are those of surfaceCurvature. */
function setPlace(grid: CurvatureGrid, at: number, jet: Float64Array, least: Least): void {
  const { points, normals, gaussian, mean, k1, k2, isBlind } = grid;
  points[3 * at] = jet[0];
  points[3 * at + 1] = jet[1];
  points[3 * at + 2] = jet[2];
  const ux = jet[3];
  const uy = jet[4];
  const uz = jet[5];
  const vx = jet[6];
  const vy = jet[7];
  const vz = jet[8];
  const nx = uy * vz - uz * vy;
  const ny = uz * vx - ux * vz;
  const nz = ux * vy - uy * vx;
  const e = ux * ux + uy * uy + uz * uz;
  const g = vx * vx + vy * vy + vz * vz;
  const area = nx * nx + ny * ny + nz * nz;
  const inverse = 1 / Math.sqrt(area);
  // S_u = a e1, S_v = b e1 + c e2: a^2 = e, a b = f, a c is the area of the parallelogram
  const f = ux * vx + uy * vy + uz * vz;
  const l = (jet[9] * nx + jet[10] * ny + jet[11] * nz) * inverse;
  const m = (jet[12] * nx + jet[13] * ny + jet[14] * nz) * inverse;
  const n = (jet[15] * nx + jet[16] * ny + jet[17] * nz) * inverse;
  const s11 = l / e;
  const s12 = (m - f * s11) * inverse;
  // 1 / c^2 = e / area; b c s12 = f s12 sqrt(area) / e
  const s22 = (n - (f / e) * (2 * s12 * area * inverse + f * s11)) * e * inverse * inverse;
  const middle = (s11 + s22) / 2;
  const half = (s11 - s22) / 2;
  const spread = Math.sqrt(half * half + s12 * s12);
  const product = s11 * s22 - s12 * s12;
  const isSound = e > least[0] && g > least[1] && area > least[2] * e * g;
  if (isSound && Number.isFinite(product) && Number.isFinite(middle + spread)) {
    normals[3 * at] = nx * inverse;
    normals[3 * at + 1] = ny * inverse;
    normals[3 * at + 2] = nz * inverse;
    gaussian[at] = product;
    mean[at] = middle;
    k1[at] = middle + spread;
    k2[at] = middle - spread;
  } else {
    normals.fill(NaN, 3 * at, 3 * at + 3);
    gaussian[at] = mean[at] = k1[at] = k2[at] = NaN;
    isBlind[at] = 1;
  }
}

/**
 * What curvatureAt tells, but for its limits, at every place of a grid: basis rows of order 2 for each
 * parameter in u and in v, whose spans choose the side at a breakpoint. The net is contracted over v
 * once a row of the grid, then over u at each place, where nothing is allocated.
 */
export function curvatureGrid(
  net: ControlNet,
  rowsU: readonly BasisRow[],
  rowsV: readonly BasisRow[],
): CurvatureGrid {
  const [columns, rows] = [rowsU.length, rowsV.length];
  const numbers = (each: number): Float64Array => new Float64Array(each * columns * rows);
  const grid: CurvatureGrid = {
    columns,
    rows,
    points: numbers(3),
    normals: numbers(3),
    gaussian: numbers(1),
    mean: numbers(1),
    k1: numbers(1),
    k2: numbers(1),
    isBlind: new Uint8Array(columns * rows),
  };
  const poles = polesOf(net);
  const basis = flatBasis(rowsU, net.degree[0] + 1);
  const strip = new Float64Array(3 * poles.size * net.columns);
  const jet = new Float64Array(jetSize);
  const least = leastOf(net);
  rowsV.forEach((bv, row) => {
    contractRow(strip, poles, bv);
    for (let column = 0; column < columns; column++) {
      contractPlace(jet, strip, poles.size, basis, column);
      if (poles.size === 4) divide(jet);
      setPlace(grid, row * columns + column, jet, least);
    }
  });
  return grid;
}

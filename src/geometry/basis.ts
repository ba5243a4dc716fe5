import { spanIndex, type Knots } from './knots.ts';

/** The basis functions that are not zero at one parameter, and their derivatives. */
export interface BasisRow {
  /** Index of the first control point they weigh. */
  readonly first: number;
  /** values[k][i]: k-th derivative of the i-th of the p+1 functions, per parameter unit^k. */
  readonly values: readonly Float64Array[];
}

/**
 * Room for one call, kept from call to call: a row is asked for some thousand times a panel, and making
 * the room anew would take longer than the work.
 */
class Room {
  readonly left: Float64Array;
  readonly right: Float64Array;
  /** table[j size + r]: upper triangle holds the functions of degree j, lower triangle knot differences. */
  readonly table: Float64Array;
  readonly rows: readonly [Float64Array, Float64Array];
  readonly size: number;

  constructor(degree: number) {
    this.size = degree + 1;
    this.left = new Float64Array(this.size);
    this.right = new Float64Array(this.size);
    this.table = new Float64Array(this.size * this.size);
    this.rows = [new Float64Array(this.size), new Float64Array(this.size)];
  }
}

let room = new Room(7);

/** The functions alone: the triangle in place. Source: algorithm A2.2. */
function functionValues(knots: Knots, degree: number, u: number, span: number): Float64Array {
  const { left, right } = room;
  const values = new Float64Array(degree + 1);
  values[0] = 1;
  for (let j = 1; j <= degree; j++) {
    left[j] = u - knots[span + 1 - j];
    right[j] = knots[span + j] - u;
    let saved = 0;
    for (let r = 0; r < j; r++) {
      const share = values[r] / (right[r + 1] + left[j - r]);
      values[r] = saved + right[r + 1] * share;
      saved = left[j - r] * share;
    }
    values[j] = saved;
  }
  return values;
}

/**
 * B-spline basis functions and derivatives up to `order` at `u`. Derivatives above the degree are
 * zero. Source: Piegl & Tiller, The NURBS Book, algorithms A2.2 and A2.3 (from memory; checked
 * against the book's example 2.4 in test/published).
 */
export function basisRow(
  knots: Knots,
  degree: number,
  u: number,
  order: number,
  span = spanIndex(knots, degree, u),
): BasisRow {
  if (degree >= room.size) room = new Room(degree);
  const first = span - degree;
  if (order === 0) return { first, values: [functionValues(knots, degree, u, span)] };
  const { left, right, table, size, rows } = room;
  table[0] = 1;
  for (let j = 1; j <= degree; j++) {
    left[j] = u - knots[span + 1 - j];
    right[j] = knots[span + j] - u;
    let saved = 0;
    for (let r = 0; r < j; r++) {
      const gap = right[r + 1] + left[j - r];
      table[j * size + r] = gap;
      const share = table[r * size + j - 1] / gap;
      table[r * size + j] = saved + right[r + 1] * share;
      saved = left[j - r] * share;
    }
    table[j * size + j] = saved;
  }
  const values: Float64Array[] = [];
  for (let k = 0; k <= order; k++) values.push(new Float64Array(degree + 1));
  for (let r = 0; r <= degree; r++) values[0][r] = table[r * size + degree];

  const highest = Math.min(order, degree);
  let [previous, current] = rows;
  for (let r = 0; r <= degree; r++) {
    previous.fill(0);
    previous[0] = 1;
    for (let k = 1; k <= highest; k++) {
      current.fill(0);
      const rk = r - k;
      const pk = degree - k;
      let value = 0;
      if (r >= k) {
        current[0] = previous[0] / table[(pk + 1) * size + rk];
        value = current[0] * table[rk * size + pk];
      }
      const start = rk >= -1 ? 1 : -rk;
      const end = r - 1 <= pk ? k - 1 : degree - r;
      for (let j = start; j <= end; j++) {
        current[j] = (previous[j] - previous[j - 1]) / table[(pk + 1) * size + rk + j];
        value += current[j] * table[(rk + j) * size + pk];
      }
      if (r <= pk) {
        current[k] = -previous[k - 1] / table[(pk + 1) * size + r];
        value += current[k] * table[r * size + pk];
      }
      values[k][r] = value;
      [previous, current] = [current, previous];
    }
  }
  let factor = degree;
  for (let k = 1; k <= highest; k++) {
    for (let r = 0; r <= degree; r++) values[k][r] *= factor;
    factor *= degree - k;
  }
  return { first, values };
}

/**
 * As basisRow without derivatives, written to `into` from index `at` on: for tables of many stations. Gives
 * the index of the first control point.
 */
export function writeBasis(
  knots: Knots,
  degree: number,
  u: number,
  into: Float64Array,
  at: number,
): number {
  const span = spanIndex(knots, degree, u);
  into[at] = 1;
  for (let j = 1; j <= degree; j++) {
    let saved = 0;
    for (let r = 0; r < j; r++) {
      const right = knots[span + r + 1] - u;
      const left = u - knots[span + 1 - j + r];
      const share = into[at + r] / (right + left);
      into[at + r] = saved + right * share;
      saved = left * share;
    }
    into[at + j] = saved;
  }
  return span - degree;
}

/**
 * Largest value of one basis function over the domain: how far the surface moves at most when that
 * control point moves by 1 along this direction. Golden-section search on each span of the support,
 * where the function is a polynomial; exact to 1e-6, which is far below what anyone can see.
 */
export function basisPeak(knots: Knots, degree: number, index: number): number {
  const low = Math.max(knots[index], knots[degree]);
  const high = Math.min(knots[index + degree + 1], knots[knots.length - 1 - degree]);
  const value = (u: number): number => {
    const row = basisRow(knots, degree, u, 0);
    return row.values[0][index - row.first] ?? 0;
  };
  // A B-spline basis function has one maximum over its support (variation diminishing).
  const ratio = (Math.sqrt(5) - 1) / 2;
  let [a, b] = [low, high];
  let [x1, x2] = [b - ratio * (b - a), a + ratio * (b - a)];
  let [f1, f2] = [value(x1), value(x2)];
  for (let step = 0; step < 40; step++) {
    if (f1 < f2) {
      [a, x1, f1] = [x1, x2, f2];
      x2 = a + ratio * (b - a);
      f2 = value(x2);
    } else {
      [b, x2, f2] = [x2, x1, f1];
      x1 = b - ratio * (b - a);
      f1 = value(x1);
    }
  }
  return Math.max(f1, f2, value(low), value(high));
}

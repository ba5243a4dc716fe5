/** A knot vector of a degree-p B-spline with n+1 control points: n+p+2 values, never decreasing. */
export type Knots = Float64Array;

/** A breakpoint: a distinct knot value, how often it stands there, and the index of its first. */
export interface Breakpoint {
  readonly value: number;
  readonly multiplicity: number;
  readonly first: number;
}

/**
 * The distinct knot values in order. Two knots are one breakpoint when they differ by at most
 * `tolerance` of the whole range: files carry 6 to 16 digits, so equal knots rarely compare equal
 * after a change of unit.
 */
export function breakpoints(knots: Knots, tolerance = 1e-9): Breakpoint[] {
  const close = tolerance * (knots[knots.length - 1] - knots[0]);
  const found: { value: number; multiplicity: number; first: number }[] = [];
  knots.forEach((value, index) => {
    const last = found[found.length - 1];
    if (last && value - last.value <= close) last.multiplicity += 1;
    else found.push({ value, multiplicity: 1, first: index });
  });
  return found;
}

/** The parameter range on which the basis functions sum to 1: [u_p, u_{n+1}]. */
export const domain = (knots: Knots, degree: number): readonly [number, number] => [
  knots[degree],
  knots[knots.length - 1 - degree],
];

/** The breakpoints strictly inside the domain. */
export function interiorBreakpoints(knots: Knots, degree: number): Breakpoint[] {
  const [start, end] = domain(knots, degree);
  const close = 1e-9 * (knots[knots.length - 1] - knots[0]);
  return breakpoints(knots).filter(({ value }) => value > start + close && value < end - close);
}

/** Number of polynomial pieces along one direction. */
export const spanCount = (knots: Knots, degree: number): number =>
  interiorBreakpoints(knots, degree).length + 1;

/** True where the first and last knot stand p+1 times, so that the net's edges are the surface's. */
export function isClamped(knots: Knots, degree: number): boolean {
  const all = breakpoints(knots);
  return (
    all.length > 1 &&
    all[0].multiplicity === degree + 1 &&
    all[all.length - 1].multiplicity === degree + 1
  );
}

/**
 * Greville abscissae xi_i = (u_{i+1} + ... + u_{i+p}) / p, one a control point, in parameter units.
 * Source: Patrikalakis, Maekawa, Cho, Shape Interrogation for Computer Aided Design and
 * Manufacturing, eq. 1.60.
 */
export function grevilleAbscissae(knots: Knots, degree: number): Float64Array {
  const count = knots.length - degree - 1;
  const abscissae = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    let total = 0;
    for (let k = 1; k <= degree; k++) total += knots[i + k];
    abscissae[i] = total / degree;
  }
  return abscissae;
}

/**
 * Index of the knot span [u_s, u_{s+1}) that holds `u`; the domain's end belongs to the last span
 * with an extent. Source: Piegl & Tiller, The NURBS Book, algorithm A2.1 (from memory).
 */
export function spanIndex(knots: Knots, degree: number, u: number): number {
  let low = degree;
  let high = knots.length - degree - 1;
  if (u >= knots[high]) {
    high -= 1;
    while (high > degree && knots[high] === knots[high + 1]) high -= 1;
    return high;
  }
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (u < knots[middle]) high = middle;
    else low = middle;
  }
  return low;
}

import { footFrom, type Foot } from './foot.ts';
import { breakpoints } from './knots.ts';
import { sheetPoint, type Sheet } from './sheet.ts';
import {
  curveDomain,
  curvePoint,
  polyline,
  type Coordinates,
  type SplineCurve,
} from './splineCurve.ts';
import { distance, dot, length, scaled, sum, type Vector } from './vector.ts';

/** The legs of a projected curve keep within this share of the reach of it, on the surface. */
const chordShare = 0.25;
/** A span of a curve is halved so often at most. */
const mostHalvings = 12;
/** So many points off the surface tell that the curve is, and about how far. */
const mostFar = 6;
/** Parts that a span of a curve is cut into before anything is known of it; one that is straight, none. */
const firstParts = 4;

interface Sample {
  readonly t: number;
  readonly foot: Foot;
}

/** Distance in the tangent plane of a foot, mm, from it to the leg between two places. */
function offLeg(foot: Foot, a: Foot, b: Foot): number {
  const vector = ([u, v]: readonly number[], [u0, v0]: readonly number[]): Vector =>
    sum(scaled(foot.u, u - u0), scaled(foot.v, v - v0));
  const leg = vector(b.at, a.at);
  const off = vector(foot.at, a.at);
  const size = dot(leg, leg);
  const share = size > 0 ? Math.min(Math.max(dot(off, leg) / size, 0), 1) : 0;
  return length(sum(off, scaled(leg, -share)));
}

/** The direction whose collapsed edge a foot lies on, where its place in the other is open; or null. */
function openEdge({ collapsed, domain }: Sheet, { at }: Foot): 0 | 1 | null {
  for (const side of [0, 1] as const) {
    const [from, to] = domain[side];
    const close = 1e-9 * (to - from);
    if (collapsed[side][0] && at[side] <= from + close) return side;
    if (collapsed[side][1] && at[side] >= to - close) return side;
  }
  return null;
}

/**
 * A foot on a collapsed edge moved along it to where a curve arrives that comes from `other`: the edge
 * is one point of space, so the foot alone does not tell.
 */
function arriving(sheet: Sheet, foot: Foot, other: Foot): Foot {
  const side = openEdge(sheet, foot);
  if (side === null || openEdge(sheet, other) !== null) return foot;
  return { ...foot, at: side === 1 ? [other.at[0], foot.at[1]] : [foot.at[0], other.at[1]] };
}

/** The places, put on the seam where all of them lie within the reach of it. */
function settledOnSeam(sheet: Sheet, places: readonly Coordinates[]): readonly Coordinates[] {
  let settled = places;
  for (const side of [0, 1] as const) {
    const period = sheet.period[side];
    if (period === null) continue;
    const [from] = sheet.domain[side];
    const middle = settled[settled.length >> 1][side];
    const seam = from + period * Math.round((middle - from) / period);
    const moved = settled.map((at) => (side === 0 ? [seam, at[1]] : [at[0], seam]));
    const near = settled.every(
      (at, k) =>
        Math.abs(at[side] - seam) < period / 4 &&
        distance(sheetPoint(sheet, at), sheetPoint(sheet, moved[k])) <= sheet.reach,
    );
    if (near) settled = moved;
  }
  return settled;
}

/** Parameters that a curve is first looked at. */
function firstLooks(curve: SplineCurve): number[] {
  const [from, to] = curveDomain(curve);
  const inner = breakpoints(curve.knots, 1e-12)
    .map(({ value }) => value)
    .filter((value) => value > from && value < to);
  const ends = [from, ...inner, to];
  const parts = curve.degree === 1 && inner.length > 0 ? 1 : firstParts;
  return [
    from,
    ...ends
      .slice(1)
      .flatMap((end, k) =>
        Array.from({ length: parts }, (_, part) =>
          part === parts - 1 ? end : ends[k] + ((part + 1) / parts) * (end - ends[k]),
        ),
      ),
  ];
}

/**
 * The line in the plane under a curve in space, as straight legs that keep within a quarter of the
 * reach of it, or by how many mm the curve leaves the surface, where that is more than the reach. In a
 * direction in which the surface closes the line may leave the domain.
 */
export function projectedCurve(
  sheet: Sheet,
  curve: SplineCurve,
  find: (point: Vector) => Foot,
): SplineCurve | { readonly gap: number } {
  const pointOf = (t: number): Vector => curvePoint(curve, t) as unknown as Vector;
  let most = 0;
  let far = 0;
  const sampleAt = (t: number, start: readonly [number, number] | null): Sample => {
    const point = pointOf(t);
    const near = start && footFrom(sheet, point, start);
    let foot = near ?? find(point);
    if (near && near.gap > sheet.reach) {
      const other = find(point);
      if (other.gap < near.gap) foot = nearestCopy(sheet, other, near);
    }
    most = Math.max(most, foot.gap);
    if (!(foot.gap <= sheet.reach)) far++;
    return { t, foot };
  };
  // from the middle both ways: an end may lie on a seam or a collapsed edge, where the place is open
  const looks = firstLooks(curve);
  const middle = looks.length >> 1;
  const samples: Sample[] = [];
  samples[middle] = sampleAt(looks[middle], null);
  for (let k = middle + 1; k < looks.length && far < mostFar; k++)
    samples[k] = sampleAt(looks[k], samples[k - 1].foot.at);
  for (let k = middle - 1; k >= 0 && far < mostFar; k--)
    samples[k] = sampleAt(looks[k], samples[k + 1].foot.at);
  if (!(most <= sheet.reach)) return { gap: most };
  const between = (a: Sample, b: Sample, share: number): Sample =>
    sampleAt(a.t + share * (b.t - a.t), [
      a.foot.at[0] + share * (b.foot.at[0] - a.foot.at[0]),
      a.foot.at[1] + share * (b.foot.at[1] - a.foot.at[1]),
    ]);
  const places: (readonly [number, number])[] = [];
  const add = (at: readonly [number, number]): void => {
    const last = places.at(-1);
    if (!last || last[0] !== at[0] || last[1] !== at[1]) places.push(at);
  };
  let jump = 0;
  const run = (a: Sample, b: Sample, halvings: number): void => {
    const half = between(a, b, 0.5);
    const quarter = between(a, b, 0.25);
    const start = arriving(sheet, a.foot, half.foot);
    const end = arriving(sheet, b.foot, half.foot);
    const off = Math.max(offLeg(half.foot, start, end), offLeg(quarter.foot, start, end));
    if (off > chordShare * sheet.reach && halvings < mostHalvings) {
      run(a, half, halvings + 1);
      run(half, b, halvings + 1);
    } else {
      if (off > sheet.reach) jump = Math.max(jump, off);
      add(start.at);
      add(end.at);
    }
  };
  for (let k = 1; k < samples.length; k++) run(samples[k - 1], samples[k], 0);
  if (!(Math.max(most, jump) <= sheet.reach)) return { gap: Math.max(most, jump) };
  return polyline(settledOnSeam(sheet, places.length > 1 ? places : [places[0], places[0]]));
}

/** A foot moved by whole periods to where it is nearest to another. */
function nearestCopy(sheet: Sheet, foot: Foot, to: Foot): Foot {
  const moved = (side: 0 | 1): number => {
    const period = sheet.period[side];
    return period === null
      ? foot.at[side]
      : foot.at[side] + period * Math.round((to.at[side] - foot.at[side]) / period);
  };
  return { ...foot, at: [moved(0), moved(1)] };
}

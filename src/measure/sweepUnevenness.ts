/** Where and by how much a curvature profile departs from an even sweep. */
export interface SweepUnevenness {
  /** Largest departure, 1/mm. */
  readonly excess: number;
  /** Index of the station at which it is largest. */
  readonly at: number;
  /** Indices of the stations between which it departs. */
  readonly from: number;
  readonly to: number;
  /** `reversal`: the curvature turns back; `hesitation`: its rise or fall slackens and quickens again. */
  readonly kind: 'reversal' | 'hesitation';
  /** Length over which it departs, mm. */
  readonly stretch: number;
  /** What that is worth as a height of the surface, mm: excess (stretch / pi)^2, a half wave. */
  readonly height: number;
}

/** A curvature, 1/mm, along a section, mm; of a closed one the last station is the first. */
export interface CurvatureProfile {
  readonly s: Profile;
  readonly curvature: Profile;
  readonly isClosed: boolean;
}

/** A departure between two stations. */
interface Departure {
  readonly size: number;
  readonly at: number;
  readonly from: number;
  readonly to: number;
}

const none: Departure = { size: 0, at: 0, from: 0, to: 0 };
const larger = (a: Departure, b: Departure): Departure => (b.size > a.size ? b : a);

type Profile = ArrayLike<number>;

/** Largest fall of values from any station to a later one, up to each station: prefix[i]. */
function falls(values: Profile, sign: 1 | -1, backwards: boolean): Departure[] {
  const count = values.length;
  const found: Departure[] = [];
  let top = 0;
  let worst = none;
  for (let step = 0; step < count; step++) {
    const k = backwards ? count - 1 - step : step;
    if (step === 0 || sign * values[k] > sign * values[top]) top = k;
    const fall = sign * (values[top] - values[k]);
    if (fall > 2 * worst.size)
      worst = { size: fall / 2, at: k, from: Math.min(top, k), to: Math.max(top, k) };
    found[k] = worst;
  }
  return found;
}

/**
 * Half the largest gap between a profile and its convex hull from below (sign 1) or above (-1), over
 * stations from..to: the least by which it must change anywhere to be convex, or concave. The hull by
 * Andrew's monotone chain.
 */
function hullGap(s: Profile, values: Profile, sign: 1 | -1, from: number, to: number): Departure {
  const hull: number[] = [];
  for (let k = from; k <= to; k++) {
    while (hull.length > 1) {
      const [a, b] = [hull[hull.length - 2], hull[hull.length - 1]];
      const turn =
        (s[b] - s[a]) * (values[k] - values[a]) - (s[k] - s[a]) * (values[b] - values[a]);
      if (sign * turn > 0) break;
      hull.pop();
    }
    hull.push(k);
  }
  let worst = none;
  for (let h = 0; h + 1 < hull.length; h++) {
    const [a, b] = [hull[h], hull[h + 1]];
    const slope = (values[b] - values[a]) / (s[b] - s[a]);
    for (let k = a + 1; k < b; k++) {
      const gap = (sign * (values[k] - values[a] - slope * (s[k] - s[a]))) / 2;
      if (gap > worst.size) worst = { size: gap, at: k, from: a, to: b };
    }
  }
  return worst;
}

/** The part of a gap's stretch about its largest in which it is over half of that: the lobe alone. */
function lobe(s: Profile, values: Profile, { size, at, from, to }: Departure): Departure {
  const slope = (values[to] - values[from]) / (s[to] - s[from]);
  const gap = (k: number): number =>
    Math.abs(values[k] - values[from] - slope * (s[k] - s[from])) / 2;
  let [low, high] = [at, at];
  while (low > from && gap(low) >= size / 2) low -= 1;
  while (high < to && gap(high) >= size / 2) high += 1;
  return { size, at, from: low, to: high };
}

/** A half wave is over half its height along two thirds of its length. */
const lobeShare = 2 / 3;

/**
 * The least departure of a profile from..to that rises (sign 1) or falls (-1) from one whose rate first
 * grows and then slackens: convex, then concave. Any place between may part the two.
 */
function hesitation(
  s: Profile,
  values: Profile,
  sign: 1 | -1,
  from: number,
  to: number,
): Departure {
  let best: Departure | null = null;
  for (let j = from; j <= to; j++) {
    const early = hullGap(s, values, sign, from, j);
    if (best && early.size >= best.size) continue;
    const late = hullGap(s, values, sign === 1 ? -1 : 1, j, to);
    const both = larger(early, late);
    if (!best || both.size < best.size) best = both;
  }
  return best ?? none;
}

/** Departure of an open profile; see sweepUnevenness. */
function openUnevenness(s: Profile, values: Profile): SweepUnevenness {
  const count = values.length;
  const turns = ([1, -1] as const).flatMap((sign) => {
    const before = falls(values, sign, false);
    const after = falls(values, sign, true);
    return Array.from({ length: count }, (_, m) => ({
      sign,
      m,
      // the turn belongs to both sides
      worst: larger(before[m], after[m]),
      reach: sign * values[m],
    }));
  });
  const least = Math.min(...turns.map(({ worst }) => worst.size));
  const even = turns.filter(({ worst }) => worst.size <= least);
  const { sign, m, worst } = even.reduce((a, b) => (Math.abs(b.reach) > Math.abs(a.reach) ? b : a));
  const other = sign === 1 ? -1 : 1;
  const slack = larger(
    hesitation(s, values, sign, 0, m),
    hesitation(s, values, other, m, count - 1),
  );
  const kind = worst.size >= slack.size ? 'reversal' : 'hesitation';
  const { size, at, from, to } =
    kind === 'reversal' || slack.size === 0 ? worst : lobe(s, values, slack);
  const stretch = (s[to] - s[from]) / (kind === 'reversal' ? 1 : lobeShare);
  return { excess: size, at, from, to, kind, stretch, height: size * (stretch / Math.PI) ** 2 };
}

/** Part of a closed profile, and which station of the whole each of its own is. */
interface Half {
  readonly s: number[];
  readonly curvature: number[];
  readonly stations: number[];
}

/** A closed profile from its least value to the least in the middle half of what is left, and back. */
function closedHalves(s: Profile, curvature: Profile): Half[] {
  const count = curvature.length - 1;
  let start = 0;
  for (let k = 1; k < count; k++) if (curvature[k] < curvature[start]) start = k;
  const length = s[count] - s[0];
  const round = Array.from({ length: count + 1 }, (_, k) => (start + k) % count);
  const along = round.map((k, step) =>
    step === count ? length : (s[k] - s[start] + length) % length,
  );
  let middle = -1;
  for (let k = 0; k <= count; k++) {
    const share = along[k] / length;
    if (share < 0.25 || share > 0.75) continue;
    if (middle < 0 || curvature[round[k]] < curvature[round[middle]]) middle = k;
  }
  const half = (from: number, to: number): Half => ({
    s: along.slice(from, to + 1),
    curvature: round.slice(from, to + 1).map((k) => curvature[k]),
    stations: round.slice(from, to + 1),
  });
  return middle < 0 ? [half(0, count)] : [half(0, middle), half(middle, count)];
}

/** Fewer say nothing of a run. */
const fewestStations = 5;

/**
 * How far a curvature profile is from an even sweep: one that rises or falls throughout, or turns once,
 * and each of whose rises and falls quickens and then slackens but never hesitates. Both distances are
 * in the largest difference: half the largest fall within what should rise, and half the gap to a
 * convex or concave hull. A closed section may
 * turn four times, as an ellipse does (the four vertices of an oval). Null for fewer than five stations. Extrema alone would miss a jut in the middle of a panel, which often leaves the
 * curvature monotone (the fairness of Farin, Rein, Sapidis and Worsey, CAGD 4, 1987: few pieces, each
 * almost linear).
 */
export function sweepUnevenness({
  s,
  curvature,
  isClosed,
}: CurvatureProfile): SweepUnevenness | null {
  if (curvature.length < fewestStations) return null;
  if (!isClosed) return openUnevenness(s, curvature);
  return closedHalves(s, curvature)
    .map((half) => {
      const own = openUnevenness(half.s, half.curvature);
      const station = (k: number): number => half.stations[k];
      return { ...own, at: station(own.at), from: station(own.from), to: station(own.to) };
    })
    .reduce((a, b) => (b.excess > a.excess ? b : a));
}

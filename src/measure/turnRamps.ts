import type { TurnProfile } from './turnProfile.ts';

/** A stretch of a way over which a scan turns much more tightly than the panel. */
export interface TurnRamp {
  /** mm along the way where it begins and ends. */
  readonly from: number;
  readonly to: number;
  /** Index of the place of the way nearest to its middle, on the scan. */
  readonly middle: number;
  /** By how much the scan turns more than the panel, radians; positive: away from the panel's normal, as over a ridge. */
  readonly turn: number;
  /** Mean radius of that turn, mm. */
  readonly radius: number;
  /** The widest step between neighbouring feet in it, mm: over a corner that no foot reaches they jump. */
  readonly jump: number;
}

/** What counts as a ramp. */
export interface RampBounds {
  /** mm: turns of larger radius are none. */
  readonly radius: number;
  /** radians: smaller turns are none. */
  readonly turn: number;
}

/** Places over which the lean is smoothed where ramps are sought, each way. */
const smoothing = 3;
/** A ramp is sought where the scan turns at this share of the least rate. */
const soughtShare = 0.5;
/** mm, and edges of the scan, of calm before and after that are fitted with it. */
const calm = 12;
const calmEdges = 4;
/** mm, and edges of the scan, that a foot may jump: what lies behind is another sheet. */
const jump = 10;
const jumpEdges = 4;
/** Calm parts bend apart from the panel by this share of the least rate; leans are as noisy as this, radians. */
const calmShare = 0.25;
const slopeNoise = 0.02;
/** Share of the scan's turn that the panel may have itself. */
const ownShare = 0.65;
/** The turn is told only where it is so many standard errors. */
const sureness = 3;
/** Places that are needed to fit a ramp. */
const fewest = 8;
/** What lies before and after a ramp is told where this share of it is seen. */
const seenShare = 0.25;

/** Stretches of indices in which the scan is seen without a jump. */
function sheets({ lean, arc }: TurnProfile, spacing: number): [number, number][] {
  const found: [number, number][] = [];
  let start = -1;
  let last = -1;
  const most = jump + jumpEdges * spacing;
  for (let k = 0; k < lean.length; k++) {
    if (Number.isNaN(lean[k])) continue;
    const isOn = last >= 0 && arc[k] - arc[last] <= most && k - last <= smoothing;
    if (!isOn) {
      if (start >= 0) found.push([start, last]);
      start = k;
    }
    last = k;
  }
  if (start >= 0) found.push([start, last]);
  return found;
}

/** Mean of leans between two runs, by length; NaN where less than a share of it is seen. */
function meanLean({ run, lean }: TurnProfile, from: number, to: number): number {
  let [total, length] = [0, 0];
  for (let k = 1; k < run.length; k++) {
    const mean = (lean[k] + lean[k - 1]) / 2;
    if (run[k - 1] < from || run[k] > to || Number.isNaN(mean)) continue;
    total += mean * (run[k] - run[k - 1]);
    length += run[k] - run[k - 1];
  }
  return length > seenShare * (to - from) ? total / length : NaN;
}

/** Width of the range in which all but a twentieth of the leans between two runs lie, at either end. */
function leanWidth({ run, lean }: TurnProfile, from: number, to: number): number {
  const own = lean.filter((value, k) => run[k] >= from && run[k] <= to && !Number.isNaN(value));
  own.sort();
  const cut = Math.floor(own.length / 20);
  return own.length > 0 ? own[own.length - 1 - cut] - own[cut] : 0;
}

/**
 * How much of a turn lasts: by how much the mean lean of `around` mm after it differs from that before, as
 * a share of the turn, or of all that the scan leans to and fro there, where that is more. NaN where
 * nothing is seen on either side.
 */
export function lastingShare(
  profile: TurnProfile,
  { from, to, turn }: TurnRamp,
  around: number,
): number {
  const net = meanLean(profile, to, to + around) - meanLean(profile, from - around, from);
  const width = leanWidth(profile, from - around, to + around);
  return (Math.sign(turn) * net) / Math.max(Math.abs(turn), width);
}

/** The widest step between the values from one before `first` to one after `last`. */
function widestStep(s: readonly number[], first: number, last: number): number {
  let widest = 0;
  for (let k = Math.max(1, first); k <= Math.min(s.length - 1, last + 1); k++)
    widest = Math.max(widest, s[k] - s[k - 1]);
  return widest;
}

interface Fit {
  readonly start: number;
  readonly end: number;
  readonly turn: number;
  /** Sum of the squares that are left. */
  readonly rest: number;
}

/** Leans y at arcs s, of which ramps are tried; a calm slope b costs as much as `ridge` says. */
interface Tried {
  readonly s: readonly number[];
  readonly y: readonly number[];
  readonly ridge: number;
}

/** The best of ramps a + b s + turn * clamp((s - start) / (end - start), 0, 1) for each of some starts and ends. */
function triedRamps(
  { s, y, ridge }: Tried,
  starts: readonly number[],
  ends: readonly number[],
): Fit[] {
  const n = s.length;
  const [mean, meanY] = [s, y].map((all) => all.reduce((sum, value) => sum + value, 0) / n);
  let [ss, sy, yy] = [ridge, 0, 0];
  for (let k = 0; k < n; k++) {
    ss += (s[k] - mean) ** 2;
    sy += (s[k] - mean) * (y[k] - meanY);
    yy += (y[k] - meanY) ** 2;
  }
  const fits: Fit[] = [];
  for (const start of starts)
    for (const end of ends) {
      if (end < start) continue;
      const width = end - start;
      let [r, rr, rs, ry] = [0, 0, 0, 0];
      for (let k = 0; k < n; k++) {
        const share = s[k] >= end ? 1 : s[k] <= start ? 0 : (s[k] - start) / width;
        r += share;
        rr += share * share;
        rs += share * (s[k] - mean);
        ry += share * (y[k] - meanY);
      }
      rr -= (r * r) / n;
      const det = ss * rr - rs * rs;
      if (!(det > 1e-9 * ss * rr)) continue;
      const turn = (ss * ry - rs * sy) / det;
      const slope = (rr * sy - rs * ry) / det;
      fits.push({ start, end, turn, rest: Math.max(0, yy - turn * ry - slope * sy) });
    }
  return fits;
}

/** Values between two, and halfway between neighbours. */
function halfway(s: readonly number[], low: number, high: number): number[] {
  const found: number[] = [];
  s.forEach((value, k) => {
    const before = k > 0 ? (s[k - 1] + value) / 2 : NaN;
    for (const at of [before, value]) if (at >= low && at <= high) found.push(at);
  });
  return found;
}

/** Starts, and ends, that are tried at once: more are tried in two rounds. */
const mostTried = 16;
/** Neighbouring leans are read off one triangle: so many tell as much as one. */
const alike = 2;
/** A ramp, its calm slope, its ends and its foot are fitted. */
const freedoms = 5;

/**
 * The ramp that leans at arcs speak for, between two arcs: the mean of all that are tried, each weighted by
 * its likelihood, and the less the wider it is (its width has a flat prior by its logarithm, from
 * `finest` mm on). The best alone would be too wide by what noise does, as no width is less than none.
 */
function likelyRamp(
  tried: Tried,
  [low, high]: readonly [number, number],
  finest: number,
): Fit | null {
  const all = halfway(tried.s, low, high);
  const every = Math.ceil(all.length / mostTried);
  const bestOf = (fits: readonly Fit[]): Fit => fits.reduce((a, b) => (b.rest < a.rest ? b : a));
  const thin = all.filter((_, k) => k % every === 0);
  let fits = triedRamps(tried, thin, thin);
  if (fits.length === 0) return null;
  if (every > 1) {
    const best = bestOf(fits);
    const near = (at: number): number[] => {
      const k = all.indexOf(at);
      return all.slice(Math.max(0, k - every), k + every + 1);
    };
    fits = triedRamps(tried, near(best.start), near(best.end));
  }
  const { rest } = bestOf(fits);
  const variance = rest / Math.max(1, tried.s.length - freedoms);
  let [weights, start, end, turn] = [0, 0, 0, 0];
  for (const fit of fits) {
    const worse = fit.rest - rest;
    const weight =
      (worse > 0 ? Math.exp(-worse / (2 * alike * variance)) : 1) / (fit.end - fit.start + finest);
    weights += weight;
    start += weight * fit.start;
    end += weight * fit.end;
    turn += weight * fit.turn;
  }
  return { start: start / weights, end: end / weights, turn: turn / weights, rest };
}

/** The run at an arc, between places from `first` to `last`. */
function runAt({ arc, run, lean }: TurnProfile, first: number, last: number, at: number): number {
  let before = first;
  for (let k = first; k <= last; k++) {
    if (Number.isNaN(lean[k])) continue;
    if (arc[k] >= at) {
      const width = arc[k] - arc[before];
      return width > 0
        ? run[before] + ((at - arc[before]) / width) * (run[k] - run[before])
        : run[k];
    }
    before = k;
  }
  return run[before];
}

/** Ramps in the turning of a scan under a way, in the order of the way. `spacing`: of the scan, mm. */
export function turnRamps(
  profile: TurnProfile,
  { radius, turn: least }: RampBounds,
  spacing: number,
): TurnRamp[] {
  const { arc, lean, turns } = profile;
  return sheets(profile, spacing).flatMap(([first, last]): TurnRamp[] => {
    const seen = Array.from({ length: last - first + 1 }, (_, k) => first + k).filter(
      (k) => !Number.isNaN(lean[k]),
    );
    const n = seen.length;
    if (n < fewest) return [];
    const s = seen.map((k) => arc[k]);
    const y = seen.map((k) => lean[k]);
    const own = seen.map((k) => turns[k]);
    const smooth = y.map((_, k) => {
      let [total, count] = [0, 0];
      const wide = Math.min(smoothing, k, n - 1 - k);
      for (let j = k - wide; j <= k + wide; j++) {
        total += y[j];
        count++;
      }
      return total / count;
    });
    const rates = y.map((_, k) => {
      const [a, b] = [Math.max(0, k - smoothing), Math.min(n - 1, k + smoothing)];
      const way = Math.max(s[b] - s[a], spacing / 4);
      return (smooth[b] - smooth[a]) / way;
    });
    const stretches: [number, number][] = [];
    const rate = soughtShare / radius;
    for (let k = 0; k < n;) {
      const sign = Math.sign(rates[k]);
      let end = k;
      if (Math.abs(rates[k]) >= rate) {
        while (end + 1 < n && rates[end + 1] * sign >= rate) end++;
        const [low, high] = [Math.max(0, k - smoothing), Math.min(n - 1, end + smoothing)];
        if (Math.abs(smooth[high] - smooth[low]) >= least / 2) stretches.push([k, end]);
      }
      k = end + 1;
    }
    const margin = Math.max(calm, calmEdges * spacing);
    return stretches.flatMap(([a, b], nth): TurnRamp[] => {
      // up to the middle of the calm that parts it from its neighbours
      const low = Math.max(s[a] - margin, nth > 0 ? (s[stretches[nth - 1][1]] + s[a]) / 2 : -1);
      const high = Math.min(
        s[b] + margin,
        nth + 1 < stretches.length ? (s[b] + s[stretches[nth + 1][0]]) / 2 : Infinity,
      );
      const inside = seen.map((_, k) => k).filter((k) => s[k] >= low && s[k] <= high);
      if (inside.length < fewest) return [];
      const [xs, ys] = [inside.map((k) => s[k]), inside.map((k) => y[k])];
      const noise = 1.5 * spacing;
      const fit = likelyRamp(
        { s: xs, y: ys, ridge: (slopeNoise / (calmShare / radius)) ** 2 },
        [s[a] - noise, s[b] + noise],
        spacing,
      );
      if (!fit) return [];
      const before = inside.filter((k) => s[k] < fit.start).length;
      const after = inside.filter((k) => s[k] > fit.end).length;
      const sigma = Math.sqrt(fit.rest / Math.max(1, inside.length - freedoms));
      const error = sigma * Math.sqrt(1 / Math.max(1, before) + 1 / Math.max(1, after));
      const amount = Math.abs(fit.turn);
      const nearest = (at: number): number =>
        s.reduce((best, value, k) => (Math.abs(value - at) < Math.abs(s[best] - at) ? k : best), 0);
      const [k0, k1] = [nearest(fit.start), nearest(fit.end)];
      const panel = own[k1] - own[k0];
      const whole = fit.turn + panel;
      if (amount < least || amount < sureness * error) return [];
      if (fit.end - fit.start > radius * amount) return [];
      if (whole * fit.turn <= 0 || Math.abs(panel) > ownShare * Math.abs(whole)) return [];
      return [
        {
          from: runAt(profile, first, last, fit.start),
          to: runAt(profile, first, last, fit.end),
          middle: seen[nearest((fit.start + fit.end) / 2)],
          turn: fit.turn,
          radius: (fit.end - fit.start) / amount,
          jump: widestStep(s, k0, k1),
        },
      ];
    });
  });
}

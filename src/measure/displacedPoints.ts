import { pointAt, type ControlNet, type Spot } from '../geometry/controlNet.ts';
import { grevilleAbscissae } from '../geometry/knots.ts';
import { difference, scaled, type Vector } from '../geometry/vector.ts';
import { inModel, netSpectrum, type NetSpectrum } from './netSpectrum.ts';
import { netWindows, offCentre, type NetWindow } from './netWindows.ts';
import {
  firstDecays,
  leastHand,
  reaches,
  smoother,
  StoryTeller,
  toll,
  type Decay,
  type Story,
} from './spectrumStory.ts';

/** Another spot that may be at fault instead. */
export interface Rival {
  readonly spot: Spot;
  /** Reckoned as the found point's own, nats. */
  readonly gain: number;
}

/** One control point that is not where the rest of its net leads one to expect it. */
export interface DisplacedPoint {
  readonly spot: Spot;
  /** Where it is minus where it is expected, millimetres in the axes of the model. */
  readonly displacement: Vector;
  readonly expected: Vector;
  /** Leave-one-out score under the smoothness the net shows without this point, in deviations. */
  readonly score: number;
  /**
   * How much better one displaced point explains the net than a richer smooth shape, nats, after
   * the price of its three coordinates and of having chosen it among all points; above 0.
   */
  readonly gain: number;
  /** By falling gain. */
  readonly rivals: readonly Rival[];
}

type Hindrance = 'too-small' | 'too-large' | 'no-extent' | 'inner-break';

export type LocatorResult =
  | { readonly kind: 'undecided'; readonly reason: Hindrance }
  | {
      readonly kind: 'measured';
      /** Unevenness of single points along the normal, never below 0.02 mm on 1200 mm; mm. */
      readonly hand: number;
      /** By falling score. */
      readonly points: readonly DisplacedPoint[];
    };

/** Below four points a side nothing is left over to be judged. */
const leastSide = 4;
/** A second or two of work; a net built by hand has a tenth of this. */
const mostPoints = 2500;
/** The net size that limits and priors are stated for, mm. */
const statedSize = 1200;
const mostFound = 5;
/**
 * Quick gain below which no refit is made, nats. Refits only take away: of 1650 looks at panels of
 * eleven kinds, one point with less came out above nothing, by 1.7 nats; and it halves the time.
 */
const leastQuickGain = 6;

interface Candidate {
  readonly point: number;
  readonly story: Story;
  /** Nats before the choice among points is paid for. */
  readonly gain: number;
  readonly score: number;
}

/** Leave-one-out deviations of a point, over all axes, under a story's variances. */
function looScore(
  teller: StoryTeller,
  spectrum: NetSpectrum,
  axes: readonly Float64Array[],
  story: Story,
  point: number,
): number {
  let total = 0;
  spectrum.groups.forEach((group, g) => {
    const variance = teller.variances(story.decays[g]);
    for (const axis of group) {
      let [pull, weight] = [0, 0];
      for (let c = 0; c < spectrum.size; c++) {
        const mark = spectrum.marks[point * spectrum.size + c];
        pull += (mark * axes[axis][c]) / variance[c];
        weight += (mark * mark) / variance[c];
      }
      total += (pull * pull) / weight;
    }
  });
  return Math.sqrt(total);
}

/** The best clean story of all starts, group by group: the groups do not touch without a point. */
function cleanStory(
  teller: StoryTeller,
  axes: readonly Float64Array[],
  starts: readonly (readonly Decay[])[],
): Story {
  return starts
    .map((start) => teller.story(axes, start, null, 25))
    .reduce((best, story) => (story.cost < best.cost ? story : best));
}

/** Where a search starts that knows nothing yet. */
const firstStarts = ({ groups }: NetSpectrum): Decay[][] =>
  firstDecays.map((decay) => groups.map(() => decay));

/** Points worth a refit: the best few by quick gain for each kind and three degrees of smoothness. */
function heard(teller: StoryTeller, axes: readonly Float64Array[], clean: Story): number[] {
  const smooth = clean.decays.map(() => firstDecays[1]);
  const chosen = new Set<number>();
  for (const decays of [clean.decays, smooth, clean.decays.map(smoother)])
    for (const reach of reaches) {
      const gains = teller.quickGains(axes, decays, reach);
      const order = Array.from(gains.keys()).sort((k, l) => gains[l] - gains[k]);
      for (const point of order.slice(0, 4)) if (gains[point] > leastQuickGain) chosen.add(point);
    }
  return [...chosen];
}

/** The best story of a displaced point: of either kind, from any of the starts. */
function displacedStory(
  teller: StoryTeller,
  axes: readonly Float64Array[],
  starts: readonly (readonly Decay[])[],
  point: number,
): Story {
  return reaches
    .flatMap((reach) => starts.map((start) => teller.story(axes, start, { point, reach }, 18)))
    .reduce((best, story) => (toll(story) < toll(best) ? story : best));
}

/**
 * Candidates by falling gain, each refitted with its displacement free. `known` is the clean story of
 * these axes where it has been told already.
 */
function candidates(
  teller: StoryTeller,
  spectrum: NetSpectrum,
  axes: readonly Float64Array[],
  forced: readonly number[],
  known?: Story,
): Candidate[] {
  const starts = firstStarts(spectrum);
  let clean = known ?? cleanStory(teller, axes, starts);
  const all = [...new Set([...heard(teller, axes, clean), ...forced])].sort((k, l) => k - l);
  if (all.length === 0) return [];
  const told = all.map((point) => ({
    point,
    story: displacedStory(teller, axes, [clean.decays, ...starts], point),
  }));
  // What a displaced point's decay explains without it counts for the clean story.
  const best = told.reduce((a, b) => (toll(b.story) < toll(a.story) ? b : a));
  clean = cleanStory(teller, axes, [clean.decays, best.story.decays]);
  return told
    .map(({ point, story }) => ({
      point,
      story,
      gain: clean.cost - toll(story),
      score: looScore(teller, spectrum, axes, story, point),
    }))
    .sort((k, l) => l.gain - k.gain);
}

function without(
  spectrum: NetSpectrum,
  axes: readonly Float64Array[],
  removed: readonly Candidate[],
): Float64Array[] {
  return axes.map((values, axis) =>
    values.map((value, c) =>
      removed.reduce(
        (left, { point, story }) =>
          left - story.shift[axis] * spectrum.marks[point * spectrum.size + c],
        value,
      ),
    ),
  );
}

interface Finding {
  readonly own: Candidate;
  readonly others: readonly Candidate[];
}

/** The best candidates one after the other, each with those before it corrected. */
function likelySet(teller: StoryTeller, spectrum: NetSpectrum, clean: Story): Finding[] {
  const floor = Math.log(spectrum.pointCount);
  const most = Math.min(mostFound, Math.floor(spectrum.pointCount / 8));
  const found: Finding[] = [];
  while (found.length < most) {
    const before = found.map(({ own }) => own);
    const list =
      before.length === 0
        ? candidates(teller, spectrum, spectrum.axes, [], clean)
        : candidates(teller, spectrum, without(spectrum, spectrum.axes, before), []);
    const own = list.find(({ point }) => before.every((other) => other.point !== point));
    if (!own || own.gain < floor) break;
    found.push({ own, others: list.filter(({ point }) => point !== own.point) });
  }
  return found;
}

/** Each of a set judged afresh with the others corrected. */
function judgedAfresh(
  teller: StoryTeller,
  spectrum: NetSpectrum,
  set: readonly Finding[],
): Finding[] {
  const now = [...set];
  set.forEach((_, k) => {
    const { point } = now[k].own;
    const rest = now.filter((_other, l) => l !== k).map(({ own }) => own);
    const axes = without(spectrum, spectrum.axes, rest);
    const list = candidates(teller, spectrum, axes, [point]);
    const own = list.find((candidate) => candidate.point === point) ?? now[k].own;
    now[k] = { own, others: list.filter((candidate) => candidate.point !== point) };
  });
  return now;
}

/** Correct the best point, look again, repeat; then take back those the others do without. */
function findings(teller: StoryTeller, spectrum: NetSpectrum, clean: Story): Finding[] {
  const floor = Math.log(spectrum.pointCount);
  let set = likelySet(teller, spectrum, clean);
  if (set.length > 1) set = judgedAfresh(teller, spectrum, set);
  while (set.length > 1) {
    set = judgedAfresh(teller, spectrum, set);
    const weakest = set.reduce((a, b) => (b.own.gain < a.own.gain ? b : a));
    if (weakest.own.gain >= floor) break;
    set = set.filter((one) => one !== weakest);
  }
  return set.filter(({ own }) => own.gain >= floor);
}

/**
 * What the whole set explains better than a richer smooth shape, nats. Two points that flatter each
 * other, each credible once the other is believed, come out low.
 */
function jointGain(
  teller: StoryTeller,
  spectrum: NetSpectrum,
  found: readonly Finding[],
  rest: Story,
): number {
  const clean = cleanStory(teller, spectrum.axes, [...firstStarts(spectrum), rest.decays]);
  return found.reduce(
    (gain, { own }) => gain - own.story.price - Math.log(spectrum.pointCount),
    clean.cost - rest.cost,
  );
}

function measuredWindow(
  { net, row, column }: NetWindow,
  scale: number,
  whole: ControlNet,
): { readonly hand: number; readonly points: DisplacedPoint[] } {
  const spectrum = netSpectrum(net, scale);
  const teller = new StoryTeller(spectrum);
  const clean = cleanStory(teller, spectrum.axes, firstStarts(spectrum));
  const found = findings(teller, spectrum, clean);
  const spotOf = (point: number): Spot => ({
    row: row + Math.floor(point / net.columns),
    column: column + (point % net.columns),
  });
  const own = found.map((finding) => finding.own);
  const rest =
    own.length === 0
      ? clean
      : cleanStory(teller, without(spectrum, spectrum.axes, own), [
          ...firstStarts(spectrum),
          ...own.map(({ story }) => story.decays),
        ]);
  const joint = found.length > 1 ? jointGain(teller, spectrum, found, rest) : Infinity;
  const choice = Math.log(spectrum.pointCount);
  const points = found.flatMap(({ own, others }): DisplacedPoint[] => {
    const spot = spotOf(own.point);
    const displacement = scaled(inModel(spectrum.frame, own.story.shift), scale);
    const off = choice + Math.max(0, own.gain - choice - joint);
    const gain = own.gain - off;
    if (gain <= 0) return [];
    return [
      {
        spot,
        displacement,
        expected: difference(pointAt(whole, spot.row, spot.column), displacement),
        score: own.score,
        gain,
        rivals: others.map((other) => ({ spot: spotOf(other.point), gain: other.gain - off })),
      },
    ];
  });
  const unevenness = rest.decays[rest.decays.length - 1][9];
  return { hand: scale * Math.sqrt(Math.exp(unevenness) + leastHand * leastHand), points };
}

/** Greatest distance between two points of the net: its size however it is turned, mm. */
function greatestDistance({ points }: ControlNet): number {
  let most = 0;
  for (let k = 0; k < points.length; k += 3)
    for (let l = 0; l < k; l += 3) {
      const [x, y, z] = [
        points[k] - points[l],
        points[k + 1] - points[l + 1],
        points[k + 2] - points[l + 2],
      ];
      most = Math.max(most, x * x + y * y + z * z);
    }
  return Math.sqrt(most);
}

/** The least unevenness a net of this size is credited with, mm. */
export const leastUnevenness = (net: ControlNet): number =>
  (leastHand * greatestDistance(net)) / statedSize;

/** True where two control points stand for the same parameter: the net may break there. */
function breaks(net: ControlNet): boolean {
  return ([0, 1] as const).some((side) => {
    const abscissae = grevilleAbscissae(net.knots[side], net.degree[side]);
    const least = 1e-9 * (abscissae[abscissae.length - 1] - abscissae[0]);
    return abscissae.some((value, i) => i > 0 && !(value - abscissae[i - 1] > least));
  });
}

/** Why a net cannot be judged, or null. */
function hindrance(net: ControlNet): Hindrance | null {
  if (net.columns < leastSide || net.rows < leastSide) return 'too-small';
  if (net.columns * net.rows > mostPoints) return 'too-large';
  const size = greatestDistance(net);
  if (!(size > 0) || !Number.isFinite(size)) return 'no-extent';
  return breaks(net) ? 'inner-break' : null;
}

/**
 * Control points off the run of their net. A smooth net's coefficients on discrete polynomials
 * decay; one point off it raises all of them a little. For each likely point two stories are
 * weighed, both with the decay fitted: a richer smooth shape, or this one point displaced.
 *
 * Nothing changes when the net is moved, turned, mirrored, scaled, transposed or reversed. Weights
 * of rational nets are left out of account. Over 16 points a side the net is judged in overlapping
 * windows of 12, each point where it is most central.
 */
export function displacedPoints(net: ControlNet): LocatorResult {
  const reason = hindrance(net);
  if (reason) return { kind: 'undecided', reason };
  const size = greatestDistance(net);
  const windows = netWindows(net);
  const results = windows.map((window) => measuredWindow(window, size / statedSize, net));
  const byScore = (a: DisplacedPoint, b: DisplacedPoint): number => b.score - a.score;
  const points = results.flatMap(({ points: found }, w) =>
    found.filter(({ spot }) => {
      const nearest = Math.min(...windows.map((other) => offCentre(other, spot.row, spot.column)));
      return offCentre(windows[w], spot.row, spot.column) <= nearest + 1e-9;
    }),
  );
  const once = points
    .sort(byScore)
    .filter(
      ({ spot }, k) =>
        points.findIndex((p) => p.spot.row === spot.row && p.spot.column === spot.column) === k,
    );
  const hands = results.map(({ hand }) => hand).sort((a, b) => a - b);
  const middle = (hands[(hands.length - 1) >> 1] + hands[hands.length >> 1]) / 2;
  return { kind: 'measured', hand: middle, points: once };
}

/**
 * The displacement one point is measured to have, however little speaks for it: what a nudge leaves.
 * Where it is minus where it is expected, mm in the axes of the model; null where the net cannot be
 * judged.
 */
export function remainingDisplacement(net: ControlNet, spot: Spot): Vector | null {
  if (hindrance(net)) return null;
  const scale = greatestDistance(net) / statedSize;
  const window = netWindows(net).reduce((a, b) =>
    offCentre(b, spot.row, spot.column) < offCentre(a, spot.row, spot.column) ? b : a,
  );
  const spectrum = netSpectrum(window.net, scale);
  const teller = new StoryTeller(spectrum);
  const point = (spot.row - window.row) * window.net.columns + spot.column - window.column;
  const clean = cleanStory(teller, spectrum.axes, firstStarts(spectrum));
  const { shift } = displacedStory(teller, spectrum.axes, [clean.decays], point);
  return scaled(inModel(spectrum.frame, shift), scale);
}

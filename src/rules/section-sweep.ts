import data from '../../rules/section-sweep.json' with { type: 'json' };
import { diagonal, type ControlNet } from '../geometry/controlNet.ts';
import { difference, dot, length, type Vector } from '../geometry/vector.ts';
import { joinedCombs, type JoinedComb } from '../measure/joinedCombs.ts';
import {
  curvatureSways,
  lineCombs,
  monotonePieces,
  planeCombs,
  type SectionComb,
} from '../measure/sectionCombs.ts';
import { suspectOfSection } from '../measure/sectionSuspect.ts';
import {
  sweepUnevenness,
  type CurvatureProfile,
  type SweepUnevenness,
} from '../measure/sweepUnevenness.ts';
import { influences } from './influences.ts';
import {
  judged,
  notApplicable,
  type Miss,
  type Rule,
  type RuleData,
  type Thresholds,
} from './rule.ts';
import type { Subject } from './subject.ts';

/** Common practice: a body side is cut every 150 to 250 mm, smaller panels some four times across. */
const widest = 200;
const cutsAcross = 4;

/** The largest of 1, 2 and 5 times a power of ten that cuts a panel often enough, mm. */
function roundSpacing(size: number): number {
  const wanted = Math.min(widest, size / cutsAcross);
  const power = 10 ** Math.floor(Math.log10(wanted));
  return power * (wanted >= 5 * power ? 5 : wanted >= 2 * power ? 2 : 1);
}

/** A profile's departure that is worth telling, and what it is of the largest curvature; else null. */
function departure(
  profile: CurvatureProfile,
  { limit, floor }: Thresholds,
): (SweepUnevenness & { readonly share: number }) | null {
  const uneven = sweepUnevenness(profile);
  if (!uneven || uneven.height <= floor('height')) return null;
  const largest = Array.from(profile.curvature).reduce((most, k) => Math.max(most, Math.abs(k)), 0);
  const share = uneven.excess / largest;
  return share > limit.value ? { ...uneven, share } : null;
}

/** What is told of a departure at one station of a comb; `more` comes after the evidence that all have. */
const sweepMiss = (
  net: ControlNet,
  comb: SectionComb,
  station: number,
  { share, height, stretch, kind }: SweepUnevenness & { readonly share: number },
  more: Readonly<Record<string, number>>,
): Miss => ({
  site: { kind: 'section', axis: comb.axis, at: comb.at },
  value: share,
  position: comb.points[station],
  influence: influences(curvatureSways(net, comb.parameters[station], comb.tangents[station])),
  evidence: { height, stretch, turnsBack: kind === 'reversal' ? 1 : 0, ...more },
});

/** One section's departure as a miss, and which way the section runs there. */
interface Departure {
  readonly miss: Miss;
  readonly axis: SectionComb['axis'];
  readonly place: Vector;
  readonly tangent: Vector;
  readonly comb: SectionComb;
  readonly uneven: SweepUnevenness;
}

function departureOf(
  { net }: Subject,
  comb: SectionComb,
  thresholds: Thresholds,
): Departure | null {
  const uneven = departure(comb, thresholds);
  if (!uneven) return null;
  const pieces = monotonePieces(net, comb);
  const miss = sweepMiss(net, comb, uneven.at, uneven, {
    least: comb.curvature.reduce((least, k) => Math.min(least, k), Infinity),
    ...(pieces === null ? {} : { pieces }),
    most: comb.curvature.reduce((most, k) => Math.max(most, k), -Infinity),
  });
  return {
    miss,
    axis: comb.axis,
    place: comb.points[uneven.at],
    tangent: comb.tangents[uneven.at],
    comb,
    uneven,
  };
}

/** Places within this share of the panel are one. */
const onePlace = 0.2;

/**
 * Whether two sections show the same: near by, or the same way across the panel and as far along. A
 * column that is off shows in every row.
 */
function isSame(a: Departure, b: Departure, size: number): boolean {
  const apart = difference(b.place, a.place);
  const far = a.axis === b.axis ? Math.abs(dot(apart, a.tangent)) : length(apart);
  return far <= onePlace * size;
}

/** Sections across the model's axes turn with the model; rows and columns are the panel's own. */
const isPlane = ({ axis }: Departure): boolean => axis === 'x' || axis === 'y' || axis === 'z';

/**
 * One miss a place: its worst row or column speaks, a plane only where none of those shows it, with how
 * many sections show it and the worst of them.
 */
function oncePerPlace(
  departures: readonly Departure[],
  size: number,
  limit: number,
  { scan }: Subject,
): Miss[] {
  const kept: { readonly departure: Departure; sections: number; worst: number }[] = [];
  const order = departures.toSorted(
    (a, b) => Number(isPlane(a)) - Number(isPlane(b)) || b.miss.value - a.miss.value,
  );
  for (const departure of order) {
    const { value } = departure.miss;
    const same = kept.find((other) => isSame(other.departure, departure, size));
    if (same) {
      same.sections += 1;
      same.worst = Math.max(same.worst, value);
    } else kept.push({ departure, sections: 1, worst: value });
  }
  return kept.map(({ departure: { miss, comb, uneven }, sections, worst }) => {
    // sought only behind what is told, and where it can be asked: it takes its time
    const suspect = scan && suspectOfSection(comb, uneven);
    return {
      ...miss,
      ...(suspect ? { suspect } : {}),
      beyond: worst / limit,
      evidence: { ...miss.evidence, sections, worst },
    };
  });
}

export const sectionSweep: Rule = {
  data: data as RuleData,
  judge: (subject, thresholds) => {
    const { net, side, kept, sectionSpacing } = subject;
    const size = diagonal(net);
    if (!(size > 0)) return notApplicable('no-extent');
    const combs = [
      ...planeCombs(net, sectionSpacing ?? roundSpacing(size), side.sign, kept),
      ...lineCombs(net, side.sign, kept),
    ];
    if (combs.length === 0) return { outcome: 'undecided', reason: 'no-section' };
    const departures = combs.flatMap((comb) => departureOf(subject, comb, thresholds) ?? []);
    return judged(oncePerPlace(departures, size, thresholds.limit.value, subject));
  },
};

/** A panel as a section that runs on into its neighbour looks at it. */
export interface SectionedPanel {
  readonly net: ControlNet;
  /** The side of S_u x S_v on which both panels' curvatures are signed. */
  readonly sign: 1 | -1;
  /** Its plane combs at a spacing, signed by S_u x S_v. */
  readonly combs: (spacing: number) => readonly SectionComb[];
}

/** A departure is the seam's where it is no farther from it than this share of its own length. */
const besideShare = 0.25;

function isBesideSeam({ s, seam }: JoinedComb, { from, to }: SweepUnevenness): boolean {
  const [start, end] = [s[from] - s[seam], s[to] - s[seam]];
  return Math.max(start, -end) <= besideShare * (end - start);
}

/** The departure of a section over two panels, where it lies at the seam and is more than either's own. */
function acrossMiss(
  joined: JoinedComb,
  panels: readonly [SectionedPanel, SectionedPanel],
  thresholds: Thresholds,
): { readonly on: 0 | 1; readonly miss: Miss } | null {
  const uneven = departure(joined, thresholds);
  if (!uneven || !isBesideSeam(joined, uneven)) return null;
  const own = joined.parts.map(({ comb }) => sweepUnevenness(comb)?.excess ?? 0);
  if (uneven.excess <= Math.max(...own) * (1 + 1e-9)) return null;
  const on = uneven.at < joined.seam ? 0 : 1;
  const { comb, isTurned } = joined.parts[on];
  const along = on === 0 ? uneven.at : uneven.at - joined.seam;
  const station = isTurned ? comb.s.length - 1 - along : along;
  return { on, miss: sweepMiss(panels[on].net, comb, station, uneven, { panels: 2 }) };
}

/**
 * Sections over two panels that meet smoothly, judged as one: what departs across the seam, where each
 * panel by itself sweeps. A turn away from the seam may be meant: a body has more of them than a panel.
 * The worst is told, with the panel (0 or 1) in which it lies.
 */
export function sweepAcross(
  panels: readonly [SectionedPanel, SectionedPanel],
  spacing: number | null,
  reach: number,
  thresholds: Thresholds,
): { readonly on: 0 | 1; readonly miss: Miss } | null {
  // the coarser of both spacings: its planes cut the other panel too
  const step = spacing ?? Math.max(...panels.map(({ net }) => roundSpacing(diagonal(net))));
  const [first, second] = panels.map(({ combs, sign }) =>
    combs(step).map((comb) => ({ ...comb, curvature: comb.curvature.map((k) => sign * k) })),
  );
  const found = joinedCombs(first, second, reach).flatMap(
    (joined) => acrossMiss(joined, panels, thresholds) ?? [],
  );
  if (found.length === 0) return null;
  const worst = found.reduce((a, b) => (b.miss.value > a.miss.value ? b : a));
  const sections = found.length;
  return {
    ...worst,
    miss: { ...worst.miss, evidence: { ...worst.miss.evidence, sections } },
  };
}

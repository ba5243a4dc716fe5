import data from '../../rules/highlight-kink.json' with { type: 'json' };
import { diagonal, type Spot } from '../geometry/controlNet.ts';
import type { Coordinates } from '../geometry/splineCurve.ts';
import { highlightKinks, type HighlightKink } from '../measure/highlightKinks.ts';
import { highlightLines, type HighlightLine } from '../measure/highlightLines.ts';
import { highlightWiggles, type HighlightWiggle } from '../measure/highlightWiggles.ts';
import { panelView } from '../measure/panelView.ts';
import { placeSways } from '../measure/placeSways.ts';
import { suspectOfWiggle } from '../measure/wiggleSuspect.ts';
import { influences } from './influences.ts';
import {
  degrees,
  judged,
  notApplicable,
  type Influence,
  type Miss,
  type Rule,
  type RuleData,
  type Site,
  type Thresholds,
} from './rule.ts';
import type { Subject } from './subject.ts';

/**
 * Longer wiggles are the shape of the panel: those over more than this share of its diagonal, and over
 * more control points than one that stands off can sway.
 */
const longestShare = 0.4;
const mostPoints = 3;

/** A wiggle more than so much of which is kinks is theirs. */
const mostKinked = 0.5;

/** Whether what a line does is worth a look: both how far it is thrown off and the tilt that does it. */
const isSeen = (
  { shift, tilt }: Pick<HighlightWiggle, 'shift' | 'tilt'>,
  { floor }: Thresholds,
): boolean => shift > floor('shift') && degrees(tilt) > floor('tilt');

const lineCount = (all: readonly { readonly line: HighlightLine }[]): number =>
  new Set(all.map(({ line }) => line)).size;

const influenceAt = (net: Subject['net'], [u, v]: Coordinates): Influence[] =>
  influences(placeSways(net, u, v));

/** A row or column where the corner runs along one, else the line of the surface under the knot. */
function kinkSite({ side, knot }: HighlightKink, degree: number): Site {
  const index = knot.first - 1;
  if (knot.multiplicity >= degree)
    return side === 0 ? { kind: 'column', column: index } : { kind: 'row', row: index };
  return { kind: 'section', axis: side === 0 ? 'column' : 'row', at: knot.value };
}

/** Kinks, one miss a knot line: its worst. */
function kinkMisses(
  { net }: Subject,
  kinks: readonly HighlightKink[],
  { limit, floor }: Thresholds,
): Miss[] {
  const beyondOf = ({ order, angle, shift }: HighlightKink): number =>
    order === 0
      ? Math.max(degrees(angle) / limit.value, shift / floor('shift'))
      : degrees(angle) / limit.value;
  const key = ({ side, knot }: HighlightKink): string => `${side} ${knot.first}`;
  return [...new Set(kinks.map(key))].map((own): Miss => {
    const same = kinks.filter((kink) => key(kink) === own);
    const worst = same.reduce((a, b) => (beyondOf(b) > beyondOf(a) ? b : a));
    const { place, line, angle, shift, tilt, order, side } = worst;
    return {
      site: kinkSite(worst, net.degree[side]),
      value: degrees(angle),
      position: place.point,
      beyond: beyondOf(worst),
      influence: influenceAt(net, place.at),
      evidence: {
        order,
        family: line.family,
        highlights: lineCount(same),
        shift,
        tilt: degrees(tilt),
        knot: worst.knot.value,
      },
    };
  });
}

/** The control point that acts most where a group of wiggles is, the larger swings counting more. */
function pointOf(net: Subject['net'], wiggles: readonly HighlightWiggle[]): Spot {
  const sways = new Map<string, Spot & { sway: number }>();
  for (const { at, swing } of wiggles)
    for (const { row, column, sway } of placeSways(net, at[0], at[1])) {
      const key = `${row} ${column}`;
      const own = sways.get(key) ?? { row, column, sway: 0 };
      own.sway += sway * swing;
      sways.set(key, own);
    }
  const [{ row, column }] = influences([...sways.values()]);
  return { row, column };
}

/** Wiggles no farther apart than one control point's reach are one place, the worst speaks for it. */
function wiggleGroups(
  net: Subject['net'],
  wiggles: readonly HighlightWiggle[],
): HighlightWiggle[][] {
  const groups: { readonly spot: Spot; readonly own: HighlightWiggle[] }[] = [];
  for (const wiggle of wiggles.toSorted((a, b) => b.swing - a.swing)) {
    const spot = pointOf(net, [wiggle]);
    const near = groups.find(
      (group) =>
        Math.max(Math.abs(group.spot.row - spot.row), Math.abs(group.spot.column - spot.column)) <=
        mostPoints - 1,
    );
    if (near) near.own.push(wiggle);
    else groups.push({ spot, own: [wiggle] });
  }
  return groups.map(({ own }) => own);
}

const wiggleMisses = ({ net, scan }: Subject, wiggles: readonly HighlightWiggle[]): Miss[] =>
  wiggleGroups(net, wiggles).map((same): Miss => {
    const { line, at, point, swing, shift, tilt, wavelength, bunching } = same[0];
    return {
      site: { kind: 'point', ...pointOf(net, same) },
      value: degrees(swing),
      position: point,
      influence: influenceAt(net, at),
      ...(scan ? { suspect: suspectOfWiggle(same[0]) } : {}),
      evidence: {
        family: line.family,
        highlights: lineCount(same),
        shift,
        tilt: degrees(tilt),
        wavelength,
        bunching,
      },
    };
  });

export const highlightKink: Rule = {
  data: data as RuleData,
  judge: (subject, thresholds) => {
    const { net, side, kept } = subject;
    const { limit } = thresholds;
    if (!(diagonal(net) > 0)) return notApplicable('no-extent');
    const view = panelView(net, side, kept);
    if (!view) return { outcome: 'undecided', reason: 'no-view' };
    const lines = highlightLines(net, view, kept);
    if (!lines) return { outcome: 'undecided', reason: 'too-large' };
    if (lines.length === 0) return { outcome: 'undecided', reason: 'no-view' };
    const kinks = highlightKinks(net, lines).filter(
      (kink) => isSeen(kink, thresholds) && (kink.order === 0 || degrees(kink.angle) > limit.value),
    );
    // rings of equal slope pinch and bulge on honest panels: only their kinks count
    const wiggles = highlightWiggles(
      net,
      lines.filter(({ light }) => light.kind === 'line'),
    ).filter(
      (wiggle) =>
        degrees(wiggle.swing) > limit.value &&
        wiggle.wavelength <= longestShare * view.diagonal &&
        wiggle.points <= mostPoints &&
        wiggle.kinked < mostKinked &&
        isSeen(wiggle, thresholds),
    );
    return judged([...kinkMisses(subject, kinks, thresholds), ...wiggleMisses(subject, wiggles)]);
  },
};

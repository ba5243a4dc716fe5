import { withMoves, type ControlNet, type Spot } from '../geometry/controlNet.ts';
import { difference, dot, length, scaled } from '../geometry/vector.ts';
import type { Displacement } from '../measure/displacements.ts';
import type { FaultPlace, Run } from '../measure/locator/netFaults.ts';
import { middleOfMost } from '../measure/locator/fallingOrder.ts';
import { outwardNormal } from '../measure/outwardSide.ts';
import { visibleEffect } from '../measure/visibleEffect.ts';
import { certainty, type Certainty } from './certainty.ts';
import {
  degrees,
  judged,
  notApplicable,
  type Judgement,
  type Miss,
  type Site,
  type Thresholds,
} from './rule.ts';
import { partPoint, wholeSpot, type Part, type Subject } from './subject.ts';

/** What a rule names: a point off the surface, a point slid within it, a row or column or a run of it. */
export type DisplacementKind = 'jut' | 'drift' | 'line';

/** A displacement seen against the surface. */
interface Split {
  /** Signed, along the outward normal, mm. */
  readonly normal: number;
  /** Within the surface, mm. */
  readonly within: number;
  /** Whether the sign of `normal` says out or in. */
  readonly sided: boolean;
}

/** The net of a part with everything at a displacement put where it is expected. */
const mendedNet = (part: Part, { points }: Displacement): ControlNet =>
  withMoves(
    part.net,
    points.map(({ spot, displacement }) => ({ spot, by: scaled(displacement, -1) })),
  );

/** One of the points of a displacement against the surface. */
type Member = Displacement['points'][number] & Split;

/**
 * The points of a displacement, each split about the normal of the mended net there: a displaced
 * point tilts its own.
 */
function members(subject: Subject, mended: ControlNet, { points }: Displacement): Member[] {
  return points.map((point) => {
    const normal = outwardNormal(mended, point.spot, subject.side);
    const size = length(point.displacement);
    if (!normal) return { ...point, normal: size, within: 0, sided: false };
    const along = dot(point.displacement, normal);
    return {
      ...point,
      normal: along,
      sided: subject.side.from !== 'unknown',
      within: length(difference(point.displacement, scaled(normal, along))),
    };
  });
}

/** The member that is farthest off; of a line that is off alike, its middle. */
const farthest = (all: readonly Member[]): Member =>
  all[middleOfMost(all.map(({ displacement }) => length(displacement)))];

/**
 * A point that leaves the surface by more than this share of what it slid within it juts: further
 * out than 20 degrees or so, its height is what is seen.
 */
const leastLean = 0.36;

function kindOf({ place }: Displacement, { normal, within }: Split): DisplacementKind {
  if (place.kind !== 'point') return 'line';
  return Math.abs(normal) >= leastLean * within ? 'jut' : 'drift';
}

const stretch = ({ run }: { readonly run?: Run }, by: number) =>
  run ? { from: run[0] + by, to: run[1] + by } : {};

function site(part: Part, { place }: Displacement, ties: readonly Spot[]): Site {
  if (place.kind === 'row')
    return { kind: 'row', row: part.row + place.row, ...stretch(place, part.column) };
  if (place.kind === 'column')
    return { kind: 'column', column: part.column + place.column, ...stretch(place, part.row) };
  const spots = [place, ...ties].map(({ row, column }) => wholeSpot(part, { row, column }));
  return spots.length === 1 ? { kind: 'point', ...spots[0] } : { kind: 'points', points: spots };
}

/** A point on a named line that is off by less than this share of the line belongs to it. */
const memberShare = 0.7;

/** Whether a point lies on a line, or in its run. */
function liesOn(point: FaultPlace, line: FaultPlace): boolean {
  if (point.kind !== 'point' || line.kind === 'point') return false;
  const [across, along] =
    line.kind === 'row'
      ? [point.row === line.row, point.column]
      : [point.column === line.column, point.row];
  return across && (!line.run || (along >= line.run[0] && along <= line.run[1]));
}

/**
 * How sure one may be of a displacement beside the lines of its net that are named: a point on one
 * only mends the line's profile, and one that is off farther than the line is not named.
 */
function besideLines(
  one: Displacement,
  sure: Certainty | null,
  lines: readonly Displacement[],
): Certainty | null {
  const through = lines.filter(({ place }) => liesOn(one.place, place));
  if (!sure || through.length === 0) return sure;
  const most = Math.max(...through.map(({ displacement }) => length(displacement)));
  if (length(one.displacement) < memberShare * most) return null;
  return { ...sure, level: 'uncertain' };
}

/**
 * The displacements of one part of one kind, over the limit in mm and over the floor of what is
 * seen. A point on a line that is named is the line's affair.
 */
export function judgedDisplacements(
  subject: Subject,
  part: Part,
  kind: DisplacementKind,
  { limit, floor }: Thresholds,
): Judgement {
  const located = part.displaced();
  if (located.kind === 'undecided')
    return located.reason === 'too-small'
      ? notApplicable(located.reason)
      : { outcome: 'undecided', reason: located.reason };
  const pointCount = part.net.rows * part.net.columns;
  const certaintyOf = (one: Displacement): Certainty | null =>
    certainty(one, located, pointCount, subject.locator.falseAlarms);
  const lines = located.displacements.filter(
    (one) => one.place.kind !== 'point' && certaintyOf(one)?.level === 'named',
  );
  const misses = located.displacements.flatMap((one): Miss[] => {
    const sure = besideLines(one, certaintyOf(one), lines);
    if (!sure) return [];
    const mended = mendedNet(part, one);
    const far = farthest(members(subject, mended, one));
    if (kindOf(one, far) !== kind) return [];
    const value = kind === 'drift' ? far.within : Math.abs(far.normal);
    if (value <= limit.value) return [];
    const visible = visibleEffect(
      mended,
      one.points.map(({ spot, displacement }) => ({ spot, by: displacement })),
    );
    if (visible.peak <= floor('seen')) return [];
    const [rival] = one.rivals;
    return [
      {
        site: site(
          part,
          one,
          sure.ties.flatMap((place) => (place.kind === 'point' ? [place] : [])),
        ),
        value,
        position: partPoint(part, far.spot),
        ...(kind !== 'drift' && far.sided ? { direction: far.normal > 0 ? 'out' : 'in' } : {}),
        displacement: far.displacement,
        moves: one.points.map(({ spot, displacement }) => ({
          ...wholeSpot(part, spot),
          by: scaled(displacement, -1),
        })),
        either: one.rivals.flatMap(({ place, displacement }) =>
          place.kind === 'point' && displacement && sure.ties.includes(place)
            ? [{ ...wholeSpot(part, place), by: scaled(displacement, -1) }]
            : [],
        ),
        expected: far.expected,
        visible: { peak: visible.peak, tilt: degrees(visible.tilt), shift: visible.shift },
        certainty: sure.level,
        confidence: sure.confidence,
        ...(rival ? { runnerUp: site(part, { ...one, place: rival.place }, []) } : {}),
        evidence: {
          logOdds: one.logOdds,
          gain: one.gain,
          setGain: one.setGain,
          deviation: one.deviation,
          unevenness: located.hand,
          ...(rival ? { runnerUpBehind: rival.behind } : {}),
        },
      },
    ];
  });
  return judged(misses);
}

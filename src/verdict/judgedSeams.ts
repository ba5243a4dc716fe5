import { surfaceJet, surfaceNormal, surfacePoint } from '../geometry/evaluation.ts';
import { outlineEdges } from '../geometry/outlineEdges.ts';
import { curvePoint } from '../geometry/splineCurve.ts';
import { dot, length, type Vector } from '../geometry/vector.ts';
import { joins, type EdgeStretch, type Join, type Outline } from '../measure/joins.ts';
import { openStretches } from '../measure/openStretches.ts';
import { outwardNormal } from '../measure/outwardSide.ts';
import type { SeamSide } from '../measure/seamCrossings.ts';
import { seamProfile, type SeamMeasure, type SeamProfile } from '../measure/seamProfile.ts';
import { seamStations, type SeamStation } from '../measure/seamStations.ts';
import type { Brief } from '../rules/brief.ts';
import {
  degrees,
  notApplicable,
  thresholdsOf,
  type Judgement,
  type Outcome,
  type Reason,
  type SeamRule,
  type SurfaceClass,
} from '../rules/rule.ts';
import type { Seam } from '../rules/seam.ts';
import { worstJudgement } from '../rules/worstJudgement.ts';
import { codePointOrder } from './codePointOrder.ts';
import { sweepAcross } from '../rules/section-sweep.ts';
import { moveParts, type Nudge } from '../suggest/nudges.ts';
import { seamNudges } from '../suggest/seamNudges.ts';
import { findingOf, type Finding } from './finding.ts';
import { centreFindings } from './centreFindings.ts';
import type { JudgedFile, JudgedPanel } from './judgedFile.ts';
import type { PlacedPanel } from './placedPanel.ts';
import { recentCombs } from './recentCombs.ts';

/** A panel by its names. */
export interface PanelName {
  readonly file: string;
  readonly panel: string;
}

/** The largest of a measure along a seam and its mean. */
interface Along {
  readonly most: number;
  readonly mean: number;
}

/** How two panels meet. */
export interface JudgedSeam {
  readonly panels: readonly [PanelName, PanelName];
  /** Which of the seams of these two, from 0. */
  readonly nth: number;
  readonly meant: Seam['meant'];
  /** mm. */
  readonly length: number;
  /** Both ends, mm in the model's frame. */
  readonly ends: readonly [Vector, Vector];
  /** mm; null where there was no station. */
  readonly gap: Along | null;
  /** Degrees; null where no station has sound normals, as for the next two. */
  readonly angle: Along | null;
  /** Relative difference of the curvatures across, 0 to 2. */
  readonly mismatch: Along | null;
  /** Change of pace of the curvature across, 1/mm. */
  readonly flow: Along | null;
  readonly outcomes: Readonly<Record<string, Outcome>>;
  readonly reasons: Readonly<Record<string, Reason>>;
}

/** A stretch of a panel's outline along which no other panel runs. */
export interface OpenBorder extends PanelName {
  /** mm. */
  readonly length: number;
  readonly ends: readonly [Vector, Vector];
}

/** What is said of the panels of a job together. */
export interface JudgedSeams {
  readonly files: readonly JudgedFile[];
  readonly seams: readonly JudgedSeam[];
  readonly openBorders: readonly OpenBorder[];
}

const byName = (a: PlacedPanel, b: PlacedPanel): number =>
  codePointOrder(a.file, b.file) || codePointOrder(a.panel.name, b.panel.name);

const nameOf = ({ file, panel }: PlacedPanel): PanelName => ({ file, panel: panel.name });

const sideOf = ({ net, edges }: Outline, { edge, from, to }: EdgeStretch): SeamSide => ({
  net,
  edge: edges[edge],
  from,
  to,
});

/** A seam is judged as the less visible of its panels is. */
const laxerClass = (a: SurfaceClass, b: SurfaceClass): SurfaceClass => (a > b ? a : b);

/** The angle that half of the seam's length lies below, degrees; null where none is sound. */
function middleAngle(stations: readonly SeamStation[]): number | null {
  const angles = stations
    .flatMap(({ crossing }) => (crossing ? [Math.abs(crossing.angle)] : []))
    .sort((a, b) => a - b);
  return angles.length > 0 ? degrees(angles[angles.length >> 1]) : null;
}

const alongOf = ({ peak, mean }: SeamMeasure, factor = 1): Along | null =>
  peak && mean !== null ? { most: factor * Math.abs(peak.value), mean: factor * mean } : null;

/** What a nudge for a rule is to bring to nothing, and what of a seam the rule's value is. */
const aims: Readonly<
  Record<
    string,
    { readonly aim: 'angle' | 'bend'; readonly left: (profile: SeamProfile) => number }
  >
> = {
  seamAngles: { aim: 'angle', left: ({ angle }) => degrees(Math.abs(angle.peak?.value ?? 0)) },
  seamCurvatures: { aim: 'bend', left: ({ mismatch }) => Math.abs(mismatch.peak?.value ?? 0) },
};

/** A nudge may leave this share of the limit, and opens no gap. */
const mostLeft = 0.5;
const leastGap = 1e-6;

interface Mend {
  /** 0: the seam's first panel is moved; 1: its second. */
  readonly moved: 0 | 1;
  readonly nudge: Nudge;
}

/** The smaller of the two panels' moves that mend a missed limit, measured again; null: none does. */
function mendOf(
  rule: SeamRule,
  sides: readonly [SeamSide, SeamSide],
  placed: readonly [PlacedPanel, PlacedPanel],
  limit: number,
  flatRadius: number,
  gapBefore: number,
): Mend | null {
  const target = aims[rule.data.measure];
  if (!target) return null;
  const { a, b } = seamNudges(sides[0], sides[1], target.aim, flatRadius);
  const mends = [a, b].flatMap(({ nudge }, which) => {
    if (!nudge) return [];
    const left = target.left(nudge.leaves);
    const gap = Math.abs(nudge.leaves.gap.peak?.value ?? 0);
    return left <= mostLeft * limit && gap <= gapBefore + leastGap ? [{ nudge, left, which }] : [];
  });
  if (mends.length === 0) return null;
  const { nudge, left, which } = mends.reduce((one, other) =>
    other.nudge.largest < one.nudge.largest ? other : one,
  );
  const far = nudge.moves.reduce((one, other) => (length(other.by) > length(one.by) ? other : one));
  const { net, body } = placed[which];
  const spot = { row: far.row, column: far.column };
  return {
    moved: which === 0 ? 0 : 1,
    nudge: {
      spot,
      vector: far.by,
      moves: nudge.moves,
      either: [],
      parts: moveParts(net, spot, far.by, outwardNormal(net, spot, body.side)),
      leaves: left,
      leavesIn: rule.data.unit,
    },
  };
}

/** A seam with what every rule says of it, and the findings by the panel that is to be moved. */
interface Judged {
  readonly seam: JudgedSeam;
  readonly pair: readonly [PlacedPanel, PlacedPanel];
  readonly judgements: ReadonlyMap<string, Judgement>;
  readonly findings: readonly { readonly on: PlacedPanel; readonly finding: Finding }[];
}

/** 1 where a panel's S_u x S_v stands on the side on which the seam's normals are taken, else -1. */
function sideSign({ net, edge }: SeamSide, at: number, normal: Vector): 1 | -1 {
  const [u, v] = curvePoint(edge.curve, at);
  const own = surfaceNormal(surfaceJet(net, u, v));
  return own && dot(own, normal) < 0 ? -1 : 1;
}

/** What departs where a section passes from one panel to the other; null: nothing that is asked for. */
function sectionFinding(
  pair: readonly [PlacedPanel, PlacedPanel],
  sides: readonly [SeamSide, SeamSide],
  stations: readonly SeamStation[],
  { rules, sectionSpacing, seams }: Brief,
  combsOf: ReturnType<typeof recentCombs>,
): { readonly on: PlacedPanel; readonly finding: Finding } | null {
  const rule = rules.find(({ data }) => data.id === 'section-sweep');
  const station = stations.find(({ crossing }) => crossing !== null);
  if (!rule || !station?.crossing) return null;
  const { crossing } = station;
  const sectioned = ([0, 1] as const).map((k) => ({
    net: pair[k].net,
    combs: (spacing: number) => combsOf(pair[k], spacing),
    sign: sideSign(sides[k], station.at[k], k === 0 ? crossing.a.normal : crossing.b.normal),
  }));
  const surfaceClass = laxerClass(pair[0].panel.class, pair[1].panel.class);
  const thresholds = thresholdsOf(rule.data, surfaceClass);
  const told = sweepAcross([sectioned[0], sectioned[1]], sectionSpacing, seams.reach, thresholds);
  if (!told) return null;
  const on = pair[told.on];
  return { on, finding: findingOf(rule.data, surfaceClass, told.miss, nameOf(on)) };
}

function judgedSeam(
  join: Join,
  nth: number,
  outlines: readonly PlacedPanel[],
  brief: Brief,
  combsOf: ReturnType<typeof recentCombs>,
): Judged | null {
  const { seamRules, seams } = brief;
  const pair = [outlines[join.a.panel], outlines[join.b.panel]] as const;
  const names = pair.map(({ panel }) => panel.name);
  const stated = seams.meant(names[0], names[1]);
  if (stated === 'apart') return null;
  const sides = [sideOf(pair[0], join.a), sideOf(pair[1], join.b)] as const;
  const surfaceClass = laxerClass(pair[0].panel.class, pair[1].panel.class);
  const flat = seamRules.find(({ data }) => data.floors?.['flat'])?.data.floors?.['flat'];
  const flatRadius = flat?.[surfaceClass].value ?? Infinity;
  const { stations } = seamStations(sides[0], sides[1], flatRadius);
  const profile = seamProfile(stations);
  const meant = stated ?? ((middleAngle(stations) ?? 0) > seams.smoothBelow ? 'feature' : 'smooth');
  const looked: Seam = { meant, with: names[1], nth, stations, profile };
  const judgements = new Map<string, Judgement>();
  const findings: { on: PlacedPanel; finding: Finding }[] = [];
  for (const rule of seamRules) {
    const thresholds = thresholdsOf(rule.data, surfaceClass);
    const judgement = rule.judge(looked, thresholds);
    judgements.set(rule.data.id, judgement);
    if (judgement.outcome !== 'missed') continue;
    const gap = Math.abs(profile.gap.peak?.value ?? 0);
    const mend = mendOf(rule, sides, pair, thresholds.limit.value, flatRadius, gap);
    const on = pair[mend?.moved ?? 0];
    for (const told of judgement.misses) {
      const miss =
        told.site.kind === 'seam' && mend?.moved === 1
          ? { ...told, site: { ...told.site, with: names[0] } }
          : told;
      findings.push({
        on,
        finding: findingOf(rule.data, surfaceClass, miss, {
          ...nameOf(on),
          nudge: mend?.nudge ?? null,
        }),
      });
    }
  }
  const across = meant === 'smooth' ? sectionFinding(pair, sides, stations, brief, combsOf) : null;
  if (across) findings.push(across);
  const entries = [...judgements];
  const first = stations[0];
  const last = stations[stations.length - 1];
  if (!first || !last) return null;
  return {
    pair,
    judgements,
    findings,
    seam: {
      panels: [nameOf(pair[0]), nameOf(pair[1])],
      nth,
      meant,
      length: profile.length,
      ends: [first.points[0], last.points[0]],
      gap: alongOf(profile.gap),
      angle: alongOf(profile.angle, degrees(1)),
      mismatch: alongOf(profile.mismatch),
      flow: alongOf(profile.flow),
      outcomes: Object.fromEntries(entries.map(([id, { outcome }]) => [id, outcome])),
      reasons: Object.fromEntries(
        entries.flatMap(([id, j]) => ('reason' in j ? [[id, j.reason]] : [])),
      ),
    },
  };
}

/** The place on a panel at a parameter of one of its edges, mm. */
function edgePoint({ net, edges }: Outline, { edge }: EdgeStretch, at: number): Vector {
  const [u, v] = curvePoint(edges[edge].curve, at);
  return surfacePoint(net, u, v);
}

/**
 * Joins of two panels numbered by their length, and where that is alike by where they lie: a number hangs
 * on no order of files, and on no direction of an edge.
 */
function numbered(found: readonly Join[], outlines: readonly PlacedPanel[]): [Join, number][] {
  const pairs = new Map<string, Join[]>();
  for (const join of found) {
    const key = `${join.a.panel} ${join.b.panel}`;
    pairs.set(key, [...(pairs.get(key) ?? []), join]);
  }
  return [...pairs.values()].flatMap((own) =>
    own
      .map((join) => ({
        join,
        // rounded: what is alike but for rounding is parted by its place
        length: Math.round(join.length / numberedTo),
        middle: edgePoint(outlines[join.a.panel], join.a, (join.a.from + join.a.to) / 2),
      }))
      .sort(
        (p, q) =>
          q.length - p.length ||
          p.middle[0] - q.middle[0] ||
          p.middle[1] - q.middle[1] ||
          p.middle[2] - q.middle[2],
      )
      .map(({ join }, nth): [Join, number] => [join, nth]),
  );
}

/** mm by which lengths are told apart where seams are numbered. */
const numberedTo = 0.1;

const openBorders = (
  outlines: readonly PlacedPanel[],
  found: readonly Join[],
  reach: number,
): OpenBorder[] =>
  openStretches(outlines, found, reach).map((stretch) => {
    const outline = outlines[stretch.panel];
    return {
      ...nameOf(outline),
      length: stretch.length,
      ends: [edgePoint(outline, stretch, stretch.from), edgePoint(outline, stretch, stretch.to)],
    };
  });

const seamOrder = (a: Judged, b: Judged): number =>
  byName(a.pair[0], b.pair[0]) || byName(a.pair[1], b.pair[1]) || a.seam.nth - b.seam.nth;

/**
 * How the panels of a job meet: every join found and judged, its findings told of the panel that is to
 * be moved, and the borders along which no other panel runs. The files come back with what their panels
 * got from it.
 */
export function judgedSeams(files: readonly JudgedFile[], brief: Brief): JudgedSeams {
  if (!brief.together) return { files, seams: [], openBorders: [] };
  const outlines = files
    .flatMap(({ file, panels }) =>
      panels.flatMap((panel): PlacedPanel[] =>
        panel.body
          ? [
              {
                file,
                panel,
                body: panel.body,
                net: panel.body.net,
                edges: outlineEdges(panel.body.net, panel.body.keptRegion),
              },
            ]
          : [],
      ),
    )
    .sort(byName);
  const found = joins(outlines, brief.seams.reach);
  const combsOf = recentCombs();
  const judged = numbered(found, outlines)
    .flatMap(([join, nth]) => judgedSeam(join, nth, outlines, brief, combsOf) ?? [])
    .sort(seamOrder);
  const isTold = brief.seamRules.length > 0;
  const centre = new Map(
    outlines.map((outline) => [outline.panel, centreFindings(outline, brief)] as const),
  );
  const ofPanel = new Map<JudgedPanel, Judged[]>();
  for (const one of judged)
    for (const { panel } of new Set(one.pair))
      ofPanel.set(panel, [...(ofPanel.get(panel) ?? []), one]);
  const withSeams = (panel: JudgedPanel): JudgedPanel => {
    const own = ofPanel.get(panel) ?? [];
    const middle = centre.get(panel);
    const told: readonly (readonly [string, Judgement])[] = [
      ...brief.seamRules.map(({ data }): readonly [string, Judgement] => [
        data.id,
        worstJudgement(own.map(({ judgements }) => judgements.get(data.id)!)) ??
          notApplicable(panel.body ? 'no-neighbour' : 'trim-unread'),
      ]),
      ...(middle?.judgements ?? []),
    ];
    const found = [
      ...own.flatMap(({ findings }) =>
        findings.filter(({ on }) => on.panel === panel).map(({ finding }) => finding),
      ),
      ...(middle?.findings ?? []),
    ];
    // a section over two panels may depart where each by itself does not
    const fresh = found.filter(
      ({ id, beyond }) =>
        panel.findings.every((other) => other.id !== id) &&
        found.every((other) => other.id !== id || other.beyond <= beyond),
    );
    return {
      ...panel,
      outcomes: {
        ...panel.outcomes,
        ...Object.fromEntries(fresh.map(({ rule }) => [rule, 'missed' as const])),
        ...Object.fromEntries(told.map(([id, { outcome }]) => [id, outcome])),
      },
      reasons: {
        ...panel.reasons,
        ...Object.fromEntries(told.flatMap(([id, j]) => ('reason' in j ? [[id, j.reason]] : []))),
      },
      findings: [...panel.findings, ...fresh],
    };
  };
  return {
    files: files.map((file) => ({ ...file, panels: file.panels.map(withSeams) })),
    seams: isTold ? judged.map(({ seam }) => seam) : [],
    openBorders: isTold
      ? openBorders(
          outlines,
          [...found, ...outlines.flatMap(({ panel }, k) => centre.get(panel)!.joins(k))],
          brief.seams.reach,
        )
      : [],
  };
}

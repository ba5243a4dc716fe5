import { ruleDataById } from '../rules/catalogue.ts';
import type { Misalignment } from '../rules/subject.ts';
import { degrees, type Move, type RuleData, type Site } from '../rules/rule.ts';
import type { LengthUnit } from '../intake/lengthUnit.ts';
import type { Vector } from '../geometry/vector.ts';
import type { BuildPrice } from '../measure/lighterBuilds.ts';
import type { LineProfile, NetProfiles } from '../measure/netProfiles.ts';
import type { Finding } from '../verdict/finding.ts';
import type { Extreme } from '../measure/scanDistances.ts';
import type {
  JudgedDistances,
  JudgedFile,
  JudgedPanel,
  JudgedScan,
} from '../verdict/judgedFile.ts';
import type { JudgedSeam, OpenBorder, PanelName } from '../verdict/judgedSeams.ts';
import type { RunHeader, Verdict } from '../verdict/verdict.ts';
import type { WobblePicture } from '../measure/wobblePicture.ts';
import type { Decision } from '../verdict/decisions.ts';
import type { WobbleOwner } from '../verdict/wobbleOwners.ts';
import { caution } from './caution.ts';
import { faultSentence, noticeSentence } from './faultSentences.ts';
import { findingText, remedyText } from './findingText.ts';

/**
 * A number as it stands in a verdict: nine significant digits, so that the last bits, which differ
 * between processors, do not change the bytes; no minus zero.
 */
const written = (value: number): number => {
  const rounded = Number(value.toPrecision(9));
  return Math.abs(rounded) < 1e-12 ? 0 : rounded;
};

/** A vector in the file's own unit; what is under a billionth of a millimetre is rounding. */
const vectorIn = (v: Vector, unit: { readonly millimetres: number }): number[] =>
  v.map((x) => (Math.abs(x) < 1e-9 ? 0 : written(x / unit.millimetres)));

function profilesJson({ rows, columns }: NetProfiles): Record<string, unknown> {
  const lengths = (values: readonly (number | null)[]): (number | null)[] =>
    values.map((value) => value && written(value));
  const angles = (values: readonly (number | null)[]): (number | null)[] =>
    values.map((value) => value && written(degrees(value)));
  const line = ({ legs, turning, secondDifferences }: LineProfile): Record<string, unknown> => ({
    legs: lengths(legs),
    turning: { bulge: angles(turning.bulge), sway: angles(turning.sway) },
    secondDifferences: {
      normal: lengths(secondDifferences.normal),
      size: lengths(secondDifferences.size),
    },
  });
  return { unit: 'mm', turningUnit: 'deg', rows: rows.map(line), columns: columns.map(line) };
}

function panelJson(panel: JudgedPanel, file: JudgedFile): Record<string, unknown> {
  return {
    name: panel.name,
    file: file.file,
    sha256: file.sha256,
    units: panel.unit.name,
    class: panel.class,
    degree: panel.degree,
    spans: panel.spans,
    points: panel.points,
    rational: panel.rational,
    diagonal: written(panel.diagonal),
    outward: panel.outward,
    trim: panel.trim,
    ...(panel.kept === null ? {} : { kept: Math.round(panel.kept * 100) / 100 }),
    ...(panel.groups.length > 0 ? { groups: panel.groups } : {}),
    ...(panel.sameNetAs === null ? {} : { sameNetAs: panel.sameNetAs }),
    outcomes: panel.outcomes,
    reasons: panel.reasons,
    ...(panel.distances ? { scan: distancesJson(panel.distances, panel.unit) } : {}),
    ...(panel.misaligned ? { misaligned: misalignedJson(panel.misaligned) } : {}),
    ...(panel.profiles ? { profiles: profilesJson(panel.profiles) } : {}),
  };
}

const extremeJson = (extreme: Extreme | null, unit: LengthUnit): Record<string, unknown> | null =>
  extreme && {
    value: written(extreme.value),
    atMost: written(extreme.atMost),
    position: vectorIn(extreme.position, unit),
  };

/** mm. */
const wobbleJson = (owner: WobbleOwner): Record<string, unknown> => ({
  unit: 'mm',
  surface: written(owner.surface),
  gap: written(owner.gap),
  gapError: written(owner.gapError),
  share: written(owner.share),
  shareError: written(owner.shareError),
  confidence: owner.confidence && written(owner.confidence),
  doubt: owner.doubt,
  lengths: owner.lengths.map((length) => length && written(length)),
});

const pictureJson = ({ at, surface, scan }: WobblePicture): Record<string, unknown> => ({
  unit: 'mm',
  at: at.map(written),
  surface: surface.map((value) => value && written(value)),
  scan: scan.map((value) => value && written(value)),
});

const decisionJson = (own: Decision, unitOf: UnitOf): Record<string, unknown> => ({
  panel: own.panel,
  file: own.file,
  findings: own.findings,
  position: vectorIn(own.position, unitOf(own)),
  surface: { value: written(own.surface), unit: 'mm' },
  lengths: own.lengths.map((length) => length && written(length)),
  share: written(own.share),
  shareError: written(own.shareError),
  confidence: written(own.confidence),
  picture: own.picture && pictureJson(own.picture),
});

/** mm; positions in the file's own unit. */
const distancesJson = (own: JudgedDistances, unit: LengthUnit): Record<string, unknown> => ({
  unit: 'mm',
  limit: own.limit,
  within: written(own.within),
  covered: written(own.covered),
  mean: written(own.mean),
  rms: written(own.rms),
  percentiles: {
    p5: written(own.percentiles[0]),
    p50: written(own.percentiles[1]),
    p95: written(own.percentiles[2]),
  },
  out: extremeJson(own.outmost, unit),
  in: extremeJson(own.inmost, unit),
  step: written(own.step),
});

/** mm, in the model's frame. */
const misalignedJson = (alignment: Misalignment): Record<string, unknown> => ({
  kind: alignment.kind,
  unit: 'mm',
  nearest: written(alignment.nearest),
  middle: written(alignment.middle),
  ...(alignment.kind === 'misread'
    ? { factor: written(alignment.reading.factor), axes: alignment.reading.axes }
    : {}),
  ...(alignment.kind === 'shifted' ? { shift: alignment.shift.map(written) } : {}),
});

const scanJson = ({ counts, diagonal, isUsed }: JudgedScan): Record<string, unknown> => ({
  ...counts,
  diagonal: diagonal && written(diagonal),
  used: isUsed,
});

const moveJson = ({ row, column, by }: Move, unit: LengthUnit): Record<string, unknown> => ({
  row,
  column,
  vector: vectorIn(by, unit),
});

const stageJson = (stage: RunHeader['stage']): Record<string, unknown> | null =>
  stage ? { name: stage.name, release: stage.isRelease } : null;

/** A site with what is a length in the file's own unit. */
const siteJson = (site: Site, unit: LengthUnit): Site =>
  site.kind === 'seam'
    ? { ...site, from: written(site.from), to: written(site.to) }
    : site.kind !== 'section' || site.axis === 'row' || site.axis === 'column'
      ? site
      : { ...site, at: written(site.at / unit.millimetres) };

const priceJson = ({ degree, spans, points, deviation }: BuildPrice): Record<string, unknown> => ({
  points,
  degree,
  spans,
  deviation: { value: written(deviation), unit: 'mm' },
});

function findingJson(
  finding: Finding,
  panel: JudgedPanel,
  data: RuleData,
): Record<string, unknown> {
  const { miss, nudge, unit } = finding;
  const own = panel.unit;
  return {
    id: finding.id,
    rule: finding.rule,
    severity: finding.severity,
    panel: finding.panel,
    file: finding.file,
    site: siteJson(miss.site, own),
    position: miss.position && vectorIn(miss.position, own),
    direction: miss.direction ?? null,
    measured: { value: written(miss.value), unit },
    limit: { value: finding.limit.value, unit, source: finding.limit.source },
    beyond: written(finding.beyond),
    visible: miss.visible
      ? {
          peak: written(miss.visible.peak),
          unit: 'mm',
          tilt: written(miss.visible.tilt),
          tiltUnit: 'deg',
          shift: written(miss.visible.shift),
          shiftUnit: 'mm',
        }
      : null,
    nudge: nudge
      ? {
          vector: vectorIn(nudge.vector, own),
          normal: nudge.parts && written(nudge.parts.normal / own.millimetres),
          row: nudge.parts && written(nudge.parts.row / own.millimetres),
          column: nudge.parts && written(nudge.parts.column / own.millimetres),
          moves: nudge.moves.map((move) => moveJson(move, own)),
          either: nudge.either.map((move) => moveJson(move, own)),
          unit: own.name,
          leaves: { value: written(nudge.leaves), unit: nudge.leavesIn },
        }
      : null,
    certainty: finding.certainty,
    confidence: miss.confidence === undefined ? null : written(miss.confidence),
    ...(miss.influence
      ? { influence: miss.influence.map((point) => ({ ...point, share: written(point.share) })) }
      : {}),
    expected: miss.expected ? vectorIn(miss.expected, own) : null,
    runnerUp: miss.runnerUp ?? null,
    curedBy: finding.curedBy,
    cause: finding.owner && finding.owner.cause,
    ...(finding.owner ? { wobble: wobbleJson(finding.owner) } : {}),
    evidence: Object.fromEntries(
      Object.entries(miss.evidence ?? {}).map(([name, value]) => [name, written(value)]),
    ),
    ...(miss.lighter
      ? { lighter: priceJson(miss.lighter.build), prices: miss.lighter.prices.map(priceJson) }
      : {}),
    text: findingText(finding, data),
    remedy: remedyText(finding, data),
  };
}

type UnitOf = (name: PanelName) => LengthUnit;

/** Positions in the unit of the first panel's file. */
function seamJson(seam: JudgedSeam, unitOf: UnitOf): Record<string, unknown> {
  const along = (
    measure: JudgedSeam['gap'],
    unit: string,
  ): { readonly most: number; readonly mean: number; readonly unit: string } | null =>
    measure && { most: written(measure.most), mean: written(measure.mean), unit };
  const unit = unitOf(seam.panels[0]);
  return {
    panels: seam.panels,
    nth: seam.nth,
    meant: seam.meant,
    length: { value: written(seam.length), unit: 'mm' },
    ends: seam.ends.map((end) => vectorIn(end, unit)),
    gap: along(seam.gap, 'mm'),
    angle: along(seam.angle, 'deg'),
    mismatch: along(seam.mismatch, 'ratio'),
    flow: along(seam.flow, '1/mm'),
    outcomes: seam.outcomes,
    reasons: seam.reasons,
  };
}

const openBorderJson = (border: OpenBorder, unitOf: UnitOf): Record<string, unknown> => ({
  panel: border.panel,
  file: border.file,
  length: { value: written(border.length), unit: 'mm' },
  ends: border.ends.map((end) => vectorIn(end, unitOf(border))),
});

/**
 * JSON with the characters that a terminal might act on as escapes: names in it come from files, and
 * JSON itself only escapes those below 32 (RFC 8259, section 7).
 */
const escapedControls = (json: string): string =>
  json.replace(
    /[\u007f-\u009f\u200b-\u200f\u2028-\u202e\u2066-\u2069]/g,
    (c) => `\\u${c.charCodeAt(0).toString(16).padStart(4, '0')}`,
  );

/**
 * The verdict as the JSON document other programs rely on; schema: verdict/verdict.schema.json. The
 * body is the same for the same bytes; only `run` carries the clock and the spec's path.
 */
export function jsonVerdict(verdict: Verdict, rules: readonly RuleData[]): string {
  const { run, summary, files } = verdict;
  const ruleOf = ruleDataById(rules);
  const panelOf = new Map(
    files.flatMap((file) =>
      file.panels.map((panel) => [JSON.stringify([file.file, panel.name]), panel] as const),
    ),
  );
  const unitOf: UnitOf = ({ file, panel }) => panelOf.get(JSON.stringify([file, panel]))!.unit;
  const document = {
    format: 'hullsight-verdict',
    version: 1,
    run: { ...run, stage: stageJson(run.stage) },
    caution,
    blockAt: verdict.blockAt,
    summary,
    files: files.map((file) => ({
      file: file.file,
      sha256: file.sha256,
      format: file.format,
      units: file.format && file.unit.name,
      panels: file.panels.length,
      ...(file.scan ? { scan: scanJson(file.scan) } : {}),
      unjudged: file.unjudged.map(({ kind, label, count, places }) => ({
        kind,
        label,
        count,
        records: places.flatMap(({ record }) => (record === undefined ? [] : [record])),
      })),
    })),
    panels: files.flatMap((file) => file.panels.map((panel) => panelJson(panel, file))),
    seams: verdict.seams.map((seam) => seamJson(seam, unitOf)),
    openBorders: verdict.openBorders.map((border) => openBorderJson(border, unitOf)),
    findings: verdict.findings.map((finding) =>
      findingJson(
        finding,
        panelOf.get(JSON.stringify([finding.file, finding.panel]))!,
        ruleOf.get(finding.rule)!,
      ),
    ),
    decisions: verdict.decisions.map((decision) => decisionJson(decision, unitOf)),
    faults: files.flatMap((file) =>
      file.faults.map((fault) => ({
        file: file.file,
        ...fault.place,
        code: fault.code,
        text: faultSentence(fault),
      })),
    ),
    notices: files.flatMap((file) =>
      file.notices.map((notice) => ({
        file: file.file,
        ...notice.place,
        code: notice.code,
        text: noticeSentence(notice),
      })),
    ),
  };
  return `${escapedControls(JSON.stringify(document, null, 2))}\n`;
}

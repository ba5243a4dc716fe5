import { createHash } from 'node:crypto';
import { diagonal, type ControlNet } from '../geometry/controlNet.ts';
import { keptShare } from '../geometry/keptPart.ts';
import { spanCount } from '../geometry/knots.ts';
import { meshBox } from '../geometry/mesh.ts';
import { distance } from '../geometry/vector.ts';
import { byteBlocks, type ByteSource } from '../intake/byteSource.ts';
import type { Fault, Notice } from '../intake/fault.ts';
import { millimetre, type LengthUnit } from '../intake/lengthUnit.ts';
import type { Intake, Panel, Trim, Unjudged } from '../intake/panel.ts';
import type { ScanBody } from '../geometry/scanBody.ts';
import type { ScanCounts, ScanIntake } from '../intake/scan/scanIntake.ts';
import { withinShare, type Extreme } from '../measure/scanDistances.ts';
import { netProfiles, type NetProfiles } from '../measure/netProfiles.ts';
import type { OutwardSide } from '../measure/outwardSide.ts';
import { scanKey, type Brief } from '../rules/brief.ts';
import {
  notApplicable,
  thresholdsOf,
  type Judgement,
  type Miss,
  type Outcome,
  type Reason,
  type SurfaceClass,
} from '../rules/rule.ts';
import {
  subjectOf,
  wholeSights,
  type KeptRegion,
  type Misalignment,
  type PanelScan,
  type Subject,
} from '../rules/subject.ts';
import { cures, type Cure } from '../suggest/cures.ts';
import { repairs, type Repair } from '../suggest/nudges.ts';
import { findingOf, fingerprint, type Finding } from './finding.ts';
import { wobbleOwners, type WobbleOwner } from './wobbleOwners.ts';

/** A panel's surface and what is kept of it, mm in the model's frame. */
export interface PanelBody {
  readonly net: ControlNet;
  readonly keptRegion: KeptRegion;
  readonly side: OutwardSide;
}

/** Scans made ready, by scanKey of their files; null: none of them could be read. */
export type ScanBodies = ReadonlyMap<string, ScanBody | null>;

/** How a panel lies to its scan, mm; panel minus scan along the outward side. */
export interface JudgedDistances {
  /** What the panel may lie off, exclusive. */
  readonly limit: number;
  /** Share of what is covered that lies within it, and share of the panel behind which the scan lies, of 1. */
  readonly within: number;
  readonly covered: number;
  readonly mean: number;
  readonly rms: number;
  /** Below which 5, 50 and 95 % of the covered area lie. */
  readonly percentiles: readonly [number, number, number];
  /** Farthest out and farthest in; null where nothing lies on that side. */
  readonly outmost: Extreme | null;
  readonly inmost: Extreme | null;
  /** Widest step between the places that were looked at first. */
  readonly step: number;
}

/** One panel with what every rule said of it. */
export interface JudgedPanel {
  readonly name: string;
  readonly unit: LengthUnit;
  readonly class: SurfaceClass;
  readonly degree: readonly [number, number];
  readonly spans: readonly [number, number];
  /** Points along u and along v. */
  readonly points: readonly [number, number];
  readonly rational: boolean;
  /** mm. */
  readonly diagonal: number;
  readonly outward: OutwardSide['from'];
  readonly trim: Trim['kind'];
  /** Share of the area that trim and spec keep, 0 to 1; null where all is kept or nobody knows. */
  readonly kept: number | null;
  /** Names of the file's groups and layers that it belongs to. */
  readonly groups: readonly string[];
  /** The panel whose net this one has, where the net was judged there; no rule applies here then. */
  readonly sameNetAs: string | null;
  readonly outcomes: Readonly<Record<string, Outcome>>;
  /** Why a rule is undecided or not applicable. */
  readonly reasons: Readonly<Record<string, Reason>>;
  readonly findings: readonly Finding[];
  /** Where they were asked for. */
  readonly profiles?: NetProfiles;
  /** Null where it is judged by no scan, or none could be held against it. */
  readonly distances: JudgedDistances | null;
  /** How the scan lies that it cannot be judged by; null: it can, or there is none. */
  readonly misaligned: Misalignment | null;
  /** What rules on several panels look at; null where no such rule is asked for, or a trim is unread. */
  readonly body: PanelBody | null;
}

/** A scan as the verdict tells of it. */
export interface JudgedScan {
  /** Null where nothing of it was read. */
  readonly counts: ScanCounts | null;
  /** mm; null where nothing of it can be used. */
  readonly diagonal: number | null;
  /** Whether panels are judged by it. */
  readonly isUsed: boolean;
}

/** One file with its panels judged: plain data, so that a worker can hand it back. */
export interface JudgedFile {
  readonly file: string;
  /** Of the bytes; null where there were none to be had. */
  readonly sha256: string | null;
  readonly format: Intake['format'] | ScanIntake['format'];
  readonly unit: LengthUnit;
  /** Null: the file is no scan. */
  readonly scan: JudgedScan | null;
  readonly panels: readonly JudgedPanel[];
  readonly unjudged: readonly Unjudged[];
  readonly faults: readonly Fault[];
  readonly notices: readonly Notice[];
}

type Judgements = Readonly<Record<string, Judgement>>;

type Judge = (rule: string, subject: Subject) => Judgement;

const judgeOf = ({ rules }: Brief, surfaceClass: SurfaceClass): Judge => {
  const byId = new Map(rules.map((rule) => [rule.data.id, rule]));
  return (id, subject) => {
    const { data, judge } = byId.get(id)!;
    return judge(subject, thresholdsOf(data, surfaceClass));
  };
};

function findingsOf(
  panel: Panel,
  file: string,
  brief: Brief,
  surfaceClass: SurfaceClass,
  judged: Judgements,
  repaired: readonly Repair[],
  cured: readonly Cure[],
  owners: ReadonlyMap<Miss, WobbleOwner>,
): Finding[] {
  const idOf = (rule: string, miss: Miss): string => fingerprint(rule, panel.name, miss.site);
  return brief.rules.flatMap(({ data }) => {
    const judgement = judged[data.id];
    if (judgement.outcome !== 'missed') return [];
    return judgement.misses.map((miss): Finding => {
      const repair = repaired.find((r) => r.miss === miss);
      const cure = cured.find((c) => c.miss === miss);
      return findingOf(data, surfaceClass, miss, {
        panel: panel.name,
        file,
        certainty: repair?.holds === false ? 'uncertain' : (miss.certainty ?? 'named'),
        nudge: repair?.nudge ?? null,
        curedBy: cure ? idOf(cure.by.rule, cure.by.miss) : null,
        owner: owners.get(miss) ?? null,
      });
    });
  });
}

/** What of a panel's surface is kept; of a trim that could not be read nobody knows, so all is. */
const keptRegionOf = ({ name, trim }: Panel, brief: Brief): KeptRegion => ({
  region: trim.kind === 'part' ? trim.region : null,
  keep: brief.keepOf(name),
});

/** The scan that a panel is judged by; null: none. */
function scanOf(
  panel: string,
  brief: Brief,
  surfaceClass: SurfaceClass,
  scans: ScanBodies,
): PanelScan | null {
  const files = brief.scanOf(panel);
  return files.length === 0
    ? null
    : {
        body: scans.get(scanKey(files)) ?? null,
        limit: brief.scanLimits[surfaceClass].value,
        margin: brief.scanMargin,
        features: brief.featuresOf(surfaceClass),
      };
}

const asksScan = ({ rules }: Brief): boolean => rules.some(({ data }) => data.scope === 'scan');

function misalignmentOf({ scanned }: Subject, brief: Brief): Misalignment | null {
  const seen = asksScan(brief) ? scanned() : null;
  return seen?.kind === 'scan-misaligned' ? seen.alignment : null;
}

/** How a subject lies to its scan, where a rule asked. */
function distancesOf({ scan, scanned }: Subject, brief: Brief): JudgedDistances | null {
  const seen = asksScan(brief) ? scanned() : null;
  if (!scan || seen?.kind !== 'seen' || !(seen.distances.coveredShare > 0)) return null;
  const { coveredShare, mean, rms, percentiles, outmost, inmost, lattice } = seen.distances;
  return {
    limit: scan.limit,
    within: withinShare(seen.distances, scan.limit),
    covered: coveredShare,
    mean,
    rms,
    percentiles,
    outmost,
    inmost,
    step: lattice.step,
  };
}

/**
 * A panel by every rule. `first`: the panel that has the same net and is judged already; rules on the
 * net and its build say nothing twice, rules on the surface look at a trim of this panel's own.
 */
function judgedPanel(
  panel: Panel,
  file: string,
  brief: Brief,
  scans: ScanBodies,
  first: JudgedPanel | null,
): JudgedPanel {
  const { net } = panel;
  const surfaceClass = brief.classOf(panel.name);
  const keptRegion = keptRegionOf(panel, brief);
  const subject = subjectOf(net, {
    outside: brief.outsideOf(panel.name),
    locator: brief.locator,
    sectionSpacing: brief.sectionSpacing,
    thickness: brief.thicknessOf(panel.name),
    keptRegion,
    scan: scanOf(panel.name, brief, surfaceClass, scans),
  });
  const judge = judgeOf(brief, surfaceClass);
  const judged: Judgements = Object.fromEntries(
    brief.rules.map(({ data }) => [
      data.id,
      first && data.scope !== 'surface' && data.scope !== 'scan'
        ? notApplicable('same-net')
        : judge(data.id, subject),
    ]),
  );
  const repaired = repairs(subject, judged);
  const cured = cures(subject, judged, repaired, judge);
  const entries = Object.entries(judged);
  return {
    name: panel.name,
    unit: panel.unit,
    class: surfaceClass,
    degree: net.degree,
    spans: [spanCount(net.knots[0], net.degree[0]), spanCount(net.knots[1], net.degree[1])],
    points: [net.columns, net.rows],
    rational: net.weights !== null,
    diagonal: diagonal(net),
    outward: subject.side.from,
    trim: panel.trim.kind,
    kept: subject.kept && panel.trim.kind !== 'unread' ? keptShare(net, subject.kept) : null,
    groups: panel.groups ?? [],
    sameNetAs: first && first.name,
    outcomes: Object.fromEntries(entries.map(([id, { outcome }]) => [id, outcome])),
    reasons: Object.fromEntries(
      entries.flatMap(([id, j]) => ('reason' in j ? [[id, j.reason]] : [])),
    ),
    findings: findingsOf(
      panel,
      file,
      brief,
      surfaceClass,
      judged,
      repaired,
      cured,
      wobbleOwners(subject, judged),
    ),
    ...(brief.profiles ? { profiles: netProfiles(net, wholeSights(subject)) } : {}),
    distances: distancesOf(subject, brief),
    misaligned: misalignmentOf(subject, brief),
    body:
      brief.together && panel.trim.kind !== 'unread'
        ? { net, keptRegion, side: subject.side }
        : null,
  };
}

/**
 * The panels judged, each net once a surface class: faces that trim one surface share its net. Two
 * classes have limits of their own, so that a net is judged by each.
 */
function judgedPanels(
  panels: readonly Panel[],
  file: string,
  brief: Brief,
  scans: ScanBodies,
): JudgedPanel[] {
  const judged = new Map<ControlNet, JudgedPanel[]>();
  return panels.map((panel) => {
    const others = judged.get(panel.net) ?? [];
    const first = others.find((other) => other.class === brief.classOf(panel.name)) ?? null;
    const own = judgedPanel(panel, file, brief, scans, first);
    if (!first) judged.set(panel.net, [...others, own]);
    return own;
  });
}

/** Judges what one file gave. `bytes` are only hashed here. */
export const judgedFile = (
  file: string,
  bytes: Uint8Array | null,
  intake: Intake,
  brief: Brief,
  scans: ScanBodies = new Map(),
): JudgedFile => ({
  file,
  sha256: bytes && createHash('sha256').update(bytes).digest('hex'),
  format: intake.format,
  unit: intake.unit,
  scan: null,
  panels: judgedPanels(intake.panels, file, brief, scans),
  unjudged: intake.unjudged,
  faults: intake.faults,
  notices: intake.notices,
});

/** SHA-256 of all bytes of a source. */
export function checksumOf(source: ByteSource): string {
  const hash = createHash('sha256');
  for (const block of byteBlocks(source)) hash.update(block);
  return hash.digest('hex');
}

/**
 * What the verdict tells of a scan. `source` is only hashed here, and only where it was read and nobody knows
 * its checksum. `isUsed`: whether panels are judged by it.
 */
export function judgedScan(
  file: string,
  source: ByteSource,
  intake: ScanIntake,
  isUsed = false,
  checksum: string | null = null,
): JudgedFile {
  const { format, mesh, counts, faults, notices } = intake;
  const box = mesh && meshBox(mesh);
  return {
    file,
    sha256: counts && (checksum ?? checksumOf(source)),
    format,
    unit: millimetre,
    scan: { counts, diagonal: box && distance(box.low, box.high), isUsed },
    panels: [],
    unjudged: [],
    faults,
    notices,
  };
}

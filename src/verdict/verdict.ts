import type { Outcome } from '../rules/rule.ts';
import type { Severity } from '../rules/spec.ts';
import { codePointOrder } from './codePointOrder.ts';
import { decisionsOf, type Decision } from './decisions.ts';
import { blocks, severities, type Finding } from './finding.ts';
import type { JudgedFile, JudgedPanel } from './judgedFile.ts';
import type { JudgedSeam, JudgedSeams, OpenBorder } from './judgedSeams.ts';

/** What a run says about when and with what it was made; the only part that may change by itself. */
export interface RunHeader {
  readonly tool: string;
  /** ISO 8601, UTC. */
  readonly at: string;
  /** The spec file used, or null. */
  readonly spec: string | null;
  /** Rules that the spec takes off. */
  readonly switchedOff: readonly string[];
  /** Patterns of the spec that fit the name of no panel. */
  readonly unfitted: readonly string[];
  /** The stage that is judged by; null or left out: the spec has none. */
  readonly stage?: { readonly name: string; readonly isRelease: boolean } | null;
  /** SHA-256 of what the locator has learned: the same net, the same tables, the same findings. */
  readonly learned: string;
}

export interface Summary {
  readonly files: number;
  /** Files of them that are scans. */
  readonly scans: number;
  readonly panels: number;
  readonly faults: number;
  /** Surfaces of kinds that no rule judges. */
  readonly unjudged: number;
  readonly findings: Readonly<Record<Severity, number>>;
  readonly accepted: number;
  /** Rules on panels by outcome: all four are counted. */
  readonly outcomes: Readonly<Record<Outcome, number>>;
  /** missed: a finding blocks; undecided: a file, or a rule on a panel, could not be, or nothing was judged; else met. */
  readonly outcome: 'met' | 'missed' | 'undecided';
}

export interface Verdict {
  readonly run: RunHeader;
  readonly blockAt: Severity;
  readonly summary: Summary;
  readonly files: readonly JudgedFile[];
  /** How the panels meet, in the order of their names. */
  readonly seams: readonly JudgedSeam[];
  /** Borders along which no other panel runs. */
  readonly openBorders: readonly OpenBorder[];
  /** Worst first. */
  readonly findings: readonly Finding[];
  /** What the scan has as well: the designer's to decide. */
  readonly decisions: readonly Decision[];
}

function worstFirst(a: Finding, b: Finding): number {
  return (
    severities.indexOf(a.severity) - severities.indexOf(b.severity) ||
    Number(a.curedBy !== null) - Number(b.curedBy !== null) ||
    b.beyond - a.beyond ||
    codePointOrder(a.file, b.file) ||
    codePointOrder(a.panel, b.panel) ||
    codePointOrder(a.rule, b.rule) ||
    codePointOrder(a.id, b.id)
  );
}

function countOf<K extends string>(keys: readonly K[], values: readonly K[]): Record<K, number> {
  const counts = Object.fromEntries(keys.map((key) => [key, 0])) as Record<K, number>;
  for (const value of values) counts[value] += 1;
  return counts;
}

function summaryOf(
  files: readonly JudgedFile[],
  findings: readonly Finding[],
  blockAt: Severity,
): Summary {
  const panels: JudgedPanel[] = files.flatMap((file) => file.panels);
  const faults = files.reduce((total, file) => total + file.faults.length, 0);
  const blocked = findings.some((finding) => blocks(finding, blockAt));
  const outcomes = countOf(
    ['met', 'missed', 'undecided', 'not-applicable'] as const,
    panels.flatMap((panel) => Object.values(panel.outcomes)),
  );
  const open = faults > 0 || panels.length === 0 || outcomes.undecided > 0;
  return {
    files: files.length,
    scans: files.filter(({ scan }) => scan !== null).length,
    panels: panels.length,
    faults,
    unjudged: files.reduce((n, f) => n + f.unjudged.reduce((m, u) => m + u.count, 0), 0),
    findings: countOf(
      severities,
      findings.map(({ severity }) => severity),
    ),
    accepted: 0,
    outcomes,
    outcome: blocked ? 'missed' : open ? 'undecided' : 'met',
  };
}

/**
 * The verdict on judged files, in the order of their names. `together`: what judgedSeams found on them,
 * where how panels meet is to be told; its files are these.
 */
export function verdictOf(
  judged: readonly JudgedFile[],
  blockAt: Severity,
  run: RunHeader,
  together: Omit<JudgedSeams, 'files'> = { seams: [], openBorders: [] },
): Verdict {
  const files = judged.toSorted((a, b) => codePointOrder(a.file, b.file));
  const findings = files
    .flatMap((file) => file.panels.flatMap((panel) => panel.findings))
    .sort(worstFirst);
  const { seams, openBorders } = together;
  return {
    run,
    blockAt,
    summary: summaryOf(files, findings, blockAt),
    files,
    seams,
    openBorders,
    findings,
    decisions: decisionsOf(findings),
  };
}

/** Exit status: 2 for faults, 1 for findings at or above the blocking severity, else 0. */
export function exitStatus({ summary }: Verdict): 0 | 1 | 2 {
  if (summary.faults > 0) return 2;
  return summary.outcome === 'missed' ? 1 : 0;
}

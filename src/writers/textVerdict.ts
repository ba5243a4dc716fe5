import type { Spot } from '../geometry/controlNet.ts';
import type { Vector } from '../geometry/vector.ts';
import { ruleDataById } from '../rules/catalogue.ts';
import type { LengthUnit } from '../intake/lengthUnit.ts';
import type { RuleData } from '../rules/rule.ts';
import { severities, type Finding } from '../verdict/finding.ts';
import type { JudgedFile, JudgedPanel, JudgedScan } from '../verdict/judgedFile.ts';
import type { RunHeader, Verdict } from '../verdict/verdict.ts';
import { alignmentTexts } from './alignmentTexts.ts';
import { priceText } from './buildText.ts';
import { caution } from './caution.ts';
import { faultSentence, noticeSentence, shownPlace } from './faultSentences.ts';
import { findingText, remedyText } from './findingText.ts';
import { decisionLines, ownerText } from './ownerText.ts';
import { reasonSentence } from './reasonSentences.ts';
import { counted, printable, shownNumber, shownQuantity, shownSite } from './shown.ts';
import { scanLines } from './scanTable.ts';
import { seamLines } from './seamTable.ts';
import { wrapped } from './wrapped.ts';

/** How a text verdict is laid out. */
export interface Layout {
  /** Columns a line may take. */
  readonly width: number;
  /** Whether the terminal shows bold and dim. */
  readonly styled: boolean;
}

type Style = 'bold' | 'dim' | 'plain';

const codes: Readonly<Record<Style, readonly [string, string]>> = {
  bold: ['\u001b[1m', '\u001b[22m'],
  dim: ['\u001b[2m', '\u001b[22m'],
  plain: ['', ''],
};

const styled = (text: string, style: Style, layout: Layout): string =>
  layout.styled ? `${codes[style][0]}${text}${codes[style][1]}` : text;

const styleOf = { severe: 'bold', moderate: 'plain', slight: 'dim' } as const;
/** What a nudge leaves is not told finer than this, mm. */
const leastLeft = 0.001;
const labelWidth = 11;
const indent = ' '.repeat(labelWidth + 2);

/** The nudge of a point, of one of several points, or of the member of a line that moves farthest. */
function nudgeText(finding: Finding, panel: JudgedPanel): string | null {
  const { nudge, miss } = finding;
  if (!nudge) return null;
  const own = (mm: number): string => shownOwn(mm, panel.unit);
  const moved = (by: Vector, spot: Spot | null): string =>
    `(${by.map(own).join(', ')}) ${panel.unit.name}` +
    (spot ? ` at ${shownSite({ kind: 'point', row: spot.row, column: spot.column })}` : '');
  if (miss.site.kind === 'region') {
    const all = nudge.moves.map(({ by, row, column }) => moved(by, { row, column })).join('; ');
    const [columns, rows] = panel.points;
    const atBorder = nudge.moves.some(
      ({ row, column }) => row % (rows - 1) === 0 || column % (columns - 1) === 0,
    );
    const joins = atBorder ? " This moves the panel's border: look at its joins again." : '';
    return `One way to bring it in: ${all}. Leaves ${shownQuantity(nudge.leaves, 'mm')} there, measured again.${joins}`;
  }
  const isLine = nudge.moves.length > 1;
  const isOneOf = miss.site.kind === 'points';
  const parts = nudge.parts
    ? `: ${own(nudge.parts.normal)} along the normal, ${own(nudge.parts.row)} along the row, ` +
      `${own(nudge.parts.column)} along the column`
    : '';
  const more = isLine
    ? "; the line's other points by moves of their own (in the JSON verdict)"
    : nudge.either.length > 0
      ? `; or ${nudge.either.map((move) => moved(move.by, move)).join(', or ')}; not both`
      : '';
  const left =
    nudge.leaves < leastLeft
      ? `Leaves under ${shownQuantity(leastLeft, nudge.leavesIn)}.`
      : `Leaves ${shownQuantity(nudge.leaves, nudge.leavesIn)}.`;
  return `Nudge ${moved(nudge.vector, isLine || isOneOf ? nudge.spot : null)}${parts}${more}. ${left}`;
}

/** A length of `mm` in a file's own unit, to the hundredth of a millimetre or finer. */
function shownOwn(mm: number, unit: LengthUnit): string {
  const decimals = Math.max(0, Math.ceil(2 + Math.log10(unit.millimetres)));
  return (mm / unit.millimetres).toFixed(decimals).replace(/^-(0\.?0*)$/, '$1');
}

/** How sure it is, and where else it may be. */
function sureText({ miss, certainty }: Finding): string | null {
  const { confidence, runnerUp, site } = miss;
  if (confidence === undefined) return null;
  const share = `Confidence ${Math.floor(100 * confidence)} %`;
  if (site.kind === 'points') return `${share} that it is the first of them.`;
  return certainty === 'uncertain' && runnerUp
    ? `${share}; if not there, then likeliest at ${shownSite(runnerUp)}.`
    : `${share}.`;
}

/** The control points that sway the surface most at a finding's place. */
function swayText({ miss: { influence = [] } }: Finding): string | null {
  if (influence.length === 0) return null;
  const points = influence.map(
    ({ row, column, share }) =>
      `${shownSite({ kind: 'point', row, column })} (${Math.round(100 * share)} %)`,
  );
  return `Swayed most there by ${points.join('; ')}.`;
}

function findingLines(
  finding: Finding,
  panel: JudgedPanel,
  data: RuleData,
  cured: readonly Finding[],
  layout: Layout,
): string[] {
  const label = `  ${finding.severity.padEnd(labelWidth)}`;
  const [head, ...more] = wrapped(
    `${findingText(finding, data)} [${data.id}]`,
    label,
    indent,
    layout.width,
  );
  const lines = [
    styled(label, styleOf[finding.severity], layout) + head.slice(label.length),
    ...more,
  ];
  const { visible } = finding.miss;
  const seen = visible
    ? `On the surface: ${shownQuantity(visible.peak, 'mm')} at its peak, tilt ${shownQuantity(visible.tilt, 'deg')}; highlights shift by ${shownQuantity(visible.shift, 'mm')}.`
    : null;
  const { lighter } = finding.miss;
  const takesAway =
    cured.length > 0
      ? `It takes away ${counted(cured.length, 'other finding')} here as well.`
      : null;
  for (const text of [
    seen,
    lighter ? priceText(lighter.prices) : null,
    sureText(finding),
    ownerText(finding),
    swayText(finding),
    nudgeText(finding, panel) ?? remedyText(finding, data),
    takesAway,
  ])
    if (text) lines.push(...wrapped(text, indent, indent, layout.width));
  return lines;
}

/** Findings of one rule after the worst, in one sentence; the JSON verdict tells each in full. */
function othersText(others: readonly Finding[], rule: string): string {
  const counts = severities
    .map((severity) => [others.filter((f) => f.severity === severity).length, severity] as const)
    .filter(([count]) => count > 0)
    .map(([count, severity]) => `${count} ${severity}`);
  const sites = others.map(({ miss }) => shownSite(miss.site));
  return `${others.length} more by ${rule} (${counts.join(', ')}): ${listed(sites, 5, '; ')}.`;
}

interface PanelInFile {
  readonly panel: JudgedPanel;
  readonly file: JudgedFile;
}

function panelLines(
  { panel, file }: PanelInFile,
  findings: readonly Finding[],
  ruleOf: ReadonlyMap<string, RuleData>,
  layout: Layout,
): string[] {
  const [du, dv] = panel.degree;
  const [su, sv] = panel.spans;
  const [nu, nv] = panel.points;
  const facts =
    `in ${printable(file.file)}: class ${panel.class}, degree ${du}x${dv}, spans ${su}x${sv}, ` +
    `points ${nu}x${nv}, ${shownNumber(panel.diagonal, 'mm')} mm across` +
    (panel.kept === null ? '' : `, ${Math.round(100 * panel.kept)} % of it kept`);
  const name = printable(panel.name);
  const [head, ...more] = wrapped(facts, `${name} `, '  ', layout.width);
  const lines = [styled(name, 'bold', layout) + head.slice(name.length), ...more];
  const own = findings.filter(({ curedBy }) => curedBy === null);
  for (const rule of new Set(own.map((finding) => finding.rule))) {
    const ofRule = own.filter((finding) => finding.rule === rule);
    // A nudge is what a modeller came for, so each is said; else the worst speaks for its rule.
    const full = ofRule.filter((finding, k) => k === 0 || finding.nudge !== null);
    for (const finding of full) {
      const cured = findings.filter(({ curedBy }) => curedBy === finding.id);
      lines.push(...findingLines(finding, panel, ruleOf.get(rule)!, cured, layout));
    }
    const others = ofRule.filter((finding) => !full.includes(finding));
    if (others.length > 0)
      lines.push(...wrapped(othersText(others, rule), indent, indent, layout.width));
  }
  if (panel.outward === 'unknown' && findings.some(({ nudge }) => nudge))
    lines.push(
      ...wrapped(
        'Which side is outward is not known here (flat or saddle-shaped panel, no "outside" in the spec): the nudge holds, "out" and "in" are left open.',
        '  ',
        '  ',
        layout.width,
      ),
    );
  return [...lines, ''];
}

/** The panels without a finding, file by file. */
function withinLines(clean: readonly PanelInFile[], layout: Layout): string[] {
  if (clean.length === 0) return [];
  const groups = [...new Set(clean.map(({ file }) => file))].map((file) => {
    const names = clean.filter((entry) => entry.file === file).map(({ panel }) => panel.name);
    return `${printable(listed(names))} (${printable(file.file)})`;
  });
  return [...wrapped(`Within limits: ${groups.join('; ')}.`, '', '  ', layout.width), ''];
}

/** The panels whose net is judged under another name, file by file. */
function sameNetLines(files: readonly JudgedFile[], layout: Layout): string[] {
  const groups = files.flatMap(({ file, panels }) => {
    const names = panels.flatMap(({ name, sameNetAs }) =>
      sameNetAs === null ? [] : [`${name} as ${sameNetAs}`],
    );
    return names.length > 0 ? [`${printable(listed(names))} (${printable(file)})`] : [];
  });
  if (groups.length === 0) return [];
  const text = `One surface trimmed in several ways, its net judged once: ${groups.join('; ')}.`;
  return [...wrapped(text, '', '  ', layout.width), ''];
}

/** Rules that did not decide, by reason, with the panels they concern. */
function undecidedLines(files: readonly JudgedFile[], layout: Layout): string[] {
  const groups = new Map<string, string[]>();
  for (const { panels } of files)
    for (const panel of panels)
      for (const [rule, outcome] of Object.entries(panel.outcomes)) {
        if (outcome !== 'undecided') continue;
        const text = `${rule}: ${reasonSentence(panel.reasons[rule])}`;
        groups.set(text, [...(groups.get(text) ?? []), printable(panel.name)]);
      }
  if (groups.size === 0) return [];
  const lines = [...groups].flatMap(([text, panels]) =>
    wrapped(`${text} On: ${listed(panels)}.`, '  ', '    ', layout.width),
  );
  return ['Not decided', ...lines, ''];
}

/** The first items of a list, and how many more. */
const listed = (items: readonly string[], most = 12, between = ', '): string =>
  items.length > most
    ? `${items.slice(0, most).join(between)} and ${items.length - most} more`
    : items.join(between);

/** What the job's own limits did to this run. */
function specTexts({ spec, switchedOff, unfitted, stage }: RunHeader): string[] {
  if (spec === null) return [];
  return [
    `Limits of the job: ${printable(spec)}${stage ? `, stage ${printable(stage.name)}` : ''}.`,
    ...(switchedOff.length > 0 ? [`Switched off there: ${switchedOff.join(', ')}.`] : []),
    ...unfitted.map((pattern) => `It names "${printable(pattern)}", and no panel is called so.`),
  ];
}

/** What a scan holds. */
function scanText({ counts, diagonal, isUsed }: JudgedScan): string | null {
  if (counts === null || diagonal === null) return null;
  const held =
    counts.faces > 0
      ? `${counted(counts.triangles, 'triangle')}, ${shownNumber(diagonal, 'mm')} mm across`
      : `${counted(counts.vertices, 'point')}, ${shownNumber(diagonal, 'mm')} mm across`;
  return `scan, ${held}, read as millimetres${isUsed ? '' : '; no panel is judged by it: name it with --scan, or in the spec'}.`;
}

function noteLines({ run, files }: Verdict, layout: Layout): string[] {
  const lines: string[] = [];
  const add = (text: string): void => {
    lines.push(...wrapped(text, '  ', '    ', layout.width));
  };
  for (const text of specTexts(run)) add(text);
  for (const text of alignmentTexts(files)) add(text);
  for (const { file, scan, unjudged, notices } of files) {
    const held = scan && scanText(scan);
    if (held) add(`${printable(file)}: ${held}`);
    for (const { label, kind, count } of unjudged)
      add(`${printable(file)}: ${counted(count, 'surface')} not judged, ${label} (${kind}).`);
    for (const notice of notices)
      add(`${printable(file)}${shownPlace(notice.place)}: ${noticeSentence(notice)}`);
  }
  return lines.length > 0 ? ['To know', ...lines, ''] : [];
}

function faultLines(files: readonly JudgedFile[], layout: Layout): string[] {
  const lines = files.flatMap(({ file, faults }) =>
    faults.flatMap((fault) =>
      wrapped(
        `${printable(file)}${shownPlace(fault.place)}: ${faultSentence(fault)} [${fault.code}]`,
        '  ',
        '    ',
        layout.width,
      ),
    ),
  );
  return lines.length > 0 ? ['Not read', ...lines, ''] : [];
}

/** What a stage's verdict says of release: only the release stage says anything. */
function stageText(
  { name, isRelease }: NonNullable<RunHeader['stage']>,
  outcome: Verdict['summary']['outcome'],
): string {
  if (!isRelease) return `Stage ${printable(name)}: nothing is said of release.`;
  return outcome === 'met'
    ? `Stage ${printable(name)}: met for release.`
    : `Stage ${printable(name)}: not met for release.`;
}

function summaryLines(verdict: Verdict, layout: Layout): string[] {
  const { summary, blockAt } = verdict;
  const found = severities
    .map((severity) => `${summary.findings[severity]} ${severity}`)
    .join(', ');
  const { met, missed, undecided } = summary.outcomes;
  const cured = verdict.findings.filter(({ curedBy }) => curedBy !== null).length;
  const going = cured > 0 ? ` (${cured} of them go with a nudge and are not listed)` : '';
  const open =
    summary.faults > 0
      ? 'not everything could be read'
      : summary.panels === 0
        ? 'no panel to judge'
        : 'not every rule could decide';
  const outcome = {
    met: missed === 0 ? 'within limits' : `nothing at or above ${blockAt}`,
    missed: `limits missed (blocks at ${blockAt})`,
    undecided: `undecided: ${open}`,
  }[summary.outcome];
  const release = verdict.run.stage ? `${stageText(verdict.run.stage, summary.outcome)} ` : '';
  const scans = summary.scans > 0 ? ` and ${counted(summary.scans, 'scan')}` : '';
  const text =
    `${counted(summary.panels, 'panel')} in ${counted(summary.files - summary.scans, 'file')}${scans}: ${outcome}. ` +
    `${release}Findings: ${found}${going}. Rules on panels: ${met} met, ${missed} missed, ${undecided} undecided, ` +
    `${summary.outcomes['not-applicable']} not applicable.` +
    (summary.faults > 0 ? ` ${counted(summary.faults, 'fault')} in files.` : '');
  return [
    ...wrapped(text, '', '', layout.width).map((line) => styled(line, 'bold', layout)),
    ...wrapped(caution, '', '', layout.width),
  ];
}

/**
 * The verdict as a modeller reads it in a terminal: panel by panel, worst first; each finding with
 * its place, amount, side and what to do. Findings that another finding's nudge takes away are
 * counted there and not repeated (the JSON lists them all).
 */
export function textVerdict(verdict: Verdict, rules: readonly RuleData[], layout: Layout): string {
  const ruleOf = ruleDataById(rules);
  const { files } = verdict;
  const key = (file: string, panel: string): string => JSON.stringify([file, panel]);
  const panels = new Map(
    files.flatMap((file) =>
      file.panels.map((panel) => [key(file.file, panel.name), { file, panel }] as const),
    ),
  );
  // Findings come worst first, so their panels do too.
  const found = new Map<string, Finding[]>();
  for (const finding of verdict.findings) {
    const own = key(finding.file, finding.panel);
    const others = found.get(own);
    if (others) others.push(finding);
    else found.set(own, [finding]);
  }
  const clean = [...panels].flatMap(([own, entry]) =>
    found.has(own) ||
    entry.panel.sameNetAs !== null ||
    Object.values(entry.panel.outcomes).includes('undecided')
      ? []
      : [entry],
  );
  const lines = [
    ...[...found].flatMap(([own, findings]) =>
      panelLines(panels.get(own)!, findings, ruleOf, layout),
    ),
    ...decisionLines(verdict, layout),
    ...scanLines(verdict, layout),
    ...seamLines(verdict, layout),
    ...withinLines(clean, layout),
    ...sameNetLines(files, layout),
    ...undecidedLines(files, layout),
    ...noteLines(verdict, layout),
    ...faultLines(files, layout),
    ...summaryLines(verdict, layout),
  ];
  return `${lines.join('\n')}\n`;
}

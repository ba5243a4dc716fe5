import type { CleanRow, LineRow, Table } from './cells.ts';
import type { Bout, Contest, LeftOut } from './familyContest.ts';
import type { Pace } from './paces.ts';
import type { PointTally } from './pointTally.ts';
import type { RealFile, RealFinding } from './realFindings.ts';
import type { Reliability } from '../../learn/learnedOdds.ts';
import type { Share } from './share.ts';
import { reached, type FigureShare, type ShownFigure } from './shownFigures.ts';

/** A figure to be shown, measured: A to D and the present method everywhere, all on the sample. */
export interface Measured {
  readonly figure: ShownFigure;
  readonly all: Readonly<Record<string, FigureShare>>;
  /** The present method, without the names that published nets have as published. */
  readonly setAside: FigureShare;
  /** The same without the published nets. */
  readonly made: Readonly<Record<string, FigureShare>>;
  readonly sample: Readonly<Record<string, FigureShare>>;
}

export interface Report {
  readonly seed: number;
  readonly quick: boolean;
  readonly counts: Readonly<Record<string, number>>;
  readonly clearCounts: Readonly<Record<string, number>>;
  readonly sampleCounts: Readonly<Record<string, number>>;
  /** Why E, F and G were not asked, or null. */
  readonly noReferences: string | null;
  readonly failed: Readonly<Record<string, number>>;
  readonly corpus: boolean;
  readonly measured: readonly Measured[];
  readonly contest: Contest;
  readonly sampleContest: Contest | null;
  readonly leftOut: readonly LeftOut[];
  readonly clean: readonly Table<CleanRow>[];
  readonly one: readonly Table<PointTally>[];
  readonly several: readonly Table<PointTally>[];
  readonly lines: readonly Table<LineRow>[];
  readonly paces: readonly Pace[];
  /** Mean time of E, F and G on the sample, ms. */
  readonly sampleTimes: Readonly<Record<string, number>>;
  readonly real: readonly RealFile[];
  /** Confidence against what was so, on the made families. */
  readonly reliability: readonly Reliability[];
  /** The same on the recipes, where `npm run learn:locator` has left it. */
  readonly learnedReliability: readonly Reliability[] | null;
}

const part = (value: number): string => (100 * value).toFixed(1);

/** "93.2 (90.1 to 95.4; 312)": percent, 95 % interval, how many were counted. */
function shown({ share, interval, count }: Share): string {
  return share === null || interval === null
    ? '-'
    : `${part(share)} (${part(interval[0])} to ${part(interval[1])}; ${count})`;
}
const brief = ({ share, count }: Share): string =>
  share === null ? '-' : `${part(share)} (${count})`;

const figureText = (figure: FigureShare): string =>
  `${figure.family && figure.hits > 0 ? `${figure.family} ` : ''}${shown(figure)}`;

const table = (head: readonly string[], rows: readonly (readonly string[])[]): string =>
  [head, head.map(() => '---'), ...rows].map((row) => `| ${row.join(' | ')} |`).join('\n');

const aimText = ({ aim }: ShownFigure): string =>
  aim === null ? 'reported' : `${aim.sense === 'at-least' ? '>=' : '<='} ${100 * aim.value} %`;

function reachedText(figure: ShownFigure, share: Share): string {
  const is = reached(figure, share);
  if (is === null) return '-';
  const { aim } = figure;
  const inside =
    aim !== null &&
    share.interval !== null &&
    share.interval[0] <= aim.value &&
    aim.value <= share.interval[1];
  return `${is ? 'yes' : 'no'}${inside ? ', within the interval' : ''}`;
}

function familyLine({ found, best, lead, family }: Bout, methods: readonly string[]): string[] {
  const ahead =
    lead === null
      ? '-'
      : lead < -0.02
        ? `${best} by ${part(-lead)} points`
        : lead > 0.02
          ? `present by ${part(lead)} points`
          : 'even';
  return [family, ...methods.map((method) => brief(found[method])), ahead];
}

function contestText(title: string, { alarms, bouts }: Contest): string {
  const methods = Object.keys(alarms);
  const lost = bouts.filter(({ lead }) => lead !== null && lead < -0.02);
  const words =
    lost.length === 0
      ? 'No other method is more than 2 points better in any family.'
      : `Another method is more than 2 points better in: ${lost
          .map(({ family, best, lead }) => `${family} (${best}, by ${part(-lead!)} points)`)
          .join('; ')}.`;
  return [
    `### ${title}`,
    `Alarms on clean fair panels: ${methods.map((m) => `${m} ${brief(alarms[m])}`).join(', ')}.`,
    table(
      ['family', ...methods, 'ahead'],
      bouts.map((bout) => familyLine(bout, methods)),
    ),
    words,
  ].join('\n\n');
}

const tallyRow = (name: string, method: string, tally: PointTally): string[] => [
  name,
  method,
  String(tally.panels),
  shown(tally.firstRight),
  shown(tally.found),
  shown(tally.precision),
  shown(tally.wrongPanels),
  brief(tally.directionRight),
  brief(tally.within20),
  tally.medianError === null ? '-' : part(tally.medianError),
];

const tallyHead = [
  'method',
  'panels',
  'likeliest is right',
  'found (in the set)',
  'precision',
  'panels with a wrong name',
  'direction right',
  'nudge within 20 %',
  'median error of the nudge, %',
];

const tallyTable = ({ by, rows }: Table<PointTally>, methods: readonly string[]): string =>
  table(
    [by.replace(' | ', ', '), ...tallyHead],
    Object.entries(rows).flatMap(([name, own]) =>
      methods.map((method) => tallyRow(name.replace(' | ', ', '), method, own[method])),
    ),
  );

const reliabilityTable = (curve: readonly Reliability[]): string =>
  table(
    ['confidence', 'told', 'mean said, %', 'right, %', 'apart by points'],
    curve.map(({ from, to, count, said, right }) => [
      `${from} to ${to}`,
      String(count),
      said === null ? '-' : part(said),
      right === null ? '-' : part(right),
      said === null || right === null ? '-' : part(Math.abs(said - right)),
    ]),
  );

function evidenceText({ evidence, seen, leaves }: RealFinding): string {
  const { gain, unevenness, runnerUpBehind } = evidence as Readonly<
    Record<string, number | undefined>
  >;
  const reasons = [
    gain === undefined
      ? ''
      : `it explains the net better than any smooth shape by ${gain.toFixed(1)} nats`,
    runnerUpBehind === undefined
      ? ''
      : `the next likeliest place is ${runnerUpBehind.toFixed(1)} nats behind`,
    unevenness === undefined
      ? ''
      : `the rest of the net is even to ${unevenness.toPrecision(2)} mm`,
    seen === null ? '' : `the surface moves by ${seen.toPrecision(2)} mm`,
    leaves === null ? '' : `measured again, the nudge leaves ${leaves.toPrecision(2)} mm`,
  ].filter(Boolean);
  const text = `${reasons.join('; ')}.`;
  return text.charAt(0).toUpperCase() + text.slice(1);
}

function realText(real: readonly RealFile[]): string {
  const findings = real.flatMap((file) => file.findings);
  const quiet = real.filter((file) => file.findings.length === 0);
  return [
    '## Corpus and demo: every moderate and severe finding',
    'Rows and columns count from 1; files as they are, class A.',
    findings.length === 0
      ? 'None.'
      : table(
          ['file', 'panel', 'finding', 'where', 'mm', 'why'],
          findings.map((f) => [
            f.file,
            String(f.panel),
            `${f.rule}, ${f.severity}`,
            f.site,
            f.value.toPrecision(3),
            evidenceText(f),
          ]),
        ),
    `Without one: ${quiet.map(({ file, panels }) => `${file} (${panels})`).join(', ') || 'none'}; in brackets the panels.`,
  ].join('\n\n');
}

const listed = (counts: Readonly<Record<string, number>>): string =>
  Object.entries(counts)
    .map(([name, count]) => `${name} ${count}`)
    .join(', ');

/** Milliseconds a panel that the locator may take, by size of net. */
const timeAims: readonly (readonly [string, string, number])[] = [
  ['4x4', 'present, locator alone', 6],
  ['6x6', 'present, locator alone', 10],
  ['12x10', 'present, locator alone', 30],
  ['4x4', 'present, first look alone', 1],
  ['6x6', 'present, first look alone', 1],
  ['7x7', 'present, first look alone', 1],
  ['12x10', 'present, first look alone', 2],
];

function timeText(paces: readonly Pace[]): string {
  const said = timeAims.map(([net, method, aim]) => {
    const own = paces.find((pace) => pace.net === net && pace.method === method)!;
    const most = Math.max(own.clean, own.displaced);
    return `${method.replace('present, ', '')} ${net} ${most.toFixed(2)} ms of ${aim}: ${most <= aim ? 'reached' : 'not reached'}`;
  });
  return `Aims: ${said.join('; ')}. The first look passes a net as clean before anything else is tried.`;
}

/** The report as Markdown. */
export function reportText(report: Report): string {
  const { measured, sampleContest } = report;
  const sampled = Object.keys(measured[0].sample);
  const judged = measured.filter(({ figure, all }) => reached(figure, all['present']) !== null);
  const missed = judged.filter(({ figure, all }) => !reached(figure, all['present']));
  const oneOf = (by: string, panels: 'all' | 'clear'): Table<PointTally> =>
    report.one.find((t) => t.by === by && t.panels === panels)!;
  const severalOf = (by: string): Table<PointTally> =>
    report.several.find((t) => t.by === by && t.panels === 'clear')!;
  const cleanBy = (by: string): Table<CleanRow> => report.clean.find((t) => t.by === by)!;
  const far = report.leftOut.filter(
    ({ found, foundElsewhere }) =>
      found.share !== null && (foundElsewhere.share ?? 0) - found.share > 0.05,
  );
  return `${[
    '# The locator against its yardsticks',
    `Made by \`npm run bench:locator\`${report.quick ? ' with `--quick`: the counts are too small to rely on' : ''}; seed ${report.seed}. All numbers with their counts stand in \`locator.json\`. Shares are in percent with their 95 % interval (Wilson) and, last in brackets, how many were counted.`,
    `Panels are scaled to 1200 mm. Asked: ${listed(report.counts)}; of these clear: ${listed(report.clearCounts)}. "Clear": displaced by at least 6 times the rms leave-one-out error (over all points, the whole vector, method D) of the same net before it was displaced, and the surface moves by at least 0.1 mm at its peak. Half of the panels with displaced points are drawn until theirs are clear (where the net lets them be); half of the displacements are along the normal, the others along the row, the column or oblique (20 to 70 degrees from the normal); places are even over the points of a net.`,
    report.corpus
      ? 'Published nets come from the corpus, cut where they may break, without those of fewer than four points a side, with points that coincide, or of over 150 points.'
      : 'The corpus is absent: no published nets.',
    `Methods: A largest fourth-difference residual; B third-difference energy, leave-one-out; C mixed residual, studentised; D own spectrum, leave-one-out (z over 5.5, peak over 0.1 mm); E likelihood ratio; F learned mixture, corrected one after the other; G several atoms. "present": the audit's point-jut, point-drift and hull-jut at class A, named for certain, nudges measured again. A, B and C only rank; for the tables they name their first point at the threshold that alarms on 1 % of this benchmark's own clean fair panels, which flatters them.`,
    report.noReferences === null
      ? `E, F and G are the numpy references with their own defaults, asked on a sample (at most 100 points a net): ${listed(report.sampleCounts)}. Runs that failed: ${listed(report.failed)}.`
      : `E, F and G were not asked: ${report.noReferences}.`,
    '![Detection curves](locator.svg)',
    'One clear point, unevenness up to 0.05 mm, all sizes of net, against clean fair panels up to 0.05 mm. Dots: where a method stands with its own setting.',
    '## What it must show',
    `Of ${judged.length} figures that are shares the present method reaches ${judged.length - missed.length}. Published nets count like all others, though they may have faults of their own and every name on them but the displaced point counts as wrong; "own names set aside" leaves out the names that the present method gives the published net itself, before anything was done to it; "made families" leaves the published nets out. On the sample: ${sampled.join(', ')}.`,
    table(
      [
        'figure',
        'aim',
        'present',
        'reached',
        'present, own names of published nets set aside',
        'present, made families',
        'D',
        ...sampled.map((m) => `${m} (sample)`),
      ],
      measured.map(({ figure, all, setAside, made, sample }) => [
        figure.text,
        aimText(figure),
        figureText(all['present']),
        reachedText(figure, all['present']),
        figureText(setAside),
        figureText(made['present']),
        brief(all['D']),
        ...sampled.map((m) => brief(sample[m])),
      ]),
    ),
    `Not reached: ${
      missed
        .map(
          ({ figure, all }) =>
            `${figure.text} (${figureText(all['present'])}, aim ${aimText(figure)})`,
        )
        .join('; ') || 'none'
    }.`,
    '## Whether the confidence holds',
    'Every site that the present method tells, named or probable, of the made families: the mean confidence said and the share that was so. None of these families is among the recipes that were learned from. A displaced line that is told by one of its points, or a point by a line, counts as wrong.',
    reliabilityTable(report.reliability),
    ...(report.learnedReliability
      ? [
          'On the recipes, each with spectra and weights that do not know it (`npm run learn:locator`, every place the locator looked at, seen or not):',
          reliabilityTable(report.learnedReliability),
        ]
      : []),
    '## Equal false alarms',
    'One clear point, unevenness up to 0.05 mm: the likeliest point is right and over the threshold at which the method alarms on at most 1 % of the clean fair panels up to 0.05 mm (of a sample of under 100: on none). For the present method what it reports as uncertain counts as well.',
    contestText('All panels', report.contest),
    ...(sampleContest ? [contestText('The sample', sampleContest)] : []),
    '## Leave one family out',
    'The threshold that holds 1 % of alarms on the other fair families, used on the one left out.',
    table(
      ['family', 'alarm here', 'found here', 'found elsewhere'],
      report.leftOut.map(({ family, alarm, found, foundElsewhere }) => [
        family,
        shown(alarm),
        shown(found),
        brief(foundElsewhere),
      ]),
    ),
    far.length === 0
      ? 'No family is found over 5 points less than the rest.'
      : `Found over 5 points less than the rest: ${far
          .map(
            ({ family, found, foundElsewhere }) =>
              `${family} (${part(found.share!)} against ${part(foundElsewhere.share!)})`,
          )
          .join(
            '; ',
          )}. On a published net the likeliest place is often an oddity of its own rather than the displaced point; made families have none.`,
    '## Clean panels',
    ...['hand, mm', 'family'].map((by) =>
      table(
        [by, 'present: moderate or severe', 'present: any name', 'D: any name'],
        Object.entries(cleanBy(by).rows).map(([name, own]) => [
          name,
          shown(own['present'].graver),
          shown(own['present'].named),
          shown(own['D'].named),
        ]),
      ),
    ),
    '## One displaced point, all panels',
    ...['family', 'hand, mm', 'points', 'spans', 'place', 'direction | displaced by, mm'].map(
      (by) => tallyTable(oneOf(by, 'all'), ['present', 'D']),
    ),
    '## One clear displaced point',
    ...['family', 'points', 'direction', 'place'].map((by) =>
      tallyTable(oneOf(by, 'clear'), ['present', 'D']),
    ),
    tallyTable(oneOf('points', 'clear'), ['A', 'B', 'C']),
    '## Several clear displaced points',
    tallyTable(severalOf('displaced points | points'), ['present', 'D']),
    '## A whole line off',
    table(
      ['spans across, lines, off by mm', 'named', 'a wrong line named', 'a member blamed'],
      Object.entries(report.lines.find((t) => t.by.includes(' | '))!.rows).map(([name, own]) => [
        name.replace(' | ', ', '),
        shown(own['present'].named),
        shown(own['present'].wrong),
        shown(own['present'].blamed),
      ]),
    ),
    '## Time',
    'Middle time of a panel, warm, one core, ms; "present" is the audit with its nudges measured again. Times differ from run to run; nothing else here does.',
    timeText(report.paces),
    table(
      ['net', 'method', 'clean', 'one point 2 mm off'],
      report.paces.map(({ net, method, clean, displaced }) => [
        net,
        method,
        clean.toFixed(1),
        displaced.toFixed(1),
      ]),
    ),
    ...(report.noReferences === null
      ? [
          `E, F and G, mean over the sample, numpy: ${Object.entries(report.sampleTimes)
            .map(([name, time]) => `${name} ${time.toFixed(0)}`)
            .join(', ')} ms.`,
        ]
      : []),
    realText(report.real),
  ].join('\n\n')}\n`;
}

import type { JudgedSeam, OpenBorder } from '../verdict/judgedSeams.ts';
import type { Verdict } from '../verdict/verdict.ts';
import type { Layout } from './textVerdict.ts';
import { counted, printable, shownNumber } from './shown.ts';
import { textTable } from './textTable.ts';
import { wrapped } from './wrapped.ts';

/** As many seams, and open borders, as a person reads; the JSON verdict has all. */
const mostRows = 24;
const mostOpen = 6;

const outcomeOf = ({ outcomes }: JudgedSeam): string => {
  const all = Object.values(outcomes);
  return all.includes('missed') ? 'missed' : all.includes('undecided') ? 'undecided' : 'met';
};

const columns = [
  { head: 'panels', isWord: true },
  { head: 'mm', isWord: false },
  { head: 'meant', isWord: true },
  { head: 'gap mm', isWord: false },
  { head: 'angle deg', isWord: false },
  { head: 'curvature', isWord: false },
  { head: 'outcome', isWord: true },
];

function row(seam: JudgedSeam): string[] {
  const [a, b] = seam.panels.map(({ panel }) => printable(panel));
  const isSmooth = seam.meant === 'smooth';
  return [
    `${a} | ${b}${seam.nth > 0 ? ` (${seam.nth + 1})` : ''}`,
    seam.length.toFixed(0),
    seam.meant,
    seam.gap ? shownNumber(seam.gap.most, 'mm') : '-',
    seam.angle ? shownNumber(seam.angle.most, 'deg') : '-',
    isSmooth && seam.mismatch ? shownNumber(seam.mismatch.most, 'ratio') : '-',
    outcomeOf(seam),
  ];
}

const worst = { missed: 0, undecided: 1, met: 2 } as Record<string, number>;

function openText(borders: readonly OpenBorder[]): string {
  const longest = borders.toSorted((a, b) => b.length - a.length).slice(0, mostOpen);
  const texts = longest.map(({ panel, length }) => `${printable(panel)} (${length.toFixed(0)} mm)`);
  const more = borders.length - longest.length;
  return `Open borders, no other panel runs along them: ${texts.join(', ')}${more > 0 ? ` and ${more} more` : ''}.`;
}

/** The seams as a table, those that miss a limit first; then the borders without a neighbour. */
export function seamLines({ seams, openBorders }: Verdict, layout: Layout): string[] {
  if (seams.length === 0) return [];
  const order = seams
    .map((seam, k) => ({ seam, k }))
    .sort((a, b) => worst[outcomeOf(a.seam)] - worst[outcomeOf(b.seam)] || a.k - b.k)
    .map(({ seam }) => seam);
  const shown = order.slice(0, mostRows);
  const more = order.length - shown.length;
  return [
    'Seams: the largest gap, angle and relative difference of curvature along each',
    ...textTable(columns, shown.map(row), layout.width),
    ...(more > 0 ? [`  and ${counted(more, 'seam')} more (in the JSON verdict)`] : []),
    ...(openBorders.length > 0 ? wrapped(openText(openBorders), '  ', '    ', layout.width) : []),
    '',
  ];
}

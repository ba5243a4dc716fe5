import type { JudgedSeam, OpenBorder } from '../verdict/judgedSeams.ts';
import type { Verdict } from '../verdict/verdict.ts';
import type { Layout } from './textVerdict.ts';
import { counted, printable, shownNumber } from './shown.ts';
import { wrapped } from './wrapped.ts';

/** As many seams, and open borders, as a person reads; the JSON verdict has all. */
const mostRows = 24;
const mostOpen = 6;

const outcomeOf = ({ outcomes }: JudgedSeam): string => {
  const all = Object.values(outcomes);
  return all.includes('missed') ? 'missed' : all.includes('undecided') ? 'undecided' : 'met';
};

const heads = ['panels', 'mm', 'meant', 'gap mm', 'angle deg', 'curvature', 'outcome'] as const;

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

/** Columns of numbers end flush, those of words begin flush. */
const isWord = (column: number): boolean => column === 0 || column === 2 || column === 6;

function table(rows: readonly (readonly string[])[], width: number): string[] {
  const widths = heads.map((head, k) =>
    Math.max(head.length, ...rows.map((cells) => cells[k].length)),
  );
  const others = widths.slice(1).reduce((sum, own) => sum + own + 2, 2);
  const first = Math.max(heads[0].length, Math.min(widths[0], width - others));
  return [heads, ...rows].flatMap((cells) => {
    const [names, ...more] = cells;
    const rest = more
      .map((cell, k) => (isWord(k + 1) ? cell.padEnd(widths[k + 1]) : cell.padStart(widths[k + 1])))
      .join('  ')
      .trimEnd();
    // names too long for their column stand on a line of their own
    return names.length > first
      ? [`  ${names}`, `  ${' '.repeat(first)}  ${rest}`]
      : [`  ${names.padEnd(first)}  ${rest}`];
  });
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
    ...table(shown.map(row), layout.width),
    ...(more > 0 ? [`  and ${counted(more, 'seam')} more (in the JSON verdict)`] : []),
    ...(openBorders.length > 0 ? wrapped(openText(openBorders), '  ', '    ', layout.width) : []),
    '',
  ];
}

import type { JudgedDistances, JudgedPanel } from '../verdict/judgedFile.ts';
import type { Verdict } from '../verdict/verdict.ts';
import { counted, printable, shownLimit } from './shown.ts';
import { textTable } from './textTable.ts';
import type { Layout } from './textVerdict.ts';

/** As many panels as a person reads; the JSON verdict has all. */
const mostRows = 40;

const columns = [
  { head: 'panel', isWord: true },
  { head: 'limit', isWord: false },
  { head: 'within', isWord: false },
  { head: 'in', isWord: false },
  { head: 'out', isWord: false },
  { head: 'mean', isWord: false },
  { head: 'RMS', isWord: false },
  { head: 'scanned', isWord: false },
];

/** A share in hundredths: 100 only where nothing is left out. */
const percent = (share: number): string =>
  `${share >= 1 ? 100 : Math.min(99.9, Math.floor(1000 * share) / 10)} %`;

function row({ name }: JudgedPanel, own: JudgedDistances): string[] {
  const mm = (value: number): string => value.toFixed(2).replace(/^-(0\.00)$/, '$1');
  return [
    printable(name),
    shownLimit(own.limit, 'ratio'),
    percent(own.within),
    own.inmost ? mm(-own.inmost.value) : '-',
    own.outmost ? mm(own.outmost.value) : '-',
    mm(own.mean),
    mm(own.rms),
    percent(own.covered),
  ];
}

/** How the panels lie to the scan, as a table; the farthest off for their limit first. */
export function scanLines({ files, run }: Verdict, layout: Layout): string[] {
  const far = ({ outmost, inmost, limit }: JudgedDistances): number =>
    Math.max(outmost?.value ?? 0, -(inmost?.value ?? 0)) / limit;
  const all = files
    .flatMap(({ panels }) =>
      panels.flatMap((panel) => (panel.distances ? [{ panel, own: panel.distances }] : [])),
    )
    .map((entry, k) => ({ ...entry, k }))
    .sort((a, b) => far(b.own) - far(a.own) || a.k - b.k);
  if (all.length === 0) return [];
  const shown = all.slice(0, mostRows);
  const more = all.length - shown.length;
  const stage = run.stage ? `, stage ${printable(run.stage.name)}` : '';
  return [
    `Distance to the scan in mm (mean: positive outside it)${stage}`,
    ...textTable(
      columns,
      shown.map(({ panel, own }) => row(panel, own)),
      layout.width,
    ),
    ...(more > 0 ? [`  and ${counted(more, 'panel')} more (in the JSON verdict)`] : []),
    '',
  ];
}

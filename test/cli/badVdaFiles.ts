import { vdafsFile } from '../../fixtures/vdafsText.ts';
import type { FaultCode } from '../../src/intake/fault.ts';
import { madePoints } from '../intake/igesFile.ts';
import type { BadFile } from './badFiles.ts';

const [[x0, y0, z0], [x1, y1, z1], , [x2, y2, z2]] = madePoints;

/** A bent plate of three of the points that the other formats use, written as powers. */
const hood = `HOOD = SURF / 1, 1, 0, 1, 0, 1, 2, 2, ${[
  [x0, x1 - x0, x2 - x0, 0],
  [y0, y1 - y0, y2 - y0, 0],
  [z0, z1 - z0, z2 - z0, 1.5],
]
  .flat()
  .join(', ')}`;

export const vdaText: string = vdafsFile([hood]);

const row = (given: string, code: FaultCode, ...statements: readonly string[]): BadFile => ({
  given,
  name: 'hood.vda',
  code,
  bytes: Buffer.from(vdafsFile(statements)),
});

/** The plate with one of its parameters (from 0) as given. */
const hoodWith = (k: number, value: string): string => {
  const [head, ...fields] = hood.split(/(?<=\/)|,/);
  return head + fields.with(k, value).join(',');
};

const cut = (given: string, share: number): BadFile => ({
  given,
  name: 'hood.vda',
  code: 'vda-truncated',
  bytes: Buffer.from(vdaText.slice(0, share * vdaText.length)),
});

const huge = ['2147483647', '4294967296', '1000000000000000000', '999999999999999999999999'];

export const badVda: readonly BadFile[] = [
  cut('cut in the header', 0.3),
  cut('cut in the surface', 0.8),
  cut('cut before the last line', 0.88),
  row('a command that is none', 'vda-statement', 'HOOD = SHEET / 1, 2'),
  row('a slash left out', 'vda-statement', hood.replace('/', '')),
  row('a name used twice', 'vda-duplicate', hood, hood),
  row('a face of no surface', 'vda-reference', hood, 'F = FACE / HOD, 0'),
  row('a group of nothing', 'vda-reference', hood, 'G = GROUP / 1, HOD'),
  row('a list in a circle', 'too-deep', hood, 'G = GROUP / 1, H', 'H = GROUP / 1, G'),
  row(
    'a flat matrix',
    'placement',
    hood,
    'M = TMAT / 0,0,0, 0,0,0, 0,0,0, 1,2,3',
    'L = TLIST / M, 1, HOOD',
  ),
  row('NaN as a coefficient', 'bad-number', hoodWith(9, ' NaN')),
  row('1E999 as a coefficient', 'not-finite', hoodWith(9, ' 1E999')),
  row('a coefficient lost', 'wrong-count', hood.replace(/, [^,]*$/, '')),
  row('an order of 40', 'degree-range', hoodWith(6, ' 40')),
  row('breakpoints that stand', 'knots-decrease', hoodWith(3, ' 0')),
  row('all in one point', 'no-extent', `HOOD = SURF / 1, 1, 0, 1, 0, 1, 1, 1, 5, 5, 5`),
  row('a coordinate of 10,000 km', 'beyond-range', hoodWith(8, ' 1E10')),
  ...huge.flatMap((count) => [
    row(`patches in s ${count}`, 'count-beyond-file', hoodWith(0, ` ${count}`)),
    row(`patches in t ${count}`, 'count-beyond-file', hoodWith(1, ` ${count}`)),
    row(`loops ${count}`, 'count-beyond-file', hood, `F = FACE / HOOD, ${count}, 1, K, 0, 1`),
    row(`pieces ${count}`, 'count-beyond-file', hood, `F = FACE / HOOD, 1, ${count}, K, 0, 1`),
    row(`elements ${count}`, 'count-beyond-file', hood, `G = GROUP / ${count}, HOOD`),
    row(`order ${count}`, 'degree-range', hoodWith(6, ` ${count}`)),
  ]),
  ...huge.map((count): BadFile => ({
    given: `header lines ${count}`,
    name: 'hood.vda',
    code: 'wrong-count',
    bytes: Buffer.from(vdaText.replace('HEADER / 4', `HEADER / ${count}`)),
  })),
];

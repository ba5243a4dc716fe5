// Whose wobble it is, on generated panels and scans of which it is known.
// `node .ci/run-ts.mjs test/wobble/wobbleReport.ts [CASES] [SEED]` writes reports/wobble.md and .json.
import { writeFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { shareWhere, type Share } from '../bench/locator/share.ts';
import { wobbleKinds } from './wobbleCase.ts';
import {
  forecast,
  isClear,
  isDecided,
  isOwned,
  isWrong,
  wobbleTrial,
  type WobbleTrial,
} from './wobbleTrial.ts';

const [cases, seed] = [Number(process.argv[2] ?? 1000), Number(process.argv[3] ?? 700_000_000)];
const finest = 1;

const trials: WobbleTrial[] = [];
for (let k = 0; k < cases; k++) {
  trials.push(wobbleTrial(seed, k, finest));
  if (trials.length % 100 === 0) console.log(`${trials.length} of ${cases}`);
}

const percent = (value: number): string => (100 * value).toFixed(1);
const shown = ({ share, interval, hits, count }: Share): string =>
  share === null || interval === null
    ? '-'
    : `${percent(share)} % (${percent(interval[0])} to ${percent(interval[1])}; ${hits} of ${count})`;

const decided = trials.filter(isDecided);
const owned = trials.filter(isOwned);
const clear = trials.filter(isClear);
const figures = [
  { text: 'Of the decided, wrong', aim: 'at most 1 %', share: shareWhere(decided, isWrong) },
  {
    text: 'Of what is the model’s or the scan’s, decided',
    aim: 'at least 60 %',
    share: shareWhere(owned, isDecided),
  },
  {
    text: 'The same, where the peak is over 6 standard errors',
    aim: 'at least 85 %',
    share: shareWhere(clear, isDecided),
  },
];

/** How often what is said with a chance is so. */
const bounds = [0.34, 0.6, 0.7, 0.8, 0.9, 0.95, 0.98, 1.01];
const forecasts = trials.map(forecast).filter((one) => one !== null);
const reliability = bounds.slice(1).map((high, k) => {
  const own = forecasts.filter(({ chance }) => chance >= bounds[k] && chance < high);
  const mean = own.reduce((total, { chance }) => total + chance, 0) / Math.max(1, own.length);
  return { from: bounds[k], mean, so: shareWhere(own, ({ isSo }) => isSo) };
});

interface Band {
  readonly name: string;
  readonly edges: readonly number[];
  readonly value: (trial: WobbleTrial) => number;
}
const bands: readonly Band[] = [
  {
    name: 'peak over noise',
    edges: [0, 0.5, 1, 2, 4, 8, 16, Infinity],
    value: ({ facts }) => facts.peak / facts.noise,
  },
  {
    name: 'peak over the gap’s standard error',
    edges: [0, 2, 4, 6, 10, 20, 50, Infinity],
    value: ({ facts, found }) => facts.peak / found.gapError,
  },
  { name: 'peak, mm', edges: [0, 0.1, 0.2, 0.4, 0.8, 9], value: ({ facts }) => facts.peak },
  {
    name: 'wavelength, mm',
    edges: [0, 80, 125, 200, 320, 900],
    value: ({ facts }) => facts.wavelength,
  },
  {
    name: 'wavelength over the panel’s size',
    edges: [0, 0.1, 0.2, 0.3, 0.4, 0.6, 2],
    value: ({ facts }) => facts.wavelength / facts.size,
  },
  { name: 'triangle, mm', edges: [0, 2, 4, 7, 11], value: ({ facts }) => facts.triangle },
  {
    name: 'triangles over which the noise’s correlation halves',
    edges: [0, 0.1, 5, 9],
    value: ({ facts }) => facts.correlation,
  },
  { name: 'misfit, mm', edges: [0, 0.001, 0.3, 0.6, 1], value: ({ facts }) => facts.misfit },
  {
    name: 'smallest radius over wavelength',
    edges: [0, 3, 5, 8, 15, Infinity],
    value: ({ facts }) => facts.radius / facts.wavelength,
  },
  { name: 'a hole', edges: [0, 1, 2], value: ({ facts }) => Number(facts.hasHole) },
  { name: 'window cut by an edge', edges: [0, 1, 2], value: ({ facts }) => Number(facts.isCut) },
  {
    name: 'a design feature as small',
    edges: [0, 1, 2],
    value: ({ facts }) => Number(facts.hasFeature),
  },
];
const banded = bands.flatMap(({ name, edges, value }) =>
  edges.slice(1).map((high, k) => {
    const own = owned.filter((trial) => value(trial) >= edges[k] && value(trial) < high);
    return {
      band: name,
      from: edges[k],
      to: high,
      decided: shareWhere(own, isDecided),
      wrong: shareWhere(own.filter(isDecided), isWrong),
    };
  }),
);
const kinds = wobbleKinds.map((kind) => {
  const own = trials.filter(({ facts }) => facts.kind === kind);
  return {
    kind,
    decided: shareWhere(own, isDecided),
    wrong: shareWhere(own.filter(isDecided), isWrong),
  };
});
const doubts = ['coverage', 'small', 'design', 'windows', 'noise', 'shared'].map((doubt) => ({
  doubt,
  count: owned.filter(({ found }) => found.doubt === doubt).length,
  clear: clear.filter(({ found }) => found.doubt === doubt).length,
}));
const times = trials.map(({ time }) => time).sort((a, b) => a - b);
const time = { median: times[times.length >> 1], most: times[times.length - 1] };

const table = (head: readonly string[], rows: readonly (readonly string[])[]): string =>
  [head, head.map(() => '---'), ...rows].map((row) => `| ${row.join(' | ')} |`).join('\n');
const text = `# Whose wobble it is

${trials.length} generated cases, seed ${seed}; the constants were chosen on cases of other seeds. Each is a panel (a B-spline surface, fitted to a made-up design) and a scan of the same design (triangles), with a wobble in one of them, in both or in none, put anywhere in space. The measure is told the wobble's place within 12 % and its wavelengths within 25 %, no more. Where neither has a wobble, whatever is decided counts as wrong; so it does where the scan has 0.35 to 0.65 of the surface's.

${table(
  ['figure', 'aim', 'measured (95 % interval)'],
  figures.map(({ text: own, aim, share }) => [own, aim, shown(share)]),
)}

Asking takes ${time.median.toFixed(0)} ms of a processor (median), ${time.most.toFixed(0)} ms at most, the scan’s tree made before.

## Whether the chances hold

What is said to be likeliest, and how often it is so: all cases but those that are refused for their place (coverage, design, windows, too small).

${table(
  ['chance said', 'mean said, %', 'so'],
  reliability.map(({ from, mean, so }) => [`from ${from}`, percent(mean), shown(so)]),
)}

## By what the scan and the surface have

${table(
  ['kind', 'decided', 'wrong of these'],
  kinds.map(({ kind, decided: own, wrong }) => [kind, shown(own), shown(wrong)]),
)}

## By size, place and scan: the model's and the scan's

${table(
  ['what', 'from', 'to', 'decided', 'wrong of these'],
  banded.map(({ band, from, to, decided: own, wrong }) => [
    band,
    String(from),
    String(to),
    shown(own),
    shown(wrong),
  ]),
)}

## Why the others were not decided

${table(
  ['doubt', 'of the model’s and the scan’s', 'of these with a peak over 6 standard errors'],
  doubts.map(({ doubt, count, clear: sure }) => [doubt, String(count), String(sure)]),
)}
`;
const folder = resolve(import.meta.dirname, '../../reports');
writeFileSync(resolve(folder, 'wobble.md'), text);
writeFileSync(
  resolve(folder, 'wobble.json'),
  `${JSON.stringify({ cases, seed, figures, reliability, kinds, bands: banded, doubts, time }, null, 1)}\n`,
);
console.log(text);

import { readdirSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { clay } from '../../fixtures/clay.ts';
import { binaryPly, binaryStl, objMesh, textPly, textStl } from '../../fixtures/meshFiles.ts';
import { objSample } from '../../fixtures/objText.ts';
import { seededRandom, type SeededRandom } from '../../fixtures/seededRandom.ts';
import { vdafsSample } from '../../fixtures/vdafsSample.ts';
import { endings, formatByName, type Format } from '../../src/intake/format.ts';
import { scanEndings, scanFormatByName, type ScanFormat } from '../../src/intake/scanFormat.ts';

/** A file to begin from. */
export interface Sample<F extends Format | ScanFormat = Format> {
  readonly format: F;
  readonly bytes: Buffer;
}

/** A file no one sends: what was done to which sample is all in the seed and the number. */
export interface OddFile<F extends Format | ScanFormat = Format> {
  readonly format: F;
  readonly name: string;
  readonly bytes: Buffer;
}

function filesBelow<F extends Format | ScanFormat>(
  folder: string,
  formatOf: (name: string) => F | null,
): Sample<F>[] {
  return readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .toSorted()
    .flatMap((file) => {
      const format = formatOf(file);
      return format === null ? [] : [{ format, bytes: readFileSync(join(folder, file)) }];
    });
}

const fixturesFolder = resolve(import.meta.dirname, '../../fixtures');

/** The demo job in each format, the fixtures of the rules, and what the demo has none of. */
export const fixtureSamples = (): Sample[] => [
  { format: 'vda-fs', bytes: Buffer.from(vdafsSample()) },
  { format: 'obj', bytes: Buffer.from(objSample()) },
  ...filesBelow(join(fixturesFolder, 'demo'), formatByName),
  ...filesBelow(join(fixturesFolder, 'rules'), formatByName),
];

/** Real files, from the folder they lie in. */
export const corpusSamples = (folder: string): Sample[] => [
  ...filesBelow(join(folder, 'surfaces'), formatByName),
  ...filesBelow(join(folder, 'nets'), formatByName),
];

/** A made-up scan in every form, large enough for a few lines of each kind. */
export function fixtureScans(): Sample<ScanFormat>[] {
  const body = clay(5);
  return [
    { format: 'stl', bytes: textStl(body) },
    { format: 'stl', bytes: binaryStl(body, 'solid clay') },
    { format: 'ply', bytes: textPly(body) },
    { format: 'ply', bytes: binaryPly(body) },
    { format: 'ply', bytes: binaryPly(body, 'big') },
    { format: 'obj', bytes: objMesh(body) },
    {
      format: 'obj',
      bytes: Buffer.from(
        'v 0 0 0\nv 4 0 0\nv 4 4 0\nv 1 1 0 1 0 0\nv 0 4 0\nvn 0 0 1\nf 1/1/1 2//1 3 4 \\\n -1\n',
      ),
    },
  ];
}

/** Real scans, the small ones: what is odd about them is not their size. */
export const corpusScans = (folder: string): Sample<ScanFormat>[] =>
  filesBelow(join(folder, 'meshes'), scanFormatByName).filter(({ bytes }) => bytes.length < 60_000);

/** Where bytes that once did harm are kept, to be read again by every test run. */
export const oddFolder: string = join(fixturesFolder, 'odd');

type Mutation = (bytes: Buffer, random: SeededRandom, other: Buffer) => Buffer;

const pick = <T>(items: readonly T[], random: SeededRandom): T => items[random.index(items.length)];

/** What a number, a count or a pointer is exchanged for. */
// prettier-ignore
const numbers = [
  '0', '-1', '1', '2', '3', '31', '255', '65536', '2147483647', '-2147483648', '4294967295',
  '1000000000000000000', '1e999', '-1E999', '1D308', '4.9E-324', '1e-320', '-0.', 'NaN', 'Infinity',
  'null', '$', '*', '', '0.1', '.5', '5.', '1.7976931348623157e308', '9'.repeat(400),
];

/** Bytes that mean something in one of the formats. */
const marks = '(),;#\'"=$*.[]{}:/\\HSGDPT0123456789eE+-\n\r \0\u00ff';

const flips: Mutation = (bytes, random) => {
  const changed = Buffer.from(bytes);
  for (let k = 1 + random.index(12); k > 0 && changed.length > 0; k--) {
    const at = random.index(changed.length);
    if (random.uniform() < 0.5) changed[at] ^= 1 << random.index(8);
    else changed[at] = marks.charCodeAt(random.index(marks.length));
  }
  return changed;
};

const cut: Mutation = (bytes, random) => bytes.subarray(0, random.index(bytes.length + 1));

const beheaded: Mutation = (bytes, random) => bytes.subarray(random.index(bytes.length + 1));

const spliced: Mutation = (bytes, random, other) => {
  const from = random.index(bytes.length + 1);
  const to = random.uniform() < 0.5 ? from : random.index(bytes.length + 1);
  const begin = random.index(other.length + 1);
  const piece = other.subarray(begin, begin + random.index(2000));
  return Buffer.concat([bytes.subarray(0, from), piece, bytes.subarray(to)]);
};

/** Lines are the records of IGES, and near enough those of the others. */
const inLines =
  (change: (lines: string[], random: SeededRandom) => void): Mutation =>
  (bytes, random) => {
    const lines = bytes.toString('latin1').split('\n');
    change(lines, random);
    return Buffer.from(lines.join('\n'), 'latin1');
  };

const doubledRecords = inLines((lines, random) => {
  const at = random.index(lines.length);
  const some = lines.slice(at, at + 1 + random.index(20));
  const times = random.uniform() < 0.05 ? 200 : 1 + random.index(3);
  const copies = Array.from({ length: times }, () => some).flat();
  lines.splice(random.index(lines.length), 0, ...copies);
});

const lostRecords = inLines((lines, random) => {
  lines.splice(random.index(lines.length), 1 + random.index(5));
});

const reorderedRecords = inLines((lines, random) => {
  for (let k = 1 + random.index(10); k > 0; k--) {
    const [a, b] = [random.index(lines.length), random.index(lines.length)];
    [lines[a], lines[b]] = [lines[b], lines[a]];
  }
});

/** Some numbers of the text exchanged for others; `padded` keeps the columns where they were. */
const oddNumbers: Mutation = (bytes, random) => {
  const text = bytes.toString('latin1');
  const spots = [...text.matchAll(/-?\d[\d.]*(?:[eEdD][-+]?\d+)?/g)];
  if (spots.length === 0) return bytes;
  const padded = random.uniform() < 0.5;
  const own = pick(spots, random)[0];
  const chosen = Array.from({ length: 1 + random.index(4) }, () => random.index(spots.length));
  let done = 0;
  const parts: string[] = [];
  for (const k of [...new Set(chosen)].sort((a, b) => a - b)) {
    const { 0: old, index } = spots[k];
    const next = random.uniform() < 0.3 ? own : pick(numbers, random);
    const fits = padded && next.length <= old.length;
    parts.push(text.slice(done, index), fits ? next.padStart(old.length) : next);
    done = index + old.length;
  }
  return Buffer.from([...parts, text.slice(done)].join(''), 'latin1');
};

/** Every so many references of the text made to point somewhere else. */
const exchangedReferences: Mutation = (bytes, random) => {
  const text = bytes.toString('latin1');
  const names = text.match(/#\d+/g) ?? [];
  return names.length === 0
    ? oddNumbers(bytes, random, bytes)
    : Buffer.from(
        text.replace(/([(,]\s*)#\d+/g, (all, before: string) =>
          random.uniform() < 0.02 ? before + pick(names, random) : all,
        ),
        'latin1',
      );
};

const nested: Mutation = (bytes, random) => {
  const bracket = pick(['(', '[', '{', '{"rows":', "'", '/*', '"'], random);
  const at = random.index(bytes.length + 1);
  const many = Buffer.from(bracket.repeat(10 ** random.index(6)));
  return Buffer.concat([bytes.subarray(0, at), many, bytes.subarray(at)]);
};

type Json = null | boolean | number | string | Json[] | { [key: string]: Json };
// prettier-ignore
const oddValues: readonly Json[] = [
  null, true, 0, -1, 2, 1.5, 1e308, -1e12, 2147483647, '', 'hood', [], [[]], {}, [1, 2, 3], [0, 0, 0, 0],
];

/** One value somewhere in a JSON text lost, doubled or exchanged, so that the text stays JSON. */
const oddStructure: Mutation = (bytes, random, other) => {
  let root: Json;
  try {
    root = JSON.parse(bytes.toString('utf8')) as Json;
  } catch {
    return oddNumbers(bytes, random, other);
  }
  const depth = 1 + random.index(6);
  let at: Json = root;
  for (let level = 1; typeof at === 'object' && at !== null; level++) {
    const holder: Record<string, Json> = at as Record<string, Json>;
    const keys = Object.keys(holder);
    if (keys.length === 0) break;
    const key = pick(keys, random);
    const inner: Json = holder[key];
    const goesOn = level < depth && typeof inner === 'object' && inner !== null;
    at = goesOn ? inner : null;
    if (goesOn) continue;
    const way = random.index(3);
    if (way === 0) holder[key] = pick(oddValues, random);
    else if (Array.isArray(holder)) holder.splice(Number(key), way - 1, inner);
    else if (way === 1) delete holder[key];
    else holder[`${key}s`] = inner;
  }
  return Buffer.from(JSON.stringify(root));
};

/** Words that a count, a corner or a coordinate of a binary form is exchanged for. */
// prettier-ignore
const words = [
  0, 1, 3, 255, 0x7fffffff, 0x80000000, 0xffffffff, 0x7f800000, 0x7fc00000, 0x7f7fffff, 0x50000000,
];

const oddWords: Mutation = (bytes, random) => {
  const changed = Buffer.from(bytes);
  for (let k = 1 + random.index(4); k > 0 && changed.length >= 4; k--)
    changed.writeUInt32LE(pick(words, random), random.index(changed.length - 3));
  return changed;
};

const noise: Mutation = (bytes, random) => {
  const length = random.index(3000);
  const kept = random.uniform() < 0.5 ? bytes.subarray(0, random.index(200)) : Buffer.alloc(0);
  return Buffer.concat([kept, Buffer.from(Array.from({ length }, () => random.index(256)))]);
};

const otherLineEnds: Mutation = (bytes, random) =>
  Buffer.from(
    bytes.toString('latin1').replaceAll('\n', pick(['\r\n', '\r', '', '\n\n', '\u2028'], random)),
    'latin1',
  );

const mutations: readonly Mutation[] = [
  flips,
  cut,
  beheaded,
  spliced,
  doubledRecords,
  lostRecords,
  reorderedRecords,
  oddNumbers,
  oddNumbers,
  oddNumbers,
  exchangedReferences,
  oddStructure,
  oddStructure,
  nested,
  oddWords,
  noise,
  otherLineEnds,
];

/** Every format that samples are of; its first ending is the one that a file gets. */
const endingOf = { ...scanEndings, ...endings };

/** Case `number` of a seed: one to three mutations of one sample; the formats take turns. */
export function oddFile<F extends Format | ScanFormat>(
  samples: readonly Sample<F>[],
  seed: number,
  number: number,
): OddFile<F> {
  const random = seededRandom(Math.imul(seed, 0x9e3779b1) + number);
  const formats = [...new Set(samples.map(({ format }) => format))].sort();
  const format = formats[number % formats.length];
  const own = samples.filter((sample) => sample.format === format);
  let { bytes } = pick(own, random);
  for (let k = 1 + random.index(3); k > 0; k--)
    bytes = pick(mutations, random)(bytes, random, pick(samples, random).bytes);
  return { format, name: `odd${endingOf[format][0]}`, bytes };
}

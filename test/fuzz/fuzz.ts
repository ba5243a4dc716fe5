// node .ci/run-ts.mjs test/fuzz/fuzz.ts [CASES] [SEED]: throws CASES odd files at the readers of surfaces,
// and as many at those of scans.
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import type { Fault } from '../../src/intake/fault.ts';
import type { Format } from '../../src/intake/format.ts';
import type { ScanFormat } from '../../src/intake/scanFormat.ts';
import { corpusFolder } from '../corpus.ts';
import {
  corpusSamples,
  corpusScans,
  fixtureSamples,
  fixtureScans,
  oddFile,
  oddFolder,
  type Sample,
} from './mutations.ts';
import { readingOf, scanReadingOf, type Reading } from './oddFileTrouble.ts';

const cases = Number(process.argv[2] ?? 100_000);
const seed = Number(process.argv[3] ?? 1);
if (![cases, seed].every((n) => Number.isInteger(n) && n > 0))
  throw new RangeError('CASES and SEED are whole numbers over 0');

setFlagsFromString('--expose_gc');
const collect = runInNewContext('gc') as () => void;
/** Megabytes in use when all that can go has gone. */
function heldMemory(): number {
  collect();
  const { heapUsed, external } = process.memoryUsage();
  return (heapUsed + external) / 2 ** 20;
}

/** Megabytes by which the memory held may grow over a run, and the most a run may take at any time. */
const mostGrowth = 64;
const mostAtOnce = 1024;

interface Count {
  cases: number;
  /** Files of which something could be used in spite of all. */
  usable: number;
  withFaults: number;
  /** Panels or triangles that they gave. */
  given: number;
  slowest: number;
}
const counts: Record<string, Count> = {};
const codes = new Map<string, number>();
const failures: string[] = [];

let before = 0;
/** Reads `cases` odd files made of the samples. */
function tryFiles<F extends Format | ScanFormat, T extends { readonly faults: readonly Fault[] }>(
  samples: readonly Sample<F>[],
  read: (name: string, bytes: Uint8Array) => Reading<T>,
  givenBy: (intake: T) => number,
): void {
  for (let number = 0; number < cases; number++) {
    const { format, name, bytes } = oddFile(samples, seed, number);
    const { intake, milliseconds, trouble } = read(name, bytes);
    counts[format] ??= { cases: 0, usable: 0, withFaults: 0, given: 0, slowest: 0 };
    const count = counts[format];
    count.cases++;
    count.slowest = Math.max(count.slowest, Math.ceil(milliseconds));
    if (intake) {
      const given = givenBy(intake);
      count.given += given;
      if (given > 0) count.usable++;
      if (intake.faults.length > 0) count.withFaults++;
      for (const code of new Set(intake.faults.map((fault) => fault.code)))
        codes.set(code, (codes.get(code) ?? 0) + 1);
    }
    if (trouble !== null) {
      const file = `seed-${seed}-case-${number}-${name}`;
      mkdirSync(oddFolder, { recursive: true });
      writeFileSync(join(oddFolder, file), bytes);
      failures.push(`${file}: ${trouble}`);
      console.error(`${file}: ${trouble}`);
    }
    // The first cases warm up what is kept on purpose.
    if (before === 0 && number === Math.min(200, cases - 1)) before = heldMemory();
  }
}

const corpus = corpusFolder === null ? [] : corpusSamples(corpusFolder);
const samples = [...fixtureSamples(), ...corpus];
const realScans = corpusFolder === null ? [] : corpusScans(corpusFolder);
const scans = [...fixtureScans(), ...realScans];
tryFiles(samples, readingOf, ({ panels }) => panels.length);
tryFiles(scans, scanReadingOf, ({ counts: held }) => held?.triangles ?? 0);

const growth = Math.round(heldMemory() - before);
const atOnce = Math.round(process.resourceUsage().maxRSS / 1024);
if (growth > mostGrowth) failures.push(`memory held grew by ${growth} MB`);
if (atOnce > mostAtOnce) failures.push(`${atOnce} MB in use at once`);

const summary = {
  seed,
  cases,
  samples: {
    fixtures: samples.length - corpus.length,
    corpus: corpus.length,
    scans: scans.length - realScans.length,
    corpusScans: realScans.length,
  },
  formats: counts,
  faults: Object.fromEntries([...codes].sort(([a], [b]) => (a < b ? -1 : 1))),
  megabytes: { growth, atOnce },
  failures,
};
const report = resolve(import.meta.dirname, '../../reports/fuzz.json');
const earlier = existsSync(report) ? (JSON.parse(readFileSync(report, 'utf8')) as unknown[]) : [];
writeFileSync(report, `${JSON.stringify([...earlier, summary], null, 2)}\n`);
console.log(JSON.stringify(summary, null, 2));
if (failures.length > 0) process.exitCode = 1;

// node .ci/run-ts.mjs test/fuzz/fuzz.ts [CASES] [SEED]: throws odd files at the readers.
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { endings, type Format } from '../../src/intake/format.ts';
import { corpusFolder } from '../corpus.ts';
import { corpusSamples, fixtureSamples, oddFile, oddFolder } from './mutations.ts';
import { readingOf } from './oddFileTrouble.ts';

const cases = Number(process.argv[2] ?? 10_000);
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
const mostAtOnce = 2048;

interface Count {
  cases: number;
  /** Files of which something could be judged in spite of all. */
  withPanels: number;
  withFaults: number;
  panels: number;
  slowest: number;
}
const counts: Record<Format, Count> = Object.fromEntries(
  (Object.keys(endings) as Format[]).map((format) => [
    format,
    { cases: 0, withPanels: 0, withFaults: 0, panels: 0, slowest: 0 },
  ]),
) as Record<Format, Count>;
const codes = new Map<string, number>();
const failures: string[] = [];

const corpus = corpusFolder === null ? [] : corpusSamples(corpusFolder);
const samples = [...fixtureSamples(), ...corpus];
let before = 0;
for (let number = 0; number < cases; number++) {
  const { format, name, bytes } = oddFile(samples, seed, number);
  const { intake, milliseconds, trouble } = readingOf(name, bytes);
  const count = counts[format];
  count.cases++;
  count.slowest = Math.max(count.slowest, Math.ceil(milliseconds));
  if (intake) {
    count.panels += intake.panels.length;
    if (intake.panels.length > 0) count.withPanels++;
    if (intake.faults.length > 0) count.withFaults++;
    for (const code of new Set(intake.faults.map((fault) => fault.code)))
      codes.set(code, (codes.get(code) ?? 0) + 1);
  }
  if (trouble !== null) {
    const file = `seed-${seed}-case-${number}${endings[format][0]}`;
    mkdirSync(oddFolder, { recursive: true });
    writeFileSync(join(oddFolder, file), bytes);
    failures.push(`${file}: ${trouble}`);
    console.error(`${file}: ${trouble}`);
  }
  // The first cases warm up what is kept on purpose.
  if (number === Math.min(200, cases - 1)) before = heldMemory();
}

const growth = Math.round(heldMemory() - before);
const atOnce = Math.round(process.resourceUsage().maxRSS / 1024);
if (growth > mostGrowth) failures.push(`memory held grew by ${growth} MB`);
if (atOnce > mostAtOnce) failures.push(`${atOnce} MB in use at once`);

const summary = {
  seed,
  cases,
  samples: { fixtures: samples.length - corpus.length, corpus: corpus.length },
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

// How fast the closest points of a scan are found, and what memory that takes, against three-mesh-bvh in
// the same rounds. `node .ci/run-ts.mjs test/bench/closestPointsBench.ts` prints and writes this part of
// reports/bench.json alone, with `--quick` only prints; `npm run bench` runs it with the others.
import { resolve } from 'node:path';
import { loadavg } from 'node:os';
import { benchMachine, writeBenchReport } from './benchReport.ts';
import { closestPointsBench } from './closestPointsPart.ts';

const quick = process.argv.includes('--quick');
const root = resolve(import.meta.dirname, '../..');
const loadBefore = loadavg()[0];
const part = closestPointsBench(root, quick);
if (!quick)
  writeBenchReport(root, {
    closestPoints: { ...part, date: new Date().toISOString(), machine: benchMachine(loadBefore) },
  });

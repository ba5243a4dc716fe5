// How fast the command and the readers are, each figure as a ratio to something measured in the same
// rounds, so that it holds on a busy machine and on another one.
// `npm run bench` prints the table and writes reports/bench.json; with `-- --quick` it takes fewer
// rounds and smaller files, and only prints.
import { execFileSync } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { availableParallelism, cpus, loadavg, tmpdir, totalmem } from 'node:os';
import { join, resolve } from 'node:path';
import { curvatureFigures } from './curvatureSpeed.ts';
import type { Figure } from './figure.ts';
import { jobFigures } from './jobRate.ts';
import { joinsFigures } from './joinsSpeed.ts';
import { panelRateFigures } from './panelRate.ts';
import { readerFigures } from './readerSpeed.ts';
import { scanJob, type ScanJob } from './scanJob.ts';
import { scanMemory, type ScanMemory } from './scanMemory.ts';
import { scanFigures } from './scanSpeed.ts';
import { startUpFigures } from './startUp.ts';

const quick = process.argv.includes('--quick');
const scale = quick
  ? {
      starts: 5,
      panels: 200,
      folders: 1,
      meeting: 100,
      large: 2e6,
      small: 2e5,
      reads: 3,
      places: 2e5,
      scans: 2e6,
      facets: 1e6,
    }
  : {
      starts: 15,
      panels: 500,
      folders: 2,
      meeting: 1400,
      large: 20e6,
      small: 2e6,
      reads: 7,
      places: 1e6,
      scans: 20e6,
      facets: 10e6,
    };

const root = resolve(import.meta.dirname, '../..');
if (!existsSync(join(root, 'dist/hullsight.cjs')))
  execFileSync(process.execPath, [join(root, '.ci/build.mjs')], { stdio: 'inherit' });

const digits = (value: number): string => value.toPrecision(3);
const rateText = ({ rate }: Figure['ours']): string =>
  rate ? `${Number(digits(rate.perSecond))} ${rate.unit}` : '';

function shown({ name, ratio, times, byRound, aim, ours, base }: Figure): string {
  const sides = [ours, base].map((side) =>
    [side.name, `${side.taken.median.toFixed(1)} ms`, rateText(side)].filter(Boolean).join(' '),
  );
  return [
    name,
    `  ${digits(ratio)} times ${times}${aim ? ` (aim: ${aim})` : ''}; by round ${digits(byRound.least)} to ${digits(byRound.greatest)}, ${byRound.runs} rounds`,
    `  ${sides.join(' | ')}`,
  ].join('\n');
}

const gigabytes = (bytes: number): string => `${(bytes / 1e9).toFixed(2)} GB`;

const loadBefore = loadavg()[0];
const folder = mkdtempSync(join(tmpdir(), 'hullsight-bench-'));
const figures: Figure[] = [];
let memory: ScanMemory | null = null;
let job: ScanJob | null = null;
function keep(more: readonly Figure[]): void {
  figures.push(...more);
  for (const figure of more) console.log(shown(figure));
}
try {
  keep(startUpFigures(root, folder, scale.starts));
  keep(panelRateFigures(root, folder, scale.panels, scale.folders));
  keep(jobFigures(root, folder, scale.meeting, scale.folders));
  keep(await readerFigures(scale.large, scale.small, scale.reads));
  keep(await curvatureFigures(scale.places, scale.reads));
  keep(joinsFigures(scale.reads));
  keep(scanFigures(folder, scale.scans, scale.reads));
  memory = scanMemory(root, folder, scale.facets);
  console.log(
    `${memory.name}\n  ${digits(memory.ratio)} times its size (aim: ${memory.aim}), ${gigabytes(memory.peakBytes)} of ${gigabytes(memory.fileBytes)}, in ${(memory.milliseconds / 1000).toFixed(1)} s`,
  );
  job = scanJob(root, folder, scale.facets);
  console.log(
    `${job.name}\n  ${job.seconds.toFixed(1)} s, again ${job.secondsAgain.toFixed(1)} s (aim: ${job.aim}), ${gigabytes(job.peakBytes)}`,
  );
} finally {
  rmSync(folder, { recursive: true, force: true });
}

const machine = {
  cpu: cpus()[0].model,
  cores: availableParallelism(),
  memoryGB: Number((totalmem() / 2 ** 30).toFixed(1)),
  platform: `${process.platform} ${process.arch}`,
  node: process.versions.node,
  load: { before: loadBefore, after: loadavg()[0] },
};
const rounded = (_: string, value: unknown): unknown =>
  typeof value === 'number' ? Number(value.toPrecision(4)) : value;
if (!quick)
  writeFileSync(
    join(root, 'reports/bench.json'),
    `${JSON.stringify({ date: new Date().toISOString(), machine, figures, memory, scanJob: job }, rounded, 2)}\n`,
  );

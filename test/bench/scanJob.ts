import { spawnSync } from 'node:child_process';
import { mkdirSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { netJson } from '../../fixtures/netJson.ts';
import { largeStl } from './largeStl.ts';

/** A whole audit of a few panels against one very large scan. */
export interface ScanJob {
  readonly name: string;
  readonly seconds: number;
  /** The same again, by what the first run left beside the scan. */
  readonly secondsAgain: number;
  readonly peakBytes: number;
  readonly aim: string;
}

const panels = 6;

/** Prints the most memory that the process had when it ends, as the system tells it (proc(5), VmHWM). */
const peakPrinter =
  "data:text/javascript,import{readFileSync}from'node:fs';process.on('exit',()=>process._rawDebug('peak '+/VmHWM:\\s*(\\d+)/.exec(readFileSync('/proc/self/status','latin1'))[1]))";

/** Six panels of the ring that largeStl writes, each in a file of its own, 0.2 mm off it. */
function writePanels(folder: string): void {
  for (let k = 0; k < panels; k++) {
    const knots = [clampedKnots(5, 6), clampedKnots(5, 3)] as const;
    const net = fittedNet([5, 5], knots, (u, v) => {
      const [turn, lean] = [k + 0.9 * u, 1.8 * v - 0.9];
      const radius = 900 + (200.2 + 4 * Math.sin(9 * turn)) * Math.cos(lean);
      return [radius * Math.cos(turn), radius * Math.sin(turn), 200.2 * Math.sin(lean)];
    });
    const name = `panel-${k + 1}`;
    writeFileSync(join(folder, `${name}.net.json`), netJson([{ name, net }]));
  }
}

/** Audits six panels by every rule against a scan of so many triangles, with two workers. */
export function scanJob(root: string, folder: string, facets: number): ScanJob {
  const job = join(folder, 'scan-job');
  mkdirSync(job);
  const scan = join(job, 'scan.stl');
  const across = Math.round(Math.sqrt(facets / 2.5));
  const triangles = largeStl(scan, Math.round(facets / 2 / across), across);
  writePanels(job);
  const run = (): { readonly seconds: number; readonly peakBytes: number } => {
    const start = performance.now();
    const { status, stderr } = spawnSync(
      process.execPath,
      [
        '--import',
        peakPrinter,
        join(root, 'dist/hullsight.cjs'),
        'audit',
        job,
        '--scan',
        scan,
        '--jobs',
        '2',
        '--format',
        'json',
        '--output',
        join(folder, 'scan-job.json'),
      ],
      { encoding: 'utf8', maxBuffer: 2 ** 28 },
    );
    if (status === null || status > 1) throw new Error(`the audit ended with ${status}: ${stderr}`);
    const peaks = [...stderr.matchAll(/peak (\d+)/g)].map(
      ([, kilobytes]) => 1024 * Number(kilobytes),
    );
    return { seconds: (performance.now() - start) / 1000, peakBytes: Math.max(...peaks) };
  };
  try {
    const [first, again] = [run(), run()];
    return {
      name: `${panels} panels by every rule against a scan of ${triangles} triangles, two workers`,
      seconds: first.seconds,
      secondsAgain: again.seconds,
      peakBytes: Math.max(first.peakBytes, again.peakBytes),
      aim: 'at most 60 s and 4 GiB',
    };
  } finally {
    rmSync(job, { recursive: true, force: true });
  }
}

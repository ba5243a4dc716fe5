import { availableParallelism, totalmem } from 'node:os';
import type { Order } from '../rules/brief.ts';
import type { JudgedFile, ScanBodies } from '../verdict/judgedFile.ts';
import judgedJob from './job.ts';
import type { ListedFile } from './listedFiles.ts';

/** Below this many files a second worker costs more than it saves. */
const fewestForWorkers = 24;

/** Where panels are held against a scan, each file is work enough. */
const fewestWithScan = 2;

/** Workers for a run: what was asked for, else one a core where there is work for them. */
export function jobCount(asked: number | undefined, files: number, hasScan: boolean): number {
  const fewest = hasScan ? fewestWithScan : fewestForWorkers;
  return Math.min(asked ?? (files < fewest ? 1 : availableParallelism()), Math.max(1, files));
}

/** Bytes of memory that one of `jobs` scans read at a time may take: together, half of what there is. */
export const mostBytes = (jobs: number): number =>
  // In a container the limit is its own; 0 says that there is none.
  Math.min(totalmem(), process.constrainedMemory() || Infinity) / 2 / jobs;

/**
 * Judges every file, with `jobs` workers (1: in this thread). `done` hears of each file that is
 * finished. The result is in the order of `files`, whatever the workers' order was.
 */
export async function judgedFiles(
  files: readonly ListedFile[],
  order: Order,
  scans: ScanBodies,
  jobs: number,
  workerPath: string,
  done: () => void,
): Promise<JudgedFile[]> {
  const most = mostBytes(jobs);
  if (jobs === 1) {
    const judged: JudgedFile[] = [];
    for (const file of files) {
      judged.push(judgedJob({ file, order, most, scans }));
      done();
      // Lets the progress line be drawn and an interrupt be heard.
      if (judged.length % 16 === 0) await new Promise(setImmediate);
    }
    return judged;
  }
  const { Piscina } = await import('piscina');
  const pool = new Piscina({ filename: workerPath, minThreads: jobs, maxThreads: jobs });
  try {
    return await Promise.all(
      files.map(async (file) => {
        const result: JudgedFile = await pool.run({ file, order, most, scans });
        done();
        return result;
      }),
    );
  } finally {
    await pool.destroy();
  }
}

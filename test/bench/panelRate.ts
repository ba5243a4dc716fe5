import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { manyPanels } from '../../fixtures/manyPanels.ts';
import type { Verdict } from '../../src/verdict/verdict.ts';
import { runNode } from './command.ts';
import { durations } from './durations.ts';
import { figureOf, type Figure } from './figure.ts';

/** Workers that only reckon, the same sum each: what the machine gives two against one. */
const reckoning = (workers: number): string => `
const { Worker } = require('node:worker_threads');
for (let k = 0; k < ${workers}; k++)
  new Worker('let s = 0; for (let i = 0; i < 6e8; i++) s += i % 7;', { eval: true });`;

/** How many panels of 6x6 points, one a file, the command judges in a second. */
export function panelRateFigures(
  root: string,
  folder: string,
  panels: number,
  rounds: number,
): Figure[] {
  const command = join(root, 'dist/hullsight.cjs');
  const job = join(folder, 'panels');
  mkdirSync(job);
  for (const { name, text } of manyPanels(panels, 1)) writeFileSync(join(job, name), text);
  const audit = (...words: string[]): void => runNode([command, 'audit', job, ...words]);
  const output = join(folder, 'panels.json');
  audit('--output', output);
  const { summary } = JSON.parse(readFileSync(output, 'utf8')) as Verdict;
  if (summary.panels !== panels || summary.faults > 0)
    throw new Error(`${summary.panels} of ${panels} panels were judged`);

  const taken = durations(
    {
      one: { run: () => audit('--format', 'json', '--jobs', '1') },
      two: { run: () => audit('--format', 'json', '--jobs', '2') },
      reckonOne: { run: () => runNode(['-e', reckoning(1)]) },
      reckonTwo: { run: () => runNode(['-e', reckoning(2)]) },
    },
    rounds,
  );
  const amount = { value: panels, unit: 'panels' };
  return [
    figureOf(
      `folder of ${panels} panels: two workers against one`,
      'as fast',
      { name: '--jobs 2', taken: taken.two, amount },
      { name: '--jobs 1', taken: taken.one, amount },
    ),
    figureOf(
      'this machine: two workers that only reckon against one',
      'as fast',
      { name: 'two', taken: taken.reckonTwo, amount: { value: 2, unit: 'sums' } },
      { name: 'one', taken: taken.reckonOne, amount: { value: 1, unit: 'sums' } },
    ),
  ];
}

import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { brickPanels } from '../../fixtures/brickPanels.ts';
import { manyPanels } from '../../fixtures/manyPanels.ts';
import { netJson } from '../../fixtures/netJson.ts';
import { runNode } from './command.ts';
import { durations } from './durations.ts';
import { figureOf, type Figure } from './figure.ts';

/** Panels of a car-size job. */
const carSize = 60;

interface Told {
  readonly summary: { readonly panels: number };
  readonly seams: readonly unknown[];
}

/** Whole jobs by every rule, seams among them, a file a panel: how the time grows with their size. */
export function jobFigures(root: string, folder: string, panels: number, rounds: number): Figure[] {
  const command = join(root, 'dist/hullsight.cjs');
  const written = (name: string, files: Iterable<{ name: string; text: string }>): string => {
    const job = join(folder, name);
    mkdirSync(job);
    for (const file of files) writeFileSync(join(job, file.name), file.text);
    return job;
  };
  const bricks = (count: number): string =>
    written(
      `bricks-${count}`,
      brickPanels(count).map((panel) => ({
        name: `${panel.name}.net.json`,
        text: netJson([panel]),
      })),
    );
  const jobs = {
    car: written('car', manyPanels(carSize, 1)),
    small: bricks(panels / 4),
    large: bricks(panels),
  };
  const output = join(folder, 'job.json');
  const audit = (job: string): void =>
    runNode([command, 'audit', job, '--jobs', '2', '--output', output]);
  const seams = Object.fromEntries(
    Object.entries(jobs).map(([name, job]) => {
      audit(job);
      return [name, (JSON.parse(readFileSync(output, 'utf8')) as Told).seams.length];
    }),
  );
  const taken = durations(
    {
      car: { run: () => audit(jobs.car) },
      small: { run: () => audit(jobs.small) },
      large: { run: () => audit(jobs.large) },
    },
    rounds,
  );
  const small = {
    name: `${panels / 4} panels, ${seams['small']} seams`,
    taken: taken.small,
    amount: { value: panels / 4, unit: 'panels' },
  };
  return [
    figureOf(
      `job of ${panels} panels that meet, two workers: against a quarter of it`,
      'as fast',
      {
        name: `${panels} panels, ${seams['large']} seams`,
        taken: taken.large,
        amount: { value: panels, unit: 'panels' },
      },
      small,
      'at least 0.8: cost near linear; 4000 seams in at most 60 s',
    ),
    figureOf(
      `job of ${carSize} car-size panels, two workers: against ${panels / 4} small ones that meet`,
      'as long',
      { name: `${carSize} panels`, taken: taken.car, amount: { value: carSize, unit: 'panels' } },
      { ...small, amount: { value: panels / 4, unit: 'panels' } },
      'in at most 20 s',
    ),
  ];
}

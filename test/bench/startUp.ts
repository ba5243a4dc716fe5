import { copyFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { netJson } from '../../fixtures/netJson.ts';
import { fittedNet } from '../../fixtures/fittedNet.ts';
import { runNode } from './command.ts';
import { durations, type Task } from './durations.ts';
import { figureOf, type Figure } from './figure.ts';

/** One 4x4 panel without anything to find, so that hardly more than the start is timed. */
function smallNet(): string {
  const knots = Float64Array.of(0, 0, 0, 0, 1, 1, 1, 1);
  const net = fittedNet(
    [3, 3],
    [knots, knots],
    (u, v) => [400 * u, 300 * v, 30 * (u - u * u) + 20 * (v - v * v)],
    9,
  );
  return netJson([{ name: 'lid', net }]);
}

/** How long the command takes for next to no work, against node doing nothing. */
export function startUpFigures(root: string, folder: string, rounds: number): Figure[] {
  const command = join(root, 'dist/hullsight.cjs');
  const [iges, json] = [join(folder, 'front.igs'), join(folder, 'lid.net.json')];
  copyFileSync(join(root, 'fixtures/demo/job/front.igs'), iges);
  writeFileSync(json, smallNet());
  const words = {
    'audit a net JSON of one panel': ['audit', json],
    'audit an IGES file of two panels': ['audit', iges],
    explain: ['explain'],
    'explain point-jut': ['explain', 'point-jut'],
    '--help': ['--help'],
  };
  const nothing = 'node -e 0';
  const tasks: Record<string, Task> = { [nothing]: { run: () => runNode(['-e', '0']) } };
  for (const [name, own] of Object.entries(words))
    tasks[name] = { run: () => runNode([command, ...own]) };
  const taken = durations(tasks, rounds);
  return Object.keys(words).map((name) =>
    figureOf(
      `start-up: ${name}`,
      'as long',
      { name, taken: taken[name] },
      { name: nothing, taken: taken[nothing] },
      'at most 2',
    ),
  );
}

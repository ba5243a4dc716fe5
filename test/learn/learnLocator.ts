// Learns what smooth panels' spectra look like from the project's own recipes: npm run learn:locator
// `-- --without NAME` leaves a recipe out (repeatable), `-- --to FILE` writes elsewhere.
import { join, resolve } from 'node:path';
import { parseArgs } from 'node:util';
import { referenceTables } from '../../fixtures/locator/goldenPanels.ts';
import { look } from './explainedAxes.ts';
import {
  lesson,
  meanLogLikelihood,
  recipeSample,
  type Lesson,
  type RecipeSample,
} from './learnedTables.ts';
import { recipes } from './recipes.ts';
import { storedTables } from './storedTables.ts';
import { writtenJson } from './writtenJson.ts';

export const seed = 7;
export const amount = { shapes: 60, nets: 24, profiles: 60 };

/** Where the rules' data expect the tables. */
const storedFile = join(import.meta.dirname, '../../rules/learned/smooth-spectra.json');

interface Wishes {
  readonly names: readonly string[];
  readonly file: string;
}

/** What the arguments ask for: recipes to learn from, file to write. Throws on unknown names. */
export function wishesFrom(args: readonly string[]): Wishes {
  const { values } = parseArgs({
    args: [...args],
    options: {
      without: { type: 'string', multiple: true, default: [] },
      to: { type: 'string', default: storedFile },
    },
  });
  const known = Object.keys(recipes);
  const unknown = values.without.filter((name) => !known.includes(name));
  if (unknown.length > 0)
    throw new Error(`No recipe ${unknown.join(', ')}; there are ${known.join(', ')}.`);
  return { names: known.filter((name) => !values.without.includes(name)), file: values.to };
}

/** How likely each recipe's nets are: under tables that do not know it, and the reference's. */
function report(samples: readonly RecipeSample[], { heldOut }: Lesson): string {
  const reference = referenceTables();
  const rows = samples.map(({ name, nets }, k) => ({
    name,
    own: heldOut[k].logLikelihood,
    reference: meanLogLikelihood(nets.map((net) => look(net, reference))),
  }));
  const mean = (values: readonly number[]): number =>
    values.reduce((total, value) => total + value, 0) / values.length;
  const all = {
    name: 'mean',
    own: mean(rows.map(({ own }) => own)),
    reference: mean(rows.map(({ reference }) => reference)),
  };
  return [
    `${'held out, nats a coefficient'.padEnd(30)}${'own'.padStart(8)}${'reference'.padStart(11)}`,
    ...[...rows, all].map(
      (row) =>
        `${row.name.padEnd(30)}${row.own.toFixed(3).padStart(8)}${row.reference.toFixed(3).padStart(11)}`,
    ),
  ].join('\n');
}

async function learn(args: readonly string[]): Promise<void> {
  const { names, file } = wishesFrom(args);
  const samples = names.map((name) => recipeSample(name, recipes[name], seed, amount));
  console.log(
    `${names.length} recipes, ${amount.shapes} shapes and ${amount.nets} nets each, seed ${seed}`,
  );
  const learned = lesson(samples, seed, amount);
  const text = await writtenJson(resolve(file), storedTables(learned.tables, seed, names));
  console.log(
    `${learned.tables.inPlane.count} in-plane and ${learned.tables.normal.count} normal profiles, ` +
      `${(text.length / 1000).toFixed(1)} kB`,
  );
  console.log(report(samples, learned));
}

const isStarted = resolve(process.argv[1] ?? '') === join(import.meta.dirname, 'learnLocator.ts');
if (isStarted) await learn(process.argv.slice(2));

// Learns how sure the locator may be: npm run learn:locator runs it after the spectra. Panels of each
// recipe are judged under spectra that were learned without it (three parts of the recipes in turn).
import { join } from 'node:path';
import { amount, seed } from './learnLocator.ts';
import { learnedOdds, leftOutReliability } from './learnedOdds.ts';
import { lesson, recipeSample } from './learnedTables.ts';
import { oddsRecords, type OddsRecord } from './oddsRecords.ts';
import { recipes } from './recipes.ts';
import { writtenJson } from './writtenJson.ts';

const parts = 3;
/** Room between the seeds of two recipes. */
const seedStep = 20_000;
const firstSeed = 900_000;

const names = Object.keys(recipes);
const samples = names.map((name) => recipeSample(name, recipes[name], seed, amount));
const records: OddsRecord[] = [];
let cleanPanels = 0;
for (let part = 0; part < parts; part++) {
  const known = samples.filter((_, k) => k % parts !== part);
  const { tables } = lesson(known, seed, amount);
  names.forEach((name, k) => {
    if (k % parts !== part) return;
    const told = oddsRecords(name, tables, firstSeed + seedStep * k);
    records.push(...told.records);
    cleanPanels += told.evenClean;
    console.log(`${name}: ${told.panels} panels`);
  });
}

const root = join(import.meta.dirname, '../..');
const odds = learnedOdds(records, cleanPanels, firstSeed);
const curve = leftOutReliability(records);
await writtenJson(join(root, 'rules/learned/odds.json'), odds);
await writtenJson(join(root, 'reports/locator-odds.json'), {
  made: 'npm run learn:locator',
  seed: firstSeed,
  cleanPanels,
  records: records.length,
  reliability: curve,
});
console.log(JSON.stringify(odds.alarms));
for (const { from, to, count, said, right } of curve)
  console.log(`${from} to ${to}: said ${said?.toFixed(3)}, right ${right?.toFixed(3)} of ${count}`);

// The locator against its yardsticks on seeded panels of many kinds.
// `npm run bench:locator` writes reports/locator.md, .json and .svg; with `-- --quick` it takes few
// panels and only prints the report.
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { wideFamilies } from '../../fixtures/panelFamilies.ts';
import { corpusFolder } from '../corpus.ts';
import type { Answer } from './locator/answer.ts';
import { cleanTables, lineTables, oneTables, severalTables } from './locator/cells.ts';
import { curvesPicture, mostAlarms, type Curve } from './locator/curvesPicture.ts';
import { alarmsOver, detectionCurve, foundOver, thresholdFor } from './locator/equalAlarms.ts';
import { allowedAlarm, familyContest, leftOut } from './locator/familyContest.ts';
import { ownNamesSetAside } from './locator/ownNames.ts';
import { paces } from './locator/paces.ts';
import {
  hands,
  panelCase,
  type Family,
  type PanelCase,
  type Question,
} from './locator/panelCase.ts';
import { publishedFamilies } from './locator/publishedFamilies.ts';
import { reliability, type Reliability } from '../learn/learnedOdds.ts';
import { yardsticks } from './locator/rankedAnswer.ts';
import { realFindings } from './locator/realFindings.ts';
import { referenceAnswers, referenceNames, whyNoReferences } from './locator/referenceAnswers.ts';
import { reportedAnswer } from './locator/reportedAnswer.ts';
import { reportJson } from './locator/reportJson.ts';
import { reportText, type Report } from './locator/reportText.ts';
import { shownFigures } from './locator/shownFigures.ts';
import { isClean, isClear, isEven, isFair, isOne, sameSpot, type Trial } from './locator/trial.ts';

const quick = process.argv.includes('--quick');
const seed = 20_000_000;
const questions: readonly Question[] = [0, 1, 2, 3, 5, 'line', 'run'];
/** Panels a family and unevenness. */
const panels: Readonly<Record<Question, number>> = quick
  ? { 0: 2, 1: 4, 2: 1, 3: 1, 5: 1, line: 1, run: 1 }
  : { 0: 12, 1: 26, 2: 4, 3: 5, 5: 3, line: 6, run: 4 };
/** Of these, for the slow references: clear ones and others, first come first served. */
const sampled: Readonly<Record<Question, readonly [number, number]>> = quick
  ? { 0: [0, 1], 1: [1, 0], 2: [0, 0], 3: [0, 0], 5: [0, 0], line: [0, 0], run: [0, 0] }
  : { 0: [0, 2], 1: [2, 1], 2: [1, 0], 3: [1, 0], 5: [0, 0], line: [0, 1], run: [0, 0] };
const mostSampledPoints = 100;

const families: readonly Family[] = [...wideFamilies, ...publishedFamilies()];
const ranked = ['A', 'B', 'C'];
const local = [...Object.keys(yardsticks), 'present'];

/** Every case of the run by cell; a seed of its own for each, so that cells do not depend on others. */
const cells: readonly PanelCase[][] = families.flatMap((family, f) =>
  hands.flatMap((hand, h) =>
    questions.map((question, q) =>
      Array.from({ length: panels[question] }, (_, k) =>
        panelCase(family, hand, question, seed + k + 1000 * (q + 10 * (h + 10 * f))),
      ).filter((one) => one !== null),
    ),
  ),
);
const cases = cells.flat();
console.log(`${cases.length} panels of ${families.length} families`);

const isAllClear = (one: PanelCase): boolean =>
  one.slips.length > 0 && one.slips.every(({ clear }) => clear);
const eligible = cells.flatMap((cell) => {
  const small = cell.filter(({ pointCount }) => pointCount <= mostSampledPoints);
  const [clear, other] = cell.length > 0 ? sampled[cell[0].question] : [0, 0];
  return [
    ...small.filter(isAllClear).slice(0, clear),
    ...small.filter((one) => !isAllClear(one)).slice(0, other),
  ];
});
const sample = quick ? eligible.filter((_, k) => k % 8 === 0) : eligible;

const noReferences = whyNoReferences();
if (noReferences !== null) console.log(`E, F and G are left out: ${noReferences}`);
// In a process of its own, beside what follows.
const asked = noReferences === null ? referenceAnswers(sample.map(({ net }) => net)) : null;
// A failure is told when it is waited for.
asked?.catch(() => null);

/** A, B and C name their first point where its strength is over the threshold. */
function withThresholds(trials: readonly Trial[]): Trial[] {
  const clean = trials.filter((t) => isClean(t) && isEven(t) && isFair(t));
  const least = Object.fromEntries(
    ranked.map((method) => [method, thresholdFor(clean, method, allowedAlarm)]),
  );
  const naming = (answer: Answer, threshold: number): Answer => {
    const named = answer.top && answer.top.strength > threshold ? [answer.top] : [];
    return { ...answer, named, graver: named.length > 0 };
  };
  return trials.map(({ at, answers }) => ({
    at,
    answers: {
      ...answers,
      ...Object.fromEntries(
        ranked.map((method) => [method, naming(answers[method], least[method])]),
      ),
    },
  }));
}

const ways = { ...yardsticks, present: reportedAnswer };
const started = performance.now();
const raw: Trial[] = [];
for (const at of cases) {
  const answers = Object.entries(ways).map(([name, way]) => [name, way(at.net)] as const);
  raw.push({ at, answers: Object.fromEntries(answers) });
  if (raw.length % 500 === 0)
    console.log(`${raw.length} done, ${((performance.now() - started) / 1000).toFixed(0)} s`);
}
const trials = withThresholds(raw);
const speeds = paces(quick ? 6 : 30);
const real = realFindings();

const referenced = asked ? await asked : [];
const bySample = new Map(sample.map((one, k) => [one, referenced[k]]));
const sampleTrials: Trial[] = asked
  ? trials
      .filter(({ at }) => bySample.has(at))
      .map(({ at, answers }) => ({ at, answers: { ...answers, ...bySample.get(at) } }))
  : [];
const everyMethod = asked ? [...local, ...referenceNames] : local;

function curves(own: readonly Trial[], methods: readonly string[]): Curve[] {
  const clean = own.filter((t) => isClean(t) && isEven(t) && isFair(t));
  const one = own.filter((t) => isOne(t) && isEven(t) && isClear(t));
  return methods.map((name) => {
    const named = (all: readonly Trial[]): Trial[] =>
      all.map(({ at, answers }) => {
        const [first] = answers[name].named;
        return {
          at,
          answers: { [name]: { ...answers[name], top: first ? { ...first, strength: 1 } : null } },
        };
      });
    return {
      name,
      points: detectionCurve(clean, one, name, mostAlarms),
      own: ranked.includes(name)
        ? null
        : {
            alarm: alarmsOver(named(clean), name, 0).share ?? 0,
            found: foundOver(named(one), name, 0).share ?? 0,
          },
    };
  });
}
const charts = [
  { title: 'All panels', curves: curves(trials, local) },
  ...(asked ? [{ title: 'The sample', curves: curves(sampleTrials, everyMethod) }] : []),
];

const countBy = (own: readonly Trial[]): Record<string, number> =>
  Object.fromEntries(
    questions.map((question) => [
      question === 0
        ? 'clean'
        : question === 'line'
          ? 'a line'
          : question === 'run'
            ? 'a run'
            : `${question} displaced`,
      own.filter(({ at }) => at.question === question).length,
    ]),
  );
const mean = (values: readonly number[]): number =>
  values.reduce((total, value) => total + value, 0) / Math.max(1, values.length);
const sampleMethods = asked ? ['present', 'D', ...referenceNames] : [];

const made = trials.filter(({ at }) => at.kind !== 'published');

const aside = ownNamesSetAside(trials);
const learnedFile = resolve(import.meta.dirname, '../../reports/locator-odds.json');

/** Every site the present method told of a panel, and whether it was so. */
function toldOf({ at, answers }: Trial): { confidence: number; right: boolean }[] {
  return (answers['present'].told ?? []).map(({ site, confidence }) => {
    const spot = site.kind === 'points' ? site.points[0] : site.kind === 'point' ? site : null;
    const index = site.kind === 'row' ? site.row : site.kind === 'column' ? site.column : -1;
    const right = spot
      ? at.slips.some((slip) => sameSpot(slip.spot, spot))
      : 'from' in site
        ? at.run?.along === site.kind && at.run.index === index
        : at.line?.along === site.kind && at.line.index === index;
    return { confidence, right };
  });
}

const report: Report = {
  seed,
  quick,
  counts: countBy(trials),
  clearCounts: countBy(trials.filter(isClear)),
  sampleCounts: countBy(sampleTrials),
  noReferences,
  failed: Object.fromEntries(
    referenceNames.map((name) => [name, referenced.filter((one) => one[name].failed).length]),
  ),
  corpus: corpusFolder !== null,
  measured: shownFigures.map((figure) => ({
    figure,
    all: Object.fromEntries(local.map((method) => [method, figure.measure(trials, method)])),
    setAside: figure.measure(aside, 'present'),
    made: Object.fromEntries(local.map((method) => [method, figure.measure(made, method)])),
    sample: Object.fromEntries(
      sampleMethods.map((method) => [method, figure.measure(sampleTrials, method)]),
    ),
  })),
  contest: familyContest(trials, local),
  sampleContest: asked ? familyContest(sampleTrials, everyMethod) : null,
  leftOut: leftOut(trials, 'present'),
  clean: cleanTables(trials, local),
  one: oneTables(trials, local),
  several: severalTables(trials, local),
  lines: lineTables(trials, local),
  paces: speeds,
  sampleTimes: Object.fromEntries(
    referenceNames.map((name) => [name, mean(referenced.map((one) => one[name].milliseconds))]),
  ),
  real,
  reliability: reliability(made.flatMap(toldOf)),
  learnedReliability: existsSync(learnedFile)
    ? (JSON.parse(readFileSync(learnedFile, 'utf8')) as { reliability: Reliability[] }).reliability
    : null,
};

const text = reportText(report);
if (quick) console.log(text);
else {
  const reports = resolve(import.meta.dirname, '../../reports');
  const sampleTables = asked && {
    clean: cleanTables(sampleTrials, everyMethod),
    one: oneTables(sampleTrials, everyMethod),
    several: severalTables(sampleTrials, everyMethod),
    lines: lineTables(sampleTrials, everyMethod),
  };
  writeFileSync(`${reports}/locator.md`, text);
  writeFileSync(`${reports}/locator.json`, reportJson({ ...report, sampleTables, charts }));
  writeFileSync(`${reports}/locator.svg`, curvesPicture(charts));
}
console.log(`${((performance.now() - started) / 1000).toFixed(0)} s`);

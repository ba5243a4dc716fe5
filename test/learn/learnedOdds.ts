import { Matrix, solve } from 'ml-matrix';
import { atomKinds } from '../../src/measure/locator/faultPriors.ts';
import {
  calibratedOdds,
  correctionTerms,
  oddsScore,
  oddsTerms,
  type OddsWeights,
} from '../../src/measure/locator/odds.ts';
import type { OddsRecord } from './oddsRecords.ts';

/** What is stored of the odds. */
export interface LearnedOdds extends OddsWeights {
  readonly made: string;
  readonly seed: number;
  /** Calibrated ln odds over which so large a share of clean panels has a fault of a kind. */
  readonly alarms: readonly Readonly<Record<'share' | OddsRecord['part'], number>>[];
}

/** Keeps weights finite where every record of a kind is right. */
const ridge = 1e-3;
const steps = 25;
const shares = [0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1];
/** Smaller displacements are nobody's alarm: no class has a lower limit, mm. */
const leastSize = 0.15;
/** Odds written where fewer clean panels than asked have a fault of the kind at all. */
const leastTold = -3;
/** Unevenness up to which a panel counts as clean, mm on 1200 mm. */
const evenHand = 0.05;

const rounded = (value: number): number => Math.round(value * 1e4) / 1e4;

const dotted = (a: readonly number[], b: readonly number[]): number =>
  a.reduce((total, value, k) => total + value * b[k], 0);

/** Logistic regression by Newton's method (iteratively reweighted least squares). */
export function logisticWeights(
  terms: readonly (readonly number[])[],
  right: readonly boolean[],
): number[] {
  const size = terms[0].length;
  let weights: number[] = Array.from({ length: size }, () => 0);
  for (let step = 0; step < steps; step++) {
    const hessian = Matrix.eye(size).mul(ridge);
    const gradient = weights.map((weight) => -ridge * weight);
    terms.forEach((own, k) => {
      const chance = 1 / (1 + Math.exp(-dotted(own, weights)));
      for (let a = 0; a < size; a++) {
        gradient[a] += own[a] * ((right[k] ? 1 : 0) - chance);
        for (let b = 0; b < size; b++)
          hessian.set(a, b, hessian.get(a, b) + own[a] * own[b] * chance * (1 - chance));
      }
    });
    const change = solve(hessian, Matrix.columnVector(gradient)).to1DArray();
    weights = weights.map((weight, a) => weight + change[a]);
  }
  return weights;
}

const weightsOf = (records: readonly OddsRecord[]): number[] =>
  logisticWeights(
    records.map(oddsTerms),
    records.map(({ right }) => right),
  ).map(rounded);

/** The score of each record under weights that do not know its recipe. */
function leftOutScores(records: readonly OddsRecord[]): number[] {
  const byRecipe = new Map(
    [...new Set(records.map(({ recipe }) => recipe))].map((recipe) => [
      recipe,
      weightsOf(records.filter((one) => one.recipe !== recipe)),
    ]),
  );
  return records.map((one) => oddsScore(one, byRecipe.get(one.recipe)!));
}

/** Weights of the terms, and of the correction by what they say of recipes that they do not know. */
function oddsWeights(records: readonly OddsRecord[]): OddsWeights {
  const correction = logisticWeights(
    leftOutScores(records).map(correctionTerms),
    records.map(({ right }) => right),
  ).map(rounded);
  return { weights: weightsOf(records), correction };
}

/** The odds of one kind of fault over which given shares of clean panels have a fault; `panels` of them were looked at. */
function alarmOdds(
  part: OddsRecord['part'],
  records: readonly OddsRecord[],
  weights: OddsWeights,
  panels: number,
): number[] {
  const most = new Map<string, number>();
  for (const one of records) {
    if (one.part !== part || one.question !== 0 || one.hand > evenHand || one.size < leastSize)
      continue;
    const key = `${one.recipe} ${one.panel}`;
    most.set(key, Math.max(most.get(key) ?? -Infinity, calibratedOdds(one, weights)));
  }
  const falling = [...most.values()].sort((a, b) => b - a);
  return shares.map((share) => rounded(falling[Math.ceil(share * panels)] ?? leastTold));
}

/** What records teach. `cleanPanels`: even clean panels that were looked at. */
export function learnedOdds(
  records: readonly OddsRecord[],
  cleanPanels: number,
  seed: number,
): LearnedOdds {
  const weights = oddsWeights(records);
  const [point, drift, line, run] = atomKinds.map((part) =>
    alarmOdds(part, records, weights, cleanPanels),
  );
  return {
    made: 'npm run learn:locator',
    seed,
    ...weights,
    alarms: shares.map((share, k) => ({
      share,
      point: point[k],
      drift: drift[k],
      line: line[k],
      run: run[k],
    })),
  };
}

/** One bin of a reliability curve. */
export interface Reliability {
  readonly from: number;
  readonly to: number;
  readonly count: number;
  /** Mean confidence and share right; null for an empty bin. */
  readonly said: number | null;
  readonly right: number | null;
}

const bins = [0.3, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.98, 1];

/** How often what is said with some confidence is so. */
export function reliability(
  told: readonly { readonly confidence: number; readonly right: boolean }[],
): Reliability[] {
  return bins.slice(1).map((to, k) => {
    const from = bins[k];
    const own = told.filter(({ confidence: c }) => c >= from && (c < to || to === 1));
    const mean = (value: (one: (typeof own)[number]) => number): number | null =>
      own.length === 0 ? null : own.reduce((total, one) => total + value(one), 0) / own.length;
    return {
      from,
      to,
      count: own.length,
      said: mean((one) => one.confidence),
      right: mean((one) => (one.right ? 1 : 0)),
    };
  });
}

/** Reliability on each recipe with weights that do not know it, all recipes together. */
export function leftOutReliability(records: readonly OddsRecord[]): Reliability[] {
  const recipes = [...new Set(records.map(({ recipe }) => recipe))];
  return reliability(
    recipes.flatMap((recipe) => {
      const weights = oddsWeights(records.filter((one) => one.recipe !== recipe));
      return records
        .filter((one) => one.recipe === recipe)
        .map((one) => ({
          confidence: 1 / (1 + Math.exp(-calibratedOdds(one, weights))),
          right: one.right,
        }));
    }),
  );
}

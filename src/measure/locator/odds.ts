import learned from '../../../rules/learned/odds.json' with { type: 'json' };
import { isLinear } from './atoms.ts';
import type { NetFault } from './netFaults.ts';

/** What the odds of a fault are reckoned from. */
export interface Grounds extends Pick<NetFault, 'part' | 'logOdds' | 'setSize'> {
  /** Points of the net. */
  readonly pointCount: number;
}

/** ln odds are weighed differently between these ends, nats; beyond the outer ones all alike. */
const oddsEnds = [-6, 2, 6, 10, 16, 40, 300];
/** And the sum of all weighed terms between these. */
const scoreEnds = [-9, -1, 0, 1, 2, 3, 5];
/** Nets with fewer points: little can be told there, and less is told wrongly. */
const smallNet = 25;
/** Nets with more points count as if they had so many: hardly any larger ones were learned from. */
const largeNet = 100;

/** How far a value reaches into each range between the ends: they add up to the value held to them. */
const rangeTerms = (value: number, ends: readonly number[]): number[] =>
  ends
    .slice(1)
    .map((high, k) => Math.max(ends[k], Math.min(high, value)) - (k === 0 ? 0 : ends[k]));

/**
 * The grounds as numbers that `npm run learn:locator` gives weights to: 1, how far the ln odds reach
 * into each range, and whether it is one of several, a line or run among several, a drift, on a
 * small net, a run, several on a small net; and ln of the number of points.
 */
export function oddsTerms({ part, logOdds, setSize, pointCount }: Grounds): number[] {
  const several = setSize > 1 ? 1 : 0;
  const small = pointCount < smallNet ? 1 : 0;
  return [
    1,
    ...rangeTerms(logOdds, oddsEnds),
    several,
    isLinear(part) ? several : 0,
    part === 'drift' ? 1 : 0,
    small,
    part === 'run' ? 1 : 0,
    several * small,
    Math.log(Math.min(pointCount, largeNet)),
  ];
}

/** Terms of the correction of a weighed sum: 1, and how far it reaches into each range. */
export const correctionTerms = (score: number): number[] => [1, ...rangeTerms(score, scoreEnds)];

/** The weights of the terms, and those of the correction of their sum. */
export interface OddsWeights {
  readonly weights: readonly number[];
  readonly correction: readonly number[];
}

const weighed = (terms: readonly number[], weights: readonly number[]): number =>
  terms.reduce((total, term, k) => total + term * weights[k], 0);

/** The weighed sum of the terms, before it is corrected. */
export const oddsScore = (grounds: Grounds, weights: readonly number[]): number =>
  weighed(oddsTerms(grounds), weights);

/**
 * Calibrated ln odds that a fault is where it is told. Those of the evidence are over-sure on panels
 * unlike the learned ones; the weights are fitted (logistic regression, then a second one on the sum
 * alone) on panels of recipes that the spectra were not learned from.
 */
export const calibratedOdds = (grounds: Grounds, by: OddsWeights = learned): number =>
  weighed(correctionTerms(oddsScore(grounds, by.weights)), by.correction);

/** Probability that a fault is where it is told. */
export const confidence = (grounds: Grounds): number =>
  1 / (1 + Math.exp(-calibratedOdds(grounds)));

/** Below these ln odds, 2 to 1, nothing is named however rare alarms are. */
const leastNamed = Math.log(2);

/**
 * Calibrated ln odds from which a fault is named if at most a given share of clean panels shall have
 * one of its kind named: between the learned ones by the logarithm of the share, held at the ends.
 */
export function leastOdds(part: NetFault['part'], falseAlarms: number): number {
  const alarms = learned.alarms.map((one) => ({ share: one.share, odds: one[part] }));
  return Math.max(leastNamed, between(alarms, falseAlarms));
}

function between(
  alarms: readonly { readonly share: number; readonly odds: number }[],
  falseAlarms: number,
): number {
  const after = alarms.findIndex(({ share }) => share >= falseAlarms);
  if (after === 0) return alarms[0].odds;
  if (after < 0) return alarms[alarms.length - 1].odds;
  const [low, high] = [alarms[after - 1], alarms[after]];
  const part = Math.log(falseAlarms / low.share) / Math.log(high.share / low.share);
  return low.odds + part * (high.odds - low.odds);
}

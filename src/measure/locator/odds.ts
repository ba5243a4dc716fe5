import learned from '../../../rules/learned/odds.json' with { type: 'json' };
import type { NetFault } from './netFaults.ts';

/** What the odds of a fault are reckoned from. */
export interface Grounds extends Pick<NetFault, 'part' | 'logOdds' | 'setSize'> {
  /** Points of the net. */
  readonly pointCount: number;
}

/** ln odds are weighed differently in these ranges, nats; below the first and above the last all alike. */
const ranges = [
  [-6, 4],
  [4, 12],
  [12, 20],
  [20, 40],
] as const;
/** Nets with fewer points: little can be told there, and less is told wrongly. */
const smallNet = 25;

/**
 * The grounds as numbers that `npm run learn:locator` gives weights to: 1, how far the ln odds reach
 * into each range, and whether it is one of several, a line among several, a drift, on a small net.
 */
export function oddsTerms({ part, logOdds, setSize, pointCount }: Grounds): number[] {
  const several = setSize > 1 ? 1 : 0;
  return [
    1,
    ...ranges.map(([low, high]) => Math.max(low, Math.min(high, logOdds)) - Math.max(low, 0)),
    several,
    part === 'line' ? several : 0,
    part === 'drift' ? 1 : 0,
    pointCount < smallNet ? 1 : 0,
  ];
}

/**
 * Calibrated ln odds that a fault is where it is told. Those of the evidence are over-sure on panels
 * unlike the learned ones; the weights are fitted (logistic regression) on panels of recipes that
 * the spectra were not learned from.
 */
export function calibratedOdds(grounds: Grounds): number {
  return oddsTerms(grounds).reduce((total, term, k) => total + term * learned.weights[k], 0);
}

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

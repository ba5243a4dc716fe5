import learned from '../../../rules/learned/odds.json' with { type: 'json' };
import type { NetFault } from './netFaults.ts';

/** What the odds of a fault are reckoned from. */
type Grounds = Pick<NetFault, 'part' | 'logOdds' | 'setGain' | 'setSize'>;

/**
 * Tempered ln odds that a fault is where it is told: raw ones are over-sure on panels unlike the
 * learned ones. Slope and shift are fitted by `npm run calibrate:locator`. A set of several faults
 * must also earn its keep as a whole, so much for each.
 */
export function temperedOdds({ part, logOdds, setGain, setSize }: Grounds): number {
  const { slope, shift } = learned[part];
  const alone = slope * (logOdds - shift);
  if (setSize < 2) return alone;
  const { set } = learned;
  return Math.min(alone, set.slope * (setGain - set.shift - set.each * setSize));
}

/** Probability that a fault is where it is told. */
export const confidence = (grounds: Grounds): number => 1 / (1 + Math.exp(-temperedOdds(grounds)));

/** Largest and smallest share of clean panels that may be asked for. */
export const alarmShares = [
  learned.alarms[0].share,
  learned.alarms[learned.alarms.length - 1].share,
] as const;

/**
 * Tempered ln odds from which a fault is named if at most a given share of clean panels shall have
 * one named: between the learned ones by the logarithm of the share, held at the ends.
 */
export function leastOdds(falseAlarms: number): number {
  const { alarms } = learned;
  const after = alarms.findIndex(({ share }) => share >= falseAlarms);
  if (after === 0) return alarms[0].odds;
  if (after < 0) return alarms[alarms.length - 1].odds;
  const [low, high] = [alarms[after - 1], alarms[after]];
  const part = Math.log(falseAlarms / low.share) / Math.log(high.share / low.share);
  return low.odds + part * (high.odds - low.odds);
}

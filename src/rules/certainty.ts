import type { Displacement, LocatorResult } from '../measure/displacements.ts';
import type { FaultPlace } from '../measure/locator/netFaults.ts';
import { calibratedOdds, confidence, leastOdds } from '../measure/locator/odds.ts';
import { length } from '../geometry/vector.ts';

/** How sure one may be that it is this point or line. */
export interface Certainty {
  /** `uncertain`: probably this one, or one of its ties. */
  readonly level: 'named' | 'uncertain';
  /** Calibrated probability that it is. */
  readonly confidence: number;
  /** Other points that explain the net nearly as well. */
  readonly ties: readonly FaultPlace[];
}

/** From this probability on a displacement is told as probable. */
const leastConfidence = 0.3;
/** A named displacement is at least so many times its deviation, and the unevenness of the net. */
const leastDeviations = 4;
/**
 * How juts and drifts share the alarms that a job allows, and lines and runs theirs: hardly any clean
 * panel has a run told.
 */
const alarmShares = { point: 0.5, drift: 0.5, line: 0.9, run: 0.1 } as const;
/** Points less than this far behind are as likely, nats: 3 to 1. */
const tieOdds = Math.log(3);

/**
 * How sure one may be of a displacement, or null where it is not even probable; whether anybody
 * would see it is not asked here. `falseAlarms` is the share of clean panels that may have one named.
 */
export function certainty(
  one: Displacement,
  { hand }: Extract<LocatorResult, { kind: 'measured' }>,
  pointCount: number,
  falseAlarms: number,
): Certainty | null {
  const grounds = { ...one, pointCount };
  const probability = confidence(grounds);
  if (probability < leastConfidence) return null;
  const ties = one.rivals
    .filter(({ place, behind }) => behind < tieOdds && place.kind === one.place.kind)
    .map(({ place }) => place);
  const size = length(one.displacement);
  const stands = size >= leastDeviations * one.deviation && size >= leastDeviations * hand;
  const named =
    stands &&
    ties.length === 0 &&
    calibratedOdds(grounds) >= leastOdds(one.part, alarmShares[one.part] * falseAlarms);
  return { level: named ? 'named' : 'uncertain', confidence: probability, ties };
}

import { difference, dot, length } from '../../../src/geometry/vector.ts';
import { shareOf, shareWhere, type Share } from './share.ts';
import { sameSpot, type Trial } from './trial.ts';

/** How well a method named the displaced points of some panels. */
export interface PointTally {
  readonly panels: number;
  /** Panels whose likeliest point is a displaced one, named or not. */
  readonly firstRight: Share;
  /** Panels with a name whose first name is right. */
  readonly firstNameRight: Share;
  /** Displaced points that were named: recall. */
  readonly found: Share;
  /** Names that are right: precision. */
  readonly precision: Share;
  /** Panels with a wrong name. */
  readonly wrongPanels: Share;
  /** Of the points found: displacement to the right side; within 20 % of the true one. */
  readonly directionRight: Share;
  readonly within20: Share;
  /** Middle one of the errors of the displacement over its length. */
  readonly medianError: number | null;
}

export function pointTally(trials: readonly Trial[], method: string): PointTally {
  const seen = trials.map(({ at, answers }) => {
    const { top, named } = answers[method];
    const truth = named.map(({ spot }) => at.slips.find((slip) => sameSpot(slip.spot, spot)));
    const hits = named.flatMap(({ displacement }, k) => {
      const slip = truth[k];
      return slip ? [{ displacement, moved: slip.moved }] : [];
    });
    return { at, top, truth, hits };
  });
  const total = (count: (one: (typeof seen)[number]) => number): number =>
    seen.reduce((sum, one) => sum + count(one), 0);
  const hits = seen.flatMap((one) => one.hits);
  const errors = hits
    .map(({ displacement, moved }) => length(difference(displacement, moved)) / length(moved))
    .sort((a, b) => a - b);
  return {
    panels: trials.length,
    firstRight: shareWhere(
      seen,
      ({ at, top }) => top !== null && at.slips.some(({ spot }) => sameSpot(spot, top.spot)),
    ),
    firstNameRight: shareWhere(
      seen.filter(({ truth }) => truth.length > 0),
      ({ truth }) => truth[0] !== undefined,
    ),
    found: shareOf(
      hits.length,
      total(({ at }) => at.slips.length),
    ),
    precision: shareOf(
      hits.length,
      total(({ truth }) => truth.length),
    ),
    wrongPanels: shareWhere(seen, ({ truth }) => truth.includes(undefined)),
    directionRight: shareWhere(hits, ({ displacement, moved }) => dot(displacement, moved) > 0),
    within20: shareWhere(errors, (error) => error <= 0.2),
    medianError: errors.length > 0 ? errors[errors.length >> 1] : null,
  };
}

import { alarmsOver, foundOver, thresholdFor } from './equalAlarms.ts';
import type { Share } from './share.ts';
import { isClean, isClear, isEven, isFair, isOne, type Trial } from './trial.ts';

/** Found by each method in one family, all with thresholds of equal false alarms. */
export interface Bout {
  readonly family: string;
  readonly found: Readonly<Record<string, Share>>;
  /** The best other method, and how many points (0.01) the present one is before it. */
  readonly best: string;
  readonly lead: number | null;
}

export interface Contest {
  /** Alarms each method makes on clean fair panels at its threshold. */
  readonly alarms: Readonly<Record<string, Share>>;
  /** `all` first, then family by family. */
  readonly bouts: readonly Bout[];
}

/** Share of clean fair panels that may alarm where thresholds are set. */
export const allowedAlarm = 0.01;

/**
 * One clear point, unevenness up to 0.05 mm: the share found with every method at the threshold that
 * allows 1 % of alarms on clean fair panels, the present one's uncertain points counted as well.
 */
export function familyContest(trials: readonly Trial[], methods: readonly string[]): Contest {
  const clean = trials.filter((t) => isClean(t) && isEven(t) && isFair(t));
  const one = trials.filter((t) => isOne(t) && isEven(t) && isClear(t));
  const thresholds = Object.fromEntries(
    methods.map((method) => [method, thresholdFor(clean, method, allowedAlarm)]),
  );
  const each = (measure: (method: string) => Share): Record<string, Share> =>
    Object.fromEntries(methods.map((method) => [method, measure(method)]));
  const families = ['all', ...new Set(trials.map(({ at }) => at.family))];
  return {
    alarms: each((method) => alarmsOver(clean, method, thresholds[method])),
    bouts: families.map((family) => {
      const panels = one.filter(({ at }) => family === 'all' || at.family === family);
      const found = each((method) => foundOver(panels, method, thresholds[method]));
      const best = methods
        .filter((method) => method !== 'present')
        .reduce((a, b) => ((found[b].share ?? 0) > (found[a].share ?? 0) ? b : a));
      const [mine, theirs] = [found['present'].share, found[best].share];
      return { family, found, best, lead: mine === null || theirs === null ? null : mine - theirs };
    }),
  };
}

/** A family left out: the threshold that holds 1 % alarms on the others, and what it does here. */
export interface LeftOut {
  readonly family: string;
  readonly alarm: Share;
  readonly found: Share;
  readonly foundElsewhere: Share;
}

export function leftOut(trials: readonly Trial[], method: string): LeftOut[] {
  const clean = trials.filter((t) => isClean(t) && isEven(t));
  const one = trials.filter((t) => isOne(t) && isEven(t) && isClear(t));
  const families = [...new Set(trials.map(({ at }) => at.family))];
  return families.map((family) => {
    const here = ({ at }: Trial): boolean => at.family === family;
    const elsewhere = clean.filter((t) => isFair(t) && !here(t));
    const threshold = thresholdFor(elsewhere, method, allowedAlarm);
    return {
      family,
      alarm: alarmsOver(clean.filter(here), method, threshold),
      found: foundOver(one.filter(here), method, threshold),
      foundElsewhere: foundOver(
        one.filter((t) => !here(t)),
        method,
        threshold,
      ),
    };
  });
}

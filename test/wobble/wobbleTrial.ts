import { seededRandom } from '../../fixtures/seededRandom.ts';
import { scanBody } from '../../src/geometry/scanBody.ts';
import { wobbleCauses, type WobbleCause } from '../../src/measure/wobbleCause.ts';
import { wobbleCase, wobbleKinds, type WobbleFacts } from './wobbleCase.ts';

/** A case, and what was said of it. */
export interface WobbleTrial {
  readonly facts: WobbleFacts;
  readonly found: Omit<WobbleCause, 'picture'>;
  /** Processor time to ask, the scan's tree made before, ms. */
  readonly time: number;
}

/** Case number k of a seed: the kinds in turn. */
export function wobbleTrial(seed: number, k: number, finest: number): WobbleTrial {
  const random = seededRandom(seed + 7919 * k);
  const { facts, net, scan, suspect } = wobbleCase(
    random,
    wobbleKinds[k % wobbleKinds.length],
    finest,
  );
  const body = scanBody(scan);
  const start = process.cpuUsage();
  const [{ picture: _, ...found }] = wobbleCauses({ net, outward: 1, kept: null }, body, [suspect]);
  const { user, system } = process.cpuUsage(start);
  return { facts, found, time: (user + system) / 1000 };
}

/** Whose a wobble of a true share is: null where there is none. */
export const truth = ({ share }: WobbleFacts): 'model' | 'shared' | 'scan' | null => {
  if (share === null) return null;
  if (share < 0.35) return 'model';
  return share > 0.65 ? 'scan' : 'shared';
};

export const isDecided = ({ found }: WobbleTrial): boolean => found.cause !== 'unknown';

export const isWrong = (trial: WobbleTrial): boolean =>
  isDecided(trial) && trial.found.cause !== truth(trial.facts);

/** A wobble that one of both has for its own. */
export const isOwned = ({ facts }: WobbleTrial): boolean =>
  truth(facts) === 'model' || truth(facts) === 'scan';

const clearErrors = 6;

/** Its peak stands so high over the error of the measured gap that nothing but its place may hide it. */
export const isClear = (trial: WobbleTrial): boolean =>
  isOwned(trial) &&
  trial.found.gapError > 0 &&
  trial.facts.peak > clearErrors * trial.found.gapError;

/** What is said most likely, its chance, and whether it is so; null where no chance is told. */
export function forecast({ facts, found }: WobbleTrial): { chance: number; isSo: boolean } | null {
  const so = truth(facts);
  const { chances } = found;
  if (so === null || chances === null) return null;
  const likeliest = (['model', 'shared', 'scan'] as const).reduce((a, b) =>
    chances[b] > chances[a] ? b : a,
  );
  return { chance: chances[likeliest], isSo: likeliest === so };
}

import { seededRandom, type SeededRandom } from '../../fixtures/seededRandom.ts';
import type { LearnedProfiles, SpectrumTables } from '../../src/measure/locator/spectrumTables.ts';
import { look, type Look } from './explainedAxes.ts';
import { legendreSpectrum } from './legendreSpectrum.ts';
import { logProfile } from './logProfile.ts';
import { meanProfiles } from './meanProfiles.ts';
import { netSample, type NetSample } from './netSamples.ts';
import type { Recipe } from './recipes.ts';
import {
  firstTemperaments,
  learnedTemperaments,
  type ExplainedAxis,
  type Temperaments,
} from './temperaments.ts';

/** How much is learned from. */
export interface Amount {
  /** Shapes a recipe whose spectra become profiles. */
  readonly shapes: number;
  /** Nets a recipe that tell how far a panel is from profiles of other recipes. */
  readonly nets: number;
  /** Profiles of each kind of axis. */
  readonly profiles: number;
}

/** What one recipe gives. */
export interface RecipeSample {
  readonly name: string;
  readonly inPlane: readonly Float64Array[];
  readonly normal: readonly Float64Array[];
  readonly nets: readonly NetSample[];
}

/** A stream of its own for each name: leaving one recipe out does not change the others. */
function streamOf(seed: number, name: string): SeededRandom {
  // FNV-1a (Fowler, Noll, Vo; from memory)
  let hash = 0x811c9dc5 ^ seed;
  for (const letter of name) hash = Math.imul(hash ^ (letter.codePointAt(0) ?? 0), 0x01000193);
  return seededRandom(hash);
}

/** Profiles of shapes of a recipe, and nets of others of its shapes. */
export function recipeSample(
  name: string,
  recipe: Recipe,
  seed: number,
  amount: Amount,
): RecipeSample {
  const random = streamOf(seed, name);
  const spectra = Array.from({ length: amount.shapes }, () => legendreSpectrum(recipe(random)));
  return {
    name,
    inPlane: spectra.flatMap(({ axes }) => [logProfile(axes[0]), logProfile(axes[1])]),
    normal: spectra.map(({ axes }) => logProfile(axes[2])),
    nets: Array.from({ length: amount.nets }, () => netSample(recipe(random), random)),
  };
}

function profiles(
  logs: readonly Float64Array[],
  count: number,
  random: SeededRandom,
): LearnedProfiles {
  const { means, shares } = meanProfiles(logs, count, random);
  const logSquares = new Float64Array(means.length * means[0].length);
  means.forEach((mean, k) => logSquares.set(mean, k * mean.length));
  return {
    count: means.length,
    logSquares,
    logWeights: Float64Array.from(shares, (share) => Math.log(share)),
  };
}

type Profiles = Pick<SpectrumTables, 'inPlane' | 'normal'>;

function profilesOf(
  samples: readonly RecipeSample[],
  seed: number,
  { profiles: count }: Amount,
): Profiles {
  const all = (kind: 'inPlane' | 'normal'): LearnedProfiles =>
    profiles(
      samples.flatMap((sample) => sample[kind]),
      count,
      streamOf(seed, kind),
    );
  return { inPlane: all('inPlane'), normal: all('normal') };
}

const tablesOf = (own: Profiles, { shares, weights }: Temperaments): SpectrumTables => ({
  ...own,
  temperaments: Float64Array.from(shares.flatMap((share) => [...share])),
  temperamentWeights: weights,
});

/** How likely the nets of a recipe are under tables that do not know it. */
export interface HeldOut {
  readonly name: string;
  /** Mean of ln p a kept coefficient, up to ln(1 / sqrt(2 pi)), nats. */
  readonly logLikelihood: number;
}

export interface Lesson {
  readonly tables: SpectrumTables;
  readonly heldOut: readonly HeldOut[];
}

/** Mean ln likelihood a coefficient of a recipe's nets, nats. */
export function meanLogLikelihood(looks: readonly Look[]): number {
  const total = looks.reduce((sofar, { logLikelihood }) => sofar + logLikelihood, 0);
  return total / looks.reduce((sofar, { coefficientCount }) => sofar + coefficientCount, 0);
}

/** Times the guesses that explain each net are chosen anew as the temperaments change. */
const choices = 2;
const steps = 60;

/**
 * The tables of smooth spectra. Profiles come from all recipes; temperaments from nets of half of
 * them under profiles of the other half, both ways, so that they know how far a strange panel is
 * from the nearest profile.
 */
export function lesson(samples: readonly RecipeSample[], seed: number, amount: Amount): Lesson {
  const halves = [0, 1].map((half) =>
    profilesOf(
      samples.filter((_, k) => k % 2 !== half),
      seed,
      amount,
    ),
  );
  let temperaments = firstTemperaments;
  const looksNow = (): Look[][] => {
    const tables = halves.map((half) => tablesOf(half, temperaments));
    return samples.map(({ nets }, k) => nets.map((net) => look(net, tables[k % 2])));
  };
  for (let choice = 0; choice < choices; choice++) {
    const axes: ExplainedAxis[] = looksNow().flatMap((looks) => looks.flatMap(({ axes }) => axes));
    temperaments = learnedTemperaments(axes, temperaments, steps);
  }
  return {
    tables: tablesOf(profilesOf(samples, seed, amount), temperaments),
    heldOut: looksNow().map((looks, k) => ({
      name: samples[k].name,
      logLikelihood: meanLogLikelihood(looks),
    })),
  };
}

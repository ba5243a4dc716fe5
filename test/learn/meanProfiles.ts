import type { SeededRandom } from '../../fixtures/seededRandom.ts';
import { profileTerms } from '../../src/measure/locator/spectrumTables.ts';

/** Groups of like profiles. */
export interface MeanProfiles {
  /** Each group's mean, as long as a profile. */
  readonly means: readonly Float64Array[];
  /** Share of the profiles in each group; they sum to 1. */
  readonly shares: readonly number[];
  /** Mean squared distance of a profile from its group's mean, weighed. */
  readonly spread: number;
}

/** Points for grouping: rows of `width` values. */
export interface Cloud {
  readonly count: number;
  readonly width: number;
  readonly values: Float64Array;
}

function squaredDistance(a: Cloud, i: number, b: Float64Array, j: number): number {
  let total = 0;
  const [from, to] = [i * a.width, j * a.width];
  for (let k = 0; k < a.width; k++) total += (a.values[from + k] - b[to + k]) ** 2;
  return total;
}

/** First centres, each likelier the farther it lies from those before (Arthur, Vassilvitskii 2007). */
function firstCentres(cloud: Cloud, groups: number, random: SeededRandom): Float64Array {
  const { count, width, values } = cloud;
  const centres = new Float64Array(groups * width);
  const nearest = new Float64Array(count).fill(Infinity);
  let chosen = random.index(count);
  for (let g = 0; g < groups; g++) {
    centres.set(values.subarray(chosen * width, (chosen + 1) * width), g * width);
    let total = 0;
    for (let i = 0; i < count; i++) {
      nearest[i] = Math.min(nearest[i], squaredDistance(cloud, i, centres, g));
      total += nearest[i];
    }
    let left = random.uniform() * total;
    chosen = nearest.findIndex((distance) => (left -= distance) < 0);
    if (chosen < 0) chosen = count - 1;
  }
  return centres;
}

/** Which group each row of a cloud belongs to, and the mean squared distance from its centre. */
export interface Grouping {
  readonly groups: Int32Array;
  readonly spread: number;
}

/** k-means (S. Lloyd, 1957), the same for the same cloud and random numbers. */
export function grouping(cloud: Cloud, count: number, random: SeededRandom): Grouping {
  const { width, values } = cloud;
  const centres = firstCentres(cloud, count, random);
  const groups = new Int32Array(cloud.count).fill(-1);
  let spread = Infinity;
  for (let round = 0; round < 60; round++) {
    let changes = 0;
    spread = 0;
    for (let i = 0; i < cloud.count; i++) {
      let [best, least] = [0, Infinity];
      for (let g = 0; g < count; g++) {
        const distance = squaredDistance(cloud, i, centres, g);
        if (distance < least) [best, least] = [g, distance];
      }
      if (groups[i] !== best) changes += 1;
      groups[i] = best;
      spread += least / cloud.count;
    }
    if (changes === 0) break;
    const members = new Float64Array(count);
    const sums = new Float64Array(count * width);
    groups.forEach((g, i) => {
      members[g] += 1;
      for (let k = 0; k < width; k++) sums[g * width + k] += values[i * width + k];
    });
    // a group without members keeps its centre
    for (let g = 0; g < count; g++)
      if (members[g] > 0)
        for (let k = 0; k < width; k++) centres[g * width + k] = sums[g * width + k] / members[g];
  }
  return { groups, spread };
}

/**
 * How much a difference at degrees c and d counts: least squares of nets of 4 to 12 points a side
 * hang on degrees up to about 10.
 */
const weightOf = (c: number, d: number): number =>
  c < 2 && d < 2 ? 0 : 1 / (1 + Math.exp((c + d - 9) / 1.5)) / (1 + 0.15 * (c + d));

/** Square that unevenness of a few thousandths per mille adds: differences below are not seen. */
const unseenSquare = 1e-5;

/** The log profiles as rows of what is compared. */
function cloudOf(profiles: readonly Float64Array[]): Cloud {
  const termsV = profileTerms[1];
  const counted = Array.from(profiles[0], (_, at) => ({
    at,
    weight: weightOf(Math.floor(at / termsV), at % termsV),
  })).filter(({ weight }) => weight > 0.005);
  const width = counted.length;
  const values = new Float64Array(profiles.length * width);
  profiles.forEach((profile, i) =>
    counted.forEach(({ at, weight }, k) => {
      values[i * width + k] = Math.sqrt(weight) * Math.log(Math.exp(profile[at]) + unseenSquare);
    }),
  );
  return { count: profiles.length, width, values };
}

const starts = 4;

/** The profiles gathered into groups, each group's mean its profile; the best of a few starts. */
export function meanProfiles(
  profiles: readonly Float64Array[],
  count: number,
  random: SeededRandom,
): MeanProfiles {
  const cloud = cloudOf(profiles);
  const tries = Array.from({ length: starts }, () => grouping(cloud, count, random));
  const best = tries.reduce((least, own) => (own.spread < least.spread ? own : least));
  const members = Array.from({ length: count }, (_, g) =>
    profiles.filter((__, i) => best.groups[i] === g),
  ).filter((own) => own.length > 0);
  return {
    means: members.map((own) =>
      Float64Array.from(
        profiles[0],
        (_, at) => own.reduce((total, profile) => total + profile[at], 0) / own.length,
      ),
    ),
    shares: members.map((own) => own.length / profiles.length),
    spread: best.spread,
  };
}

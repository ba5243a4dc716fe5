import type { SectionComb } from './sectionCombs.ts';
import type { SweepUnevenness } from './sweepUnevenness.ts';
import { squareColumns } from './templateFit.ts';
import type { WobbleSuspect } from './wobbleSuspect.ts';

/** A bump of a Gaussian's curvature along a section. */
interface CurvatureBump {
  /** Station of its top. */
  readonly station: number;
  /** Full wavelength, mm. */
  readonly length: number;
  /** Its curvature at the top, 1/mm, times the square of how like the section's is to it. */
  readonly score: number;
}

const deviationsPerWave = 4.5;
/** A window reaches so many wavelengths to each side, or to the section's ends. */
const windowReach = 0.8;
/** Of the window at least this share must be on the section. */
const leastInside = 0.7;
/** The sweep's own curvature in a window. */
const sweepDegree = 3;
const lengthsTried = 14;
/** The shortest wavelength in gaps between stations, the longest as a share of the section. */
const shortestGaps = 8;
const longestShare = 0.7;
const fewestStations = 8;

/** How a bump at one station, of one wavelength, fits the curvature around it; null where it has no room. */
function curvatureBump(
  { s, curvature }: Pick<SectionComb, 's' | 'curvature'>,
  station: number,
  length: number,
): CurvatureBump | null {
  const half = windowReach * length;
  const inside: number[] = [];
  for (let k = 0; k < s.length; k++) if (Math.abs(s[k] - s[station]) < half) inside.push(k);
  const [first, last] = [inside[0], inside[inside.length - 1]];
  if (inside.length < fewestStations || s[last] - s[first] < leastInside * 2 * half) return null;
  const way = Float64Array.from(inside, (k) => (s[k] - s[station]) / half);
  // each station stands for the way to its neighbours
  const weights = Float64Array.from(inside, (k, at) => {
    const gap = (s[Math.min(k + 1, s.length - 1)] - s[Math.max(k - 1, 0)]) / 2;
    return gap * Math.sqrt(1 - way[at] * way[at]);
  });
  const powers = Array.from({ length: sweepDegree + 1 }, (_, p) => way.map((t) => t ** p));
  const bump = way.map((t) => {
    const z = (t * half * deviationsPerWave) / length;
    return (1 - z * z) * Math.exp(-0.5 * z * z);
  });
  const columns = squareColumns([...powers, bump], weights);
  if (columns.length < powers.length + 1) return null;
  const values = Float64Array.from(inside, (k) => curvature[k]);
  const dotted = (a: Float64Array, b: Float64Array): number =>
    a.reduce((total, value, k) => total + weights[k] * value * b[k], 0);
  const shares = columns.map((column) => dotted(column, values));
  const sweep = shares.slice(0, -1).reduce((total, share) => total + share * share, 0);
  const rest = Math.max(0, dotted(values, values) - sweep);
  const own = shares[shares.length - 1];
  if (!(rest > 0)) return null;
  const size = Math.abs(own / dotted(columns[columns.length - 1], bump));
  return { station, length, score: size * ((own * own) / rest) ** 2 };
}

/**
 * The wobble behind a section's departure from an even sweep. Neither the departure's place nor its stretch
 * is the wobble's: where the curvature turns back lies on the bump's flank, and the stretch may run to the
 * section's end. So the bump whose curvature is large and most like the section's is sought about the
 * departure. What it is like across the section is not known: as along it. Null where the section is
 * too short to show one.
 */
export function suspectOfSection(
  comb: Pick<SectionComb, 's' | 'curvature' | 'points' | 'tangents' | 'parameters'>,
  departure: Pick<SweepUnevenness, 'from' | 'to' | 'at'>,
): WobbleSuspect | null {
  const { s } = comb;
  const whole = s[s.length - 1] - s[0];
  const shortest = (shortestGaps * whole) / (s.length - 1);
  const longest = longestShare * whole;
  if (!(shortest < longest)) return null;
  let best: CurvatureBump | null = null;
  for (let k = 0; k < lengthsTried; k++) {
    const length = shortest * (longest / shortest) ** (k / (lengthsTried - 1));
    for (let station = 0; station < s.length; station++) {
      // its middle or one of its flanks is where the section departs
      if (s[station] < s[departure.from] - length / 2 || s[station] > s[departure.to] + length / 2)
        continue;
      if (Math.abs(s[station] - s[departure.at]) > length / 2) continue;
      const own = curvatureBump(comb, station, length);
      if (own && (best === null || own.score > best.score)) best = own;
    }
  }
  if (best === null) return null;
  const [u, v] = comb.parameters[best.station];
  return {
    position: comb.points[best.station],
    at: [u, v],
    along: comb.tangents[best.station],
    lengths: [best.length, best.length],
  };
}

import { spotOnLine, type Spot } from '../geometry/controlNet.ts';
import type { Sight } from './sights.ts';

/** A leg compared with what is usual in its direction. */
export interface RelativeLeg {
  readonly along: 'row' | 'column';
  /** Where the leg starts. */
  readonly spot: Spot;
  /** Leg over the median leg of its direction, each divided by its Greville gap; no unit. */
  readonly share: number;
  /** Length, mm. */
  readonly length: number;
}

const length = ({ legs }: Sight): number => legs.reduce((total, leg) => total + leg, 0);

function median(values: readonly number[]): number {
  const sorted = values.toSorted((a, b) => a - b);
  const middle = sorted.length >> 1;
  return sorted.length % 2 ? sorted[middle] : (sorted[middle - 1] + sorted[middle]) / 2;
}

/** A line shorter than this share of the longest in its direction is a collapsed edge. */
const collapsedShare = 1e-3;

/**
 * Every leg against the median of its direction. A collapsed edge has a measure of its own
 * (edgeLengths), and is left out here.
 */
export function relativeLegs(sights: readonly Sight[]): RelativeLeg[] {
  return (['row', 'column'] as const).flatMap((along) => {
    const own = sights.filter((s) => s.along === along);
    const longest = Math.max(...own.map(length));
    const lines = own.filter((s) => length(s) > collapsedShare * longest);
    const rate = (sight: Sight, k: number): number =>
      sight.legs[k] / (sight.abscissae[k + 1] - sight.abscissae[k]);
    const usual = median(lines.flatMap((s) => s.legs.map((_, k) => rate(s, k))));
    if (!(usual > 0) || !Number.isFinite(usual)) return [];
    return lines.flatMap((sight) =>
      sight.legs.map((leg, k) => ({
        along,
        spot: spotOnLine(sight, k),
        share: rate(sight, k) / usual,
        length: leg,
      })),
    );
  });
}

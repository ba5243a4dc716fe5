import { scaled, sum, type Vector } from '../geometry/vector.ts';
import type { SeamStation } from './seamStations.ts';

/** A measure of a station, of either sign; null where there is none. */
type Measure = (station: SeamStation) => number | null;

/** What is told of one measure along a seam. */
export interface SeamMeasure {
  /** The station where its amount is largest, and the value there with its sign; null: none has one. */
  readonly peak: { readonly station: SeamStation; readonly value: number } | null;
  /** Mean of its amount over the length where it is measured; null: nowhere. */
  readonly mean: number | null;
}

/** What is told of a seam. */
export interface SeamProfile {
  /** Of the whole stretch, mm along side a. */
  readonly length: number;
  /** mm of it where a panel has no sound normal at one end of an interval or both. */
  readonly blind: number;
  /** mm. */
  readonly gap: SeamMeasure;
  /** Radians; see Crossing, as for the next two. */
  readonly angle: SeamMeasure;
  readonly mismatch: SeamMeasure;
  /** 1/mm. */
  readonly flow: SeamMeasure;
}

/** Measures of a station. */
export const seamMeasures = {
  gap: ({ gap }: SeamStation): number => gap,
  angle: ({ crossing }: SeamStation): number | null => crossing && crossing.angle,
  mismatch: ({ crossing }: SeamStation): number | null => crossing && crossing.mismatch,
  flow: ({ crossing }: SeamStation): number | null => crossing && crossing.flow,
} satisfies Record<string, Measure>;

/** Two stations that follow each other, at some distance, with a measure at both. */
interface Step {
  readonly from: SeamStation;
  readonly to: SeamStation;
  readonly length: number;
  readonly values: readonly [number, number] | null;
}

const stepsOf = (stations: readonly SeamStation[], of: Measure): Step[] =>
  stations.slice(1).flatMap((to, k): Step[] => {
    const from = stations[k];
    const length = to.run - from.run;
    const [start, end] = [of(from), of(to)];
    const values = start === null || end === null ? null : ([start, end] as const);
    return length > 0 ? [{ from, to, length, values }] : [];
  });

/** Mean of the amount of a straight line between two values. */
const meanAmount = (p: number, q: number): number =>
  p < 0 === q < 0 ? Math.abs(p + q) / 2 : (p * p + q * q) / (2 * (Math.abs(p) + Math.abs(q)));

function seamMeasure(stations: readonly SeamStation[], of: Measure): SeamMeasure {
  let peak: SeamMeasure['peak'] = null;
  for (const station of stations) {
    const value = of(station);
    if (value !== null && (peak === null || Math.abs(value) > Math.abs(peak.value)))
      peak = { station, value };
  }
  let [total, length] = [0, 0];
  for (const step of stepsOf(stations, of)) {
    if (!step.values) continue;
    total += step.length * meanAmount(...step.values);
    length += step.length;
  }
  return { peak, mean: length > 0 ? total / length : peak && Math.abs(peak.value) };
}

/** Maxima with their places, and means, of what is measured along a seam. */
export function seamProfile(stations: readonly SeamStation[]): SeamProfile {
  const last = stations[stations.length - 1];
  const blind = stepsOf(stations, seamMeasures.angle)
    .filter(({ values }) => values === null)
    .reduce((total, step) => total + step.length, 0);
  return {
    length: last ? last.run : 0,
    blind,
    gap: seamMeasure(stations, seamMeasures.gap),
    angle: seamMeasure(stations, seamMeasures.angle),
    mismatch: seamMeasure(stations, seamMeasures.mismatch),
    flow: seamMeasure(stations, seamMeasures.flow),
  };
}

/** A place between two stations. */
export interface SeamSpot {
  /** Parameters of both sides' edges. */
  readonly at: readonly [number, number];
  /** On side a. */
  readonly point: Vector;
  /** mm along side a from the start. */
  readonly run: number;
}

/** A stretch of a seam from spot to spot. */
export interface SeamStretch {
  readonly from: SeamSpot;
  readonly to: SeamSpot;
  /** mm along side a. */
  readonly length: number;
}

/** The place at a share of the way between two stations. */
function spotBetween(from: SeamStation, to: SeamStation, share: number): SeamSpot {
  const at = (side: 0 | 1): number => from.at[side] + share * (to.at[side] - from.at[side]);
  return {
    at: [at(0), at(1)],
    point: sum(scaled(from.points[0], 1 - share), scaled(to.points[0], share)),
    run: from.run + share * (to.run - from.run),
  };
}

/**
 * The stretches along which the amount of a measure is over a limit, in order; the measure runs straight
 * between stations.
 */
export function stretchesOver(
  stations: readonly SeamStation[],
  of: Measure,
  limit: number,
): SeamStretch[] {
  const found: { from: SeamSpot; to: SeamSpot }[] = [];
  const add = (from: SeamSpot, to: SeamSpot): void => {
    const last = found[found.length - 1];
    if (last && last.to.run === from.run) last.to = to;
    else if (to.run > from.run) found.push({ from, to });
  };
  for (const { from, to, values } of stepsOf(stations, of)) {
    if (!values) continue;
    const [p, q] = values;
    // where the line passes the limit on either side of 0
    const shares = [limit, -limit]
      .map((value) => (value - p) / (q - p))
      .filter((share) => share > 0 && share < 1);
    const ends = [0, ...shares.sort((s, t) => s - t), 1];
    for (let k = 1; k < ends.length; k++) {
      const middle = (ends[k - 1] + ends[k]) / 2;
      if (Math.abs(p + middle * (q - p)) > limit)
        add(spotBetween(from, to, ends[k - 1]), spotBetween(from, to, ends[k]));
    }
  }
  return found.map(({ from, to }) => ({ from, to, length: to.run - from.run }));
}

import { shareWhere, type Share } from './share.ts';
import { sameSpot, type Trial } from './trial.ts';

/**
 * The strength above which a method alarms on at most `alarm` of the clean panels: one more would be
 * too many.
 */
export function thresholdFor(clean: readonly Trial[], method: string, alarm: number): number {
  const strengths = clean
    .map(({ answers }) => answers[method].top?.strength ?? -Infinity)
    .sort((a, b) => b - a);
  return strengths[Math.floor(alarm * clean.length + 1e-9)] ?? -Infinity;
}

/** Clean panels on which the likeliest point is over the threshold. */
export const alarmsOver = (clean: readonly Trial[], method: string, threshold: number): Share =>
  shareWhere(clean, ({ answers }) => (answers[method].top?.strength ?? -Infinity) > threshold);

/** Panels with one displaced point whose likeliest point is that one, over the threshold. */
export const foundOver = (one: readonly Trial[], method: string, threshold: number): Share =>
  shareWhere(one, ({ at, answers }) => {
    const { top } = answers[method];
    return top !== null && top.strength > threshold && sameSpot(top.spot, at.slips[0].spot);
  });

export interface CurvePoint {
  readonly alarm: number;
  readonly found: number;
}

/** Found against false alarms as the threshold falls, up to `most` alarms. */
export function detectionCurve(
  clean: readonly Trial[],
  one: readonly Trial[],
  method: string,
  most: number,
): CurvePoint[] {
  const strengths = new Set(
    [...clean, ...one].flatMap(({ answers }) => answers[method].top?.strength ?? []),
  );
  const points = [...strengths]
    .sort((a, b) => b - a)
    .map((threshold) => ({
      alarm: alarmsOver(clean, method, threshold).share ?? 0,
      found: foundOver(one, method, threshold).share ?? 0,
    }));
  // One point an alarm rate: the last, which has found the most.
  return points.filter(
    ({ alarm }, k) => alarm <= most && (k === points.length - 1 || points[k + 1].alarm > alarm),
  );
}

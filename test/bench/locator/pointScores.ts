import type { ControlNet, Spot } from '../../../src/geometry/controlNet.ts';
import type { Vector } from '../../../src/geometry/vector.ts';

/** What a yardstick says of one control point. */
export interface PointScore {
  readonly spot: Spot;
  /** The larger, the more likely it is this point; comparable within a net, roughly between nets. */
  readonly score: number;
  /** Where it is minus where it is expected, mm in the axes of the model. */
  readonly displacement: Vector;
}

/** A rough size of one point's unevenness that is not nothing on an exact net, mm. */
const leastScale = 0.01;

/**
 * Raw residuals in mm as scores: over the middle one of the net, so that they mean about the same
 * from net to net. By falling score; equal ones in the order of the points.
 */
export function pointScores(
  net: ControlNet,
  raw: (point: number) => { readonly size: number; readonly displacement: Vector },
): PointScore[] {
  const all = Array.from({ length: net.rows * net.columns }, (_, k) => ({
    spot: { row: Math.floor(k / net.columns), column: k % net.columns },
    ...raw(k),
  }));
  const sizes = all.map(({ size }) => size).sort((a, b) => a - b);
  const scale = Math.hypot(sizes[sizes.length >> 1], leastScale);
  return all
    .map(({ spot, size, displacement }) => ({ spot, score: size / scale, displacement }))
    .sort((a, b) => b.score - a.score);
}

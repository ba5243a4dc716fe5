import type { ControlNet } from '../geometry/controlNet.ts';
import type { SplineCurve } from '../geometry/splineCurve.ts';
import { lightening, pricesOf, type BuildPrice, type NetBuild } from './lighterBuilds.ts';

/** What lighter builds of one curve in space there are: as for a surface, in one direction. */
export interface CurveLightening {
  readonly prices: readonly BuildPrice[];
  readonly curve: SplineCurve;
  readonly build: BuildPrice;
}

/** A curve in space as a net of one row, which is constant along its columns. */
const rowNet = ({ degree, knots, points, weights }: SplineCurve): ControlNet => ({
  degree: [degree, 0],
  knots: [knots, Float64Array.of(0, 1)],
  columns: points.length / 3,
  rows: 1,
  points,
  weights,
});

const rowCurve = ({ degree, knots, points, weights }: ControlNet): SplineCurve => ({
  dimension: 3,
  degree: degree[0],
  knots: knots[0],
  points,
  weights,
});

/**
 * The lighter builds of a curve in space within a limit in mm, down to a cubic of one span; `choose` says
 * which of them. The curve as it is, by identity, where none is lighter.
 */
export function curveLightening(
  curve: SplineCurve,
  limit: number,
  choose: 'fewer' | 'lightest',
): CurveLightening {
  const net = rowNet(curve);
  const found = lightening(net, limit);
  const chosen: NetBuild = found[choose];
  return {
    prices: pricesOf(found.prices),
    curve: chosen.net === net ? curve : rowCurve(chosen.net),
    build: pricesOf([chosen])[0],
  };
}

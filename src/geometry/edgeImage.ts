import type { ControlNet } from './controlNet.ts';
import { curveJets } from './curveJets.ts';
import { domain, interiorBreakpoints } from './knots.ts';
import { linearRoots } from './linearRoots.ts';
import { parameterLine } from './parameterLine.ts';
import type { SplineCurve } from './splineCurve.ts';
import { tangentPlanes } from './tangentPlanes.ts';
import { scaled, sum, type Vector } from './vector.ts';

/** A point of a curve in space, mm, and its derivative by the parameter. */
export interface EdgeJet {
  readonly point: Vector;
  readonly slope: Vector;
}

/** A curve of the parameter plane as it stands in space, over the same parameter. */
export interface EdgeImage {
  /** Ends of the pieces between which it need not be smooth, rising: those of its domain first and last. */
  readonly breaks: readonly number[];
  readonly at: (t: number) => EdgeJet;
}

const vectorOf = ([x, y, z]: readonly number[]): Vector => [x, y, z];

/** A straight leg along which one parameter stays: the other one as a + b t; null for any other curve. */
function parameterLeg({ degree, points, knots, weights }: SplineCurve) {
  if (degree !== 1 || points.length !== 4 || weights) return null;
  const side = points[0] === points[2] ? 0 : points[1] === points[3] ? 1 : null;
  if (side === null) return null;
  const [start, end] = side === 0 ? [points[1], points[3]] : [points[0], points[2]];
  const b = (end - start) / (knots[2] - knots[1]);
  return b === 0 ? null : { side, value: points[side], start, from: knots[1], to: knots[2], b };
}

/**
 * A plane curve in space, evaluated exactly: along a parameter line as the curve that it is there,
 * else through the surface. Parameters beyond the domain count as those at its edge.
 */
export function edgeImage(net: ControlNet, plane: SplineCurve): EdgeImage {
  const ends = ([0, 1] as const).map((side) => domain(net.knots[side], net.degree[side]));
  const held = (side: number, value: number): number =>
    Math.min(Math.max(value, ends[side][0]), ends[side][1]);
  const leg = parameterLeg(plane);
  if (leg) {
    const { side, value, start, from, to, b } = leg;
    const line = curveJets(parameterLine(net, side as 0 | 1, held(side, value)));
    const inner = line.breaks
      .map((along) => from + (along - start) / b)
      .filter((t) => t > from && t < to)
      .sort((one, other) => one - other);
    return {
      breaks: [from, ...inner, to],
      at: (t) => {
        const jet = line.at(held(1 - side, start + b * (t - from)));
        return { point: vectorOf(jet.point), slope: scaled(vectorOf(jet.slope), b) };
      },
    };
  }
  const jets = curveJets(plane);
  const planes = tangentPlanes(net);
  const crossings = ([0, 1] as const).flatMap((side) =>
    interiorBreakpoints(net.knots[side], net.degree[side]).flatMap(({ value }) =>
      linearRoots(plane, side === 0 ? [1, 0] : [0, 1], value),
    ),
  );
  return {
    breaks: [...new Set([...jets.breaks, ...crossings])].sort((a, b) => a - b),
    at: (t) => {
      const { point, slope } = jets.at(t);
      const tangents = planes(held(0, point[0]), held(1, point[1]));
      return {
        point: tangents.point,
        slope: sum(scaled(tangents.u, slope[0]), scaled(tangents.v, slope[1])),
      };
    },
  };
}

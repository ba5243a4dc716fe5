import { reversed, transposed, type ControlNet } from '../../src/geometry/controlNet.ts';
import { domain } from '../../src/geometry/knots.ts';
import type { OutlineEdge } from '../../src/geometry/outlineEdge.ts';
import { placedNet, type Placement } from '../../src/geometry/placement.ts';
import {
  curvePart,
  polyline,
  reversedCurve,
  type SplineCurve,
} from '../../src/geometry/splineCurve.ts';
import type { SeamSide } from '../../src/measure/seamCrossings.ts';

/** Two panels that meet. */
export interface SeamPair {
  readonly a: SeamSide;
  readonly b: SeamSide;
}

/** A border of the domain, towards the higher parameter. */
export function rimSide(net: ControlNet, side: 0 | 1, end: 0 | 1): SeamSide {
  const ranges = [0, 1].map((k) => domain(net.knots[k], net.degree[k]));
  const fixed = ranges[side][end];
  const [low, high] = ranges[1 - side];
  const at = (along: number): readonly number[] => (side === 0 ? [fixed, along] : [along, fixed]);
  return {
    net,
    edge: {
      curve: polyline([at(low), at(high)]),
      keptOnLeft: (side === 0) === (end === 1),
      rim: { side, end },
    },
    from: 0,
    to: 1,
  };
}

/** The net's part over [from, to] of u, exactly the same surface. */
function partInU(net: ControlNet, from: number, to: number): ControlNet {
  const row = (k: number): SplineCurve =>
    curvePart(
      {
        dimension: 3,
        degree: net.degree[0],
        knots: net.knots[0],
        points: net.points.slice(3 * k * net.columns, 3 * (k + 1) * net.columns),
        weights: net.weights && net.weights.slice(k * net.columns, (k + 1) * net.columns),
      },
      from,
      to,
    );
  const rows = Array.from({ length: net.rows }, (_, k) => row(k));
  return {
    ...net,
    knots: [rows[0].knots, net.knots[1]],
    columns: rows[0].points.length / 3,
    points: Float64Array.from(rows.flatMap(({ points }) => [...points])),
    weights: net.weights && Float64Array.from(rows.flatMap(({ weights }) => [...weights!])),
  };
}

/** The net's part over [from, to] of one parameter. */
export const partOf = (net: ControlNet, side: 0 | 1, from: number, to: number): ControlNet =>
  side === 0 ? partInU(net, from, to) : transposed(partInU(transposed(net), from, to));

/** A panel split along a line of one parameter: its lower and its upper part. */
export function splitPair(net: ControlNet, side: 0 | 1, at: number): SeamPair {
  const [low, high] = domain(net.knots[side], net.degree[side]);
  return {
    a: rimSide(partOf(net, side, low, at), side, 1),
    b: rimSide(partOf(net, side, at, high), side, 0),
  };
}

/** A plane curve with each point changed. */
function mapped(curve: SplineCurve, of: (u: number, v: number) => readonly number[]): SplineCurve {
  const points = curve.points.slice();
  for (let at = 0; at < points.length; at += 2) points.set(of(points[at], points[at + 1]), at);
  return { ...curve, points };
}

const withEdge = (side: SeamSide, net: ControlNet, edge: Partial<OutlineEdge>): SeamSide => ({
  ...side,
  net,
  edge: { ...side.edge, ...edge },
});

/** The same panel with u and v changed over. */
export const transposedSide = (side: SeamSide): SeamSide =>
  withEdge(side, transposed(side.net), {
    curve: mapped(side.edge.curve, (u, v) => [v, u]),
    keptOnLeft: !side.edge.keptOnLeft,
    rim: side.edge.rim && { ...side.edge.rim, side: side.edge.rim.side === 0 ? 1 : 0 },
  });

/** The same panel run backwards in u. */
export function reversedSide(side: SeamSide): SeamSide {
  const { net, edge } = side;
  const { rim } = edge;
  const ends = net.knots[0][0] + net.knots[0][net.knots[0].length - 1];
  return withEdge(side, reversed(net), {
    curve: mapped(edge.curve, (u, v) => [ends - u, v]),
    keptOnLeft: !edge.keptOnLeft,
    rim: rim && (rim.side === 0 ? { side: 0, end: rim.end === 0 ? 1 : 0 } : rim),
  });
}

/** The same panel with its edge's curve run backwards. */
export function turnedSide(side: SeamSide): SeamSide {
  const { edge, from, to } = side;
  const { knots } = edge.curve;
  const ends = knots[0] + knots[knots.length - 1];
  return {
    ...withEdge(side, side.net, {
      curve: reversedCurve(edge.curve),
      keptOnLeft: !edge.keptOnLeft,
    }),
    from: ends - from,
    to: ends - to,
  };
}

/** Bezier points over [low, high] of a curve with Bezier points over [0, 1], weights multiplied in. */
function overRange(points: readonly number[][], low: number, high: number): number[][] {
  const degree = points.length - 1;
  return points.map((_, k) => {
    let level = points.map((p) => [...p]);
    for (let step = 0; step < degree; step++) {
      const t = step < k ? high : low;
      level = level.slice(1).map((p, i) => p.map((x, axis) => (1 - t) * level[i][axis] + t * x));
    }
    return level[0];
  });
}

/**
 * The same panel as a part of a wider net that runs on across the rim by half its width, trimmed where
 * the rim was. The net has one span across.
 */
export function trimmedSide(side: SeamSide): SeamSide {
  const { rim } = side.edge;
  if (!rim) throw new Error('a trimmed side has no rim');
  if (rim.side === 1) return transposedSide(trimmedSide(transposedSide(side)));
  const { net } = side;
  const { columns, rows } = net;
  const [low, high] = domain(net.knots[0], net.degree[0]);
  if (columns !== net.degree[0] + 1) throw new Error('the net has several spans across');
  const range = rim.end === 0 ? [-0.5, 1] : [0, 1.5];
  const points: number[] = [];
  const weights: number[] = [];
  for (let row = 0; row < rows; row++) {
    const own = Array.from({ length: columns }, (_, k) => {
      const at = row * columns + k;
      const w = net.weights ? net.weights[at] : 1;
      return [0, 1, 2].map((axis) => w * net.points[3 * at + axis]).concat(w);
    });
    for (const [x, y, z, w] of overRange(own, range[0], range[1])) {
      points.push(x / w, y / w, z / w);
      weights.push(w);
    }
  }
  const [from, to] = range.map((t) => low + t * (high - low));
  return withEdge(
    side,
    {
      ...net,
      knots: [net.knots[0].map((_, k) => (k <= net.degree[0] ? from : to)), net.knots[1]],
      points: Float64Array.from(points),
      weights: net.weights && Float64Array.from(weights),
    },
    { rim: null },
  );
}

/** The same panel elsewhere, then in a unit of `scale` mm taken for one mm. */
export const placedSide = (side: SeamSide, placement: Placement, scale: number): SeamSide =>
  withEdge(side, placedNet(side.net, placement, scale), {});

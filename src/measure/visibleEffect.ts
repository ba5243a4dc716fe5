import { basisRow, type BasisRow } from '../geometry/basis.ts';
import type { ControlNet, Spot } from '../geometry/controlNet.ts';
import { jetFromRows, normalTurn, surfaceNormal } from '../geometry/evaluation.ts';
import { domain } from '../geometry/knots.ts';
import { distance, dot, length, scaled, sum, type Vector } from '../geometry/vector.ts';

/** What moving control points does to the surface. */
export interface VisibleEffect {
  /** Largest movement of the surface along its own normal, mm. */
  readonly peak: number;
  /** Largest turn of the surface normal at one place in space, radians. */
  readonly tilt: number;
  /** Farthest that a highlight line is shifted along the surface, mm. */
  readonly shift: number;
}

/** A control point and how far it is moved, mm. */
export interface PointMove {
  readonly spot: Spot;
  readonly by: Vector;
}

/** The bump that a moved control point raises, at one place of the surface it stands on. */
interface Station {
  readonly point: Vector;
  /** Of the bump, along the surface's normal, mm. */
  readonly height: number;
  /** Turn of the normal, radians. */
  readonly tilt: number;
  /** Of a highlight line across the slope, mm. */
  readonly shift: number;
}

/** Stations on the support of a point; more for a line, up to a bound. */
const stations = 12;
const mostStations = 48;

/**
 * Larger radii count as this one, mm. On a flat mirror with eye and lamp both at a distance D a tilt
 * shifts the reflection by tilt * D, so a panel flatter than 1/D shows no more than that: 10 m is as
 * far as anybody stands back, and is where the figures of the source end.
 */
const flatRadius = 10_000;

/**
 * How far a tilt (radians) shifts a highlight line on a surface whose normal turns by `turn` radians
 * a mm across the line: tilt / turn, mm; the flatter, the farther, down to the flat radius. A
 * parallel light's highlight lies where the normal has one direction, and so moves to where the
 * surface makes the tilt good. From the isophote condition N . L = c; 0.1 degrees make 0.87 mm at a
 * radius of 500, 3.49 mm at 2000 and 17.5 mm at 10,000.
 */
export const highlightShift = (tilt: number, turn: number): number =>
  tilt / Math.max(turn, 1 / flatRadius);

/** Parameters spread over the supports of basis functions `first` to `last`, clear of their ends. */
function supportParameters(
  knots: Float64Array,
  degree: number,
  first: number,
  last: number,
): number[] {
  const [start, end] = domain(knots, degree);
  const low = Math.max(start, knots[first]);
  const high = Math.min(end, knots[last + degree + 1]);
  const count = Math.min(mostStations, stations + 4 * (last - first));
  return Array.from({ length: count + 1 }, (_, k) => low + ((high - low) * k) / count);
}

/** The net whose points are the displacements: rational where the net is, so that its jet is exact. */
function displacementNet(net: ControlNet, moves: readonly PointMove[]): ControlNet {
  const points = new Float64Array(net.points.length);
  for (const { spot, by } of moves) points.set(by, 3 * (spot.row * net.columns + spot.column));
  return { ...net, points };
}

function station(net: ControlNet, moved: ControlNet, bu: BasisRow, bv: BasisRow): Station {
  const jet = jetFromRows(net, bu, bv);
  const normal = surfaceNormal(jet);
  const turn = normal && normalTurn(jet);
  if (!normal || !turn) return { point: jet.point, height: 0, tilt: 0, shift: 0 };
  const own = jetFromRows(moved, bu, bv);
  const fu = dot(own.u, normal) + dot(own.point, turn.u);
  const fv = dot(own.v, normal) + dot(own.point, turn.v);
  const [e, f, g] = [dot(jet.u, jet.u), dot(jet.u, jet.v), dot(jet.v, jet.v)];
  // The slope as so much of S_u and so much of S_v.
  const [a, b] = [(g * fu - f * fv) / (e * g - f * f), (e * fv - f * fu) / (e * g - f * f)];
  const slope = length(sum(scaled(jet.u, a), scaled(jet.v, b)));
  const tilt = Math.atan(slope);
  const across = length(sum(scaled(turn.u, a), scaled(turn.v, b)));
  return {
    point: jet.point,
    height: Math.abs(dot(own.point, normal)),
    tilt,
    shift: slope > 0 ? highlightShift(tilt, across / slope) : 0,
  };
}

/** Length of the longest line through the stations, mm: the size of the bump. */
function longest(grid: readonly (readonly Station[])[]): number {
  const across = grid[0].map((_, k) => grid.map((line) => line[k]));
  const lengths = [...grid, ...across].map((line) =>
    line.slice(1).reduce((total, { point }, k) => total + distance(line[k].point, point), 0),
  );
  return Math.max(...lengths);
}

/**
 * The effect of moving control points (mm) on the surface of `net`, which is the surface before that
 * move: the bump f = sum (d_k . n) R_k, R_k the points' (rational) basis functions, over their
 * supports. Peak: its largest amount. Tilt: its largest slope on the surface, sum of (d . n) grad R +
 * R grad (d . n); the second part is what a point that slides along a curved panel does. Shift: the
 * largest of tilt over the turn of the normal in the direction of the slope (highlightShift), which
 * is the normal curvature k_s there wherever the slope runs along a line of curvature, and the root
 * of k_s^2 plus the squared geodesic torsion elsewhere, so that a saddle's directions without
 * curvature do not count as flat; no farther than the bump is long. For a move along the normal the
 * peak is |d| max R; for a move within the surface it is what the curvature of the panel makes of
 * it. Of first order in the displacement. Sampled on a grid of 13 by 13 for one point, which finds
 * the peak of a polynomial bump to about a hundredth.
 */
export function visibleEffect(net: ControlNet, moves: readonly PointMove[]): VisibleEffect {
  const [rowsU, rowsV] = ([0, 1] as const).map((side) => {
    const indices = moves.map(({ spot }) => [spot.column, spot.row][side]);
    const [first, last] = [Math.min(...indices), Math.max(...indices)];
    return supportParameters(net.knots[side], net.degree[side], first, last).map((w) =>
      basisRow(net.knots[side], net.degree[side], w, 2),
    );
  });
  const moved = displacementNet(net, moves);
  const grid = rowsV.map((bv) => rowsU.map((bu) => station(net, moved, bu, bv)));
  const all = grid.flat();
  const most = (measure: 'height' | 'tilt' | 'shift'): number =>
    all.reduce((largest, one) => Math.max(largest, one[measure]), 0);
  return {
    peak: most('height'),
    tilt: most('tilt'),
    shift: Math.min(most('shift'), longest(grid)),
  };
}

import { Matrix, SVD } from 'ml-matrix';
import { basisRow } from '../geometry/basis.ts';
import { withMoves, type ControlNet, type Spot } from '../geometry/controlNet.ts';
import { surfaceJet } from '../geometry/evaluation.ts';
import { domain, grevilleAbscissae } from '../geometry/knots.ts';
import type { OutlineEdge } from '../geometry/outlineEdge.ts';
import { curvePoint } from '../geometry/splineCurve.ts';
import { parameterDirection } from '../geometry/surfaceCurvature.ts';
import { dot, length, scaled, squareTo, unit, type Vector } from '../geometry/vector.ts';
import { seamProfile, type SeamProfile } from '../measure/seamProfile.ts';
import type { Crossing, SeamSide } from '../measure/seamCrossings.ts';
import { seamStations } from '../measure/seamStations.ts';
import type { Move } from '../rules/rule.ts';

/**
 * What a nudge is to bring to nothing: the angle, by the row of control points next to the border; or
 * the difference of the normal curvatures across, by the row after that.
 */
export type SeamAim = 'angle' | 'bend';

/**
 * Why one panel cannot be nudged: `trimmed`: no row of its net runs along the edge; `unclamped`: its
 * border row is not its border; `no-inner-row`: the row to move is the border on the far side, or
 * moving it changes nothing; `blind`: no station has sound normals.
 */
type NoNudge = 'trimmed' | 'unclamped' | 'no-inner-row' | 'blind';

/** A row of one panel moved along the normal, so that the panel joins its neighbour better. */
export interface SeamNudge {
  /**
   * The control points of the row with their moves, mm, in order: how far each is off, turned round.
   * The row's ends lie on the panel's other borders.
   */
  readonly moves: readonly Move[];
  /** The longest of them, mm. */
  readonly largest: number;
  /** Measured again on a copy with the moves made. */
  readonly leaves: SeamProfile;
}

type NudgeOrNone =
  | { readonly nudge: SeamNudge; readonly none: null }
  | { readonly nudge: null; readonly none: NoNudge };

/** The row that is to be moved. */
interface InnerRow {
  readonly net: ControlNet;
  /** The parameter that changes across the edge. */
  readonly across: 0 | 1;
  /** Numbers of the border row and of this one, counted across. */
  readonly border: number;
  readonly index: number;
  /** What moving one of its points by 1 does to the derivative across for which it is moved, before weights. */
  readonly pull: number;
}

/** Number of a control point: the `along`-th of a row that has a number across. */
const spotIn = ({ across }: Pick<InnerRow, 'across'>, index: number, along: number): Spot =>
  across === 0 ? { row: along, column: index } : { row: index, column: along };

function innerRow(net: ControlNet, { rim }: OutlineEdge, aim: SeamAim): InnerRow | NoNudge {
  if (!rim) return 'trimmed';
  const across = rim.side;
  const [knots, degree] = [net.knots[across], net.degree[across]];
  const last = (across === 0 ? net.columns : net.rows) - 1;
  const end = domain(knots, degree)[rim.end];
  if ((rim.end === 0 ? knots[0] : knots[knots.length - 1]) !== end) return 'unclamped';
  const order = aim === 'angle' ? 1 : 2;
  if (last <= order) return 'no-inner-row';
  const [border, index] = rim.end === 0 ? [0, order] : [last, last - order];
  const { first, values } = basisRow(knots, degree, end, 2);
  const pull = values[order][index - first] ?? 0;
  return pull === 0 ? 'no-inner-row' : { net, across, border, index, pull };
}

/**
 * What moving each point of the row by 1 mm does to the derivative across, where the edge has parameter
 * `at`: in a rational surface the point's own share of the weight there.
 */
function pulls(
  row: InnerRow,
  at: number,
): { readonly first: number; readonly values: readonly number[] } {
  const { net, border, index, pull } = row;
  const side = row.across === 0 ? 1 : 0;
  const basis = basisRow(net.knots[side], net.degree[side], at, 0);
  const weight = (number: number, along: number): number => {
    const spot = spotIn(row, number, along);
    return net.weights ? net.weights[spot.row * net.columns + spot.column] : 1;
  };
  let whole = 0;
  basis.values[0].forEach((value, k) => {
    whole += value * weight(border, basis.first + k);
  });
  const values = Array.from(
    basis.values[0],
    (value, k) => (pull * value * weight(index, basis.first + k)) / whole,
  );
  return { first: basis.first, values };
}

/** What one station asks: that the derivative across, along `normal` and times `factor`, grows by `value`. */
interface Demand {
  readonly normal: Vector;
  readonly factor: number;
  readonly value: number;
}

/**
 * The angle is 0 where the derivative across lies in the plane of this panel's edge, which stays, and
 * the neighbour: S_across . n = 0, n the neighbour's normal made square to the edge. Over the length of
 * S_across square to the edge the value is a sine.
 */
function angleDemand(across: Vector, along: Vector, { b }: Crossing): Demand | null {
  const edge = unit(along);
  const normal = edge && unit(squareTo(b.normal, edge));
  const width = edge ? length(squareTo(across, edge)) : 0;
  if (!normal || !(width > 0)) return null;
  return { normal, factor: 1 / width, value: -dot(across, normal) / width };
}

/**
 * The normal curvature in the unit direction a S_across + b S_along is a^2 S_acrossacross . n and terms
 * that the row does not change.
 */
function bendDemand(across: Vector, along: Vector, { a, b }: Crossing): Demand | null {
  const way = parameterDirection({ u: across, v: along }, a.inward);
  return way && { normal: a.normal, factor: way[0] ** 2, value: b.bend - a.bend };
}

/** A station's demand, where along the edge it is, and how many mm of the seam it stands for. */
interface Place extends Demand {
  readonly at: number;
  readonly length: number;
}

function placesOf(
  row: InnerRow,
  side: SeamSide,
  other: SeamSide,
  aim: SeamAim,
  flatRadius: number,
): Place[] {
  const { stations } = seamStations(side, other, flatRadius);
  const demand = aim === 'angle' ? angleDemand : bendDemand;
  return stations.flatMap(({ at, crossing, run }, k): Place[] => {
    const [before, after] = [stations[k - 1]?.run ?? run, stations[k + 1]?.run ?? run];
    if (!crossing || !(after > before)) return [];
    const [u, v] = curvePoint(side.edge.curve, at[0]);
    const jet = surfaceJet(side.net, u, v);
    const [across, along] = row.across === 0 ? [jet.u, jet.v] : [jet.v, jet.u];
    const own = demand(across, along, crossing);
    return own ? [{ ...own, at: row.across === 0 ? v : u, length: (after - before) / 2 }] : [];
  });
}

/** A point whose pull on all of the stretch is below this share of the largest is left alone. */
const leastPull = 1e-3;
/** Singular values below this share of the largest are rounding, or moves of which little comes. */
const leastSingular = 1e-4;

/** Moves of the row's points along the normals nearest to them: least squares, the smallest of them. */
function rowMoves(row: InnerRow, places: readonly Place[]): Move[] {
  const { net, across } = row;
  const side = across === 0 ? 1 : 0;
  const normals = Array.from(
    grevilleAbscissae(net.knots[side], net.degree[side]),
    (xi) =>
      places.reduce((best, place) =>
        Math.abs(place.at - xi) < Math.abs(best.at - xi) ? place : best,
      ).normal,
  );
  const system = Matrix.zeros(places.length, normals.length);
  const values = Matrix.zeros(places.length, 1);
  places.forEach(({ at, normal, factor, value, length }, k) => {
    const heft = Math.sqrt(length);
    const { first, values: own } = pulls(row, at);
    own.forEach((pull, i) => {
      const share = dot(normals[first + i], normal);
      system.set(k, first + i, heft * factor * pull * share);
    });
    values.set(k, 0, heft * value);
  });
  const sizes = normals.map((_, k) => Math.hypot(...system.getColumn(k)));
  const least = leastPull * Math.max(...sizes);
  const used = [...normals.keys()].filter((k) => sizes[k] >= least);
  const parts = new SVD(system.subMatrixColumn(used), { autoTranspose: true });
  const [u, v] = [parts.leftSingularVectors, parts.rightSingularVectors];
  const amounts = new Float64Array(normals.length);
  parts.diagonal.forEach((singular, mode) => {
    if (!(singular > leastSingular * parts.diagonal[0])) return;
    const amount = dotColumns(u, mode, values) / singular;
    used.forEach((along, k) => {
      amounts[along] += amount * v.get(k, mode);
    });
  });
  return used.map((along) => ({
    ...spotIn(row, row.index, along),
    by: scaled(normals[along], amounts[along]),
  }));
}

/** Product of a column of one matrix with the only column of another. */
function dotColumns(matrix: Matrix, column: number, other: Matrix): number {
  let total = 0;
  for (let k = 0; k < matrix.rows; k++) total += matrix.get(k, column) * other.get(k, 0);
  return total;
}

/**
 * A nudge of one panel of a seam towards its neighbour, the border row held; see SeamAim. Linear in the
 * moves, so that it is had at once: what it leaves is what a row of so few points cannot follow, and
 * for an angle what edges that are not one leave. A panel that folds back is not turned round.
 */
function seamNudge(side: SeamSide, other: SeamSide, aim: SeamAim, flatRadius: number): NudgeOrNone {
  const row = innerRow(side.net, side.edge, aim);
  if (typeof row === 'string') return { nudge: null, none: row };
  const places = placesOf(row, side, other, aim, flatRadius);
  if (places.length === 0) return { nudge: null, none: 'blind' };
  const moves = rowMoves(row, places);
  const net = withMoves(
    side.net,
    moves.map(({ by, ...spot }) => ({ spot, by })),
  );
  const neighbour = other.net === side.net ? { ...other, net } : other;
  const { stations } = seamStations({ ...side, net }, neighbour, flatRadius);
  return {
    nudge: {
      moves,
      largest: Math.max(...moves.map(({ by }) => length(by))),
      leaves: seamProfile(stations),
    },
    none: null,
  };
}

/** The nudge of either panel that mends a seam alone, the other left as it is; or why there is none. */
export const seamNudges = (
  a: SeamSide,
  b: SeamSide,
  aim: SeamAim,
  flatRadius: number,
): { readonly a: NudgeOrNone; readonly b: NudgeOrNone } => ({
  a: seamNudge(a, b, aim, flatRadius),
  b: seamNudge(b, a, aim, flatRadius),
});

import { pointAt, withMoves, type ControlNet, type Spot } from '../geometry/controlNet.ts';
import { cross, difference, dot, length, scaled, unit, type Vector } from '../geometry/vector.ts';
import { remainingDisplacement } from '../measure/displacedPoints.ts';
import type { Judgement, Miss } from '../rules/rule.ts';
import { partNormal, wholeSpot, type Part, type Subject } from '../rules/subject.ts';

/** A suggested move of one control point, mm in the model's frame. */
export interface Nudge {
  readonly spot: Spot;
  readonly vector: Vector;
  /**
   * The move as so much along the outward normal, along the row (u) and along the column (v); null
   * where the three do not span space, as at a collapsed edge.
   */
  readonly parts: { readonly normal: number; readonly row: number; readonly column: number } | null;
  /** Displacement that is still measured at the point after the move, mm. */
  readonly leaves: number;
}

/** A miss and the nudge that answers it. */
export interface Repair {
  readonly rule: string;
  readonly miss: Miss;
  readonly nudge: Nudge;
  /**
   * Whether the nudge, re-measured, takes most of the displacement away. Where it does not, the net
   * is not a smooth one with a point off it, and the point is not to be named however likely it looked.
   */
  readonly holds: boolean;
}

/** The share of a displacement that a nudge may leave and still hold. */
const mostLeft = 0.3;

/** Direction of a row or column at a point: from the point before it to the one after it. */
function runDirection(net: ControlNet, spot: Spot, along: 'row' | 'column'): Vector | null {
  const [last, at] = along === 'row' ? [net.columns - 1, spot.column] : [net.rows - 1, spot.row];
  const point = (index: number): Vector =>
    along === 'row' ? pointAt(net, spot.row, index) : pointAt(net, index, spot.column);
  return unit(difference(point(Math.min(last, at + 1)), point(Math.max(0, at - 1))));
}

/**
 * A vector as a sum of parts along three directions that need not be square to each other, by
 * Cramer's rule; null where the directions lie in a plane.
 */
function partsOf(vector: Vector, a: Vector, b: Vector, c: Vector): Nudge['parts'] {
  const volume = dot(a, cross(b, c));
  if (Math.abs(volume) < 1e-9) return null;
  return {
    normal: dot(vector, cross(b, c)) / volume,
    row: dot(a, cross(vector, c)) / volume,
    column: dot(a, cross(b, vector)) / volume,
  };
}

const partOf = (subject: Subject, spot: Spot): Part | undefined =>
  subject.parts.find(
    (part) =>
      spot.row >= part.row &&
      spot.row < part.row + part.net.rows &&
      spot.column >= part.column &&
      spot.column < part.column + part.net.columns,
  );

function nudge(subject: Subject, miss: Miss): Nudge | null {
  const { site, displacement } = miss;
  if (!displacement) return null;
  const spot = site.kind === 'point' ? site : site.kind === 'points' ? site.points[0] : null;
  const part = spot && partOf(subject, spot);
  if (!spot || !part) return null;
  const inPart: Spot = { row: spot.row - part.row, column: spot.column - part.column };
  const vector = scaled(displacement, -1);
  const normal = partNormal(part, inPart);
  const row = runDirection(part.net, inPart, 'row');
  const column = runDirection(part.net, inPart, 'column');
  const mended = withMoves(part.net, [{ spot: inPart, by: vector }]);
  const left = remainingDisplacement(mended, inPart);
  return {
    spot: wholeSpot(part, inPart),
    vector,
    parts: normal && row && column ? partsOf(vector, normal, row, column) : null,
    leaves: left ? length(left) : length(vector),
  };
}

/** The nudges for every miss of a displaced point, each re-measured on a copy of the net. */
export const repairs = (
  subject: Subject,
  judgements: Readonly<Record<string, Judgement>>,
): Repair[] =>
  Object.entries(judgements).flatMap(([rule, judgement]) =>
    judgement.outcome === 'missed'
      ? judgement.misses.flatMap((miss): Repair[] => {
          const found = nudge(subject, miss);
          if (!found) return [];
          const holds = found.leaves <= mostLeft * length(found.vector);
          return [{ rule, miss, nudge: found, holds }];
        })
      : [],
  );

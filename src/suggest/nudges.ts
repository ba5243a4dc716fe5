import { pointAt, withMoves, type ControlNet, type Spot } from '../geometry/controlNet.ts';
import { cross, difference, dot, length, unit, type Vector } from '../geometry/vector.ts';
import { remaining } from '../measure/displacements.ts';
import { middleOfMost } from '../measure/locator/fallingOrder.ts';
import type { FaultPlace, Run } from '../measure/locator/netFaults.ts';
import type { Judgement, Miss, Move, Site, Unit } from '../rules/rule.ts';
import { partNormal, type Part, type Subject } from '../rules/subject.ts';

/** A suggested move of one control point, or of a line, mm in the model's frame. */
export interface Nudge {
  /** The point, or of a line the one that moves farthest. */
  readonly spot: Spot;
  readonly vector: Vector;
  /** All points that move. */
  readonly moves: readonly Move[];
  /** Points of which one may be moved instead. */
  readonly either: readonly Move[];
  /**
   * The move as so much along the outward normal, along the row (u) and along the column (v); null
   * where the three do not span space, as at a collapsed edge.
   */
  readonly parts: { readonly normal: number; readonly row: number; readonly column: number } | null;
  /** What is still measured after the move: of a displaced point mm, of a seam in its rule's unit. */
  readonly leaves: number;
  readonly leavesIn: Unit;
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

const runIn = (
  { from, to }: Extract<Site, { readonly kind: 'row' | 'column' }>,
  start: number,
): { readonly run?: Run } =>
  from === undefined || to === undefined ? {} : { run: [from - start, to - start] };

/** A site as a place of the part it lies in. */
function placeIn(part: Part, site: Site): FaultPlace | null {
  switch (site.kind) {
    case 'point':
      return { kind: 'point', row: site.row - part.row, column: site.column - part.column };
    case 'points':
      return placeIn(part, { kind: 'point', ...site.points[0] });
    case 'row':
      return { kind: 'row', row: site.row - part.row, ...runIn(site, part.column) };
    case 'column':
      return { kind: 'column', column: site.column - part.column, ...runIn(site, part.row) };
    case 'leg':
    case 'net':
    case 'section':
    case 'seam':
    case 'region':
      return null;
  }
}

/** A miss with what a nudge needs. */
interface Case {
  readonly rule: string;
  readonly miss: Miss;
  readonly part: Part;
  readonly spot: Spot;
  readonly moves: readonly Move[];
  readonly place: FaultPlace;
}

function caseOf(subject: Subject, rule: string, miss: Miss): Case | null {
  const { moves } = miss;
  if (!moves || moves.length === 0) return null;
  const far = moves[middleOfMost(moves.map(({ by }) => length(by)))];
  const spot = { row: far.row, column: far.column };
  const part = partOf(subject, spot);
  const place = part && placeIn(part, miss.site);
  return part && place ? { rule, miss, part, spot, moves, place } : null;
}

/**
 * A move of one control point told along the outward normal, the row and the column; null where the
 * three do not span space.
 */
export function moveParts(
  net: ControlNet,
  spot: Spot,
  vector: Vector,
  normal: Vector | null,
): Nudge['parts'] {
  const row = runDirection(net, spot, 'row');
  const column = runDirection(net, spot, 'column');
  return normal && row && column ? partsOf(vector, normal, row, column) : null;
}

function nudge({ miss, part, spot, moves }: Case, leaves: number | null): Nudge {
  const inPart: Spot = { row: spot.row - part.row, column: spot.column - part.column };
  const vector = moves.find((m) => m.row === spot.row && m.column === spot.column)!.by;
  return {
    spot,
    vector,
    moves,
    either: miss.either ?? [],
    parts: moveParts(part.net, inPart, vector, partNormal(part, inPart)),
    leaves: leaves ?? length(vector),
    leavesIn: 'mm',
  };
}

/**
 * What is still measured at each of some cases of one part when they and `others` are mended, mm;
 * null where it cannot be measured.
 */
function leftOver(
  { locator }: Subject,
  part: Part,
  cases: readonly Case[],
  others: readonly Case[],
): readonly (number | null)[] {
  const moves = [...cases, ...others].flatMap((one) =>
    one.moves.map(({ row, column, by }) => ({
      spot: { row: row - part.row, column: column - part.column },
      by,
    })),
  );
  const places = cases.map(({ place }) => place);
  return remaining(withMoves(part.net, moves), places, locator.hand) ?? cases.map(() => null);
}

/** The nudges for every miss of a displacement, measured again on a copy with the named ones made. */
export function repairs(
  subject: Subject,
  judgements: Readonly<Record<string, Judgement>>,
): Repair[] {
  const cases = Object.entries(judgements).flatMap(([rule, judgement]) =>
    judgement.outcome === 'missed'
      ? judgement.misses.flatMap((miss) => caseOf(subject, rule, miss) ?? [])
      : [],
  );
  return subject.parts.flatMap((part) => {
    const own = cases.filter((one) => one.part === part);
    const named = own.filter(({ miss }) => miss.certainty === 'named');
    const left = named.length > 0 ? leftOver(subject, part, named, []) : [];
    return own.map((one): Repair => {
      const at = named.indexOf(one);
      const leaves = at < 0 ? leftOver(subject, part, [one], named)[0] : left[at];
      const found = nudge(one, leaves);
      const holds = found.leaves <= mostLeft * length(found.vector);
      return { rule: one.rule, miss: one.miss, nudge: found, holds };
    });
  });
}

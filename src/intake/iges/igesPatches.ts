import { bezierValues } from '../../geometry/bezierValues.ts';
import type { PatchGrid } from '../../geometry/joinedPatches.ts';
import { fault, type Fault } from '../fault.ts';
import type { Directory, Entity } from './igesDirectory.ts';
import { fields, numbersInto, type Cursor, type Field, type Trouble } from './igesFields.ts';
import type { ParameterSource } from './igesParameters.ts';

/** A parametric spline surface (114) as Bezier patches: file units, its own frame. */
export interface IgesPatches {
  readonly grid: PatchGrid;
  /** What follows the standard's own parameters: groups of additional pointers. */
  readonly additional: readonly Field[];
}

const cubic = 3;
/** Coefficients a coordinate and a patch: 16 of s^i t^j, i fastest. */
const perAxis = (cubic + 1) ** 2;
const perPatch = 3 * perAxis;

/** The highest powers of s and of t that any patch uses, at least 1. */
function usedDegree(coefficients: readonly Float64Array[]): [number, number] {
  const used: [number, number] = [1, 1];
  for (const patch of coefficients)
    patch.forEach((value, at) => {
      if (value === 0) return;
      used[0] = Math.max(used[0], at % (cubic + 1));
      used[1] = Math.max(used[1], Math.floor((at % perAxis) / (cubic + 1)));
    });
  return used;
}

/** Bezier points of one patch over [0, width] x [0, height] from its powers. */
function bezierPoints(
  powers: Float64Array,
  [p, q]: readonly [number, number],
  width: number,
  height: number,
): Float64Array {
  const points = new Float64Array(3 * (p + 1) * (q + 1));
  for (let axis = 0; axis < 3; axis++) {
    const rows = Array.from({ length: q + 1 }, (_, j) => {
      const from = perAxis * axis + (cubic + 1) * j;
      return bezierValues(powers.subarray(from, from + p + 1), width);
    });
    for (let i = 0; i <= p; i++)
      bezierValues(
        rows.map((row) => row[i]),
        height,
      ).forEach((value, j) => {
        points[3 * (j * (p + 1) + i) + axis] = value;
      });
  }
  return points;
}

/**
 * Reads CTYPE, PTYPE, M, N, the breakpoints TU(1) to TU(M + 1) and TV(1) to TV(N + 1), and for patches
 * (1, 1), (1, 2) ... (M + 1, N + 1) 48 coefficients each: for X, then Y, then Z those of s^i t^j, i
 * fastest, where s = u - TU(i) and t = v - TV(j). The patches of row M + 1 and column N + 1 hold values
 * that mean nothing (IGES 5.3, 4.15), and those behind the last that does may be left out. The degree
 * is the highest power that is used, whatever CTYPE and PTYPE say.
 */
export function igesPatches(
  entity: Entity,
  directory: Directory,
  source: ParameterSource,
): IgesPatches | Fault {
  const place = directory.placeOf(entity);
  const cursor = source.cursorOf(entity);
  if ('code' in cursor) return cursor;
  let read = 0;
  /** Fills the target; the fault where it cannot. */
  const fill = (from: Cursor, target: Float64Array): Trouble | null => {
    const trouble = numbersInto(from, target);
    const before = read;
    read += target.length;
    return trouble && { ...trouble, read: before + trouble.read };
  };
  const head = new Float64Array(4);
  const short = fill(cursor, head);
  if (short) return source.troubled(entity, cursor, short);
  const [, , m, n] = head;
  const wrong = head.findIndex((value) => !Number.isInteger(value));
  if (wrong >= 0)
    return fault('bad-number', place, {
      entity: entity.type,
      what: 'integer',
      found: wrong + 1,
      text: String(head[wrong]),
    });
  if (m < 1 || n < 1) return fault('no-extent', place, { what: 'the grid of patches' });
  // up to the last patch that means something, counted from the first
  const last = (m - 1) * (n + 1) + n;
  const needed = m + n + 2 + perPatch * last;
  // Each parameter takes a byte at least, its delimiter.
  if (needed > cursor.end - cursor.at)
    return fault('count-beyond-file', place, {
      entity: entity.type,
      what: 'parameters',
      expected: Math.min(needed, Number.MAX_SAFE_INTEGER),
      found: cursor.end - cursor.at,
    });
  const breaks = [new Float64Array(m + 1), new Float64Array(n + 1)] as const;
  const powers = Array.from({ length: last }, () => new Float64Array(perPatch));
  for (const part of [...breaks, ...powers]) {
    const trouble = fill(cursor, part);
    if (trouble?.what === 'short')
      return fault('iges-count', place, {
        entity: entity.type,
        what: 'parameters',
        found: trouble.read,
        expected: head.length + needed,
      });
    if (trouble) return source.troubled(entity, cursor, trouble);
    if (!part.every((value) => Number.isFinite(value)))
      return fault('not-finite', place, { what: 'a breakpoint or coefficient' });
  }
  for (const side of [0, 1] as const)
    for (let k = 1; k < breaks[side].length; k++)
      if (!(breaks[side][k] > breaks[side][k - 1]))
        return fault('knots-decrease', place, {
          direction: side === 0 ? 'u' : 'v',
          index: k + 1,
          before: breaks[side][k - 1],
          value: breaks[side][k],
        });
  const meant = (i: number, j: number): Float64Array => powers[i * (n + 1) + j];
  const used = powers.filter((_, k) => k % (n + 1) < n);
  const degree = usedDegree(used);
  const patches: Float64Array[] = [];
  for (let j = 0; j < n; j++)
    for (let i = 0; i < m; i++)
      patches.push(
        bezierPoints(
          meant(i, j),
          degree,
          breaks[0][i + 1] - breaks[0][i],
          breaks[1][j + 1] - breaks[1][j],
        ),
      );
  const rest = new Float64Array(perPatch * (n + 2));
  const isFull = !cursor.ended && numbersInto(cursor, rest) === null;
  return {
    grid: { degree, breakpoints: breaks, patches },
    additional: isFull ? fields(cursor).fields : [],
  };
}

import { fault, type Fault, type Notice } from '../fault.ts';
import type { RawNet } from '../checkedNet.ts';
import type { Directory, Entity } from './igesDirectory.ts';
import { fields, numbersInto, type Field } from './igesFields.ts';
import type { Flags } from './igesFlags.ts';
import type { ParameterSource } from './igesParameters.ts';
import type { Ranges } from './igesTrims.ts';

/** A rational B-spline surface (128) as it stands in the file: file units, its own frame. */
export interface IgesNet {
  readonly net: RawNet;
  /** The parameter ranges, where they keep only a part of the knots' domain; else null. */
  readonly kept: Ranges | null;
  /** PROP1 to PROP5. */
  readonly flags: Flags;
  /** What follows the standard's own parameters: groups of additional pointers. */
  readonly additional: readonly Field[];
  readonly notices: readonly Notice[];
}

/** Files carry 6 digits at least, so a range that ends short by less is the whole range. */
const sameParameter = 1e-6;
/** Weights this near to each other, relative to the largest, are one weight written with rounding. */
const sameWeight = 1e-9;

function areEqual(weights: Float64Array): boolean {
  let low = Infinity;
  let high = -Infinity;
  for (const weight of weights) {
    if (weight < low) low = weight;
    if (weight > high) high = weight;
  }
  return high - low <= sameWeight * Math.abs(high);
}

/** What a range keeps of the domain, and whether that is not all of it; an empty range is a default. */
function keptRange(
  knots: Float64Array,
  degree: number,
  start: number,
  end: number,
): { readonly range: readonly [number, number]; readonly isPart: boolean } {
  const low = knots[degree];
  const high = knots[knots.length - 1 - degree];
  const close = sameParameter * (high - low);
  const range = [Math.max(start, low), Math.min(end, high)] as const;
  return end > start && range[1] > range[0] && (start > low + close || end < high - close)
    ? { range, isPart: true }
    : { range: [low, high], isPart: false };
}

/**
 * Reads K1, K2, M1, M2, PROP1 to PROP5, both knot vectors, weights and points, u running fastest,
 * and the ranges of the parameters (IGES 5.3, 4.24). Sizes are checked against the bytes at hand
 * before anything is reserved for them. Degrees, knots and points are left to checkedNet.
 */
export function igesNet(
  entity: Entity,
  directory: Directory,
  source: ParameterSource,
): IgesNet | Fault {
  const place = directory.placeOf(entity);
  const cursor = source.cursorOf(entity);
  if ('code' in cursor) return cursor;
  const head = new Float64Array(9);
  const short = numbersInto(cursor, head);
  if (short) return source.troubled(entity, cursor, short);
  const [k1, k2, m1, m2, , , prop3] = head;
  const wrong = head.findIndex((value) => !Number.isInteger(value));
  if (wrong >= 0)
    return fault('bad-number', place, {
      entity: entity.type,
      what: 'integer',
      found: wrong + 1,
      text: String(head[wrong]),
    });
  const sizes = [k1 + m1 + 2, k2 + m2 + 2].map((size) => Math.max(size, 0));
  const count = Math.max(k1 + 1, 0) * Math.max(k2 + 1, 0);
  const needed = sizes[0] + sizes[1] + 4 * count;
  // Each parameter takes a byte at least, its delimiter.
  if (needed > cursor.end - cursor.at)
    return fault('count-beyond-file', place, {
      entity: entity.type,
      what: 'parameters',
      expected: Math.min(needed, Number.MAX_SAFE_INTEGER),
      found: cursor.end - cursor.at,
    });
  const knots = [new Float64Array(sizes[0]), new Float64Array(sizes[1])] as const;
  const weights = new Float64Array(count);
  const points = new Float64Array(3 * count);
  let read = head.length;
  for (const part of [knots[0], knots[1], weights, points]) {
    const trouble = numbersInto(cursor, part);
    if (trouble?.what === 'short') {
      return fault('iges-count', place, {
        entity: entity.type,
        what: 'parameters',
        found: read + trouble.read,
        expected: head.length + needed,
      });
    }
    if (trouble) return source.troubled(entity, cursor, { ...trouble, read: read + trouble.read });
    read += part.length;
  }
  const range = new Float64Array(4);
  const isRanged = numbersInto(cursor, range) === null;
  const [u, v] = [
    keptRange(knots[0], m1, range[0], range[1]),
    keptRange(knots[1], m2, range[2], range[3]),
  ];
  const isPolynomial = areEqual(weights);
  return {
    net: { degree: [m1, m2], knots, columns: k1 + 1, rows: k2 + 1, points, weights },
    kept: isRanged && (u.isPart || v.isPart) ? [u.range, v.range] : null,
    flags: Array.from(head.subarray(4)),
    additional: isRanged ? fields(cursor).fields : [],
    // "If all weights are equal to each other ... PROP3 shall be set to 1", else to 0. The weights
    // are what the surface is made of, so they are believed.
    notices:
      isPolynomial === (prop3 === 1)
        ? []
        : [
            {
              code: 'flag-contradicts',
              place,
              data: {
                what: 'PROP3',
                flag: prop3,
                found: isPolynomial ? 'equal weights' : 'unequal weights',
              },
            },
          ],
  };
}

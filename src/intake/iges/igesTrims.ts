import type { ControlNet } from '../../geometry/controlNet.ts';
import { domain } from '../../geometry/knots.ts';
import { trimmedRegion, type Border, type TrimTrouble } from '../../geometry/trimRegion.ts';
import type { Notice } from '../fault.ts';
import type { Trim } from '../panel.ts';
import { trimNotice } from '../trimNotice.ts';
import { igesBorders, rectangle, type BorderSource } from './igesBorders.ts';
import { isTrouble, type BorderTrouble } from './igesCurves.ts';
import type { Entity } from './igesDirectory.ts';
import type { Parent } from './igesStructure.ts';

/** Parameter ranges in u and in v. */
export type Ranges = readonly [readonly [number, number], readonly [number, number]];

/** A trim, and what to tell of it. */
export interface ReadTrim {
  readonly trim: Trim;
  readonly notices: readonly Notice[];
}

export const unreadNotice = ({ what, entity, place }: BorderTrouble): Notice => ({
  code: 'trim-unread',
  place,
  data: { entity, what },
});

const wholeRanges = ({ knots, degree }: ControlNet): Ranges => [
  domain(knots[0], degree[0]),
  domain(knots[1], degree[1]),
];

/**
 * The part of the surface `base` that a face keeps, or, without one, its own parameter ranges (null:
 * they are the whole domain). `net` is in millimetres, in the frame of the face before its own matrix.
 * Where the borders told one way give no region they are tried the other way.
 */
export function igesTrim(
  face: Parent | null,
  base: Entity,
  net: ControlNet,
  kept: Ranges | null,
  tolerance: number,
  source: BorderSource,
): ReadTrim {
  if (!face && !kept) return { trim: { kind: 'whole' }, notices: [] };
  const place = source.directory.placeOf(face ? face.entity : base);
  const outer = rectangle(kept ?? wholeRanges(net));
  const ways: readonly (readonly Border[])[] | BorderTrouble = face
    ? igesBorders(face.entity, face.fields, base, outer, source)
    : [[outer]];
  if (isTrouble(ways)) return { trim: { kind: 'unread', place }, notices: [unreadNotice(ways)] };
  let first: TrimTrouble | null = null;
  for (const borders of ways) {
    const region = trimmedRegion(net, borders, tolerance);
    if (!('trouble' in region)) return { trim: { kind: 'part', region, place }, notices: [] };
    first ??= region;
  }
  return {
    trim: { kind: 'unread', place },
    notices: first ? [trimNotice(first, place)] : [],
  };
}

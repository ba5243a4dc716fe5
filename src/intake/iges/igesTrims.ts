import type { ControlNet } from '../../geometry/controlNet.ts';
import { domain } from '../../geometry/knots.ts';
import { trimmedRegion, type Border, type TrimTrouble } from '../../geometry/trimRegion.ts';
import type { Notice } from '../fault.ts';
import type { Trim } from '../panel.ts';
import { trimNotice } from '../trimNotice.ts';
import {
  igesBorders,
  rectangle,
  type BorderSource,
  type ToldBorders,
  type Way,
} from './igesBorders.ts';
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
  const unread = (notice: Notice): ReadTrim => ({
    trim: { kind: 'unread', place },
    notices: [notice],
  });
  const regionOf = (borders: readonly Border[]): ReadTrim | TrimTrouble => {
    const region = trimmedRegion(net, borders, tolerance);
    return 'trouble' in region ? region : { trim: { kind: 'part', region, place }, notices: [] };
  };
  const read = (way: Way): ToldBorders | BorderTrouble =>
    face
      ? igesBorders(face.entity, face.fields, base, outer, way, source)
      : [{ border: outer, side: 'plane' }];

  const preferred = read('preferred');
  if (isTrouble(preferred)) return unread(unreadNotice(preferred));
  const first = regionOf(preferred.map(({ border }) => border));
  if ('trim' in first) return first;
  const other = read('other');
  if (!isTrouble(other) && other.some(({ side }, k) => side !== preferred[k].side)) {
    const second = regionOf(other.map(({ border }) => border));
    if ('trim' in second) return second;
  }
  return unread(trimNotice(first, place));
}

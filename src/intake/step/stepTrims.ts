import type { ControlNet } from '../../geometry/controlNet.ts';
import { polyline } from '../../geometry/splineCurve.ts';
import { trimmedRegion, type Border } from '../../geometry/trimRegion.ts';
import { distance } from '../../geometry/vector.ts';
import type { Notice } from '../fault.ts';
import { borderTolerance } from '../joinTolerance.ts';
import type { Trim } from '../panel.ts';
import { trimNotice } from '../trimNotice.ts';
import { isUncut } from './ownEdges.ts';
import { boundaryBorders, faceBorders } from './stepBorders.ts';
import type { StepFile } from './stepFile.ts';
import type { Owner } from './stepHoldings.ts';
import { faceTypes } from './stepKeywords.ts';
import type { Instance } from './stepInstances.ts';
import { enumerationIn, numberIn, referencesIn } from './stepValues.ts';
import { TrimReading } from './trimReading.ts';
import { trimSheet, type TrimSheet } from './trimSheet.ts';

/** mm, where a file states no uncertainty: common practice between modellers. */
const usualUncertainty = 0.01;

type Interval = readonly [number, number];

const rectangle = ([u0, u1]: Interval, [v0, v1]: Interval): Border => [
  {
    plane: polyline([
      [u0, v0],
      [u1, v0],
      [u1, v1],
      [u0, v1],
      [u0, v0],
    ]),
    space: null,
  },
];

/** Points along an edge at which two opposite edges are held against each other. */
const seamSamples = 8;

/** Whether the surface ends in u (side 0) or v where it begins. */
function isClosed({ domain, lifted }: TrimSheet, side: 0 | 1, tolerance: number): boolean {
  const [from, to] = domain[1 - side];
  return Array.from({ length: seamSamples }, (_, k) => from + ((to - from) * k) / (seamSamples - 1))
    .map((t) => domain[side].map((end) => lifted(side === 0 ? [end, t] : [t, end])))
    .every(([a, b]) => distance(a, b) <= tolerance);
}

/**
 * What is kept in one direction, from `first` to `second` in the sense of `forward`: on a closed surface
 * it may go through the seam. On an open one the two are just the ends (ISO 10303-42,
 * rectangular_trimmed_surface: there the sense follows from them).
 */
function keptIntervals(
  [low, high]: Interval,
  first: number,
  second: number,
  forward: boolean,
  closed: boolean,
): readonly Interval[] {
  const within = (t: number): number => Math.min(Math.max(t, low), high);
  const [from, to] = (forward ? [first, second] : [second, first]).map(within);
  const intervals: Interval[] =
    from < to || !closed
      ? [[Math.min(from, to), Math.max(from, to)]]
      : [
          [low, to],
          [from, high],
        ];
  return intervals.filter(([a, b]) => b > a);
}

/** All faces and trimmed surfaces of a file by their record. */
type Owners = ReadonlyMap<number, Owner>;

/** Reads what is cut from a surface; `whole` where that is nothing, null where it cannot be read. */
class OwnerReading {
  constructor(
    readonly reading: TrimReading,
    readonly all: Owners,
    readonly sheet: TrimSheet,
  ) {}

  borders(owner: Owner): readonly Border[] | 'whole' | null {
    const { file } = this.reading;
    if (file.is(owner.record, faceTypes)) return this.face(owner);
    return file.is(owner.record, ['CURVE_BOUNDED_SURFACE'])
      ? this.curveBounded(owner)
      : this.rectangular(owner);
  }

  /** The borders of the surface an owner is cut from. */
  private below(owner: Owner): readonly Border[] | 'whole' | null {
    const inner = this.all.get(owner.surface);
    return inner ? this.borders(inner) : 'whole';
  }

  /** A face without a line for a bound is all of its surface: it has none, or a vertex_loop. */
  private face(owner: Owner): readonly Border[] | 'whole' | null {
    const found = faceBorders(this.reading, this.sheet, owner.record, owner.values);
    return found?.length === 0 ? this.below(owner) : found;
  }

  /**
   * ISO 10303-42, curve_bounded_surface (basis_surface, boundaries, implicit_outer): with implicit_outer
   * the edge of the basis surface is the outer border.
   */
  private curveBounded(owner: Owner): readonly Border[] | 'whole' | null {
    const { values } = owner;
    const inner = boundaryBorders(this.reading, this.sheet, owner.record, referencesIn(values[2]));
    const outer = enumerationIn(values[3]) === 'T' ? this.below(owner) : [];
    if (!inner || !outer) return null;
    const { domain } = this.sheet;
    if (outer === 'whole' && inner.length === 0) return 'whole';
    return [...(outer === 'whole' ? [rectangle(...domain)] : outer), ...inner];
  }

  /** ISO 10303-42, rectangular_trimmed_surface (basis_surface, u1, u2, v1, v2, usense, vsense). */
  private rectangular(owner: Owner): readonly Border[] | 'whole' | null {
    const { reading, sheet } = this;
    const { values } = owner;
    const inner = this.all.get(owner.surface);
    // A rectangle of a rectangle is its own; of another trim nothing here makes the common part.
    if (inner && !reading.file.is(inner.record, ['RECTANGULAR_TRIMMED_SURFACE']))
      return reading.fail('kind', owner.record);
    const limits = [2, 3, 4, 5].map((k) => numberIn(values[k]));
    if (!limits.every((limit) => limit !== null && Number.isFinite(limit)))
      return reading.fail('damaged', owner.record);
    const [u, v] = ([0, 1] as const).map((side) =>
      keptIntervals(
        sheet.domain[side],
        limits[2 * side]!,
        limits[2 * side + 1]!,
        enumerationIn(values[6 + side]) !== 'F',
        isClosed(sheet, side, reading.tolerance),
      ),
    );
    const found = u.flatMap((across) => v.map((up) => rectangle(across, up)));
    return found.length > 0 ? found : reading.fail('damaged', owner.record);
  }
}

/**
 * The surfaces below an owner that have the parameters of the lowest one: that one itself, and trimmed
 * surfaces on it, unless a rectangle turns a direction round.
 */
function alikeSurfaces(file: StepFile, all: Owners, owner: Owner): ReadonlySet<number> {
  const inner = all.get(owner.surface);
  if (!inner) return new Set([owner.surface]);
  const below = alikeSurfaces(file, all, inner);
  const values = file.is(inner.record, ['RECTANGULAR_TRIMMED_SURFACE']) ? inner.values : [];
  const isTurned = [values[6], values[7]].some((sense) => enumerationIn(sense) === 'F');
  return below.has(inner.surface) && !isTurned ? new Set([...below, inner.record]) : below;
}

/** A trim, and what is to be told of it. */
export interface ToldTrim {
  readonly trim: Trim;
  readonly notice: Notice | null;
}

/**
 * The trim that a face or trimmed surface makes of a net, which stands as in its own representation, in
 * millimetres. Its lines in the plane hold wherever the net is placed. Borders that are the surface's own
 * edges cut nothing off: `whole`.
 */
export function stepTrim(
  file: StepFile,
  all: Owners,
  owner: Owner,
  net: ControlNet,
  { unit, radians, uncertainty }: Pick<Instance, 'unit' | 'radians' | 'uncertainty'>,
): ToldTrim {
  // ISO 10303-43, uncertainty_measure_with_unit of the context
  const tolerance = borderTolerance(net, uncertainty ?? usualUncertainty);
  const reading = new TrimReading(file, unit.millimetres, radians, tolerance);
  const sheet = trimSheet(net, alikeSurfaces(file, all, owner));
  const borders = new OwnerReading(reading, all, sheet).borders(owner);
  if (borders === 'whole' || (borders && isUncut(borders, sheet, tolerance)))
    return { trim: { kind: 'whole' }, notice: null };
  const place = file.place(owner.record);
  const unread: Trim = { kind: 'unread', place };
  if (!borders) return { trim: unread, notice: reading.notice(owner.record) };
  const region = trimmedRegion(net, borders, tolerance);
  return 'trouble' in region
    ? { trim: unread, notice: trimNotice(region, place) }
    : { trim: { kind: 'part', region, place }, notice: null };
}

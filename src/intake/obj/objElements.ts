import type { Place } from '../fault.ts';

/** What statements set for all elements behind them (section "Free-form curve/surface attributes"). */
export interface ObjAttributes {
  /** The word behind `cstype` and `rat`: bezier, bspline, bmatrix, cardinal, taylor; null: not set. */
  readonly type: string | null;
  readonly rational: boolean;
  /** Degree in u, then in v; empty: not set. */
  readonly degree: readonly number[];
  /** Basis matrices in u and v: entry (i, j) weighs point i of a segment by the j-th power. */
  readonly matrices: readonly [readonly number[] | null, readonly number[] | null];
  /** Points from one segment to the next in u, then in v. */
  readonly step: readonly number[];
}

/** A part of a numbered curve (`curv2`, from 1), run backwards where `from` is the larger. */
export interface CurveUse {
  readonly from: number;
  readonly to: number;
  readonly curve: number;
}

/** An outer border (`trim`) or that of a hole. */
export interface ObjLoop {
  readonly kind: 'trim' | 'hole';
  readonly place: Place;
  readonly uses: readonly CurveUse[];
}

/** A curve in the parameter plane (`curv2`) or a surface (`surf`) with its body. */
export interface ObjElement {
  readonly kind: 'curv2' | 'surf';
  readonly place: Place;
  /** Of the group or object that it stands in; '' where neither is named. */
  readonly name: string;
  readonly groups: readonly string[];
  readonly attributes: ObjAttributes;
  /** s0 s1 t0 t1 of a surface. */
  readonly range: readonly number[];
  /** Numbers of the points, from 1; they may be larger than the file's last. */
  readonly points: readonly number[];
  /** The values of `parm u` and `parm v`; null: there are none. */
  readonly parameters: readonly [readonly number[] | null, readonly number[] | null];
  readonly loops: readonly ObjLoop[];
  /** True where something is wrong with its own statements, which is told. */
  readonly isBroken: boolean;
}

import { domain, interiorBreakpoints, type Knots } from './knots.ts';

/** An inner breakpoint and how often its knot stands there. */
export interface InnerKnot {
  readonly value: number;
  readonly multiplicity: number;
}

/** How splines of one direction are built: all that a clamped knot vector says. */
export interface SplineSpace {
  readonly degree: number;
  /** The domain. */
  readonly ends: readonly [number, number];
  readonly inner: readonly InnerKnot[];
}

/** The space of splines with these knots over their domain, clamped at its ends. */
export const splineSpace = (knots: Knots, degree: number): SplineSpace => ({
  degree,
  ends: domain(knots, degree),
  inner: interiorBreakpoints(knots, degree).map(({ value, multiplicity }) => ({
    value,
    multiplicity,
  })),
});

export function spaceKnots({ degree, ends, inner }: SplineSpace): Knots {
  const times = (value: number, count: number): number[] =>
    Array.from({ length: count }, () => value);
  return Float64Array.from([
    ...times(ends[0], degree + 1),
    ...inner.flatMap(({ value, multiplicity }) => times(value, multiplicity)),
    ...times(ends[1], degree + 1),
  ]);
}

/** Number of control points that a spline of the space has. */
export const spaceSize = ({ degree, inner }: SplineSpace): number =>
  inner.reduce((total, { multiplicity }) => total + multiplicity, degree + 1);

/** The ends of the spans, those of the domain among them, in order. */
export const spanEnds = ({ ends, inner }: SplineSpace): number[] => [
  ends[0],
  ...inner.map(({ value }) => value),
  ends[1],
];

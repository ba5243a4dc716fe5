import { highestDegree } from '../checkedNet.ts';
import { fault, type Fault } from '../fault.ts';
import { breakpointFault } from '../vdafs/vdaPatches.ts';
import type { ObjElement } from './objElements.ts';

const letters = ['u', 'v'] as const;

/** Types that are read; "cardinal" and "taylor" are the others that the format has. */
const readTypes: ReadonlySet<string> = new Set(['bezier', 'bspline', 'bmatrix']);

/** What is wrong with the attributes and parameters of an element in u or v; null where all is there. */
export function segmentFault(element: ObjElement, side: 0 | 1): Fault | null {
  const { place, attributes, parameters } = element;
  const { type, degree, matrices, step } = attributes;
  const direction = letters[side];
  const lacking = (what: string): Fault => fault('obj-attribute', place, { what });
  if (type === null || !readTypes.has(type)) return lacking('cstype');
  const own = degree[side];
  if (own === undefined) return lacking('deg');
  if (!Number.isInteger(own) || own < 1 || own > highestDegree)
    return fault('degree-range', place, { direction, found: own, most: highestDegree });
  const values = parameters[side];
  if (!values || values.length < 2) return lacking(`parm ${direction}`);
  if (values.some((value) => !Number.isFinite(value)))
    return fault('not-finite', place, { what: `a value of parm ${direction}` });
  const leastKnots = 2 * (own + 1);
  if (type === 'bspline' && values.length < leastKnots)
    return fault('wrong-count', place, {
      what: `values of parm ${direction}`,
      found: values.length,
      expected: leastKnots,
    });
  // Of the knots themselves the net's own check tells.
  if (type === 'bspline') return null;
  const falling = breakpointFault(Float64Array.from(values), direction, place);
  if (falling || type === 'bezier') return falling;
  const matrix = matrices[side];
  const entries = (own + 1) ** 2;
  if (!matrix?.every(Number.isFinite)) return lacking(`bmat ${direction}`);
  if (matrix.length !== entries)
    return fault('wrong-count', place, {
      what: `numbers of bmat ${direction}`,
      found: matrix.length,
      expected: entries,
    });
  const stride = step[side];
  return Number.isInteger(stride) && stride >= 1 ? null : lacking('step');
}

/** Points that the parameters ask for in u or v; holds for an element without a `segmentFault`. */
export function pointCount({ attributes, parameters }: ObjElement, side: 0 | 1): number {
  const { type, degree, step } = attributes;
  const values = parameters[side]!.length;
  if (type === 'bspline') return values - degree[side] - 1;
  if (type === 'bezier') return (values - 1) * degree[side] + 1;
  return (values - 2) * step[side] + degree[side] + 1;
}

/** Breakpoints as knots of pieces that hang together at their ends and no more. */
export const bezierKnots = (breakpoints: Float64Array, degree: number): Float64Array => {
  const last = breakpoints.length - 1;
  return Float64Array.from(
    Array.from(breakpoints).flatMap((value, k) =>
      Array.from({ length: k === 0 || k === last ? degree + 1 : degree }, () => value),
    ),
  );
};

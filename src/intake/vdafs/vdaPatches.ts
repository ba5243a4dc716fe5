import { fault, type Fault, type Place } from '../fault.ts';
import { VdaParameters } from './vdaParameters.ts';
import { placeOf, type VdaStatement, type VdaStatements } from './vdaStatements.ts';

/** A surface as the file gives it: polynomials in parameters that run from 0 to 1 over each patch. */
export interface VdaPatches {
  /** Breakpoints in s and t, strictly rising. */
  readonly breakpoints: readonly [Float64Array, Float64Array];
  /** Coefficients of each patch in s and in t (degree + 1), two numbers a patch. */
  readonly orders: Uint8Array;
  /** For each patch those of x, of y, of z, mm; in the order of the file. */
  readonly coefficients: readonly Float64Array[];
}

/** More coefficients than this in one direction are no surface; far above what any is built with. */
export const mostCoefficients = 31;

/** Parameters of the smallest patch: two orders and one coefficient for each coordinate. */
const leastOfPatch = 5;

/** The first pair of breakpoints that do not rise. */
export function breakpointFault(
  values: Float64Array,
  direction: string,
  place: Place,
): Fault | null {
  const k = values.findIndex((value, at) => at > 0 && !(value > values[at - 1]));
  return k < 0
    ? null
    : fault('knots-decrease', place, {
        direction,
        index: k + 1,
        before: values[k - 1],
        value: values[k],
      });
}

/**
 * Reads SURF / nps, npt, s(0) to s(nps), t(0) to t(npt), and for each of the nps * npt patches iordu,
 * iordv, and iordu * iordv coefficients for x, for y and for z (DIN 66301, SURF; from memory).
 */
export function vdaPatches(file: VdaStatements, statement: VdaStatement): VdaPatches | Fault {
  const place = placeOf(statement);
  const parameters = new VdaParameters(file, statement);
  const nps = parameters.count('patches', 1);
  const npt = parameters.count('patches', 1);
  if (!parameters.fault && nps * npt === 0)
    return fault('no-extent', place, { what: 'the grid of patches' });
  const breakpoints = [parameters.numbers(nps + 1), parameters.numbers(npt + 1)] as const;
  parameters.expect('patches', nps * npt, leastOfPatch);
  if (parameters.fault) return parameters.fault;
  const wrong =
    breakpointFault(breakpoints[0], 'u', place) ?? breakpointFault(breakpoints[1], 'v', place);
  if (wrong) return wrong;
  const orders = new Uint8Array(2 * nps * npt);
  const coefficients: Float64Array[] = [];
  for (let patch = 0; patch < nps * npt; patch++) {
    for (const side of [0, 1] as const) {
      const order = parameters.integer();
      if (parameters.fault) return parameters.fault;
      if (order < 1 || order > mostCoefficients)
        return fault('degree-range', place, {
          direction: side === 0 ? 'u' : 'v',
          found: order - 1,
          most: mostCoefficients - 1,
        });
      orders[2 * patch + side] = order;
    }
    const values = parameters.numbers(3 * orders[2 * patch] * orders[2 * patch + 1]);
    if (parameters.fault) return parameters.fault;
    coefficients.push(values);
  }
  parameters.end();
  return parameters.fault ?? { breakpoints, orders, coefficients };
}

import type { StepFile } from './stepFile.ts';
import { numbersIn, type StepPart, type StepValue } from './stepValues.ts';

/** Knots of ISO 10303-42's three types of curve and of surface that give no list of them. */
type KnotForm = 'bezier' | 'uniform' | 'quasi-uniform';

/** How a B-spline curve or surface says which knots it has; null where it does not. */
export function knotForm(
  parts: readonly StepPart[],
  what: 'CURVE' | 'SURFACE',
): KnotForm | 'listed' | null {
  const has = (type: string): boolean => parts.some((part) => part.type === type);
  if (has(`B_SPLINE_${what}_WITH_KNOTS`)) return 'listed';
  if (has(`BEZIER_${what}`)) return 'bezier';
  if (has(`UNIFORM_${what}`)) return 'uniform';
  return has(`QUASI_UNIFORM_${what}`) ? 'quasi-uniform' : null;
}

/**
 * The knots that go without saying, or null where the number of points does not fit the type.
 * Source: ISO 10303-42, default_b_spline_knots and default_b_spline_knot_mult (from memory): distinct
 * knots are whole numbers one apart, from 0, or from -degree for uniform knots, so that the domain
 * starts at 0. Multiplicities: uniform 1; quasi-uniform degree + 1 at both ends, 1 between; Bezier
 * degree + 1 at both ends, degree between, for which degree must divide the count less one.
 */
export function impliedKnots(form: KnotForm, degree: number, count: number): Float64Array | null {
  const length = count + degree + 1;
  if (form === 'uniform') return Float64Array.from({ length }, (_, k) => k - degree);
  const step = form === 'bezier' ? degree : 1;
  const spans = form === 'bezier' ? (count - 1) / degree : count - degree;
  if (!Number.isInteger(spans) || spans < 1) return null;
  return Float64Array.from({ length }, (_, k) =>
    Math.min(Math.max(Math.ceil((k - degree) / step), 0), spans),
  );
}

/**
 * The knot vector of a list of distinct knots and one of multiplicities; a fault is told for null.
 * `whose` follows the word in it: " in u", or nothing for a curve.
 */
export function listedKnots(
  file: StepFile,
  record: number,
  whose: '' | ' in u' | ' in v',
  lists: readonly [StepValue | undefined, StepValue | undefined],
  expected: number,
): Float64Array | null {
  const multiplicities = numbersIn(lists[0]);
  const values = numbersIn(lists[1]);
  if (!multiplicities || !values) {
    file.tellAt('step-argument', record, { what: `knots${whose}`, expected: 'numbers' });
    return null;
  }
  if (multiplicities.some((m) => !Number.isInteger(m) || m < 1)) {
    file.tellAt('step-argument', record, {
      what: `knot multiplicities${whose}`,
      expected: 'whole numbers from 1 on',
    });
    return null;
  }
  if (multiplicities.length !== values.length) {
    file.tellAt('wrong-count', record, {
      what: `distinct knots${whose}`,
      found: values.length,
      expected: multiplicities.length,
    });
    return null;
  }
  const found = multiplicities.reduce((total, m) => total + m, 0);
  // Multiplicities are bare numbers: nothing is allocated before they agree with what is there.
  if (found > expected) {
    file.tellAt('count-beyond-file', record, { what: `knots${whose}`, found, expected });
    return null;
  }
  const knots = new Float64Array(found);
  let at = 0;
  values.forEach((value, k) => {
    knots.fill(value, at, at + multiplicities[k]);
    at += multiplicities[k];
  });
  return knots;
}

import { bezierValues } from '../../geometry/bezierValues.ts';
import type { SplineCurve } from '../../geometry/splineCurve.ts';
import { checkedNet, isFault } from '../checkedNet.ts';
import { fault, type Fault } from '../fault.ts';
import { bezierKnots, pointCount, segmentFault } from './objDirection.ts';
import type { ObjElement } from './objElements.ts';
import type { ObjPoints } from './objPoints.ts';

const twice = (values: Float64Array): Float64Array => Float64Array.from([...values, ...values]);

/**
 * What is wrong with a curve, or null. It is looked at as a strip that it draws across the plane, so that
 * what a net must be is asked of it too.
 */
function curveFault(
  { degree, knots, points, weights }: SplineCurve,
  { place }: ObjElement,
): Fault | null {
  const columns = points.length / 2;
  const strip = new Float64Array(6 * columns);
  for (let k = 0; k < 2 * columns; k++) {
    const from = 2 * (k % columns);
    strip.set([points[from], points[from + 1], k < columns ? 0 : 1], 3 * k);
  }
  const net = checkedNet(
    {
      degree: [degree, 1],
      knots: [knots, Float64Array.of(0, 0, 1, 1)],
      columns,
      rows: 2,
      points: strip,
      weights: weights && twice(weights),
    },
    place,
  );
  return isFault(net) ? net : null;
}

/** Control points in the plane, and their weights where they are asked for. */
function planePoints(
  { points, attributes, place }: ObjElement,
  vertices: ObjPoints,
): { readonly points: Float64Array; readonly weights: Float64Array | null } | Fault {
  const lost = points.find((number) => number > vertices.count);
  if (lost !== undefined)
    return fault('obj-index', place, {
      what: 'parameter vertex',
      found: lost,
      held: vertices.count,
    });
  const plane = new Float64Array(2 * points.length);
  points.forEach((number, k) => {
    for (let axis = 0; axis < 2; axis++) plane[2 * k + axis] = vertices.get(number, axis);
  });
  const weights = attributes.rational
    ? Float64Array.from(points, (number) => vertices.get(number, 2))
    : null;
  return { points: plane, weights };
}

/** The segments of a curve on a basis matrix, each as a Bezier curve over its own parameters. */
function matrixCurves(
  curve: SplineCurve,
  matrix: readonly number[],
  step: number,
  breakpoints: Float64Array,
): SplineCurve[] {
  const { degree } = curve;
  const count = degree + 1;
  const shares = basisShares(matrix, degree);
  return Array.from({ length: breakpoints.length - 1 }, (_, segment) => {
    const points = new Float64Array(2 * count);
    const weights = new Float64Array(count);
    for (let k = 0; k < count; k++) {
      for (let i = 0; i < count; i++) {
        const from = segment * step + i;
        const share = shares[i][k] * (curve.weights ? curve.weights[from] : 1);
        weights[k] += share;
        for (let axis = 0; axis < 2; axis++)
          points[2 * k + axis] += share * curve.points[2 * from + axis];
      }
      if (curve.weights) for (let axis = 0; axis < 2; axis++) points[2 * k + axis] /= weights[k];
    }
    const knots = bezierKnots(breakpoints.subarray(segment, segment + 2), degree);
    return { dimension: 2, degree, knots, points, weights: curve.weights && weights };
  });
}

/** Of a basis matrix, what point i weighs in Bezier point k of its segment: [i][k]. */
export const basisShares = (matrix: readonly number[], degree: number): number[][] =>
  Array.from({ length: degree + 1 }, (_, i) =>
    bezierValues(matrix.slice(i * (degree + 1), (i + 1) * (degree + 1)), 1),
  );

/**
 * A curve in the parameter plane (curv2) in the pieces it is made of, in order; 'kind' where it is a
 * Cardinal or Taylor curve, which are not read.
 */
export function objCurve(
  element: ObjElement,
  vertices: ObjPoints,
): readonly SplineCurve[] | Fault | 'kind' {
  const { attributes, points, place } = element;
  const { type } = attributes;
  if (type === 'cardinal' || type === 'taylor') return 'kind';
  const wrong = segmentFault(element, 0);
  if (wrong) return wrong;
  const [degree] = attributes.degree;
  const expected = pointCount(element, 0);
  if (expected !== points.length)
    return fault('wrong-count', place, { what: 'points', found: points.length, expected });
  const own = planePoints(element, vertices);
  if ('code' in own) return own;
  const parameters = Float64Array.from(element.parameters[0]!);
  const knots = type === 'bspline' ? parameters : bezierKnots(parameters, degree);
  const plain: SplineCurve = { dimension: 2, degree, knots, ...own };
  const { matrices, step } = attributes;
  const curves =
    type === 'bmatrix' ? matrixCurves(plain, matrices[0]!, step[0], parameters) : [plain];
  for (const curve of curves) {
    const unsound = curveFault(curve, element);
    if (unsound) return unsound;
  }
  return curves;
}

import { bezierValues } from '../../geometry/bezierValues.ts';
import { isSoundCurve } from '../../geometry/soundCurve.ts';
import type { SplineCurve } from '../../geometry/splineCurve.ts';
import { bezierKnots, pointCount, segmentFault } from './objDirection.ts';
import type { ObjElement } from './objElements.ts';
import type { ObjPoints } from './objPoints.ts';

/** Why a curve gives no border; the words are those of the notice trim-unread. */
type Unread = 'kind' | 'data';

/** The weights, or null where all are one: an index may mean none of the points, which gives NaN. */
function planePoints(
  { points, attributes }: ObjElement,
  vertices: ObjPoints,
): { readonly points: Float64Array; readonly weights: Float64Array | null } {
  const plane = new Float64Array(2 * points.length);
  const weights = new Float64Array(points.length);
  points.forEach((number, k) => {
    const isHeld = number <= vertices.count;
    for (let axis = 0; axis < 2; axis++)
      plane[2 * k + axis] = isHeld ? vertices.get(number, axis) : NaN;
    weights[k] = isHeld ? vertices.get(number, 2) : NaN;
  });
  return { points: plane, weights: attributes.rational ? weights : null };
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
 * A curve in the parameter plane (curv2) in the pieces it is made of, in order. Cardinal and Taylor
 * curves are not read.
 */
export function objCurve(
  element: ObjElement,
  vertices: ObjPoints,
): readonly SplineCurve[] | Unread {
  const { type } = element.attributes;
  if (type === 'cardinal' || type === 'taylor') return 'kind';
  if (element.isBroken || segmentFault(element, 0)) return 'data';
  const parameters = Float64Array.from(element.parameters[0]!);
  const [degree] = element.attributes.degree;
  if (pointCount(element, 0) !== element.points.length) return 'data';
  const plain: SplineCurve = {
    dimension: 2,
    degree,
    knots: type === 'bspline' ? parameters : bezierKnots(parameters, degree),
    ...planePoints(element, vertices),
  };
  const { matrices, step } = element.attributes;
  const curves =
    type === 'bmatrix' ? matrixCurves(plain, matrices[0]!, step[0], parameters) : [plain];
  return curves.every(isSoundCurve) ? curves : 'data';
}

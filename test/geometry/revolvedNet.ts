import type { ControlNet } from '../../src/geometry/controlNet.ts';
import { ellipseArc, type SplineCurve } from '../../src/geometry/splineCurve.ts';

/**
 * The surface of revolution about z of a profile in the plane (distance from the axis, height): u runs
 * once round, from the plane y = 0, v along the profile. Exact; closed in u.
 */
export function revolvedNet(profile: SplineCurve): ControlNet {
  const circle = ellipseArc([0, 0], [1, 0], [0, 1], 0, 2 * Math.PI);
  const columns = circle.points.length / 2;
  const rows = profile.points.length / 2;
  const points = new Float64Array(3 * rows * columns);
  const weights = new Float64Array(rows * columns);
  for (let row = 0; row < rows; row++)
    for (let column = 0; column < columns; column++) {
      const at = row * columns + column;
      const [radius, height] = profile.points.subarray(2 * row, 2 * row + 2);
      points[3 * at] = radius * circle.points[2 * column];
      points[3 * at + 1] = radius * circle.points[2 * column + 1];
      points[3 * at + 2] = height;
      weights[at] = circle.weights![column] * (profile.weights ? profile.weights[row] : 1);
    }
  return {
    degree: [2, profile.degree],
    knots: [circle.knots, profile.knots],
    columns,
    rows,
    points,
    weights,
  };
}

/** A sphere about the origin, from its south pole (lowest v) to its north pole. */
export const sphere = (radius: number): ControlNet =>
  revolvedNet(ellipseArc([0, 0], [0, -radius], [radius, 0], 0, Math.PI));

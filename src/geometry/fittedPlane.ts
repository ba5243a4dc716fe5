import { cross, dot, length, scaled, sum, difference, type Vector } from './vector.ts';

/** The plane that lies nearest to some points. */
export interface FittedPlane {
  readonly centre: Vector;
  /** Of length 1; its sign is any. */
  readonly normal: Vector;
  /** Root mean squares of the points' ways from the centre: along the normal, and along the plane where they spread least and most. */
  readonly spreads: Vector;
}

/** Square of the least spread along the plane, over that of the most, below which points are a line. */
const leastWidth = 1e-3;

/**
 * Eigenvalues of a symmetric matrix (its elements xx, xy, xz, yy, yz, zz), falling, by cosines of the
 * third of an angle: Smith 1961, Eigenvalues of a symmetric 3 x 3 matrix, CACM 4(4).
 */
function eigenvalues([xx, xy, xz, yy, yz, zz]: readonly number[]): Vector {
  const mean = (xx + yy + zz) / 3;
  const off = xy * xy + xz * xz + yz * yz;
  const size = Math.sqrt(((xx - mean) ** 2 + (yy - mean) ** 2 + (zz - mean) ** 2 + 2 * off) / 6);
  if (!(size > 0)) return [mean, mean, mean];
  const [a, b, c, d, e, f] = [xx - mean, xy, xz, yy - mean, yz, zz - mean].map((x) => x / size);
  const half = (a * (d * f - e * e) - b * (b * f - e * c) + c * (b * e - d * c)) / 2;
  const angle = Math.acos(Math.min(1, Math.max(-1, half))) / 3;
  const most = mean + 2 * size * Math.cos(angle);
  const least = mean + 2 * size * Math.cos(angle + (2 * Math.PI) / 3);
  return [most, 3 * mean - most - least, least];
}

/**
 * The plane through weighted points (x, y, z one after the other) by total least squares: the sum of the
 * weighted squares of their distances is least (Pearson 1901, On lines and planes of closest fit to
 * systems of points in space, Phil. Mag. 2(11)). Null where the points are a point or a line.
 */
export function fittedPlane(
  points: readonly Vector[],
  weights: readonly number[],
): FittedPlane | null {
  const whole = weights.reduce((a, b) => a + b, 0);
  if (!(whole > 0)) return null;
  const centre = scaled(
    points.reduce<Vector>((a, point, k) => sum(a, scaled(point, weights[k])), [0, 0, 0]),
    1 / whole,
  );
  const moments = [0, 0, 0, 0, 0, 0];
  points.forEach((point, k) => {
    const [x, y, z] = difference(point, centre);
    [x * x, x * y, x * z, y * y, y * z, z * z].forEach(
      (product, at) => (moments[at] += (weights[k] * product) / whole),
    );
  });
  const [most, middle, least] = eigenvalues(moments);
  if (!(middle > leastWidth * most)) return null;
  const [xx, xy, xz, yy, yz, zz] = moments;
  const rows: readonly Vector[] = [
    [xx - least, xy, xz],
    [xy, yy - least, yz],
    [xz, yz, zz - least],
  ];
  // square to all rows: the longest of their products is the surest
  const normal = [cross(rows[0], rows[1]), cross(rows[1], rows[2]), cross(rows[2], rows[0])].reduce(
    (a, b) => (dot(b, b) > dot(a, a) ? b : a),
  );
  const size = length(normal);
  if (!(size > 0)) return null;
  return {
    centre,
    normal: scaled(normal, 1 / size),
    spreads: [Math.sqrt(Math.max(0, least)), Math.sqrt(middle), Math.sqrt(most)],
  };
}

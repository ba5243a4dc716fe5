import type { ScanBody } from '../geometry/scanBody.ts';
import { scanFeet, scanStandings } from '../geometry/scanFeet.ts';
import { difference, dot, vectorAt } from '../geometry/vector.ts';

/**
 * Signed distances of places (x, y, z one after the other, mm) from a scan within `reach` mm: positive where
 * a place lies outward of the scan by its own outward normal, whichever way the scan's triangles face. NaN
 * where no scan lies behind it.
 */
export function outwardGaps(
  body: ScanBody,
  places: Float64Array,
  normals: Float64Array,
  reach: number,
): Float64Array {
  const { points, distances, standings } = scanFeet(body, places, reach);
  return distances.map((distance, k) => {
    if (standings[k] !== scanStandings.over) return NaN;
    const way = difference(vectorAt(places, k), vectorAt(points, k));
    return dot(vectorAt(normals, k), way) < 0 ? -Math.abs(distance) : Math.abs(distance);
  });
}

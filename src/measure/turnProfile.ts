import type { ScanBody } from '../geometry/scanBody.ts';
import { scanFeet, scanStandings } from '../geometry/scanFeet.ts';
import { cross, distance, dot, scaled, sum, vectorAt, type Vector } from '../geometry/vector.ts';
import type { PanelPath } from './panelPath.ts';

/** How a scan turns under a way over a panel; one number a place of the way, flat. */
export interface TurnProfile {
  /** mm along the way, on the panel. */
  readonly run: Float64Array;
  /** mm along the scan, from foot to foot. */
  readonly arc: Float64Array;
  /** By how much the scan leans toward the way more than the panel, radians; NaN where no scan lies behind. */
  readonly lean: Float64Array;
  /** How far the panel has turned toward the way, radians. */
  readonly turns: Float64Array;
  /** Feet on the scan, three numbers each, mm; NaN where there are none. */
  readonly feet: Float64Array;
  readonly parameters: Float64Array;
  /** mm from the panel; signed with the scan's triangles. */
  readonly distances: Float64Array;
}

/** A scan that leans by more than this to the panel shows another side of the body, as a cosine. */
const leastFacing = -0.35;
/** mm */
const leastApart = 2;
/** Of the lines beside the way, the share that must meet the scan. */
const enough = 0.5;

/**
 * The turning of a scan under a way: means over `lines` parallel lines, an edge of the scan apart or `leastApart`, of
 * the normals at the feet. `facing`: 1 where the scan's triangles look to the side of S_u x S_v, else -1.
 * Means of the triangles' own normals along a way telescope: over w mm the noise of a vertex is divided
 * by w, and nothing is smeared across the bend.
 */
export function turnProfile(
  body: ScanBody,
  path: PanelPath,
  facing: 1 | -1,
  { lines, reach }: { readonly lines: number; readonly reach: number },
): TurnProfile {
  const count = path.run.length;
  const places = new Float64Array(3 * count * lines);
  const sides: Vector[] = [];
  for (let k = 0; k < count; k++)
    sides.push(cross(vectorAt(path.normals, k), vectorAt(path.ways, k)));
  for (let line = 0; line < lines; line++) {
    const aside = (line - (lines - 1) / 2) * Math.max(leastApart, body.spacing);
    for (let k = 0; k < count; k++)
      places.set(sum(vectorAt(path.points, k), scaled(sides[k], aside)), 3 * (line * count + k));
  }
  const feet = scanFeet(body, places, reach);
  const middle = (lines - 1) / 2;
  const lean = new Float64Array(count).fill(NaN);
  const arc = new Float64Array(count);
  const own = feet.points.slice(3 * middle * count, 3 * (middle + 1) * count);
  const distances = feet.distances.slice(middle * count, (middle + 1) * count);
  let before = -1;
  for (let k = 0; k < count; k++) {
    const [normal, way] = [vectorAt(path.normals, k), vectorAt(path.ways, k)];
    let [seen, ahead, up] = [0, 0, 0];
    let isOver = false;
    for (let line = 0; line < lines; line++) {
      const at = line * count + k;
      if (feet.standings[at] !== scanStandings.over) continue;
      const own = scaled(vectorAt(feet.normals, at), facing);
      const facingHere = dot(own, normal);
      if (!(facingHere > leastFacing)) continue;
      seen++;
      ahead += dot(own, way);
      up += facingHere;
      if (line === middle) isOver = true;
    }
    const step = before < 0 ? 0 : distance(vectorAt(own, k), vectorAt(own, before));
    arc[k] = before < 0 ? 0 : arc[before];
    if (!isOver || seen < enough * lines) continue;
    lean[k] = Math.atan2(ahead, up);
    arc[k] += step;
    before = k;
  }
  return {
    run: path.run,
    arc,
    lean,
    turns: path.turns,
    feet: own,
    parameters: path.parameters,
    distances,
  };
}

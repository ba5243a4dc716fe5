import { leavesWithin } from '../geometry/leavesWithin.ts';
import type { ScanBody } from '../geometry/scanBody.ts';
import { inDomain } from '../geometry/sheet.ts';
import { surfaceFeet } from '../geometry/surfaceFeet.ts';
import { difference, dot, type Vector } from '../geometry/vector.ts';
import type { SheetedSurface, SuspectFrame } from './suspectFrame.ts';
import { windowLengths, type WindowPoints } from './templateFit.ts';
import { wideWindow } from './wobbleShare.ts';

/** The chord to a place so far along a bent surface is no longer than the way; but the wobble's foot lies in the plane. */
const ballMargin = 1.25;
/** Vertices that are looked at, at most some more than the fit uses. */
const mostVertices = 12_000;

/** Vertices of a scan around a place, mm, and the sums of their triangles' normals, one after the other. */
interface ScanVertices {
  readonly places: Float64Array;
  readonly normals: Float64Array;
}

/** The vertices within `radius` mm; where there are many, the first corners of every so many-th triangle. */
function scanVertices({ tree }: ScanBody, place: Vector, radius: number): ScanVertices {
  const { vertices, triangles: corners } = tree.mesh;
  let triangles = 0;
  const leaves: number[] = [];
  leavesWithin(tree, place, radius, (first, count) => {
    triangles += count;
    leaves.push(first, count);
  });
  // a mesh has half as many vertices as triangles
  const stride = Math.max(1, Math.floor(triangles / (2 * mostVertices)));
  const cornersTaken = stride === 1 ? 3 : 1;
  const room = Math.ceil((cornersTaken * triangles) / stride);
  const places = new Float64Array(3 * room);
  const normals = new Float64Array(3 * room);
  const numbers = new Map<number, number>();
  const square = radius * radius;
  let [seen, next] = [0, 0];
  for (let leaf = 0; leaf < leaves.length; leaf += 2) {
    const [first, count] = [leaves[leaf], leaves[leaf + 1]];
    for (; next < seen + count; next += stride) {
      const at = 3 * (first + next - seen);
      const [a, b, c] = [3 * corners[at], 3 * corners[at + 1], 3 * corners[at + 2]];
      const ux = vertices[b] - vertices[a];
      const uy = vertices[b + 1] - vertices[a + 1];
      const uz = vertices[b + 2] - vertices[a + 2];
      const vx = vertices[c] - vertices[a];
      const vy = vertices[c + 1] - vertices[a + 1];
      const vz = vertices[c + 2] - vertices[a + 2];
      for (let corner = 0; corner < cornersTaken; corner++) {
        const vertex = 3 * corners[at + corner];
        let number = numbers.get(vertex);
        if (number === undefined) {
          const x = vertices[vertex] - place[0];
          const y = vertices[vertex + 1] - place[1];
          const z = vertices[vertex + 2] - place[2];
          if (x * x + y * y + z * z > square) continue;
          number = 3 * numbers.size;
          numbers.set(vertex, number);
          for (let axis = 0; axis < 3; axis++) places[number + axis] = vertices[vertex + axis];
        }
        normals[number] += uy * vz - uz * vy;
        normals[number + 1] += uz * vx - ux * vz;
        normals[number + 2] += ux * vy - uy * vx;
      }
    }
    seen += count;
  }
  const used = 3 * numbers.size;
  return { places: places.subarray(0, used), normals: normals.subarray(0, used) };
}

/** Triangles that stand more askew to the surface than this cosine, or face the other way, are of something else. */
const leastFacing = 0.3;
/** Beyond this slant the surface has no height over the plane to speak of. */
const leastUpright = 0.5;
/** Scan points farther than this from the middle of the others' distances, mm and in their median deviations. */
const strayGap = 5;
const strayDeviations = 8;

const median = (values: readonly number[]): number => {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted.length > 0 ? sorted[sorted.length >> 1] : 0;
};

/**
 * The scan's points in the window about a suspect, in its frame: what of it lies before or behind the kept part
 * of the surface and faces as most of it does. Other sheets of a scan and strays are left out.
 */
export function scanWindow(
  surface: SheetedSurface,
  scan: ScanBody,
  { suspect, at, origin, along, across, outward }: SuspectFrame,
): WindowPoints {
  const radius = ballMargin * wideWindow.reach * Math.max(...windowLengths(suspect.lengths));
  const { places, normals } = scanVertices(scan, origin, radius);
  const feet = surfaceFeet(surface.sheet, places, { at, radius });
  const sides = new Float64Array(feet.isFoot.length);
  // the scan's own front may be the surface's back: the side that more and nearer triangles show is taken
  let votes = 0;
  for (let k = 0; k < sides.length; k++) {
    if (feet.isFoot[k] === 0) continue;
    const size = Math.hypot(normals[3 * k], normals[3 * k + 1], normals[3 * k + 2]);
    let facing = 0;
    for (let axis = 0; axis < 3; axis++)
      facing += feet.normals[3 * k + axis] * normals[3 * k + axis];
    sides[k] = facing / (size || 1);
    votes += Math.sign(sides[k]) / (1 + (feet.distances[k] / scan.spacing) ** 2);
  }
  const front = votes < 0 ? -1 : 1;
  const { kept, outward: sign } = surface;
  const taken: (readonly [number, number, number, number])[] = [];
  for (let k = 0; k < sides.length; k++) {
    if (feet.isFoot[k] === 0 || front * sides[k] < leastFacing) continue;
    const normal: Vector = [
      sign * feet.normals[3 * k],
      sign * feet.normals[3 * k + 1],
      sign * feet.normals[3 * k + 2],
    ];
    const upright = dot(normal, outward);
    if (upright < leastUpright) continue;
    const [u, v] = [
      inDomain(surface.sheet, 0, feet.at[2 * k]),
      inDomain(surface.sheet, 1, feet.at[2 * k + 1]),
    ];
    if (kept && kept(u, v) === 'outside') continue;
    const foot: Vector = [feet.points[3 * k], feet.points[3 * k + 1], feet.points[3 * k + 2]];
    const from = difference(foot, origin);
    // over the plane both heights are as much longer than along the normal as that slants
    taken.push([
      dot(from, along),
      dot(from, across),
      dot(from, outward),
      (sign * feet.distances[k]) / upright,
    ]);
  }
  const middle = median(taken.map(([, , , gap]) => gap));
  const spread = median(taken.map(([, , , gap]) => Math.abs(gap - middle)));
  const bound = strayGap + strayDeviations * spread;
  const near = taken.filter(([, , , gap]) => Math.abs(gap - middle) <= bound);
  const column = (which: 0 | 1 | 2 | 3): Float64Array =>
    Float64Array.from(near, (point) => point[which]);
  return { x: column(0), y: column(1), height: column(2), gap: column(3) };
}

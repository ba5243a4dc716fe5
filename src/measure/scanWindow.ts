import { leavesWithin } from '../geometry/leavesWithin.ts';
import type { ScanBody } from '../geometry/scanBody.ts';
import { inDomain } from '../geometry/sheet.ts';
import { surfaceFeet, type SurfaceFeet } from '../geometry/surfaceFeet.ts';
import { difference, dot, vectorAt, type Vector } from '../geometry/vector.ts';
import type { SheetedSurface, SuspectFrame } from './suspectFrame.ts';
import { windowLengths, type WindowPoints } from './templateFit.ts';
import { wideWindow } from './wobbleShare.ts';

/** The chord to a place so far along a bent surface is no longer than the way; but the wobble's foot lies in the plane. */
const ballMargin = 1.25;
/** Vertices that are looked at: some more than the fit uses, since the window is not all of the ball. */
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
  const stride = triangles <= 2 * mostVertices ? 1 : Math.ceil(triangles / mostVertices);
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

const median = (values: Float64Array): number =>
  values.length > 0 ? values.slice().sort()[values.length >> 1] : 0;

/**
 * Which way the scan's triangles face each foot: the cosine to the surface's outward normal, or its opposite
 * where the scan's own front is the surface's back: the side that more and nearer triangles show is taken.
 */
function facings(feet: SurfaceFeet, normals: Float64Array, spacing: number): Float64Array {
  const found = new Float64Array(feet.isFoot.length);
  let votes = 0;
  for (let k = 0; k < found.length; k++) {
    if (feet.isFoot[k] === 0) continue;
    let [facing, square] = [0, 0];
    for (let at = 3 * k; at < 3 * k + 3; at++) {
      facing += feet.normals[at] * normals[at];
      square += normals[at] * normals[at];
    }
    if (square > 0) found[k] = facing / Math.sqrt(square);
    votes += Math.sign(found[k]) / (1 + (feet.distances[k] / spacing) ** 2);
  }
  return votes < 0 ? found.map((facing) => -facing) : found;
}

/**
 * The scan's points in the window about a suspect, in its frame: what of it lies before or behind the kept part
 * of the surface and faces as most of it does. Other sheets of a scan and strays are left out.
 */
export function scanWindow(
  { kept, outward: sign, sheet }: SheetedSurface,
  scan: ScanBody,
  { suspect, at, origin, along, across, outward }: SuspectFrame,
): WindowPoints {
  const radius = ballMargin * wideWindow.reach * Math.max(...windowLengths(suspect.lengths));
  const { places, normals } = scanVertices(scan, origin, radius);
  const feet = surfaceFeet(sheet, places, { at, radius });
  const facing = facings(feet, normals, scan.spacing);
  const room = facing.length;
  const all = {
    x: new Float64Array(room),
    y: new Float64Array(room),
    height: new Float64Array(room),
    gap: new Float64Array(room),
  };
  let count = 0;
  for (let k = 0; k < room; k++) {
    if (feet.isFoot[k] === 0 || facing[k] < leastFacing) continue;
    const upright = sign * dot(vectorAt(feet.normals, k), outward);
    if (upright < leastUpright) continue;
    if (kept) {
      const [u, v] = [inDomain(sheet, 0, feet.at[2 * k]), inDomain(sheet, 1, feet.at[2 * k + 1])];
      if (kept(u, v) === 'outside') continue;
    }
    const from = difference(vectorAt(feet.points, k), origin);
    all.x[count] = dot(from, along);
    all.y[count] = dot(from, across);
    all.height[count] = dot(from, outward);
    // over the plane both heights are as much longer than along the normal as that slants
    all.gap[count] = (sign * feet.distances[k]) / upright;
    count += 1;
  }
  const gaps = all.gap.subarray(0, count);
  const middle = median(gaps);
  const spread = median(gaps.map((gap) => Math.abs(gap - middle)));
  const bound = strayGap + strayDeviations * spread;
  const near = (values: Float64Array): Float64Array =>
    values.subarray(0, count).filter((_, k) => Math.abs(gaps[k] - middle) <= bound);
  return { x: near(all.x), y: near(all.y), height: near(all.height), gap: near(all.gap) };
}

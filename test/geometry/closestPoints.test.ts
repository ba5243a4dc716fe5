// The closest point of a mesh against brute force by another way: the least of a quadratic over the
// triangle's corners, edges and inside, each by its own formula (any textbook of linear algebra).
import fc from 'fast-check';
import { BufferAttribute, BufferGeometry, Vector3 } from 'three';
import { MeshBVH } from 'three-mesh-bvh';
import { describe, expect, test } from 'vitest';
import { clay } from '../../fixtures/clay.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { closestPoints, features } from '../../src/geometry/closestPoints.ts';
import type { Mesh } from '../../src/geometry/mesh.ts';
import { triangleTree } from '../../src/geometry/triangleTree.ts';
import {
  cross,
  difference,
  distance,
  dot,
  scaled,
  sum,
  type Vector,
} from '../../src/geometry/vector.ts';
import { readScan } from '../../src/intake/readScan.ts';
import { bufferSource } from '../../src/intake/byteSource.ts';
import { corpusBytes, corpusFolder } from '../corpus.ts';

const vertex = ({ vertices }: Mesh, k: number): Vector => [
  vertices[3 * k],
  vertices[3 * k + 1],
  vertices[3 * k + 2],
];

/** Distance to a segment: the foot held between its ends. */
function toSegment(p: Vector, a: Vector, b: Vector): number {
  const along = difference(b, a);
  const size = dot(along, along);
  const share = size > 0 ? Math.min(1, Math.max(0, dot(difference(p, a), along) / size)) : 0;
  return distance(p, sum(a, scaled(along, share)));
}

/** Distance to a triangle: to its plane where the foot lies inside, by signs of volumes, else to its edges. */
function toTriangle(p: Vector, a: Vector, b: Vector, c: Vector): number {
  const edges = Math.min(toSegment(p, a, b), toSegment(p, b, c), toSegment(p, c, a));
  const normal = cross(difference(b, a), difference(c, a));
  const size = Math.hypot(...normal);
  if (!(size > 0)) return edges;
  const inside = (
    [
      [a, b],
      [b, c],
      [c, a],
    ] as const
  ).every(([q, r]) => dot(cross(difference(r, q), difference(p, q)), normal) >= 0);
  return inside ? Math.min(edges, Math.abs(dot(difference(p, a), normal)) / size) : edges;
}

const bruteForce = (mesh: Mesh, p: Vector): number[] =>
  Array.from({ length: mesh.triangles.length / 3 }, (_, k) => {
    const [a, b, c] = [0, 1, 2].map((corner) => vertex(mesh, mesh.triangles[3 * k + corner]));
    return toTriangle(p, a, b, c);
  });

/** Places about a mesh: near its surface, inside and far away, on its corners and on its edges. */
function placesAbout(mesh: Mesh, count: number, seed: number): Float64Array {
  const random = seededRandom(seed);
  const size = Math.max(...mesh.vertices.map(Math.abs));
  const places = new Float64Array(3 * count);
  for (let k = 0; k < count; k++) {
    const corner = (): Vector => vertex(mesh, random.index(mesh.vertices.length / 3));
    const [a, b] = [corner(), corner()];
    const kinds: readonly Vector[] = [
      a,
      scaled(sum(a, b), 0.5),
      sum(a, [
        random.normal() * 0.01 * size,
        random.normal() * 0.01 * size,
        random.normal() * 0.01 * size,
      ]),
      [random.normal() * size, random.normal() * size, random.normal() * size],
      [random.normal() * 40 * size, random.normal() * 40 * size, random.normal() * 40 * size],
    ];
    places.set(kinds[k % kinds.length], 3 * k);
  }
  return places;
}

/** The greatest coordinate of some. */
const greatest = (...some: readonly Float64Array[]): number =>
  some.reduce((most, values) => values.reduce((a, b) => Math.max(a, Math.abs(b)), most), 0);

function expectExact(mesh: Mesh, places: Float64Array): void {
  const tree = triangleTree(mesh);
  const found = closestPoints(tree, places);
  const size = greatest(mesh.vertices, places);
  for (let k = 0; k < places.length / 3; k++) {
    const p: Vector = [places[3 * k], places[3 * k + 1], places[3 * k + 2]];
    const all = bruteForce(tree.mesh, p);
    const least = Math.min(...all);
    expect(Math.abs(found.distances[k] - least)).toBeLessThanOrEqual(1e-12 * size);
    expect(Math.abs(all[found.triangles[k]] - least)).toBeLessThanOrEqual(1e-12 * size);
    const own: Vector = [found.points[3 * k], found.points[3 * k + 1], found.points[3 * k + 2]];
    expect(Math.abs(distance(own, p) - found.distances[k])).toBeLessThanOrEqual(1e-12 * size);
    expect(features[found.features[k]]).toBeDefined();
  }
}

test('is that of brute force on a wavy body: near, far, inside, on corners and edges', () => {
  const mesh = clay(12);
  expectExact(mesh, placesAbout(mesh, 600, 1));
});

/** The mesh, and besides copies of some of its triangles, and triangles that are a needle, a line or a point. */
function withOddTriangles({ vertices, triangles }: Mesh): Mesh {
  const places = Array.from(vertices);
  const corners = Array.from(triangles);
  const add = (place: Vector): number => places.push(...place) / 3 - 1;
  for (let at = 0; at < triangles.length; at += 3 * Math.ceil(triangles.length / 300)) {
    const [a, b, c] = triangles.subarray(at, at + 3);
    const [p, q] = [a, b].map((k): Vector => [
      vertices[3 * k],
      vertices[3 * k + 1],
      vertices[3 * k + 2],
    ]);
    const middle = add(scaled(sum(p, q), 0.5));
    const beside = add(sum(p, scaled(difference(q, p), 1e-9)));
    corners.push(a, b, c, c, b, a, a, b, beside, a, middle, b, a, a, a, b, middle, c);
  }
  return { vertices: Float64Array.from(places), triangles: Uint32Array.from(corners) };
}

/**
 * Distances to all triangles of a mesh as `toTriangle` has them, in flat arrays: a hundred million in
 * seconds.
 */
function leastDistances({ vertices, triangles }: Mesh, places: Float64Array): Float64Array {
  const least = new Float64Array(places.length / 3).fill(Infinity);
  const square = (x: number, y: number, z: number): number => x * x + y * y + z * z;
  for (let at = 0; at < triangles.length; at += 3) {
    const [a, b, c] = [3 * triangles[at], 3 * triangles[at + 1], 3 * triangles[at + 2]];
    const starts = [a, b, c];
    const ends = [b, c, a];
    const corner = new Float64Array(9);
    const along = new Float64Array(9);
    const sizes = new Float64Array(3);
    for (let edge = 0; edge < 3; edge++) {
      for (let axis = 0; axis < 3; axis++) {
        corner[3 * edge + axis] = vertices[starts[edge] + axis];
        along[3 * edge + axis] = vertices[ends[edge] + axis] - vertices[starts[edge] + axis];
      }
      sizes[edge] = square(along[3 * edge], along[3 * edge + 1], along[3 * edge + 2]);
    }
    const nx = along[1] * along[5] - along[2] * along[4];
    const ny = along[2] * along[3] - along[0] * along[5];
    const nz = along[0] * along[4] - along[1] * along[3];
    const normal = Math.sqrt(square(nx, ny, nz));
    for (let k = 0; k < least.length; k++) {
      let best = least[k] * least[k];
      let inside = normal > 0;
      let height = 0;
      for (let edge = 0; edge < 9; edge += 3) {
        const x = places[3 * k] - corner[edge];
        const y = places[3 * k + 1] - corner[edge + 1];
        const z = places[3 * k + 2] - corner[edge + 2];
        const [ex, ey, ez] = [along[edge], along[edge + 1], along[edge + 2]];
        const size = sizes[edge / 3];
        const wanted = size > 0 ? (x * ex + y * ey + z * ez) / size : 0;
        const share = wanted > 0 ? (wanted < 1 ? wanted : 1) : 0;
        const own = square(x - share * ex, y - share * ey, z - share * ez);
        if (own < best) best = own;
        const side = (ey * z - ez * y) * nx + (ez * x - ex * z) * ny + (ex * y - ey * x) * nz;
        if (side < 0) inside = false;
        height = Math.abs(x * nx + y * ny + z * nz) / normal;
      }
      const distance = Math.sqrt(best);
      least[k] = inside && height < distance ? height : distance;
    }
  }
  return least;
}

describe.skipIf(!corpusFolder)(
  'is that of brute force in 20,000 places about corpus meshes',
  () => {
    test.each([
      'meshes/teapot-y-up.obj',
      'meshes/sphere-binary.stl',
      'meshes/teapot.stl',
      'meshes/sphereWithHole.stl',
      'meshes/soup.stl',
    ])(
      '%s, with copies of triangles and such without area',
      (name) => {
        const source = bufferSource(corpusBytes(name));
        const { mesh } = readScan(name, source, { millimetres: 1, most: Infinity });
        const odd = withOddTriangles(mesh!);
        const places = placesAbout(odd, 20_000, 9);
        const tree = triangleTree(odd);
        const { distances, points, triangles } = closestPoints(tree, places);
        const least = leastDistances(odd, places);
        const size = greatest(odd.vertices);
        for (let k = 0; k < least.length; k++) {
          const within = 1e-12 * Math.max(size, least[k]);
          const off = Math.abs(distances[k] - least[k]);
          if (!(off <= within)) expect.fail(`place ${k}: ${distances[k]} for ${least[k]}`);
          // the point is as far as is told, and lies on the triangle that is told
          const p: Vector = [places[3 * k], places[3 * k + 1], places[3 * k + 2]];
          const foot: Vector = [points[3 * k], points[3 * k + 1], points[3 * k + 2]];
          const [a, b, c] = [0, 1, 2].map((corner) =>
            vertex(tree.mesh, tree.mesh.triangles[3 * triangles[k] + corner]),
          );
          if (!(Math.abs(distance(p, foot) - least[k]) <= within))
            expect.fail(`foot of place ${k}`);
          if (!(toTriangle(foot, a, b, c) <= within)) expect.fail(`triangle of place ${k}`);
        }
      },
      120_000,
    );
  },
);

test('is that of three-mesh-bvh in 20,000 places about a wavy body', () => {
  const mesh = clay(60);
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(mesh.vertices as never, 3));
  geometry.setIndex(new BufferAttribute(mesh.triangles.slice(), 1));
  const other = new MeshBVH(geometry);
  const places = placesAbout(mesh, 20_000, 3);
  const { distances } = closestPoints(triangleTree(mesh), places);
  const size = greatest(places);
  const place = new Vector3();
  for (let k = 0; k < distances.length; k++) {
    place.set(places[3 * k], places[3 * k + 1], places[3 * k + 2]);
    const { distance } = other.closestPointToPoint(place)!;
    if (!(Math.abs(distances[k] - distance) <= 1e-12 * size))
      expect.fail(`place ${k}: ${distances[k]} for ${distance}`);
  }
});

test('on any soup of triangles, crossing, alike and far apart in size', () => {
  // products of coordinates below a billionth of a millimetre would vanish, and no scan holds them
  const seen = (x: number): number => Math.round(x * 1e9) / 1e9;
  const coordinate = fc.oneof(
    fc.double({ min: -1, max: 1, noNaN: true }).map(seen),
    fc.integer({ min: -3, max: 3 }),
    fc.double({ min: -1e6, max: 1e6, noNaN: true }).map(seen),
  );
  fc.assert(
    fc.property(
      fc.array(fc.array(coordinate, { minLength: 9, maxLength: 9 }), {
        minLength: 1,
        maxLength: 40,
      }),
      fc.array(fc.tuple(coordinate, coordinate, coordinate), { minLength: 1, maxLength: 12 }),
      (soup, some) => {
        const mesh: Mesh = {
          vertices: Float64Array.from(soup.flat()),
          triangles: Uint32Array.from({ length: 3 * soup.length }, (_, k) => k),
        };
        const places = Float64Array.from(some.flat());
        const found = closestPoints(triangleTree(mesh), places);
        const size = Math.max(1, ...mesh.vertices.map(Math.abs), ...places.map(Math.abs));
        for (let k = 0; k < some.length; k++) {
          const least = Math.min(...bruteForce(mesh, some[k]));
          expect(Math.abs(found.distances[k] - least)).toBeLessThanOrEqual(1e-9 * size);
        }
      },
    ),
    { numRuns: 300 },
  );
});

test('the answers hang on no order of the places, and of several triangles as near the first is told', () => {
  const mesh = clay(10);
  const tree = triangleTree(mesh);
  const places = placesAbout(mesh, 300, 5);
  const found = closestPoints(tree, places);
  const count = places.length / 3;
  const turned = new Float64Array(places.length);
  for (let k = 0; k < count; k++)
    turned.set(places.subarray(3 * k, 3 * k + 3), 3 * (count - 1 - k));
  const other = closestPoints(tree, turned);
  for (let k = 0; k < count; k++) {
    expect(other.triangles[count - 1 - k]).toBe(found.triangles[k]);
    expect(other.distances[count - 1 - k]).toBe(found.distances[k]);
  }
  // a corner of many triangles
  const corner = closestPoints(tree, mesh.vertices.slice(0, 3));
  const own = Array.from(tree.mesh.triangles).indexOf(0);
  expect(corner.triangles[0]).toBe(Math.floor(own / 3));
  expect(corner.distances[0]).toBe(0);
  expect(features[corner.features[0]]).toMatch(/^corner/);
});

test('beyond the reach nothing is told, and no number stands for it', () => {
  const mesh = clay(6);
  const tree = triangleTree(mesh);
  const { distances } = closestPoints(tree, Float64Array.of(1000, 0, 0));
  const far = closestPoints(tree, Float64Array.of(1000, 0, 0), 0.99 * distances[0]);
  expect([far.distances[0], far.triangles[0]]).toEqual([Infinity, -1]);
  expect(closestPoints(tree, Float64Array.of(1000, 0, 0), 1.01 * distances[0]).distances[0]).toBe(
    distances[0],
  );
});

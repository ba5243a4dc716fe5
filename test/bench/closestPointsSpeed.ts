import { BufferAttribute, BufferGeometry, Vector3 } from 'three';
import { MeshBVH, type HitPointInfo } from 'three-mesh-bvh';
import { wavyField } from '../../fixtures/wavyField.ts';
import { closestPoints } from '../../src/geometry/closestPoints.ts';
import type { Mesh } from '../../src/geometry/mesh.ts';
import { triangleTree } from '../../src/geometry/triangleTree.ts';
import { durations } from './durations.ts';
import { fieldPlaces } from './fieldPlaces.ts';
import { figureOf, type Figure, type Timed } from './figure.ts';

/** The same mesh for three-mesh-bvh, which puts its triangles in an order of its own. */
function threeTree({ vertices, triangles }: Mesh): MeshBVH {
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(vertices as never, 3));
  geometry.setIndex(new BufferAttribute(triangles.slice(), 1));
  return new MeshBVH(geometry);
}

/** Distances to places, one asked for after the other. */
function threeDistances(tree: MeshBVH, places: Float64Array): Float64Array {
  const place = new Vector3();
  const hit = {} as HitPointInfo;
  const distances = new Float64Array(places.length / 3);
  for (let k = 0; k < distances.length; k++) {
    place.set(places[3 * k], places[3 * k + 1], places[3 * k + 2]);
    distances[k] = tree.closestPointToPoint(place, hit)!.distance;
  }
  return distances;
}

/** mm; where both have the same triangles, distances differ by rounding alone. */
const sameWithin = 1e-9;

function compareDistances(own: Float64Array, other: Float64Array): void {
  const odd = own.findIndex((distance, k) => !(Math.abs(distance - other[k]) <= sameWithin));
  if (odd >= 0) throw new Error(`place ${odd}: ${own[odd]} mm, ${other[odd]} by three-mesh-bvh`);
}

const aims = { build: 'at least 1', grid: 'at least 5', random: 'at least 3' } as const;

/** The closest points of a generated scan, against three-mesh-bvh: made ready, and asked for. */
export function closestPointsFigures(count: number, queries: number, rounds: number): Figure[] {
  const mesh = wavyField(count);
  const triangles = mesh.triangles.length / 3;
  const across = Math.sqrt(triangles / 2);
  const grid = fieldPlaces(across, queries, 'grid');
  const random = fieldPlaces(across, queries, 'random');
  let ours = triangleTree(mesh);
  let three = threeTree(mesh);
  for (const places of [grid, random])
    compareDistances(closestPoints(ours, places).distances, threeDistances(three, places));
  const taken = durations(
    {
      ourBuild: { run: () => (ours = triangleTree(mesh)) },
      threeBuild: { run: () => (three = threeTree(mesh)) },
      ourGrid: { run: () => closestPoints(ours, grid) },
      threeGrid: { run: () => threeDistances(three, grid) },
      ourRandom: { run: () => closestPoints(ours, random) },
      threeRandom: { run: () => threeDistances(three, random) },
    },
    rounds,
  );
  const title = `closest points: ${triangles} triangles`;
  const figure = (
    what: string,
    own: readonly number[],
    other: readonly number[],
    amount: NonNullable<Timed['amount']>,
    aim: string,
  ): Figure =>
    figureOf(
      `${title}, ${what}, against three-mesh-bvh`,
      'as fast',
      { name: 'ours', taken: own, amount },
      { name: 'three-mesh-bvh', taken: other, amount },
      aim,
    );
  const asked = { value: queries, unit: 'places' };
  return [
    figure(
      'made ready',
      taken.ourBuild,
      taken.threeBuild,
      { value: triangles, unit: 'triangles' },
      aims.build,
    ),
    figure('a grid of places', taken.ourGrid, taken.threeGrid, asked, aims.grid),
    figure('places anywhere', taken.ourRandom, taken.threeRandom, asked, aims.random),
  ];
}

// Feet on clouds of points that lie on bodies of which all is known.
import { describe, expect, test } from 'vitest';
import { seededRandom, type SeededRandom } from '../../fixtures/seededRandom.ts';
import { scanBody } from '../../src/geometry/scanBody.ts';
import { scanFeet, scanStandings } from '../../src/geometry/scanFeet.ts';
import {
  dot,
  length,
  scaled,
  sum,
  unit,
  vectorAt,
  type Vector,
} from '../../src/geometry/vector.ts';

const { over, beside, far } = scanStandings;

const cloud = (points: readonly Vector[]) =>
  scanBody({ vertices: Float64Array.from(points.flat()), triangles: new Uint32Array(0) });

const feetOf = (points: readonly Vector[], places: readonly Vector[], toward?: readonly Vector[]) =>
  scanFeet(
    cloud(points),
    Float64Array.from(places.flat()),
    50,
    toward ? Float64Array.from(toward.flat()) : null,
  );

/** A square in z = 0 with sides of `size` about the origin, points 1 mm apart; those that `isKept`. */
function squarePoints(
  size: number,
  isKept: (x: number, y: number) => boolean = () => true,
): Vector[] {
  const points: Vector[] = [];
  for (let x = -size / 2; x <= size / 2; x++)
    for (let y = -size / 2; y <= size / 2; y++) if (isKept(x, y)) points.push([x, y, 0]);
  return points;
}

/** Points evenly spread over a sphere: along a spiral, by the golden angle (Vogel 1979). */
const spherePoints = (radius: number, count: number): Vector[] =>
  Array.from({ length: count }, (_, k) => {
    const z = 1 - (2 * k + 1) / count;
    const turn = k * Math.PI * (3 - Math.sqrt(5));
    const across = Math.sqrt(1 - z * z);
    return [radius * across * Math.cos(turn), radius * across * Math.sin(turn), radius * z];
  });

const withNoise = (points: readonly Vector[], random: SeededRandom, size: number): Vector[] =>
  points.map((point) =>
    sum(point, [size * random.normal(), size * random.normal(), size * random.normal()]),
  );

const inside = (random: SeededRandom, half: number): number => random.between(-half, half);

const rootMeanSquare = (values: readonly number[]): number =>
  Math.sqrt(values.reduce((all, x) => all + x * x, 0) / values.length);

describe('of a plane', () => {
  const points = squarePoints(40);

  test('the distance is exact, and its side that of the normals given', () => {
    const random = seededRandom(1);
    const places = Array.from({ length: 500 }, (): Vector => [
      inside(random, 20),
      inside(random, 20),
      inside(random, 8),
    ]);
    const up = places.map((): Vector => [0.1, 0, 1]);
    const { distances, normals, standings, points: feet } = feetOf(points, places, up);
    const back = feetOf(
      points,
      places,
      up.map((normal) => scaled(normal, -1)),
    );
    const unturned = feetOf(points, places);
    places.forEach((place, k) => {
      expect(distances[k]).toBeCloseTo(place[2], 10);
      expect(back.distances[k]).toBeCloseTo(-place[2], 10);
      expect(unturned.distances[k]).toBeCloseTo(Math.abs(place[2]), 10);
      expect(normals[3 * k + 2]).toBeCloseTo(1, 12);
      expect(Math.hypot(feet[3 * k] - place[0], feet[3 * k + 1] - place[1])).toBeLessThan(1e-9);
      expect(standings[k]).toBe(over);
    });
  });

  test('the spacing is that of the points', () => {
    expect(cloud(points).spacing).toBeCloseTo(1, 1);
    // strewn at random the same number of points
    const random = seededRandom(2);
    const strewn = Array.from({ length: 1600 }, (): Vector => [
      inside(random, 20),
      inside(random, 20),
      0,
    ]);
    expect(cloud(strewn).spacing).toBeGreaterThan(0.9);
    expect(cloud(strewn).spacing).toBeLessThan(1.15);
  });

  test('noise is evened out to some three tenths', () => {
    const random = seededRandom(3);
    const noisy = withNoise(points, random, 0.1);
    const places = Array.from({ length: 2000 }, (): Vector => [
      inside(random, 17),
      inside(random, 17),
      inside(random, 5),
    ]);
    const { distances, standings } = feetOf(
      noisy,
      places,
      places.map((): Vector => [0, 0, 1]),
    );
    const off = rootMeanSquare(places.map(([, , z], k) => distances[k] - z));
    expect(off).toBeGreaterThan(0.015);
    expect(off).toBeLessThan(0.045);
    expect(standings.every((standing) => standing === over)).toBe(true);
  });

  test('places over a gap or off the border are beside it, others are not', () => {
    const holed = squarePoints(40, (x, y) => Math.hypot(x, y) > 5.5);
    const places: Vector[] = [
      [0, 0, 2],
      [2, 2, 2],
      [0, 3.5, -3],
      [21.5, 0, 1],
      [21.5, 21.5, 0],
      [-30, 4, 0],
    ];
    expect(Array.from(feetOf(holed, places).standings)).toEqual(places.map(() => beside));
    const sound: Vector[] = [
      [0, 8, 2],
      [10, 10, -3],
      [20, 0, 3],
      [20.3, 5.2, 1],
      [20, 20, 1],
    ];
    expect(Array.from(feetOf(holed, sound).standings)).toEqual(sound.map(() => over));
  });

  test('points strewn at random give few gaps', () => {
    const random = seededRandom(4);
    const strewn = Array.from({ length: 3600 }, (): Vector => [
      inside(random, 30),
      inside(random, 30),
      0,
    ]);
    const places = Array.from({ length: 2000 }, (): Vector => [
      inside(random, 27),
      inside(random, 27),
      2,
    ]);
    const { standings } = feetOf(strewn, places);
    expect(standings.filter((standing) => standing !== over).length).toBeLessThan(20);
  });

  test('points that are there several times count once', () => {
    const random = seededRandom(5);
    const places = Array.from({ length: 200 }, (): Vector => [
      inside(random, 19),
      inside(random, 19),
      3,
    ]);
    const once = withNoise(points, seededRandom(6), 0.1);
    const often = feetOf([...once, ...once, ...once.slice(0, 700)], places);
    const single = feetOf(once, places);
    expect(often.distances).toEqual(single.distances);
    expect(often.standings).toEqual(single.standings);
    // a heap of points in one place is one point
    const heap = [...points, ...Array.from({ length: 300 }, (): Vector => [0.5, 0.5, 0])];
    expect(feetOf(heap, [[0.5, 0.5, 2]]).distances[0]).toBeCloseTo(2, 10);
  });
});

describe('of a curved surface', () => {
  test.each([0, 0.05])(
    'a sphere, noise %f mm: the plane lies a little to the hollow side',
    (noise) => {
      const [radius, count] = [80, 20_000];
      const random = seededRandom(7);
      const points = withNoise(spherePoints(radius, count), random, noise);
      const spacing = Math.sqrt((4 * Math.PI * radius ** 2) / count);
      const ways = Array.from({ length: 1500 }, () =>
        unit([random.normal(), random.normal(), random.normal()])!,
      );
      const offsets = ways.map(() => inside(random, 8));
      const { distances, standings, normals } = feetOf(
        points,
        ways.map((way, k) => scaled(way, radius + offsets[k])),
        ways,
      );
      const errors = offsets.map((offset, k) => distances[k] - offset);
      const bias = spacing ** 2 / radius;
      errors.forEach((error, k) => {
        expect(Math.abs(error)).toBeLessThan(bias + 6 * 0.3 * noise);
        expect(standings[k]).toBe(over);
        expect(dot(vectorAt(normals, k), ways[k])).toBeGreaterThan(0.99);
      });
      // the plane is a chord's: seen from outside it lies deeper
      const mean = errors.reduce((a, b) => a + b, 0) / errors.length;
      expect(mean).toBeGreaterThan(0.2 * bias);
    },
  );

  test('a cylinder', () => {
    const radius = 50;
    const points: Vector[] = [];
    for (let k = 0; k < 314; k++)
      for (let z = 0; z <= 60; z++)
        points.push([radius * Math.cos(k / 50), radius * Math.sin(k / 50), z]);
    const random = seededRandom(8);
    const turns = Array.from({ length: 800 }, () => random.between(0, 6.28));
    const offsets = turns.map(() => inside(random, 5));
    const places = turns.map((turn, k): Vector => [
      (radius + offsets[k]) * Math.cos(turn),
      (radius + offsets[k]) * Math.sin(turn),
      random.between(0, 60),
    ]);
    const ways = turns.map((turn): Vector => [Math.cos(turn), Math.sin(turn), 0]);
    const { distances, standings } = feetOf(points, places, ways);
    offsets.forEach((offset, k) => {
      expect(Math.abs(distances[k] - offset)).toBeLessThan(1 / radius);
      expect(standings[k]).toBe(over);
    });
  });
});

describe('where there is no plane', () => {
  test('in a wall of some spacings the two sides are not told apart', () => {
    const wall = [0, 1.2].flatMap((z) => squarePoints(30).map(([x, y]): Vector => [x, y, z]));
    const { standings } = feetOf(wall, [
      [0.3, 0.2, 0.6],
      [4.4, 5.1, 0.7],
    ]);
    expect(Array.from(standings)).toEqual([beside, beside]);
    // of a thicker one, from either side, they are
    const thick = [0, 3].flatMap((z) => squarePoints(30).map(([x, y]): Vector => [x, y, z]));
    const seen = feetOf(thick, [
      [0.3, 0.2, 5],
      [4.4, 5.1, -1],
    ]);
    expect(Array.from(seen.standings)).toEqual([over, over]);
    expect(seen.distances[0]).toBeCloseTo(2, 9);
    expect(seen.distances[1]).toBeCloseTo(1, 9);
  });

  test.each([
    [30, over],
    [80, beside],
  ])('over an edge that turns by %i degrees', (degrees, standing) => {
    const turn = (degrees * Math.PI) / 180;
    const points = squarePoints(30).map(([x, y]): Vector =>
      x <= 0 ? [x, y, 0] : [x * Math.cos(turn), y, -x * Math.sin(turn)],
    );
    const place = scaled([Math.sin(turn / 2), 0.1, Math.cos(turn / 2)], 2);
    expect(feetOf(points, [place]).standings[0]).toBe(standing);
  });

  test('a point, points in one place, on a line, too far, and places that are none are far', () => {
    const lone: readonly Vector[][] = [
      [[0, 0, 0]],
      [
        [0, 0, 0],
        [0, 0, 0],
        [0, 0, 0],
      ],
      Array.from({ length: 30 }, (_, k): Vector => [k, 2 * k, -k]),
    ];
    for (const points of lone) {
      const { standings, distances } = feetOf(points, [[1, 1, 1]]);
      expect([standings[0], distances[0]]).toEqual([far, NaN]);
    }
    const { standings } = feetOf(squarePoints(10), [
      [0, 0, 51],
      [NaN, 0, 0],
      [Infinity, 0, 0],
      [0, 0, 49],
    ]);
    expect(Array.from(standings)).toEqual([far, far, far, over]);
  });

  test('numbers are told for any points', () => {
    const random = seededRandom(9);
    const points = Array.from({ length: 400 }, () => scaled(unitCube(random), 20));
    const { standings, distances, normals } = feetOf(
      points,
      Array.from({ length: 400 }, () => scaled(unitCube(random), 30)),
    );
    standings.forEach((standing, k) => {
      expect(Number.isFinite(distances[k])).toBe(standing !== far);
      if (standing !== far) expect(length(vectorAt(normals, k))).toBeCloseTo(1, 12);
    });
  });
});

const unitCube = (random: SeededRandom): Vector => [
  random.uniform(),
  random.uniform(),
  random.uniform(),
];

// Feet on a scan against what is known of simple bodies, and their side against the winding number.
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { clay } from '../../fixtures/clay.ts';
import { gridMesh, unwelded } from '../../fixtures/gridMesh.ts';
import { seededRandom, type SeededRandom } from '../../fixtures/seededRandom.ts';
import type { Mesh } from '../../src/geometry/mesh.ts';
import { scanBody } from '../../src/geometry/scanBody.ts';
import { scanFeet, scanStandings } from '../../src/geometry/scanFeet.ts';
import {
  cross,
  difference,
  dot,
  length,
  scaled,
  sum,
  unit,
  vectorAt,
  type Vector,
} from '../../src/geometry/vector.ts';

const turn = 2 * Math.PI;
const { over, beside, far } = scanStandings;

/** Front outward. */
const sphere = (radius: number, rings: number): Mesh =>
  gridMesh(
    (u, v) => [
      radius * Math.sin(Math.PI * u) * Math.cos(turn * v),
      radius * Math.sin(Math.PI * u) * Math.sin(turn * v),
      radius * Math.cos(Math.PI * u),
    ],
    rings,
    2 * rings,
  );

/** Of a torus about z; front outward. */
const torus = (large: number, small: number, across: number, along: number): Mesh =>
  gridMesh(
    (u, v) => [
      (large + small * Math.cos(turn * v)) * Math.cos(turn * u),
      (large + small * Math.cos(turn * v)) * Math.sin(turn * u),
      small * Math.sin(turn * v),
    ],
    across,
    along,
  );

/** An open cylinder about z from 0 to `height`; front outward. */
const cylinder = (radius: number, height: number, across: number, along: number): Mesh =>
  gridMesh(
    (u, v) => [radius * Math.cos(turn * u), radius * Math.sin(turn * u), height * v],
    across,
    along,
  );

/** A flat square from 0 to `size` in x and y; front up. */
const square = (size: number, pieces: number): Mesh =>
  gridMesh((u, v) => [size * u, size * v, 0], pieces, pieces);

const mesh = (vertices: readonly Vector[], triangles: readonly Vector[]): Mesh => ({
  vertices: Float64Array.from(vertices.flat()),
  triangles: Uint32Array.from(triangles.flat()),
});

const boxHalf: Vector = [30, 20, 10];
/** A box around the origin, two triangles a side; front outward. */
const box = mesh(
  Array.from({ length: 8 }, (_, k) => [
    k & 1 ? boxHalf[0] : -boxHalf[0],
    k & 2 ? boxHalf[1] : -boxHalf[1],
    k & 4 ? boxHalf[2] : -boxHalf[2],
  ]),
  [
    [0, 2, 3],
    [0, 3, 1],
    [4, 5, 7],
    [4, 7, 6],
    [0, 1, 5],
    [0, 5, 4],
    [2, 6, 7],
    [2, 7, 3],
    [0, 4, 6],
    [0, 6, 2],
    [1, 3, 7],
    [1, 7, 5],
  ],
);

const feetOf = (of: Mesh, places: readonly Vector[], reach = Infinity) =>
  scanFeet(scanBody(of), Float64Array.from(places.flat()), reach);

const direction = (random: SeededRandom): Vector =>
  unit([random.normal(), random.normal(), random.normal()])!;

const randomPlaces = (count: number, seed: number, size: number): Vector[] => {
  const random = seededRandom(seed);
  const one = (): number => random.between(-size, size);
  return Array.from({ length: count }, () => [one(), one(), one()]);
};

/** Numbers of the triangles' corners as places. */
const corners = ({ vertices, triangles }: Mesh, k: number): readonly [Vector, Vector, Vector] => [
  vectorAt(vertices, triangles[3 * k]),
  vectorAt(vertices, triangles[3 * k + 1]),
  vectorAt(vertices, triangles[3 * k + 2]),
];

/**
 * How often a closed mesh winds around a place: the sum of the solid angles of its triangles (van
 * Oosterom and Strackee 1983, The solid angle of a plane triangle, IEEE TBME 30(2), equation 8) over
 * 4 pi.
 */
function windingNumber(of: Mesh, place: Vector): number {
  let angles = 0;
  for (let k = 0; k < of.triangles.length / 3; k++) {
    const [a, b, c] = corners(of, k).map((corner) => difference(corner, place));
    const [la, lb, lc] = [length(a), length(b), length(c)];
    angles +=
      2 *
      Math.atan2(
        dot(a, cross(b, c)),
        la * lb * lc + dot(a, b) * lc + dot(a, c) * lb + dot(b, c) * la,
      );
  }
  return angles / (4 * Math.PI);
}

describe('the distance is that of the body, to the chord error', () => {
  test('of a sphere', () => {
    const [radius, rings] = [100, 60];
    const random = seededRandom(1);
    const offsets = Array.from({ length: 3000 }, () => random.between(-20, 20));
    const places = offsets.map((offset) => scaled(direction(random), radius + offset));
    const found = feetOf(sphere(radius, rings), places);
    // Half the largest diagonal is the radius of the circle about a triangle with a right angle.
    const half = (radius * Math.PI) / rings / Math.SQRT2;
    const sagitta = radius - Math.sqrt(radius ** 2 - half ** 2);
    places.forEach((place, k) => {
      // the mesh lies within the sphere
      expect(found.distances[k]).toBeGreaterThanOrEqual(offsets[k] - 1e-9);
      expect(found.distances[k]).toBeLessThanOrEqual(offsets[k] + sagitta);
      expect(found.standings[k]).toBe(over);
      expect(dot(vectorAt(found.normals, k), unit(place)!)).toBeGreaterThan(0.99);
    });
  });

  test('of a torus, inside its tube and in its hole', () => {
    const [large, small, across, along] = [100, 30, 120, 60];
    const random = seededRandom(2);
    const offsets = Array.from({ length: 3000 }, () => random.between(-10, 20));
    const places = offsets.map((offset): Vector => {
      const [u, v] = [random.between(0, turn), random.between(0, turn)];
      const reach = large + (small + offset) * Math.cos(v);
      return [reach * Math.cos(u), reach * Math.sin(u), (small + offset) * Math.sin(v)];
    });
    const { distances, standings } = feetOf(torus(large, small, across, along), places);
    // Filip, Magedson and Markot 1986, Surface algorithms using bounds on derivatives, CAGD 3(4): how far
    // a surface is from its triangles, by its second derivatives over the parameters.
    const [du, dv] = [turn / across, turn / along];
    const chord = (du ** 2 * (large + small) + 2 * du * dv * small + dv ** 2 * small) / 8;
    offsets.forEach((offset, k) => {
      expect(Math.abs(distances[k] - offset)).toBeLessThanOrEqual(chord);
      expect(standings[k]).toBe(over);
    });
  });

  test('of a cylinder between its ends, and beside it beyond them', () => {
    const [radius, height, across] = [50, 200, 90];
    const random = seededRandom(3);
    const offsets = Array.from({ length: 2000 }, () => random.between(-20, 20));
    const heights = offsets.map(() => random.between(-30, height + 30));
    const places = offsets.map((offset, k): Vector => {
      const u = random.between(0, turn);
      return [(radius + offset) * Math.cos(u), (radius + offset) * Math.sin(u), heights[k]];
    });
    const found = feetOf(cylinder(radius, height, across, 40), places);
    const sagitta = radius * (1 - Math.cos(Math.PI / across));
    offsets.forEach((offset, k) => {
      const past = Math.max(0, -heights[k], heights[k] - height);
      const flat = Math.abs(found.distances[k]) ** 2 - past ** 2;
      expect(Math.abs(Math.sqrt(Math.max(0, flat)) - Math.abs(offset))).toBeLessThanOrEqual(
        sagitta + 1e-9,
      );
      if (Math.abs(offset) > sagitta) expect(Math.sign(found.distances[k])).toBe(Math.sign(offset));
      const expected = past > 0.1 * Math.abs(found.distances[k]) ? beside : over;
      expect(found.standings[k]).toBe(expected);
    });
  });

  test.each([
    ['with shared vertices', box],
    ['with vertices of their own', unwelded(box)],
  ])('of a box, inside, outside, on its sides and beyond its edges and corners: %s', (_, of) => {
    const places = [
      ...randomPlaces(3000, 4, 60),
      // exactly off edges and corners, and on the sides
      ...randomPlaces(200, 5, 3).flatMap(([x, y, z]): Vector[] => [
        [30 + Math.abs(x), 20 + Math.abs(y), z],
        [30 + Math.abs(x), 20 + Math.abs(y), 10 + Math.abs(z)],
        [30, y, z],
        [-30 - Math.abs(x), -20, -10],
        [30 + Math.abs(x), 20 + Math.abs(x), 10 + Math.abs(x)],
      ]),
    ];
    const { distances, standings } = feetOf(of, places);
    places.forEach((place, k) => {
      // the distance to a box: what sticks out, or the least that is left to a side (any textbook)
      const out = place.map((x, axis) => Math.abs(x) - boxHalf[axis]);
      const exact = Math.hypot(...out.map((x) => Math.max(0, x))) + Math.min(0, Math.max(...out));
      expect(Math.abs(distances[k] - exact)).toBeLessThan(1e-12);
      expect(standings[k]).toBe(over);
    });
  });

  test('the normals on edges and corners of a box lean alike to all sides', () => {
    const { normals } = feetOf(box, [
      [40, 30, 0],
      [-40, 0, 20],
      [40, 30, 20],
      [0, 0, 15],
    ]);
    const [edge, corner] = [Math.SQRT1_2, 1 / Math.sqrt(3)];
    [edge, edge, 0, -edge, 0, edge, corner, corner, corner, 0, 0, 1].forEach((x, k) =>
      expect(normals[k]).toBeCloseTo(x, 14),
    );
  });
});

/** A closed body with spikes and dents: creases of all angles. */
function spikes(seed: number): Mesh {
  const round = sphere(100, 9);
  const random = seededRandom(seed);
  const vertices = round.vertices.slice();
  for (let k = 0; k < vertices.length; k += 3) {
    const factor = random.between(0.25, 1.5);
    for (let axis = 0; axis < 3; axis++) vertices[k + axis] *= factor;
  }
  return { vertices, triangles: round.triangles };
}

describe('the side is that of the winding number', () => {
  test.each([
    ['a wavy body', clay(12), 300],
    ['a body with spikes', spikes(1), 160],
    ['another', spikes(2), 160],
    ['with vertices of their own', unwelded(spikes(3)), 160],
    ['a torus of few triangles', torus(100, 60, 5, 4), 200],
  ])('%s', (_, of, size) => {
    // not of places on the mesh itself, which have no side
    const places = randomPlaces(4000, 7, size);
    const { distances, normals, points } = feetOf(of, places);
    places.forEach((place, k) => {
      if (Math.abs(distances[k]) < 1e-9) return;
      const inside = windingNumber(of, place) > 0.5;
      expect(distances[k] < 0, `${place.join(' ')}: ${distances[k]}`).toBe(inside);
      expect(length(vectorAt(normals, k))).toBeCloseTo(1, 12);
      const away = difference(place, vectorAt(points, k));
      expect(length(away)).toBeCloseTo(Math.abs(distances[k]), 9);
    });
  });

  test('which the normal of a single nearest triangle does not have', () => {
    const of = spikes(1);
    const places = randomPlaces(4000, 7, 160);
    const { distances, points } = feetOf(of, places);
    const wrong = places.filter((place, at) => {
      const foot = vectorAt(points, at);
      const sides = Array.from({ length: of.triangles.length / 3 }, (_, k) => k)
        .map((k) => corners(of, k))
        .filter((some) => some.some((corner) => length(difference(corner, foot)) < 1e-9))
        .map(
          ([a, b, c]) =>
            dot(cross(difference(b, a), difference(c, a)), difference(place, foot)) < 0,
        );
      return sides.some((isBehind) => isBehind !== distances[at] < 0);
    });
    expect(wrong.length).toBeGreaterThan(100);
  });
});

describe('a place beside the border', () => {
  const plate = square(100, 20);
  const standings = (of: Mesh, places: readonly Vector[]): number[] =>
    Array.from(feetOf(of, places).standings);

  test('is one that lies off it sideways; over its edge or corner it is over', () => {
    expect(
      standings(plate, [
        [50, 50, 3],
        [0, 50, 3],
        [0, 52.5, -3],
        [0, 0, 5],
        [100, 100, 5],
        [100, 37, 0],
        [100, 100, 0],
        [0, 12, 1e-13],
      ]),
    ).toEqual(Array(8).fill(over));
    expect(
      standings(plate, [
        [-3, 50, 0],
        [-3, 52.5, 3],
        [-1, 50, 5],
        [-1, -1, 5],
        [101, 101, 0],
        [100.01, 37, 0],
        [103, 37, -0.01],
      ]),
    ).toEqual(Array(7).fill(beside));
    // less than a tenth of the distance
    expect(standings(plate, [[-0.4, 50, 5]])).toEqual([over]);
    expect(standings(plate, [[-0.4, 50, 3]])).toEqual([beside]);
    expect(
      standings(unwelded(plate), [
        [-3, 50, 3],
        [0, 50, 3],
        [50, 50, 3],
      ]),
    ).toEqual([beside, over, over]);
  });

  test('is one over a hole', () => {
    const kept: number[] = [];
    for (let k = 0; k < plate.triangles.length; k += 3) {
      const some = [...plate.triangles.subarray(k, k + 3)];
      const inHole = some.every((vertex) =>
        [0, 1].every((axis) => Math.abs(plate.vertices[3 * vertex + axis] - 50) <= 10),
      );
      if (!inHole) kept.push(...some);
    }
    const holed: Mesh = { vertices: plate.vertices, triangles: Uint32Array.from(kept) };
    expect(
      standings(holed, [
        [50, 50, 3],
        [42, 50, 3],
        [40, 50, 3],
        [38, 50, 3],
        [40, 40, 3],
        [41, 41, 2],
      ]),
    ).toEqual([beside, beside, over, over, over, beside]);
  });

  test('is one off the tip of a needle, in its plane, however narrow', () => {
    const needle = mesh(
      [
        [0, 0, 0],
        [-100, 2, 0],
        [-100, -2, 0],
      ],
      [[0, 1, 2]],
    );
    expect(
      standings(needle, [
        [5, 0, 0],
        [5, 0, 5],
        [0, 0, 5],
        [-50, 0, 3],
      ]),
    ).toEqual([beside, beside, over, over]);
  });

  test('is not one over a ridge that runs off the border', () => {
    const roof = mesh(
      [
        [0, 0, 10],
        [0, 30, 10],
        [-10, 0, 0],
        [-10, 30, 0],
        [10, 0, 0],
        [10, 30, 0],
      ],
      [
        [0, 1, 3],
        [0, 3, 2],
        [0, 5, 1],
        [0, 4, 5],
      ],
    );
    const places: Vector[] = [
      [0, 0, 14],
      [2, 0, 14],
      [0, 0, 8],
      [0, -3, 14],
      [2, -3, 13],
    ];
    const { standings: found, distances } = feetOf(roof, places);
    expect(Array.from(found)).toEqual([over, over, over, beside, beside]);
    expect(Array.from(distances, Math.sign)).toEqual([1, 1, -1, 1, 1]);
  });
});

describe('of a mesh that is not sound something is told all the same', () => {
  const isSound = (of: Mesh, places: readonly Vector[]): void => {
    const found = feetOf(of, places);
    for (const values of [found.points, found.distances, found.normals])
      expect(values.every(Number.isFinite)).toBe(true);
    places.forEach((_, k) => expect(length(vectorAt(found.normals, k))).toBeCloseTo(1, 12));
  };

  test('with neighbours turned over, triangles twice, two fronts, three at an edge', () => {
    const plate = square(10, 2);
    const turned = plate.triangles.slice();
    turned.subarray(0, 3).reverse();
    const places = randomPlaces(300, 11, 12);
    isSound({ ...plate, triangles: turned }, places);
    const backs = plate.triangles.slice().reverse();
    isSound({ ...plate, triangles: Uint32Array.of(...plate.triangles, ...backs) }, places);
    const fins = mesh(
      [
        [0, 0, 0],
        [0, 0, 9],
        [9, 0, 0],
        [-5, 7, 0],
        [-5, -7, 0],
      ],
      [
        [0, 1, 2],
        [0, 1, 3],
        [0, 1, 4],
      ],
    );
    isSound(fins, places);
    // beside its border a sheet with two fronts is beside as one with one
    const sheet = { ...plate, triangles: Uint32Array.of(...plate.triangles, ...backs) };
    expect(
      Array.from(
        feetOf(sheet, [
          [-3, 5, 0],
          [5, 5, 1],
        ]).standings,
      ),
    ).toEqual([beside, over]);
  });

  test('triangles that are there twice do not turn the sign', () => {
    const places = randomPlaces(2000, 12, 60);
    const twice = {
      ...box,
      triangles: Uint32Array.of(...box.triangles, ...box.triangles.slice(0, 9)),
    };
    expect(feetOf(twice, places).distances).toEqual(feetOf(box, places).distances);
  });

  test('of any soup', () => {
    const coordinate = fc.integer({ min: -2, max: 2 });
    const place = fc.tuple(coordinate, coordinate, coordinate);
    fc.assert(
      fc.property(
        fc.array(fc.tuple(place, place, place), { minLength: 1, maxLength: 30 }),
        fc.array(place, { minLength: 1, maxLength: 20 }),
        (soup, some) => {
          const places = some.map((one) => sum(one, [0.1, 0, 0]));
          isSound(
            unwelded(
              mesh(
                soup.flat(),
                soup.map((_, k) => [3 * k, 3 * k + 1, 3 * k + 2]),
              ),
            ),
            [...some, ...places],
          );
        },
      ),
      { numRuns: 300 },
    );
  });
});

test('beyond the reach a place is far, and no number stands for it', () => {
  const { standings, distances, points, normals } = feetOf(
    box,
    [
      [40, 0, 0],
      [30.5, 0, 0],
    ],
    5,
  );
  expect(Array.from(standings)).toEqual([far, over]);
  expect([...points.slice(0, 3), ...normals.slice(0, 3), distances[0]].every(Number.isNaN)).toBe(
    true,
  );
  expect(distances[1]).toBe(0.5);
});

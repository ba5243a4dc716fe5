// Distances against closed forms (any handbook of analytic geometry): a surface of revolution's offset
// is the one of an offset profile. What a mesh whose corners lie on the surface adds is the chord's
// height, R (1 - cos(half the step)).
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { gridMesh } from '../../fixtures/gridMesh.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import type { ControlNet } from '../../src/geometry/controlNet.ts';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import { keptBox } from '../../src/geometry/keptPart.ts';
import { domain } from '../../src/geometry/knots.ts';
import type { Mesh } from '../../src/geometry/mesh.ts';
import { scanBody } from '../../src/geometry/scanBody.ts';
import { scanFeet } from '../../src/geometry/scanFeet.ts';
import type { Vector } from '../../src/geometry/vector.ts';
import { bufferSource } from '../../src/intake/byteSource.ts';
import { readNetJson } from '../../src/intake/netJson/readNetJson.ts';
import { readScan } from '../../src/intake/readScan.ts';
import { netNormals, outwardSide } from '../../src/measure/outwardSide.ts';
import { farRegions, scanDistances, withinShare } from '../../src/measure/scanDistances.ts';
import { scanFacing } from '../../src/measure/scanFacing.ts';
import { scanLattice, type ScanQuestion } from '../../src/measure/scanLattice.ts';
import { corpusBytes, corpusFolder } from '../corpus.ts';
import { revolved } from '../writers/surfaces/revolved.ts';

function measured(net: ControlNet, mesh: Mesh, fine = 0.01) {
  const body = scanBody(mesh);
  const normals = netNormals(net);
  const { sign } = outwardSide(net, null, normals, scanFacing(net, normals, body, 50));
  const question: ScanQuestion = { net, sign, kept: null, body, reach: 50, fine };
  return {
    question,
    distances: scanDistances(question, scanLattice(question, keptBox(net, null))),
  };
}

const turns = 2 * Math.PI;

/** A quarter of a circle about (middle, 0) in the profile's plane, from angle 0 to a quarter turn, as a conic. */
const quarter = (middle: number, r: number): (readonly [number, number, number])[] => [
  [middle + r, 0, 1],
  [middle + r, r, Math.SQRT1_2],
  [middle, r, 1],
];
const one = [0, 0, 0, 1, 1, 1];

/** Round z: a profile by its share, turned by u. */
const ringMesh = (
  profile: (v: number) => readonly [number, number],
  around: number,
  along: number,
) =>
  gridMesh(
    (u, v) => {
      const [radius, z] = profile(v);
      return [radius * Math.cos(turns * u), radius * Math.sin(turns * u), z];
    },
    around,
    along,
  );

/** A surface, exactly offset by `off`, its mesh, and the height of the mesh's chords. */
const exact: readonly {
  readonly name: string;
  readonly net: (off: number) => ControlNet;
  readonly mesh: Mesh;
  readonly chord: number;
}[] = [
  {
    name: 'sphere of 100 mm',
    net: (off) => revolved(quarter(0, 100 + off), one),
    // some way beyond the quarter on either end
    mesh: ringMesh(
      (v) => [
        100 * Math.cos((Math.PI / 2) * (1.1 * v - 0.1)),
        100 * Math.sin((Math.PI / 2) * (1.1 * v - 0.1)),
      ],
      300,
      82,
    ),
    chord: 100 * (1 - Math.cos(Math.PI / 300) ** 2),
  },
  {
    name: 'cylinder of 60 mm',
    net: (off) =>
      revolved(
        [
          [60 + off, 0, 1],
          [60 + off, 50, 1],
          [60 + off, 100, 1],
        ],
        one,
      ),
    mesh: ringMesh((v) => [60, 120 * v - 10], 240, 30),
    chord: 60 * (1 - Math.cos(Math.PI / 240)),
  },
  {
    name: 'torus of 200 and 50 mm',
    net: (off) => revolved(quarter(200, 50 + off), one),
    mesh: ringMesh(
      (v) => {
        const angle = (Math.PI / 2) * (1.2 * v - 0.1);
        return [200 + 50 * Math.cos(angle), 50 * Math.sin(angle)];
      },
      600,
      96,
    ),
    chord: 250 * (1 - Math.cos(Math.PI / 600)) + 50 * (1 - Math.cos((Math.PI / 2) * (0.6 / 96))),
  },
  {
    name: 'plane',
    net: (off) =>
      fittedNet([3, 3], [clampedKnots(3), clampedKnots(3)], (u, v) => [300 * u, 200 * v, off]),
    mesh: gridMesh((u, v) => [320 * u - 10, 220 * v - 10, 0], 64, 44),
    chord: 0,
  },
];

describe.each(exact)('$name', ({ net, mesh, chord }) => {
  test.each([-1.5, -0.2, 0.3, 2])(
    'off by %d mm: all of it, to the chord, on the right side',
    (off) => {
      const { distances } = measured(net(off), mesh);
      const { lattice, coveredShare, outmost, inmost } = distances;
      expect(coveredShare).toBe(1);
      const [low, high] = [off - 1e-9, off + 1.01 * chord + 1e-9];
      for (const d of lattice.distances) {
        if (Number.isNaN(d)) continue;
        expect(d).toBeGreaterThanOrEqual(low);
        expect(d).toBeLessThanOrEqual(high);
      }
      expect((off > 0 ? outmost : inmost)!.value).toBeGreaterThanOrEqual(low);
      expect((off > 0 ? outmost : inmost)!.value).toBeLessThanOrEqual(high);
      if (Math.abs(off) > chord) expect(off > 0 ? inmost : outmost).toBeNull();
      expect(Math.abs(distances.mean - off)).toBeLessThanOrEqual(1.01 * chord + 1e-9);
      expect(withinShare(distances, Math.abs(off) + 1.02 * chord + 1e-6)).toBe(1);
      expect(withinShare(distances, Math.abs(off) / 2)).toBe(0);
    },
  );

  test('a mesh turned inside out changes no side once the outward side is told', () => {
    const turned = {
      vertices: mesh.vertices,
      triangles: mesh.triangles.map((_, k) => mesh.triangles[k - (k % 3) + ((3 - (k % 3)) % 3)]),
    };
    const body = scanBody(turned);
    const own = net(0.5);
    const { sign } = outwardSide(own, { along: [0, 0, 1] });
    const question: ScanQuestion = { net: own, sign, kept: null, body, reach: 50, fine: 0.01 };
    const plain: ScanQuestion = { ...question, body: scanBody(mesh) };
    const [a, b] = [question, plain].map((q) =>
      scanDistances(q, scanLattice(q, keptBox(own, null))),
    );
    expect(Math.abs(a.mean - b.mean)).toBeLessThan(1e-9);
    expect(a.lattice.facing).toBe(-b.lattice.facing);
  });
});

const wide = [clampedKnots(3, 8), clampedKnots(3, 6)] as const;
const calm = (x: number, y: number): number =>
  -40 * (x / 300 - 0.5) ** 2 - 25 * (y / 200 - 0.4) ** 2;
const calmMesh = (step: number, bump: (x: number, y: number) => number = () => 0): Mesh =>
  gridMesh(
    (u, v) => {
      const [x, y] = [320 * u - 10, 220 * v - 10];
      return [x, y, calm(x, y) + bump(x, y)];
    },
    Math.round(320 / step),
    Math.round(220 / step),
  );

test('the largest is found and proven: narrow bumps of panel and scan, against 1.5 million places', () => {
  fc.assert(
    fc.property(
      fc.record({
        x: fc.double({ min: 30, max: 270, noNaN: true }),
        y: fc.double({ min: 20, max: 180, noNaN: true }),
        height: fc.double({ min: 0.4, max: 3, noNaN: true }),
        width: fc.double({ min: 3, max: 25, noNaN: true }),
        seed: fc.nat(1000),
      }),
      ({ x, y, height, width, seed }) => {
        const random = seededRandom(seed);
        const net = fittedNet(
          [3, 3],
          wide,
          (u, v) => [300 * u, 200 * v, calm(300 * u, 200 * v) + 0.3 * u * v],
          31,
        );
        // the scan sinks: the panel lies out of it there
        const mesh = calmMesh(
          5,
          (a, b) =>
            -height * Math.exp(-((a - x) ** 2 + (b - y) ** 2) / (2 * width * width)) +
            0.01 * random.normal(),
        );
        const { question, distances } = measured(net, mesh);
        const { value, atMost } = distances.outmost!;
        // all about the bump, where the largest is: a place each quarter of a millimetre
        const places: number[] = [];
        for (let j = -60; j <= 60; j++)
          for (let i = -60; i <= 60; i++) {
            const [u, v] = [(x + i / 4) / 300, (y + j / 4) / 200];
            places.push(...surfacePoint(net, u, v));
          }
        const dense = scanFeet(question.body, Float64Array.from(places), 50).distances;
        const largest = dense.reduce((most, d) => Math.max(most, Math.abs(d)), 0);
        expect(value).toBeGreaterThanOrEqual(0.95 * largest);
        expect(atMost).toBeGreaterThanOrEqual(largest - 1e-9);
        expect(atMost).toBeLessThanOrEqual(1.05 * value + 0.011);
      },
    ),
    { numRuns: 25, seed: 7 },
  );
});

describe('regions', () => {
  const bump = (x: number, y: number, a: number, b: number, height: number, width: number) =>
    height * Math.exp(-((x - a) ** 2 + (y - b) ** 2) / (2 * width * width));
  const net = fittedNet(
    [5, 5],
    [clampedKnots(5, 12), clampedKnots(5, 8)],
    (u, v) => {
      const [x, y] = [300 * u, 200 * v];
      return [
        x,
        y,
        calm(x, y) +
          bump(x, y, 80, 60, 2, 30) +
          bump(x, y, 220, 140, -1.6, 28) +
          bump(x, y, 220, 40, 0.8, 24),
      ];
    },
    61,
  );
  const { question, distances } = measured(net, calmMesh(3));
  const { regions, more } = farRegions(question, distances, 1);

  test('what is off by the limit or more is found, on its side, with its peak within a twentieth', () => {
    expect(more).toBe(0);
    expect(regions.map(({ side }) => side)).toEqual(['out', 'in']);
    expect(Math.abs(regions[0].peak.value - 2)).toBeLessThan(0.1);
    expect(Math.abs(regions[1].peak.value + 1.6)).toBeLessThan(0.08);
    const off = ([x, y]: Vector, a: number, b: number): number => Math.hypot(x - a, y - b);
    expect(off(regions[0].centroid, 80, 60)).toBeLessThan(2);
    expect(off(regions[1].centroid, 220, 140)).toBeLessThan(2);
  });

  test('its area is that of a Gaussian bump over the limit: 2 pi s^2 ln(height / limit)', () => {
    const area = (height: number, width: number): number =>
      turns * width * width * Math.log(height);
    expect(Math.abs(regions[0].area / area(2, 30) - 1)).toBeLessThan(0.1);
    expect(Math.abs(regions[1].area / area(1.6, 28) - 1)).toBeLessThan(0.12);
  });

  test('the shares are those of the bumps', () => {
    const beyond = regions.reduce((sum, { area }) => sum + area, 0);
    expect(withinShare(distances, 1)).toBeCloseTo(1 - beyond / distances.area, 6);
    expect(distances.oneSide).toBeGreaterThan(0.4);
  });
});

test('a hole of the scan, what lies beyond its border and what faces away is open, neither in nor out', () => {
  const net = fittedNet([3, 3], wide, (u, v) => [300 * u, 200 * v, 0.4], 31);
  const flat = gridMesh((u, v) => [260 * u - 10, 220 * v - 10, 0], 130, 110);
  const isHole = (k: number): boolean => {
    const [x, y] = [0, 1].map(
      (axis) =>
        [0, 1, 2].reduce((sum, c) => sum + flat.vertices[3 * flat.triangles[3 * k + c] + axis], 0) /
        3,
    );
    return Math.hypot(x - 100, y - 100) < 30;
  };
  const kept = Array.from({ length: flat.triangles.length / 3 }, (_, k) => k).filter(
    (k) => !isHole(k),
  );
  const mesh: Mesh = {
    vertices: flat.vertices,
    triangles: Uint32Array.from(
      kept.flatMap((k) => [...flat.triangles.subarray(3 * k, 3 * k + 3)]),
    ),
  };
  const { distances } = measured(net, mesh);
  const covered = (250 * 200 - Math.PI * 30 * 30) / (300 * 200);
  expect(Math.abs(distances.coveredShare - covered)).toBeLessThan(0.01);
  for (const d of distances.lattice.distances)
    if (!Number.isNaN(d)) expect(Math.abs(d - 0.4)).toBeLessThan(0.003);
});

describe.skipIf(corpusFolder === null)('the teapots of the corpus', () => {
  const net = () => readNetJson(corpusBytes('nets/teapot-bicubic.net.json')).panels;
  const vertices = (name: string): Float64Array =>
    readScan(name, bufferSource(corpusBytes(`meshes/${name}`)), { millimetres: 1, most: Infinity })
      .mesh!.vertices;
  /** All patches as one mesh, so fine that its chords are under 1e-4 of the teapot's size. */
  const body = () => {
    const meshes = net().map((panel) => {
      const ends = ([0, 1] as const).map((side) =>
        domain(panel.net.knots[side], panel.net.degree[side]),
      );
      const at = (side: 0 | 1, s: number): number =>
        ends[side][0] + s * (ends[side][1] - ends[side][0]);
      return gridMesh((u, v) => surfacePoint(panel.net, at(0, u), at(1, v)), 60, 60);
    });
    const all: number[] = [];
    const triangles: number[] = [];
    for (const mesh of meshes) {
      const first = all.length / 3;
      for (const corner of mesh.triangles) triangles.push(first + corner);
      for (const x of mesh.vertices) all.push(x);
    }
    return scanBody({ vertices: Float64Array.from(all), triangles: Uint32Array.from(triangles) });
  };

  // figures of the corpus' index: 0.0054 and 0.034, of a teapot some 6.5 across
  test.each([
    ['teapot-y-up.obj', ([x, z, y]: readonly number[]) => [x, y, z], 0.0054],
    [
      'teapot.stl',
      ([x, y, z]: readonly number[]) => [(x - 0.611) / 9.82631, y / 9.82631, (z + 0.591) / 9.82631],
      0.034,
    ],
  ] as const)(
    'every vertex of %s lies on the bicubic one within its figure',
    (name, place, most) => {
      const own = vertices(name);
      const places = new Float64Array(own.length);
      for (let k = 0; k < own.length; k += 3)
        places.set(place(Array.from(own.subarray(k, k + 3))), k);
      const { distances } = scanFeet(body(), places, 10);
      const largest = distances.reduce((so, d) => Math.max(so, Math.abs(d)), 0);
      expect(largest).toBeLessThan(1.03 * most + 1e-4);
      expect(largest).toBeGreaterThan(0);
    },
  );
});

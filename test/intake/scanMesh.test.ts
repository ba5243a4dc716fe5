import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { clay } from '../../fixtures/clay.ts';
import { binaryPly, binaryStl, objMesh, textPly, textStl } from '../../fixtures/meshFiles.ts';
import type { Mesh } from '../../src/geometry/mesh.ts';
import { readScan } from '../../src/intake/readScan.ts';
import { isSameSoup, scanOf, slowSource, volumeOf } from './scanOf.ts';

/** Triangles of which none is degenerate or twice there, over vertices that are all used. */
const anyMesh = (coordinate: fc.Arbitrary<number>): fc.Arbitrary<Mesh> =>
  fc
    .record({
      points: fc.uniqueArray(fc.tuple(coordinate, coordinate, coordinate), {
        minLength: 3,
        maxLength: 12,
        selector: (point) => point.map((value) => value + 0).join(),
      }),
      picks: fc.array(fc.tuple(fc.nat(11), fc.nat(11), fc.nat(11)), {
        minLength: 1,
        maxLength: 20,
      }),
    })
    .map(({ points, picks }) => {
      const seen = new Set<string>();
      const sound = picks
        .map((pick) => pick.map((k) => k % points.length))
        .filter((corners) => {
          const key = corners.toSorted((a, b) => a - b).join();
          const [a, b, c] = corners.map((k) => points[k]);
          const u = a.map((value, k) => b[k] - value);
          const v = a.map((value, k) => c[k] - value);
          const w = b.map((value, k) => c[k] - value);
          const normal = [0, 1, 2].map(
            (k) => u[(k + 1) % 3] * v[(k + 2) % 3] - u[(k + 2) % 3] * v[(k + 1) % 3],
          );
          const longest = Math.max(...[u, v, w].map((edge) => Math.hypot(...edge) ** 2));
          const isNew = !seen.has(key);
          seen.add(key);
          return isNew && Math.hypot(...normal) > 1e-9 * longest;
        });
      // Numbered by first use, as welding numbers them.
      const order = [...new Set(sound.flat())];
      return {
        vertices: Float64Array.from(order.flatMap((k) => points[k].map((value) => value + 0))),
        triangles: Uint32Array.from(sound.flat().map((k) => order.indexOf(k))),
      };
    })
    .filter(({ triangles }) => triangles.length > 0);

/** Products of numbers smaller than this would vanish. */
const leastSize = 1e-100;
const doubles = fc
  .double({ min: -1e6, max: 1e6, noNaN: true })
  .map((value) => (Math.abs(value) < leastSize ? 0 : value));
const floats = fc.float({ min: -1e6, max: 1e6, noNaN: true });

describe('any mesh is read as it was written', () => {
  const forms: readonly (readonly [string, string, (mesh: Mesh) => Buffer])[] = [
    ['STL text', 'clay.stl', textStl],
    ['PLY text', 'clay.ply', textPly],
    ['PLY binary, little endian', 'clay.ply', (mesh) => binaryPly(mesh, 'little')],
    ['PLY binary, big endian', 'clay.ply', (mesh) => binaryPly(mesh, 'big')],
    ['OBJ', 'clay.obj', objMesh],
  ];
  test.each(forms)('%s, doubles to the last bit', (_, name, written) => {
    fc.assert(
      fc.property(anyMesh(doubles), (mesh) => {
        const scan = scanOf(name, written(mesh));
        expect([scan.faults, scan.notices]).toEqual([[], []]);
        expect(scan.mesh).toEqual(mesh);
      }),
      { numRuns: 200 },
    );
  });

  test('STL binary, 32-bit floats to the last bit', () => {
    fc.assert(
      fc.property(anyMesh(floats), (mesh) => {
        expect(scanOf('clay.stl', binaryStl(mesh)).mesh).toEqual(mesh);
      }),
      { numRuns: 200 },
    );
  });

  // Larger than the blocks that are read at a time, so that lines and rows lie across their ends.
  const large = clay(80);
  test.each([...forms, ['STL binary', 'clay.stl', binaryStl] as const])(
    '%s in many blocks, from a source that gives few bytes at a time',
    (_, name, written) => {
      const bytes = written(large);
      expect(bytes.length).toBeGreaterThan(2 ** 19);
      const { mesh, faults } = readScan(name, slowSource(bytes, 77_777), {
        millimetres: 1,
        most: 2 ** 30,
      });
      expect(faults).toEqual([]);
      expect(isSameSoup(mesh!, large)).toBe(true);
      expect(mesh!.vertices).toHaveLength(large.vertices.length);
    },
  );

  test.each(forms.filter(([form]) => !form.includes('binary')))(
    '%s with CR LF in many blocks',
    (_, name, written) => {
      const bytes = Buffer.from(written(large).toString('latin1').replaceAll('\n', '\r\n'));
      expect(isSameSoup(scanOf(name, bytes).mesh!, large)).toBe(true);
    },
  );
});

describe('what a mesh does not need is left out and counted', () => {
  const lines = ['v 0 0 0', 'v 4 0 0', 'v 4 4 0', 'v 0 4 0', 'f 1 2 3', 'f 1 3 4'];
  const counts = (...more: string[]) => scanOf('clay.obj', [...lines, ...more].join('\n')).counts;
  const whole = {
    faces: 2,
    triangles: 2,
    degenerate: 0,
    duplicate: 0,
    broken: 0,
    outOfRange: 0,
    unused: 0,
    notFinite: 0,
    far: 0,
    vertices: 4,
    parts: 1,
  };

  test.each<[string, string[], object]>([
    ['nothing', [], {}],
    ['two equal corners', ['f 1 1 2'], { faces: 3, degenerate: 1 }],
    ['corners in one place', ['v 4 0 0', 'f 1 2 5'], { faces: 3, degenerate: 1, unused: 1 }],
    ['corners on a line', ['v 2 2 0', 'f 1 5 3'], { faces: 3, degenerate: 1, unused: 1 }],
    [
      'a sliver that is one',
      ['v 2 2.0000001 0', 'f 1 5 3'],
      { faces: 3, triangles: 3, vertices: 5 },
    ],
    ['a triangle again', ['f 2 3 1'], { faces: 3, duplicate: 1 }],
    ['a triangle again, the other way round', ['f 3 2 1'], { faces: 3, duplicate: 1 }],
    ['a vertex of no face', ['v 9 9 9'], { unused: 1 }],
    ['a vertex that is no number', ['v nan 9 9', 'f 1 2 5'], { faces: 3, broken: 1, notFinite: 1 }],
    ['a vertex without end', ['v 1e999 9 9', 'f 1 2 5'], { faces: 3, broken: 1, notFinite: 1 }],
    ['a vertex beyond the moon', ['v 1e10 9 9', 'f 1 2 5'], { faces: 3, broken: 1, far: 1 }],
    ['a corner that is not there', ['f 1 2 3 9'], { faces: 3, outOfRange: 2 }],
    [
      'a face of five with a corner that is no number',
      ['v nan 0 0', 'f 1 2 3 4 5'],
      { faces: 3, broken: 3, notFinite: 1 },
    ],
  ])('%s', (_, more, expected) => {
    expect(counts(...more)).toEqual({ ...whole, ...expected });
  });

  test('whatever the size: a mesh of a millionth and of a million times', () => {
    const body = clay(12);
    for (const millimetres of [1e-6, 1, 1e6]) {
      const { counts: own, mesh } = scanOf('clay.stl', binaryStl(body), { millimetres });
      expect(own).toMatchObject({ triangles: body.triangles.length / 3, degenerate: 0 });
      expect(volumeOf(mesh!) / millimetres ** 3).toBeCloseTo(volumeOf(body), 0);
    }
  });

  test('millimetres of the unit: coordinates times that', () => {
    const { mesh } = scanOf('clay.obj', lines.join('\n'), { millimetres: 25.4 });
    expect(Array.from(mesh!.vertices)).toEqual(
      [0, 0, 0, 4, 0, 0, 4, 4, 0, 0, 4, 0].map((value) => value * 25.4),
    );
  });

  test('fans of many triangles about one vertex are no long search', () => {
    const count = 30_000;
    const rim = Array.from({ length: count }, (_, k) => `v ${Math.cos(k)} ${Math.sin(k)} ${k}`);
    const faces = Array.from({ length: count - 1 }, (_, k) => `f 1 ${k + 2} ${k + 3}`);
    const begun = performance.now();
    const { counts: own } = scanOf('clay.obj', ['v 0 0 0', ...rim, ...faces, ...faces].join('\n'));
    expect(performance.now() - begun).toBeLessThan(1500);
    expect(own).toMatchObject({ triangles: count - 1, duplicate: count - 1 });
  });
});

describe('a mesh that memory cannot hold', () => {
  const body = clay(40);
  test.each<[string, string, Buffer]>([
    ['STL binary', 'clay.stl', binaryStl(body)],
    ['STL text', 'clay.stl', textStl(body)],
    ['PLY text', 'clay.ply', textPly(body)],
    ['PLY binary', 'clay.ply', binaryPly(body)],
    ['OBJ', 'clay.obj', objMesh(body)],
  ])('%s: is told with what it would take, and not tried', (_, name, bytes) => {
    const most = 50_000;
    const read: number[] = [];
    const scan = readScan(
      name,
      {
        size: bytes.length,
        read: (into, at) => {
          const piece = bytes.subarray(at, at + into.length);
          into.set(piece);
          read.push(piece.length);
          return piece.length;
        },
      },
      { millimetres: 1, most },
    );
    expect(scan.mesh).toBeNull();
    expect(scan.faults).toMatchObject([{ code: 'mesh-too-large', data: { most } }]);
    expect(Number(scan.faults[0].data['needed'])).toBeGreaterThan(24 * (body.vertices.length / 3));
    // The heads only.
    expect(read.every((count) => count <= 4096 || name === 'clay.ply')).toBe(true);
    expect(
      readScan(name, slowSource(bytes, 1e6), { millimetres: 1, most: 10e6 }).mesh,
    ).not.toBeNull();
  });

  test('a text whose size does not tell ends when the memory does', () => {
    // Vertices without faces, as short as can be: many more than the size of common files tells.
    const text = `o a\n${'v 0 0 0\n'.repeat(60_000)}`;
    expect(scanOf('clay.obj', text, { most: 800_000 }).faults).toMatchObject([
      { code: 'mesh-too-large' },
    ]);
  });
});

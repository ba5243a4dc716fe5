import { basename } from 'node:path';
import { OBJLoader } from 'three/examples/jsm/loaders/OBJLoader.js';
import { PLYLoader } from 'three/examples/jsm/loaders/PLYLoader.js';
import { STLLoader } from 'three/examples/jsm/loaders/STLLoader.js';
import type { BufferGeometry, Mesh as ThreeMesh } from 'three';
import { describe, expect, test } from 'vitest';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import { meshBox, type Mesh } from '../../src/geometry/mesh.ts';
import { difference, distance, scaled, type Vector } from '../../src/geometry/vector.ts';
import { readNetJson } from '../../src/intake/netJson/readNetJson.ts';
import { corpusBytes, corpusFolder } from '../corpus.ts';
import { areaOf, eachTriangle, scanOf, soupOf, volumeOf } from './scanOf.ts';

const read = (file: string) => scanOf(file, corpusBytes(`meshes/${file}`));

const wholeBuffer = (bytes: Buffer): ArrayBuffer => Uint8Array.from(bytes).buffer;

/** Corners of all triangles as three's loader of the format gives them, in 32-bit floats. */
function cornersByThree(file: string): number[] {
  const bytes = corpusBytes(`meshes/${file}`);
  const soup = (geometry: BufferGeometry): number[] =>
    Array.from(
      (geometry.index ? geometry.toNonIndexed() : geometry).getAttribute('position').array,
    );
  if (file.endsWith('.stl')) return soup(new STLLoader().parse(wholeBuffer(bytes)));
  if (file.endsWith('.ply')) return soup(new PLYLoader().parse(wholeBuffer(bytes)));
  return new OBJLoader()
    .parse(bytes.toString('latin1'))
    .children.flatMap((child) => soup((child as ThreeMesh).geometry));
}

/** Every face of these is a triangle or a convex quadrilateral, and three reads them right. */
const sound: readonly (readonly [string, number, number])[] = [
  // file, triangles, solids or objects (by hand: `grep -c` of solid and of o)
  ['sphere-ascii.stl', 2400, 1],
  ['sphere-binary.stl', 2400, 1],
  ['sphereWithHole.stl', 285, 1],
  ['teapot.stl', 894, 1],
  ['multibody.stl', 32, 2],
  ['two_objects_mixed_case_names.stl', 24, 2],
  ['soup.stl', 100, 1],
  ['triangle_with_two_solids.stl', 2, 2],
  ['triangle_with_empty_solid.stl', 1, 2],
  ['mirror.ply', 286, 1],
  ['plane_tri.ply', 2, 1],
  ['cube_binary.ply', 12, 1],
  ['multi.ply', 2, 1],
  ['float-color.ply', 1, 1],
  ['metadata.ply', 2, 1],
  ['teapot-y-up.obj', 6320, 1],
  ['negative_indices.obj', 12, 1],
  ['nancolor.obj', 12, 1],
  ['box_without_lineending.obj', 12, 1],
  ['multiple_spaces.obj', 1, 1],
];

describe.skipIf(corpusFolder === null)('real files', () => {
  test.each(sound)(
    '%s: %i triangles, the corners of each as three has them',
    (file, triangles, parts) => {
      const { mesh, counts, faults } = read(file);
      expect(faults).toEqual([]);
      expect(counts).toMatchObject({ triangles, parts, degenerate: 0, duplicate: 0, broken: 0 });
      const theirs = cornersByThree(file);
      const ours = soupOf(mesh!).map(Math.fround);
      expect(ours).toHaveLength(9 * triangles);
      // A quadrilateral is cut along the same diagonal, though not begun at the same corner.
      const sorted = (soup: readonly number[]): string[] =>
        Array.from({ length: soup.length / 9 }, (_, k) => {
          const corners = [0, 3, 6].map((at) => soup.slice(9 * k + at, 9 * k + at + 3).join(' '));
          const first = corners.indexOf(corners.toSorted()[0]);
          return [0, 1, 2].map((step) => corners[(first + step) % 3]).join(', ');
        }).sort();
      expect(sorted(ours)).toEqual(sorted(theirs));
    },
  );

  test.each([
    // As many as the element or the statements say (by hand).
    ['points_emptyface.ply', 1024],
    ['points_ascii_with_lists.ply', 5],
    ['point_cloud.obj', 3],
  ])('%s: %i points without faces, told', (file, points) => {
    const { mesh, counts, faults, notices } = read(file);
    expect(faults).toEqual([]);
    expect(mesh!.vertices).toHaveLength(3 * points);
    expect(mesh!.triangles).toHaveLength(0);
    expect(counts).toMatchObject({ vertices: points, faces: 0, unused: 0 });
    expect(notices.map(({ code }) => code)).toContain('points-only');
  });

  test.each(['stl_empty_ascii.stl', 'stl_empty_bin.stl', 'ply_empty_header.ply'])(
    '%s: nothing in it is a fault',
    (file) => {
      const { mesh, faults } = read(file);
      expect(mesh).toBeNull();
      expect(faults.map(({ code }) => code)).toEqual(['mesh-empty']);
    },
  );

  test('box_UTF16BE.obj: a cube of side 1, which three cannot decode', () => {
    expect(cornersByThree('box_UTF16BE.obj')).toEqual([]);
    const { mesh, counts } = read('box_UTF16BE.obj');
    expect(counts).toMatchObject({ vertices: 8, triangles: 12, faces: 6 });
    expect(areaOf(mesh!)).toBeCloseTo(6, 12);
    expect(Math.abs(volumeOf(mesh!))).toBeCloseTo(1, 12);
  });

  test('box_longline.obj: a face that goes round 234 times is the face of one turn', () => {
    // three gives 944 triangles: those of each turn, and of each step from one turn to the next.
    const { mesh, counts, notices } = read('box_longline.obj');
    expect(counts).toMatchObject({
      triangles: 12,
      faces: 6,
      degenerate: 4 * 234 - 4,
      duplicate: 0,
    });
    expect(cornersByThree('box_longline.obj')).toHaveLength(9 * (12 + 4 * 234 - 4));
    expect(areaOf(mesh!)).toBeCloseTo(6, 12);
    expect(notices.map(({ code }) => code)).toEqual(['mesh-degenerate']);
  });

  test('concave_polygon.obj: its outline is kept, where three fans it out', () => {
    const { mesh, counts } = read('concave_polygon.obj');
    // 66 corners on 64 vertices: the hole is joined to the outline by a seam that is gone along twice.
    expect(counts).toMatchObject({ triangles: 64, faces: 1, vertices: 64 });
    // The polygon lies in x = -1.146; the shoelace formula over its corners gives its area.
    const text = corpusBytes('meshes/concave_polygon.obj').toString('latin1');
    const points = [...text.matchAll(/^v \S+ (\S+) (\S+)/gm)].map(([, y, z]) => [+y, +z]);
    const outline = /^f (.*)$/m
      .exec(text)![1]
      .trim()
      .split(/\s+/)
      .map((word) => points[parseInt(word) - 1]);
    expect(outline).toHaveLength(66);
    const shoelace = outline.reduce((sum, [y, z], k) => {
      const [nextY, nextZ] = outline[(k + 1) % outline.length];
      return sum + (y * nextZ - nextY * z) / 2;
    }, 0);
    expect(areaOf(mesh!)).toBeCloseTo(Math.abs(shoelace), 9);
    // All triangles face as the outline does: the sum of their vectors is as long as their area.
    expect(eachTriangle(mesh!, ([x]) => x / 2)).toBeCloseTo(shoelace, 9);
    const fan = cornersByThree('concave_polygon.obj');
    expect(
      Math.abs(
        areaOf({
          vertices: Float64Array.from(fan),
          triangles: Uint32Array.from({ length: fan.length / 3 }, (_, k) => k),
        }) - Math.abs(shoelace),
      ),
    ).toBeGreaterThan(0.1);
  });

  test('notenoughindices.obj: a face of two corners is counted, the other one read', () => {
    expect(read('notenoughindices.obj').counts).toMatchObject({
      triangles: 1,
      faces: 2,
      degenerate: 1,
    });
  });

  test('number_formats.obj: six lines hold "3.1+e2", which is no number; the face has no area', () => {
    const { mesh, counts, faults } = read('number_formats.obj');
    expect(mesh).toBeNull();
    // The face joins (0,0,0), (1,2,3) and (-1,-2,-3). 1e10 mm are 10 000 km.
    expect(counts).toMatchObject({ triangles: 0, degenerate: 1, notFinite: 6, far: 1 });
    expect(faults).toMatchObject([
      { code: 'bad-number', place: { line: 11 }, data: { text: '3.1+e2', further: 5 } },
      { code: 'mesh-empty' },
    ]);
  });

  test('both spheres: area and volume lie between those of the balls inside and outside', () => {
    // The mesh is convex and its vertices lie on the sphere, so each measure lies between that of the
    // sphere and that of the largest ball inside the mesh (4 pi r^2 and 4 pi r^3 / 3 grow with the body).
    for (const file of ['sphere-ascii.stl', 'sphere-binary.stl']) {
      const mesh = read(file).mesh!;
      const { low, high } = meshBox(mesh);
      const centre = low.map((value, axis) => (value + high[axis]) / 2);
      const { vertices } = mesh;
      const radii = Array.from({ length: vertices.length / 3 }, (_, k) =>
        Math.hypot(...centre.map((value, axis) => vertices[3 * k + axis] - value)),
      );
      const outer = Math.max(...radii);
      expect(outer - Math.min(...radii)).toBeLessThan(1e-5 * outer);
      let inner = Infinity;
      eachTriangle(mesh, (normal, a) => {
        const size = Math.hypot(...normal);
        const away = normal.reduce((sum, n, axis) => sum + n * (a[axis] - centre[axis]), 0) / size;
        inner = Math.min(inner, away);
        return 0;
      });
      expect(inner).toBeGreaterThan(0.98 * outer);
      expect(areaOf(mesh)).toBeGreaterThan(4 * Math.PI * inner ** 2);
      expect(areaOf(mesh)).toBeLessThan(4 * Math.PI * outer ** 2);
      expect(volumeOf(mesh)).toBeGreaterThan((4 / 3) * Math.PI * inner ** 3);
      expect(volumeOf(mesh)).toBeLessThan((4 / 3) * Math.PI * outer ** 3);
      // Closed: 3 edges a triangle, each shared by two (Euler: v - e + f = 2).
      expect(vertices.length / 3 - mesh.triangles.length / 6).toBe(2);
    }
  });

  test('vertices of both teapots lie on the published bicubic one', () => {
    const { panels } = readNetJson(corpusBytes('nets/teapot-bicubic.net.json'));
    const steps = Array.from({ length: 41 }, (_, k) => k / 40);
    const samples = panels.flatMap(({ net }) =>
      steps.flatMap((u) => steps.map((v) => ({ net, u, v, at: surfacePoint(net, u, v) }))),
    );
    /** Distance to the teapot: from the nearest sample on downhill, by ever smaller steps. */
    function away(point: Vector): number {
      let best = samples.reduce((a, b) => (distance(b.at, point) < distance(a.at, point) ? b : a));
      for (let step = 1 / 40; step > 1e-6; step /= 2)
        for (const [du, dv] of [
          [1, 0],
          [-1, 0],
          [0, 1],
          [0, -1],
          [1, 1],
          [-1, -1],
          [1, -1],
          [-1, 1],
        ]) {
          const u = Math.min(1, Math.max(0, best.u + du * step));
          const v = Math.min(1, Math.max(0, best.v + dv * step));
          const next = { net: best.net, u, v, at: surfacePoint(best.net, u, v) };
          if (distance(next.at, point) < distance(best.at, point)) best = next;
        }
      return distance(best.at, point);
    }
    const someOf = ({ vertices }: Mesh, count: number): Vector[] =>
      Array.from({ length: count }, (_, k) => {
        const at = 3 * Math.floor((k * vertices.length) / 3 / count);
        return [vertices[at], vertices[at + 1], vertices[at + 2]];
      });
    // The corpus index: the obj, with axes (x, z, y), within 0.0054; the stl, which is scaled by 9.82631
    // and then shifted by (0.611, 0, -0.591), within 0.034. The teapot is some 6.5 across.
    for (const [x, z, y] of someOf(read('teapot-y-up.obj').mesh!, 150))
      expect(away([x, y, z])).toBeLessThan(0.0055);
    for (const point of someOf(read('teapot.stl').mesh!, 150)) {
      const own = scaled(difference(point, [0.611, 0, -0.591]), 1 / 9.82631);
      expect(away(own)).toBeLessThan(0.035);
    }
  });

  test.each(sound.map(([file]) => basename(file)))(
    '%s: a part of it is told, and is no exception',
    (file) => {
      const bytes = corpusBytes(`meshes/${file}`);
      const half = scanOf(file, bytes.subarray(0, 0.45 * bytes.length));
      expect(half.faults.length + half.notices.length).toBeGreaterThan(0);
    },
  );
});

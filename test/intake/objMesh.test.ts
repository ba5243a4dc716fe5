import { describe, expect, test } from 'vitest';
import { bufferSource } from '../../src/intake/byteSource.ts';
import { objContents } from '../../src/intake/objMesh/objContents.ts';
import { areaOf, eachTriangle, scanOf } from './scanOf.ts';

const square = 'v 0 0 0\nv 4 0 0\nv 4 4 0\nv 0 4 0\n';

describe('polygons of OBJ (published description of the format, appendix B1; from memory)', () => {
  test.each<[string, string]>([
    ['triangles', `${square}f 1 2 3\nf 1 3 4\n`],
    ['a quadrilateral', `${square}f 1 2 3 4\n`],
    ['texture and normals', `vt 0 0\nvn 0 0 1\n${square}f 1/1 2/1 3/1\nf 1//1 3/1/1 4//`],
    ['counted backwards', `${square}f -4 -3 -2 -1\n`],
    [
      'backwards between the vertices',
      'v 0 0 0\nv 4 0 0\nv 4 4 0\nf -3 -2 -1\nv 0 4 0\nf -4 -2 -1\n',
    ],
    ['faces before their vertices', `f 1 2 3 4\n${square}`],
    ['CR LF', `${square}f 1 2 3 4\n`.replaceAll('\n', '\r\n')],
    ['CR', `${square}f 1 2 3 4\n`.replaceAll('\n', '\r')],
    ['no line end at the end', `${square}f 1 2 3 4`],
    [
      'lines joined by a backslash',
      `${square}f 1 2 \\\n3 \\\r\n 4\n`.replace('v 4 4 0', 'v 4 \\\n4 0'),
    ],
    ['a backslash at the end', `${square}f 1 2 3 4 \\`],
    ['a backslash without a blank before it', `${square}f 1 2 3\\\n 4\n`],
    ['tabs, blanks and blank lines', `\n\t${square}\n \nf\t1  2 3\t4  \n`],
    [
      'comments and statements that say nothing of shape',
      `# f 1 2 3\nmtllib a.mtl\ng a b\ns 1\nusemtl red\n${square}f 1 2 3 4 # f 9 9 9\n`.replace(
        ' # f 9 9 9',
        '',
      ),
    ],
    ['colours behind the coordinates', `${square.replaceAll('\n', ' 0.5 nan 1\n')}f 1 2 3 4\n`],
    ['a weight behind the coordinates', `${square.replaceAll('\n', ' 1.0\n')}f 1 2 3 4\n`],
    ['a byte-order mark', `\u00ef\u00bb\u00bf${square}f 1 2 3 4\n`],
    ['exponents and bare points', `${square.replaceAll(' 4', ' +.4E+1')}f 1 2 3 4\n`],
  ])('%s', (_, content) => {
    const { mesh, faults, notices } = scanOf('clay.obj', content);
    expect([faults, notices]).toEqual([[], []]);
    expect(Array.from(mesh!.vertices)).toEqual([0, 0, 0, 4, 0, 0, 4, 4, 0, 0, 4, 0]);
    expect(Array.from(mesh!.triangles)).toEqual([0, 1, 2, 0, 2, 3]);
  });

  test.each<[string, string, object]>([
    [
      'a corner beyond the vertices',
      `${square}f 1 2 3 4\nf 1 2 5\n`,
      { code: 'mesh-index', place: { line: 6 } },
    ],
    ['a corner 0', `${square}f 1 2 3 4\nf 0 1 2\n`, { code: 'mesh-index', place: { line: 6 } }],
    [
      'backwards too far',
      `${square}f 1 2 3 4\nf -5 -1 -2\n`,
      { code: 'mesh-index', place: { line: 6 } },
    ],
    [
      'a corner of 400 digits',
      `${square}f 1 2 3 4\nf ${'9'.repeat(400)} 1 2\n`,
      { code: 'mesh-index' },
    ],
    [
      'a corner that is a word',
      `${square}f 1 2 3 4\nf 1 two 3\n`,
      { code: 'bad-number', data: { text: 'two' } },
    ],
    [
      'a vertex of two numbers',
      `${square}f 1 2 3 4\nv 1 2\n`,
      { code: 'mesh-row', place: { line: 6 } },
    ],
  ])('%s is told, and what is sound is kept', (_, content, expected) => {
    const { mesh, faults } = scanOf('clay.obj', content);
    expect(faults).toMatchObject([expected]);
    expect(mesh!.triangles).toHaveLength(6);
  });

  test('objects are counted; statements of no known kind and free-form surfaces are told', () => {
    const { counts, notices } = scanOf(
      'clay.obj',
      `o left\n${square}f 1 2 3 4\no right\n${square}f -4 -3 -2 -1\ncstype bspline\ndeg 1 1\nsurf 0 1 0 1 1 2 3 4\nend\nfrob 1\n`,
    );
    expect(counts).toMatchObject({ parts: 2, triangles: 4 });
    expect(notices).toMatchObject([
      { code: 'obj-surfaces', data: { count: 1 } },
      { code: 'mesh-text-unread', place: { line: 17 }, data: { count: 1, text: 'frob' } },
    ]);
  });

  test('a comb of a thousand corners in space keeps its area and faces one way', () => {
    // Teeth of width 1 and height 10 on a back of height 1, turned out of every coordinate plane.
    const teeth = 250;
    const flat: [number, number][] = [
      [0, 0],
      [2 * teeth, 0],
    ];
    for (let k = teeth - 1; k >= 0; k--)
      flat.push([2 * k + 2, 1], [2 * k + 1, 1], [2 * k + 1, 11], [2 * k, 11]);
    const along = [2 / 3, 2 / 3, 1 / 3];
    const up = [-1 / 3, 2 / 3, -2 / 3];
    const lean = along.reduce((sum, value, k) => sum + value * up[k], 0);
    const across = up.map((value, k) => value - lean * along[k]);
    const size = Math.hypot(...across);
    const points = flat.map(([u, v]) =>
      along.map((value, k) => 500 + u * value + (v * across[k]) / size),
    );
    const face = flat.map((_, k) => k + 1).join(' ');
    const { mesh, counts } = scanOf(
      'clay.obj',
      `${points.map((p) => `v ${p.join(' ')}\n`).join('')}f ${face}\n`,
    );
    expect(counts).toMatchObject({ faces: 1, outOfRange: 0, broken: 0 });
    const area = 2 * teeth + 10 * teeth;
    expect(areaOf(mesh!)).toBeCloseTo(area, 6);
    const sum = [0, 1, 2].map((axis) => eachTriangle(mesh!, (normal) => normal[axis] / 2));
    expect(Math.hypot(...sum)).toBeCloseTo(area, 6);
    // The outline runs counterclockwise about along x across.
    const normal = [0, 1, 2].map(
      (k) => along[(k + 1) % 3] * across[(k + 2) % 3] - along[(k + 2) % 3] * across[(k + 1) % 3],
    );
    expect(sum.reduce((total, value, k) => total + value * normal[k], 0)).toBeGreaterThan(0);
  });

  test('a face of more corners than can be cut up is told', () => {
    const many = Array.from({ length: 5000 }, (_, k) => `v ${Math.cos(k)} ${Math.sin(k)} 0\n`).join(
      '',
    );
    const face = Array.from({ length: 5000 }, (_, k) => k + 1).join(' ');
    const { faults, counts } = scanOf('clay.obj', `${many}f ${face}\nf 1 2 3\n`);
    expect(faults).toMatchObject([
      { code: 'mesh-face', place: { line: 5001 }, data: { corners: 5000, most: 4096 } },
    ]);
    expect(counts).toMatchObject({ triangles: 1, broken: 4998 });
  });

  test('a face that comes to its corners again and again is told, in no time', () => {
    // As box_longline.obj of the corpus, with one corner exchanged.
    const corners = Array.from({ length: 936 }, (_, k) => (k === 502 ? 1 : (k % 4) + 1));
    const begun = performance.now();
    const { faults, counts } = scanOf('clay.obj', `${square}f ${corners.join(' ')}\nf 1 2 3\n`);
    expect(performance.now() - begun).toBeLessThan(200);
    expect(faults).toMatchObject([{ code: 'mesh-face', data: { corners: 936 } }]);
    expect(counts).toMatchObject({ triangles: 1, broken: 934 });
  });

  test('binary bytes are told', () => {
    expect(scanOf('clay.obj', Buffer.alloc(100)).faults).toMatchObject([
      { code: 'binary-content' },
    ]);
  });
});

test.each<[string, boolean, boolean]>([
  [`${square}f 1 2 3\n`, true, false],
  ['v 0 0 0\ncstype bspline\nsurf 0 1 0 1 1 2 3 4\nend\n', false, true],
  [`s 1\n${square}# f 1 2 3\nsurf 0 1 0 1 1 2 3 4\n \tf 1 2 3`, true, true],
  ['v 0 0 0\n# f\nfo 1\ns off\nsurface\n', false, false],
  ['', false, false],
])('faces and surfaces are told apart: %j', (content, faces, surfaces) => {
  expect(objContents(bufferSource(Buffer.from(content)))).toEqual({ faces, surfaces });
});

import { describe, expect, test } from 'vitest';
import { areaOf, scanOf } from './scanOf.ts';

const head = (format: string, ...lines: string[]): string =>
  ['ply', `format ${format} 1.0`, ...lines, 'end_header', ''].join('\n');
const axes = ['x', 'y', 'z'].map((axis) => `property float ${axis}`);
const faces = (count: number, list = 'uchar int'): string[] => [
  `element face ${count}`,
  `property list ${list} vertex_indices`,
];
const square = ['0 0 0', '4 0 0', '4 4 0', '0 4 0'];
const text = (...more: string[]): string =>
  [head('ascii', 'element vertex 4', ...axes, ...faces(2)) + square.join('\n'), ...more, ''].join(
    '\n',
  );
const good = text('3 0 1 2', '3 0 2 3');
const told = (content: Uint8Array | string) => {
  const { faults, notices } = scanOf('clay.ply', content);
  return [...faults, ...notices];
};

describe('PLY (G. Turk, The PLY Polygon File Format, 1994; from memory)', () => {
  test.each<[string, string]>([
    ['as it is', good],
    ['CR LF', good.replaceAll('\n', '\r\n')],
    ['CR', good.replaceAll('\n', '\r')],
    ['no line end at the end', good.trimEnd()],
    [
      'comments and obj_info',
      good.replace('element', 'comment element face 9\nobj_info x 1\nelement'),
    ],
    ['vertex_index', good.replace('vertex_indices', 'vertex_index')],
    [
      'the other names of the types',
      good.replaceAll('float', 'float64').replace('uchar int', 'uint8 uint32'),
    ],
    ['blank lines', good.replaceAll('\n3', '\n\n \n3')],
    ['a quadrilateral', text('4 0 1 2 3').replace('face 2', 'face 1')],
    [
      'faces before vertices',
      `${head('ascii', ...faces(2), 'element vertex 4', ...axes)}3 0 1 2\n3 0 2 3\n${square.join('\n')}\n`,
    ],
    [
      'a quadrilateral before its vertices',
      `${head('ascii', ...faces(1), 'element vertex 4', ...axes)}4 0 1 2 3\n${square.join('\n')}\n`,
    ],
    [
      'a strip',
      `${head('ascii', 'element vertex 4', ...axes, 'element tristrips 1', 'property list int int vertex_indices')}${square.join('\n')}\n6 0 1 2 -1 0 2\n`.replace(
        '6 0 1 2 -1 0 2',
        '7 0 1 2 -1 0 2 3',
      ),
    ],
  ])('%s', (_, content) => {
    const { mesh, faults, notices } = scanOf('clay.ply', content);
    expect([faults, notices]).toEqual([[], []]);
    expect(Array.from(mesh!.vertices)).toEqual([0, 0, 0, 4, 0, 0, 4, 4, 0, 0, 4, 0]);
    expect(Array.from(mesh!.triangles)).toEqual([0, 1, 2, 0, 2, 3]);
  });

  test('a strip turns every second triangle over, so that all face one way', () => {
    const strip = `${head('ascii', 'element vertex 5', ...axes, 'element tristrips 1', 'property list int int vertex_indices')}0 0 0\n0 1 0\n1 0 0\n1 1 0\n2 0 0\n5 0 1 2 3 4\n`;
    const { mesh } = scanOf('clay.ply', strip);
    expect(Array.from(mesh!.triangles)).toEqual([0, 1, 2, 2, 1, 3, 2, 3, 4]);
  });

  test('properties of any order and kind, lists among them, are passed over', () => {
    const lines = [
      'element vertex 3',
      'property list uchar float weights',
      'property uchar red',
      'property double z',
      'property float x',
      'property list ushort short more',
      'property float y',
      'property float confidence',
      'element camera 1',
      'property float view',
      'property list uchar int seen',
      'element face 1',
      'property uchar group',
      'property list uchar float texcoord',
      'property list uchar int vertex_indices',
      'property float area',
    ];
    const content = `${head('ascii', ...lines)}2 9 9 255 3 1 0 2 .5\n0 255 6 4 1 -7 5 .5\n1 9 0 -1.5e1 7 2 1 1 8 .5\n9 2 1 2\n1 6 .1 .1 .2 .2 .3 .3 3 0 1 2 12.5\n`;
    const { mesh, notices, faults } = scanOf('clay.ply', content);
    expect(faults).toEqual([]);
    expect(Array.from(mesh!.vertices)).toEqual([1, 2, 3, 4, 5, 6, 7, 8, -15]);
    expect(notices).toMatchObject([{ code: 'ply-element', data: { element: 'camera', count: 1 } }]);
  });

  /** The same in the binary form, written by hand byte for byte. */
  function binary(isLittle: boolean): Buffer {
    const lines = [
      'element vertex 3',
      'property list uchar float weights',
      'property double z',
      'property short x',
      'property char red',
      'property float y',
      'element camera 2',
      'property ushort a',
      'property double b',
      'element face 1',
      'property list ushort uchar vertex_indices',
      'property uint group',
    ];
    const bytes: number[] = [];
    const put = (
      kind: 'Int8' | 'Uint8' | 'Int16' | 'Uint16' | 'Uint32' | 'Float32' | 'Float64',
      value: number,
    ): void => {
      const size = Number(/\d+/.exec(kind)![0]) / 8;
      const view = new DataView(new ArrayBuffer(size));
      view[`set${kind}`](0, value, isLittle);
      bytes.push(...new Uint8Array(view.buffer));
    };
    for (const [x, y, z] of [
      [1, 2, 3],
      [4, 5, 6],
      [-7, 8, 0.1],
    ]) {
      put('Uint8', 1);
      put('Float32', 99);
      put('Float64', z);
      put('Int16', x);
      put('Int8', -1);
      put('Float32', y);
    }
    for (let k = 0; k < 2; k++) {
      put('Uint16', 7);
      put('Float64', 7);
    }
    put('Uint16', 3);
    for (const corner of [0, 1, 2]) put('Uint8', corner);
    put('Uint32', 1);
    return Buffer.concat([
      Buffer.from(head(`binary_${isLittle ? 'little' : 'big'}_endian`, ...lines)),
      Buffer.from(bytes),
    ]);
  }

  test.each([true, false])('binary, little endian %s: every type, to the last bit', (isLittle) => {
    const { mesh, faults } = scanOf('clay.ply', binary(isLittle));
    expect(faults).toEqual([]);
    expect(Array.from(mesh!.vertices)).toEqual([1, 2, 3, 4, 5, 6, -7, 8, 0.1]);
    expect(Array.from(mesh!.triangles)).toEqual([0, 1, 2]);
  });

  test('binary behind a header whose lines end with CR LF: a byte of 10 is not taken for a line end', () => {
    const content = Buffer.concat([
      Buffer.from(
        head(
          'binary_little_endian',
          'element vertex 1',
          'property uchar x',
          'property uchar y',
          'property uchar z',
        ).replaceAll('\n', '\r'),
      ),
      Buffer.of(10, 13, 10),
    ]);
    expect(Array.from(scanOf('clay.ply', content).mesh!.vertices)).toEqual([10, 13, 10]);
  });

  test.each<[string, string, object]>([
    [
      'no format',
      good.replace('format ascii 1.0\n', ''),
      { code: 'ply-header', data: { what: 'format' } },
    ],
    [
      'a format nobody knows',
      good.replace('ascii', 'zipped'),
      { code: 'ply-header', place: { line: 2 } },
    ],
    [
      'a type nobody knows',
      good.replace('float x', 'quad x'),
      { code: 'ply-header', place: { line: 4 }, data: { what: 'property' } },
    ],
    [
      'a count that is none',
      good.replace('vertex 4', 'vertex -4'),
      { code: 'ply-header', data: { what: 'element' } },
    ],
    [
      'a header without end',
      good.slice(0, good.indexOf('end_header')),
      { code: 'ply-header', data: { what: 'end_header' } },
    ],
    [
      'a word nobody knows',
      good.replace('element face', 'elements face'),
      { code: 'ply-header', data: { what: 'word' } },
    ],
    ['no z', good.replace('float z', 'float w'), { code: 'ply-header', data: { what: 'vertex' } }],
    [
      'fewer rows than claimed',
      good.replace('face 2', 'face 3'),
      { code: 'mesh-truncated', data: { what: 'face', read: 2, expected: 3 } },
    ],
    [
      'a claim of all there can be',
      good.replace('vertex 4', 'vertex 4000000000'),
      { code: 'mesh-truncated', data: { what: 'vertex', read: 6 } },
    ],
    [
      'a row too short',
      good.replace('4 0 0', '4 0'),
      { code: 'mesh-row', place: { line: 11 }, data: { found: 2, expected: 3 } },
    ],
    [
      'a list too short',
      good.replace('3 0 2 3', '5 0 2 3'),
      { code: 'mesh-row', place: { line: 15 } },
    ],
    [
      'a word for a number',
      good.replace('4 4 0', '4 four 0'),
      { code: 'bad-number', place: { line: 12 }, data: { text: 'four' } },
    ],
    [
      'a corner beyond the vertices',
      good.replace('3 0 2 3', '3 0 2 4'),
      { code: 'mesh-index', place: { line: 15 }, data: { vertices: 4 } },
    ],
    [
      'a corner below 0',
      good.replace('3 0 2 3', '3 0 2 -1'),
      { code: 'mesh-index', place: { line: 15 } },
    ],
    [
      'lines behind the last row',
      `${good}over\nand out\n`,
      { code: 'mesh-text-unread', place: { line: 16 }, data: { count: 2, text: 'over' } },
    ],
  ])('%s is told', (_, content, expected) => {
    expect(told(content)).toEqual(
      expect.arrayContaining([
        expect.objectContaining({ code: (expected as { code: string }).code }),
      ]),
    );
    expect(
      told(content).filter(({ code }) => code === (expected as { code: string }).code),
    ).toMatchObject([expected]);
  });

  test('a vertex that cannot be read keeps its number', () => {
    const { mesh, counts } = scanOf('clay.ply', good.replace('0 4 0', '0 four 0'));
    expect(counts).toMatchObject({ triangles: 1, broken: 1, notFinite: 1 });
    expect(Array.from(mesh!.vertices)).toEqual([0, 0, 0, 4, 0, 0, 4, 4, 0]);
  });

  test.each([true, false])(
    'binary cut short: what is whole is kept, little endian %s',
    (isLittle) => {
      const whole = binary(isLittle);
      const { faults } = scanOf('clay.ply', whole.subarray(0, -6));
      expect(faults).toMatchObject([
        { code: 'mesh-truncated', data: { what: 'face', read: 0, expected: 1 } },
        { code: 'mesh-empty' },
      ]);
      expect(told(Buffer.concat([whole, Buffer.alloc(5)]))).toMatchObject([
        { code: 'ply-element' },
        { code: 'mesh-bytes-after', data: { bytes: 5 } },
      ]);
    },
  );

  test('a list that claims more than the file holds is no memory', () => {
    const content = Buffer.concat([
      Buffer.from(
        head('binary_little_endian', 'element vertex 0', ...axes, ...faces(1, 'uint int')),
      ),
      Buffer.of(255, 255, 255, 255, 0, 0),
    ]);
    expect(told(content)).toMatchObject([
      { code: 'mesh-truncated', data: { read: 0 } },
      { code: 'mesh-empty' },
    ]);
  });

  test('an element of rows without properties takes no time', () => {
    for (const format of ['ascii', 'binary_little_endian'])
      expect(
        told(head(format, 'element vertex 0', ...axes, 'element nothing 4000000000')),
      ).toMatchObject([{ code: 'mesh-empty' }, { code: 'ply-element' }]);
  });

  test('a concave face keeps its outline and its side, wherever it begins', () => {
    // An arrow head: the fan from its first corner would lie outside of it, unless it begins at the notch.
    const arrow = ['0 0 5', '4 2 5', '0 4 5', '1 2 5'];
    for (let turn = 0; turn < 4; turn++) {
      const points = [...arrow.slice(turn), ...arrow.slice(0, turn)];
      const content = `${head('ascii', 'element vertex 4', ...axes, ...faces(1))}${points.join('\n')}\n4 0 1 2 3\n`;
      const { mesh, counts } = scanOf('clay.ply', content);
      expect(counts).toMatchObject({ triangles: 2, degenerate: 0 });
      expect(areaOf(mesh!)).toBeCloseTo(6, 12);
    }
  });
});

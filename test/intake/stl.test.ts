import { describe, expect, test } from 'vitest';
import { clay } from '../../fixtures/clay.ts';
import { binaryStl, textStl } from '../../fixtures/meshFiles.ts';
import { scanOf, soupOf } from './scanOf.ts';

/** Two triangles that share an edge; every coordinate differs, so that no order can be mistaken. */
const flap = {
  vertices: Float64Array.of(0, 0.5, 1, 10, 0.25, 2, 0.75, 20, 3, 12, 21, -4),
  triangles: Uint32Array.of(0, 1, 2, 2, 1, 3),
};
const text = textStl(flap).toString();
const codes = (list: readonly { readonly code: string }[]): string[] =>
  list.map(({ code }) => code);

describe('STL as text (3D Systems, 1989; from memory)', () => {
  test.each<[string, (text: string) => string]>([
    ['as it is', (t) => t],
    ['in capitals', (t) => t.toUpperCase()],
    ['lines end with CR LF', (t) => t.replaceAll('\n', '\r\n')],
    ['lines end with CR', (t) => t.replaceAll('\n', '\r')],
    ['tabs for blanks', (t) => t.replaceAll(/ +/g, '\t')],
    ['blank lines', (t) => t.replaceAll('\n', '\n\n \t\n')],
    ['no line end at the end', (t) => t.trimEnd()],
    ['a byte-order mark', (t) => `\u00ef\u00bb\u00bf${t}`],
    ['blanks before it', (t) => `\n  ${t}`],
    [
      'a name of words that mean something',
      (t) => t.replaceAll('clay', 'facet vertex 1 2 3 endloop'),
    ],
    ['no name', (t) => t.replaceAll(' clay', '')],
    ['a name that is not ASCII', (t) => t.replaceAll('clay', 'T\u00c3\u00bcr')],
    ['exponents of Fortran', (t) => t.replace('10 0.25', '1.D+1 2.5d-1')],
    ['no digit behind or before the point', (t) => t.replace('10 0.25', '+10. .25')],
    ['zero below nothing', (t) => t.replaceAll(' 0 ', ' -0. ')],
    [
      'normals that are no numbers',
      (t) => t.replaceAll(/normal .*/g, 'normal nan -nan(ind) 1.#QNAN'),
    ],
    ['all of a facet on one line', (t) => t.replaceAll(/\n +(?! |facet)/g, ' ')],
    ['no line of solid before it', (t) => t.replace('solid clay\n', '')],
  ])('%s', (_, change) => {
    const { mesh, counts, faults, notices } = scanOf('clay.stl', change(text));
    expect([faults, notices]).toEqual([[], []]);
    expect(counts).toMatchObject({ vertices: 4, triangles: 2, faces: 2, parts: 1 });
    expect(mesh!.vertices).toEqual(flap.vertices);
    expect(mesh!.triangles).toEqual(flap.triangles);
  });

  test('in UTF-16 with its mark, either byte order', () => {
    const little = Buffer.from(`\ufeff${text}`, 'utf16le');
    for (const bytes of [little, Buffer.from(little).swap16()])
      expect(scanOf('clay.stl', bytes).mesh).toEqual(flap);
  });

  test('several solids are one mesh; they are counted', () => {
    const { counts, mesh } = scanOf('clay.stl', `${text}\n${text.replaceAll('20', '-20')}`);
    expect(counts).toMatchObject({ parts: 2, triangles: 4, vertices: 5 });
    expect(soupOf(mesh!).slice(18)).toContain(-20);
  });

  test.each<[string, (text: string) => string, string, object, number, number]>([
    // change, code, data, line, triangles that stay
    ['a word for a number', (t) => t.replace('0.25', 'o.25'), 'bad-number', { text: 'o.25' }, 5, 1],
    ['a comma for a point', (t) => t.replace('0.25', '0,25'), 'bad-number', { text: '0,25' }, 5, 1],
    [
      'a corner of two numbers',
      (t) => t.replace(' 0.25', ''),
      'mesh-row',
      { what: 'vertex', found: 2 },
      5,
      1,
    ],
    [
      'a facet of two corners',
      (t) => t.replace(/ +vertex 0.75.*\n/, ''),
      'mesh-row',
      { what: 'facet', found: 2 },
      2,
      1,
    ],
    [
      'a facet of four corners',
      (t) => t.replace(/( +vertex 0.75.*\n)/, '$1$1'),
      'mesh-row',
      { what: 'facet', found: 4 },
      2,
      1,
    ],
    [
      'cut in a facet',
      (t) => t.slice(0, t.lastIndexOf('endloop')),
      'mesh-truncated',
      { read: 2 },
      14,
      2,
    ],
    [
      'cut between facets',
      (t) => t.slice(0, t.lastIndexOf('endsolid')),
      'mesh-truncated',
      { read: 2 },
      16,
      2,
    ],
  ])('%s is told with its line', (_, change, code, data, line, triangles) => {
    const { mesh, faults } = scanOf('clay.stl', change(text));
    expect(faults).toMatchObject([{ code, data, place: { line } }]);
    expect(mesh!.triangles).toHaveLength(3 * triangles);
  });

  test('what is told more than once is told once, with how many follow', () => {
    const { faults } = scanOf('clay.stl', text.replaceAll('vertex 0.75 20', 'vertex 0.75 x'));
    expect(faults).toMatchObject([
      { code: 'bad-number', place: { line: 6 }, data: { further: 1 } },
      { code: 'mesh-empty', data: { faces: 2 } },
    ]);
  });

  test('text behind the mesh is passed over and told', () => {
    const { counts, faults, notices } = scanOf('clay.stl', `${text}# made by hand\nvertexes 3\n`);
    expect(faults).toEqual([]);
    expect(counts).toMatchObject({ triangles: 2 });
    expect(notices).toMatchObject([
      { code: 'mesh-text-unread', place: { line: 17 }, data: { count: 2, text: '#' } },
    ]);
  });

  test('nan in a corner: the facet is left out, and told', () => {
    const { counts, faults, notices } = scanOf('clay.stl', text.replace('20 3', 'nan 3'));
    expect(faults).toEqual([]);
    expect(counts).toMatchObject({ triangles: 1, broken: 1, notFinite: 1, vertices: 3 });
    expect(notices).toMatchObject([
      { code: 'mesh-not-finite', data: { count: 1, triangles: 1 } },
      { code: 'mesh-unused', data: { count: 1 } },
    ]);
  });

  test('a line without end is not waited for', () => {
    const long = `solid ${'x'.repeat(2 ** 24 + 2 ** 18)}`;
    expect(codes(scanOf('clay.stl', long).faults)).toEqual(['line-too-long', 'mesh-empty']);
  });
});

describe('facets that are written alike', () => {
  /** Coordinates of all corners as ECMA-262 reads them; 0 for -0. */
  const soupOfText = (content: string): number[] =>
    [...content.matchAll(/vertex\s+(\S+)\s+(\S+)\s+(\S+)/gi)].flatMap(([, ...xyz]) =>
      xyz.map((word) => Number(word) + 0),
    );
  const scan = clay(40);
  const eachOther =
    (change: (facet: string, k: number) => string) =>
    (t: string): string =>
      t
        .split(/(?<=endfacet\n)/)
        .map((facet, k) => (k % 2 === 1 ? change(facet, k) : facet))
        .join('');

  test.each<[string, (value: number) => string, (text: string) => string]>([
    ['six digits behind the point', (x) => x.toFixed(6), (t) => t],
    ['as short as can be read back', String, (t) => t],
    ['an exponent', (x) => x.toExponential(8), (t) => t],
    ['an exponent of three digits', (x) => x.toExponential(8).replace(/\d$/, '00$&'), (t) => t],
    ['in columns', (x) => x.toFixed(4).padStart(16), (t) => t],
    ['with a sign', (x) => (x < 0 ? '' : '+') + x.toFixed(6), (t) => t],
    ['every other one in capitals', (x) => x.toFixed(6), eachOther((f) => f.toUpperCase())],
    [
      'every other one with CR LF',
      (x) => x.toFixed(6),
      eachOther((f) => f.replaceAll('\n', '\r\n')),
    ],
    [
      'every other one with more blanks',
      (x) => x.toFixed(6),
      eachOther((f, k) => f.replaceAll(/(normal|vertex) /g, `$1${' '.repeat(1 + (k % 7))}`)),
    ],
  ])('%s', (_, written, change) => {
    const content = change(textStl(scan, written).toString());
    // Several blocks.
    expect(content.length).toBeGreaterThan(10 ** 6);
    const { mesh, counts, faults, notices } = scanOf('clay.stl', content);
    expect([faults, notices]).toEqual([[], []]);
    expect(counts).toMatchObject({ faces: 6240, triangles: 6240, vertices: 3122, parts: 1 });
    expect(soupOf(mesh!)).toEqual(soupOfText(content));
  });

  test('corners that are written nearly alike are not taken for one another', () => {
    const corners = [
      '1 2 3',
      '11 2 3',
      '1 2 33',
      '1 2 3.5',
      '-1 2 3',
      '1 22 3',
      '1 2  34',
      '21 2 3',
    ];
    const facets = corners.flatMap((a, i) =>
      corners.flatMap((b, j) =>
        corners.flatMap((c, k) =>
          i < j && j < k
            ? [
                `facet normal 0 0 1\nouter loop\nvertex ${a}\nvertex ${b}\nvertex ${c}\nendloop\nendfacet\n`,
              ]
            : [],
        ),
      ),
    );
    const whole = (content: string): string => `solid clay\n${content}endsolid clay\n`;
    const { mesh, counts } = scanOf('clay.stl', whole(facets.join('')));
    expect(counts).toMatchObject({ faces: 56, duplicate: 0 });
    const alone = facets.flatMap((facet) => {
      const one = scanOf('clay.stl', whole(facet)).mesh;
      return one ? soupOf(one) : [];
    });
    expect(soupOf(mesh!)).toEqual(alone);
    expect(counts!.triangles).toBeGreaterThan(40);
  });

  test.each<[string, string, number]>([
    ['normal', 'namral', 1],
    ['outer', 'otuer', 2],
    ['endfacet', 'undfacet', 7],
  ])('a word for %s in one among them is told with its line', (word, other, line) => {
    const content = textStl(scan, (x) => x.toFixed(6)).toString();
    const parts = content.split(/(?<=endfacet\n)/);
    parts[4000] = parts[4000].replace(word, other);
    const { counts, notices, mesh } = scanOf('clay.stl', parts.join(''));
    expect(notices).toMatchObject([
      { code: 'mesh-text-unread', place: { line: 1 + 7 * 4000 + line }, data: { text: other } },
    ]);
    expect(counts).toMatchObject({ faces: 6240, triangles: 6240 });
    expect(soupOf(mesh!)).toEqual(soupOfText(content));
  });

  test.each<[string, (facet: string) => string, string, number]>([
    ['a word for a number', (f) => f.replace(/(vertex \S+) \S+/, '$1 o.5'), 'bad-number', 3],
    ['a corner of two numbers', (f) => f.replace(/(vertex \S+ \S+) \S+/, '$1'), 'mesh-row', 3],
    ['two corners', (f) => f.replace(/ +vertex.*\n/, ''), 'mesh-row', 1],
    ['four corners', (f) => f.replace(/( +vertex.*\n)/, '$1$1'), 'mesh-row', 1],
  ])(
    'one with %s among them is told with its line, and it alone is lost',
    (_, change, code, line) => {
      const parts = textStl(scan, (x) => x.toFixed(6))
        .toString()
        .split(/(?<=endfacet\n)/);
      const content = parts.map((facet, k) => (k === 4000 ? change(facet) : facet)).join('');
      const { counts, faults, mesh } = scanOf('clay.stl', content);
      // The line of solid, and seven a facet.
      expect(faults).toMatchObject([{ code, place: { line: 1 + 7 * 4000 + line } }]);
      expect(counts).toMatchObject({ faces: 6240, triangles: 6239, broken: 1 });
      const rest = parts.filter((__, k) => k !== 4000).join('');
      expect(soupOf(mesh!)).toEqual(soupOfText(rest));
    },
  );
});

describe('STL in the binary form (the same)', () => {
  const bytes = binaryStl(flap);

  test.each<[string, Uint8Array, object[]]>([
    ['as it is', bytes, []],
    ['a header that begins with solid', binaryStl(flap, 'solid clay\n facet normal 0 0 0'), []],
    [
      'a count of nothing',
      Buffer.concat([bytes.subarray(0, 80), Buffer.alloc(4), bytes.subarray(84)]),
      [{ code: 'mesh-count', data: { what: 'facets', stated: 0, found: 2 } }],
    ],
    [
      'a count of all that can be, under a header that begins with solid',
      Buffer.concat([
        binaryStl(flap, 'solid').subarray(0, 80),
        Buffer.alloc(4, 255),
        bytes.subarray(84),
      ]),
      [{ code: 'mesh-count', data: { stated: 0xffffffff, found: 2 } }],
    ],
    [
      'something behind it',
      Buffer.concat([bytes, Buffer.from('made by hand')]),
      [{ code: 'mesh-bytes-after', place: { byte: 184 }, data: { bytes: 12 } }],
    ],
  ])('%s', (_, content, told) => {
    const { mesh, counts, faults, notices } = scanOf('clay.stl', content);
    expect(faults).toEqual([]);
    expect(notices).toMatchObject(told);
    expect(counts).toMatchObject({ vertices: 4, triangles: 2, faces: 2 });
    expect(mesh).toEqual(flap);
  });

  test('cut in a facet: what is whole is kept', () => {
    const { mesh, faults } = scanOf('clay.stl', bytes.subarray(0, -10));
    expect(faults).toMatchObject([
      { code: 'mesh-truncated', place: { byte: 134 }, data: { read: 1, expected: 2 } },
    ]);
    expect(mesh!.triangles).toHaveLength(3);
  });

  test('corners with equal coordinates are one vertex, 0 and -0 too; a bit of difference is not', () => {
    const next = Math.fround(1 + 2 ** -23);
    const soup = {
      vertices: Float64Array.of(0, 0, 0, 1, 0, 0, 0, 1, 0, -0, -0, 0, 0, 1, -0, -1, next, 0),
      triangles: Uint32Array.of(0, 1, 2, 3, 4, 5),
    };
    const { mesh } = scanOf('clay.stl', binaryStl(soup));
    expect(Array.from(mesh!.triangles)).toEqual([0, 1, 2, 0, 2, 3]);
    expect(mesh!.vertices[10]).toBe(next);
  });

  test('corners that are no numbers are no long search', () => {
    const count = 20_000;
    const all = {
      vertices: new Float64Array(9 * count).fill(NaN),
      triangles: Uint32Array.from({ length: 3 * count }, (_, k) => k),
    };
    const begun = performance.now();
    const { faults, counts } = scanOf('clay.stl', binaryStl(all));
    expect(performance.now() - begun).toBeLessThan(1000);
    expect(codes(faults)).toEqual(['mesh-empty']);
    expect(counts).toMatchObject({ broken: count, notFinite: 1 });
  });
});

test.each<[string, string, Uint8Array | string, string]>([
  ['a letter', 'clay.stl', 'Dear modeller,\n', 'stl-form'],
  [
    'bytes of any kind',
    'clay.stl',
    Buffer.from(Array.from({ length: 3000 }, (_, k) => (k * 167) & 255)),
    'stl-form',
  ],
  ['text in UTF-16 without a mark', 'clay.stl', Buffer.from(text, 'utf16le'), 'stl-form'],
  ['a short binary', 'clay.stl', Buffer.alloc(50), 'stl-form'],
  ['OBJ', 'clay.stl', 'v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n', 'wrong-extension'],
  ['PLY', 'clay.stl', 'ply\nformat ascii 1.0\nend_header\n', 'wrong-extension'],
  ['STEP', 'clay.stl', 'ISO-10303-21;\nHEADER;\n', 'wrong-extension'],
  ['STL', 'clay.ply', text, 'wrong-extension'],
  ['STL', 'clay.dat', text, 'wrong-extension'],
  ['no bytes', 'clay.stl', '', 'file-empty'],
])('%s named %s: the file is not read', (_, name, content, code) => {
  const { mesh, format, faults } = scanOf(name, content);
  expect(codes(faults)).toEqual([code]);
  expect([mesh, format]).toEqual([null, null]);
});

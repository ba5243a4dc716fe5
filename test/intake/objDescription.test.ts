import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import type { ControlNet } from '../../src/geometry/controlNet.ts';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import { breakpoints, isClamped } from '../../src/geometry/knots.ts';
import type { Fault } from '../../src/intake/fault.ts';
import { recognisedFormat } from '../../src/intake/format.ts';
import { readObjSurfaces } from '../../src/intake/obj/readObjSurfaces.ts';
import type { Intake, Trim } from '../../src/intake/panel.ts';
import { readSurfaces } from '../../src/intake/readSurfaces.ts';
import { faultSentence, noticeSentence } from '../../src/writers/faultSentences.ts';
import { insideLoops } from '../insideLoops.ts';

// The description of the format in version 3.0, appendix B1 "Object files", as it is widely published: its
// examples are cited by the section that they close and their numbers. Slips of print (a digit before
// surf, a backslash within a line, knots in v of one value) are mended as its other examples have them.

const read = (text: string): Intake => readObjSurfaces(Buffer.from(text));
const noticed = ({ notices }: Intake): string[] => notices.map(({ code }) => code);
const sound = (intake: Intake, ...also: readonly string[]): void => {
  expect(intake.faults).toEqual([]);
  expect(noticed(intake).filter((code) => code !== 'unit-doubtful')).toEqual([
    ...also,
    'unit-missing',
  ]);
};
const first = (text: string, ...also: readonly string[]): Intake['panels'][number] => {
  const intake = read(text);
  sound(intake, ...also);
  expect(intake.panels.length).toBeGreaterThan(0);
  return intake.panels[0];
};

/** The 16 vertices of the patches in the description: x by the row, y by the column. */
const patchVertices = [-5, -1.666667, 1.666667, 5]
  .flatMap((x) => [-5, -1.666667, 1.666667, 5].map((y) => `v ${x} ${y} 0.000000\n`))
  .join('');
/** The order in which they stand in the surfaces there: x falls from row to row. */
const patchOrder = '13 14 \\\n15 16 9 10 11 12 5 6 7 8 1 2 3 4';

/** A bilinear plate of 100 by 50 mm. */
const plate = `v 0 0 0
v 100 0 0
v 0 50 0
v 100 50 8
cstype bezier
deg 1 1
surf 0 1 0 1 1 2 3 4
parm u 0 1
parm v 0 1
end
`;

describe('examples of the description', () => {
  test('B-spline surface (body statements, 3): its domain is the range, and no knot is clamped', () => {
    const knots = '-3.000000 -2.000000 -1.000000 0.000000  \\\n1.000000 2.000000 3.000000 4.000000';
    const { net, name, trim, place } = first(`g bspatch
${patchVertices}# 16 vertices

cstype bspline
stech curv 0.5 10.000000
deg 3 3
surf 0.000000 1.000000 0.000000 1.000000 ${patchOrder}
parm u ${knots}
parm v ${knots}
end
# 1 element
`);
    expect([name, trim, place]).toEqual([
      'bspatch',
      { kind: 'whole' },
      { line: 23, record: 'surf 1' },
    ]);
    expect(net.degree).toEqual([3, 3]);
    expect(Array.from(net.knots[1])).toEqual([-3, -2, -1, 0, 1, 2, 3, 4]);
    expect(isClamped(net.knots[0], 3)).toBe(false);
    expect(Array.from(net.points.subarray(0, 6))).toEqual([5, -5, 0, 5, -1.666667, 0]);
    // x of a uniform cubic B-spline at its start: (5 + 4 * 1.666667 - 1.666667) / 6
    expect(surfacePoint(net, 0, 0)[0]).toBeCloseTo((5 + 3 * 1.666667) / 6, 12);
  });

  test('rational B-spline surface (body statements, 5): points are not multiplied by weights', () => {
    const { net } = first(`
    v -1.3 -1.0  0.0
    v  0.1 -1.0  0.4  7.6
    v  1.4 -1.0  0.0  2.3
    v -1.4  0.0  0.2
    v  0.1  0.0  0.9  0.5
    v  1.3  0.0  0.4  1.5
    v -1.4  1.0  0.0  2.3
    v  0.1  1.0  0.3  6.1
    v  1.1  1.0  0.0  3.3
    vt 0.0  0.0
    cstype rat bspline
    deg 2 2
    surf 0.0 1.0 0.0 1.0 1/1 2/2 3/3 4/4 5/5 6/6 \\
    7/7 8/8 9/9
    parm u 0.0 0.0 0.0 1.0 1.0 1.0
    parm v 0.0 0.0 0.0 1.0 1.0 1.0
    end
`);
    expect(Array.from(net.weights!)).toEqual([1, 7.6, 2.3, 1, 0.5, 1.5, 2.3, 6.1, 3.3]);
    for (let column = 0; column < 3; column++) expect(net.points[3 * column + 1]).toBe(-1);
    // the whole edge runs at y = -1 all the same
    expect(surfacePoint(net, 0.3, 0)[1]).toBeCloseTo(-1, 14);
  });

  /** Trimmed NURB surface (body statements, 6), with the knots in v as example 8 has them. */
  const trimmed = (body: string, curves = ''): string => `# trimming curve
    vp -0.675  1.850  3.000
    vp  0.915  1.930
    vp  2.485  0.470  2.000
    vp  2.485 -1.030
    vp  1.605 -1.890 10.700
    vp -0.745 -0.654  0.500
    cstype rat bezier
    deg 3
    curv2 -6 -5 -4 -3 -2 -1 -6
    parm u 0.00 1.00 2.00
    end
    ${curves}
    # surface
    v -1.350 -1.030 0.000
    v  0.130 -1.030 0.432 7.600
    v  1.480 -1.030 0.000 2.300
    v -1.460  0.060 0.201
    v  0.120  0.060 0.915 0.500
    v  1.380  0.060 0.454 1.500
    v -1.480  1.030 0.000 2.300
    v  0.120  1.030 0.394 6.100
    v  1.170  1.030 0.000 3.300
    cstype rat bspline
    deg 2 2
    surf -1.0 2.5 -2.0 2.0 -9 -8 -7 -6 -5 -4 -3 -2 -1
    parm u -1.00 -1.00 -1.00 2.50 2.50 2.50
    parm v -2.00 -2.00 -2.00 2.00 2.00 2.00
    ${body}
    end
`;
  const keptBy = (trim: Trim): ((u: number, v: number) => boolean) => {
    if (trim.kind !== 'part') throw new Error(trim.kind);
    return insideLoops(trim.region);
  };

  test('trimmed NURB surface (body statements, 6 and 8): a rational loop; special curves say nothing', () => {
    const special = `vp -0.185  0.322
    vp  0.214  0.818
    vp  1.652  0.207
    vp  1.652 -0.455
    curv2 -4 -3 -2 -1
    parm u 2.00 10.00
    end`;
    for (const text of [
      trimmed('trim 0.0 2.0 1'),
      trimmed('trim 0.0 2.0 1\n scrv 4.2 9.7 2', special),
      trimmed('trim 0.0 2.0 -1'),
      trimmed('trim 2.0 0.0 1'),
      trimmed('trim 0.0 1.2 1 1.2 2.0 1'),
    ]) {
      const { trim } = first(text);
      const kept = keptBy(trim);
      // at half of its first segment the loop runs through (18.115, 13.13) / 13
      const [u, v] = [18.115 / 13, 13.13 / 13];
      const inside = [
        [u - 0.005, v - 0.005],
        [0.5, 1],
        [2.2, 0],
      ];
      const outside = [
        [u + 0.005, v + 0.005],
        [-0.9, 1.9],
        [2.4, 1.9],
        [2.4, -1.9],
        [-0.9, -1.5],
      ];
      expect(inside.map(([x, y]) => kept(x, y))).toEqual([true, true, true]);
      expect(outside.map(([x, y]) => kept(x, y))).toEqual(outside.map(() => false));
    }
  });

  test('a weight pulls the loop towards its point (vp u v w)', () => {
    const plain = trimmed('trim 0.0 2.0 1').replace('vp  1.605 -1.890 10.700', 'vp  1.605 -1.890');
    // near the point of weight 10.7
    const spot = [1.6, -1.5] as const;
    expect(keptBy(first(trimmed('trim 0.0 2.0 1')).trim)(...spot)).toBe(true);
    expect(keptBy(first(plain).trim)(...spot)).toBe(false);
  });

  const regions = (body: string): string => {
    const square = (low: number, high: number, count: number): string =>
      `vp ${low} ${low}\nvp ${high} ${low}\nvp ${high} ${high}\nvp ${low} ${high}\n` +
      `curv2 ${count} ${count + 1} ${count + 2} ${count + 3} ${count}\n` +
      'parm u 0.00 1.00 2.00 3.00 4.00\nend\n';
    return `deg 1
cstype bezier
${square(0.1, 0.9, 1)}${square(0.3, 0.7, 5)}${square(1.1, 1.9, 9)}${square(1.3, 1.7, 13)}
v 0.000 0.000 0.000
v 1.000 0.000 0.000
v 0.000 1.000 0.000
v 1.000 1.000 0.000
deg 1 1
cstype bezier
surf 0.0 2.0 0.0 2.0 1 2 3 4
parm u 0.00 2.00
parm v 0.00 2.00
${body}end
`;
  };

  test('two trimming regions with a hole (body statements, 7)', () => {
    const { trim } = first(
      regions('trim 0.0 4.0 1\nhole 0.0 4.0 2\ntrim 0.0 4.0 3\nhole 0.0 4.0 4\n'),
    );
    const kept = keptBy(trim);
    const along = [0.05, 0.2, 0.5, 0.8, 1, 1.2, 1.5, 1.8, 1.95].map((x) => kept(x, x));
    expect(along).toEqual([false, true, false, true, false, true, false, true, false]);
  });

  test('a hole before any trim is cut from the range of the surface', () => {
    const kept = keptBy(first(regions('hole 0.0 4.0 2\n')).trim);
    expect([0.05, 0.5, 1, 1.95].map((x) => kept(x, x))).toEqual([true, false, true, true]);
  });

  test('where a hole comes first, a trim behind it is a region of its own', () => {
    // the range with hole 1 in it, and in that hole what the second loop encloses
    const kept = keptBy(first(regions('hole 0.0 4.0 1\ntrim 0.0 4.0 2\n')).trim);
    expect([0.05, 0.2, 0.5, 0.8, 1, 1.95].map((x) => kept(x, x))).toEqual([
      true,
      false,
      true,
      false,
      true,
      true,
    ]);
  });

  test('two surfaces that share a trimming curve (connectivity, 1)', () => {
    const corners = (x: number): string =>
      `v ${x} 0 0\nv ${x + 1} 0 0\nv ${x} 1 0\nv ${x + 1} 1 0\n`;
    const body = 'parm u 0.0 1.0\nparm v 0.0 1.0\ntrim 0.0 4.0 1\nend\n';
    const intake = read(
      `cstype bezier\ndeg 1 1\n${corners(0)}vp 0 0\nvp 1 0\nvp 1 1\nvp 0 1\n` +
        `curv2 1 2 3 4 1\nparm u 0.0 1.0 2.0 3.0 4.0\nend\nsurf 0.0 1.0 0.0 1.0 1 2 3 4\n${body}` +
        `${corners(1)}surf 0.0 1.0 0.0 1.0 5 6 7 8\n${body}con 1 2.0 2.0 1 2 4.0 3.0 1\n`,
    );
    sound(intake);
    expect(intake.panels.map(({ name, trim }) => [name, trim.kind])).toEqual([
      ['surf 1', 'part'],
      ['surf 2', 'part'],
    ]);
    expect(intake.panels[1].net.points[0]).toBe(1);
  });

  test('Bezier patch in version 3.0, and the same patch of 2.11 (superseded statements)', () => {
    const { net } = first(
      `${patchVertices}cstype bezier\ndeg 3 3\nsurf 0.0 1.0 0.0 1.0 ${patchOrder}\n` +
        'parm u 0.000000 1.000000\nparm v 0.000000 1.000000\nend\n',
    );
    expect(Array.from(net.knots[0])).toEqual([0, 0, 0, 0, 1, 1, 1, 1]);
    expect([net.columns, net.rows]).toEqual([4, 4]);
    const old = read(`${patchVertices}bzp 1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16\n`);
    expect(old).toMatchObject({ panels: [], faults: [], notices: [] });
    expect(old.unjudged).toEqual([
      {
        kind: 'OBJ Bezier patch of version 2.11',
        label: 'Bezier patch of version 2.11',
        count: 1,
        places: [{ line: 17 }],
      },
    ]);
  });

  test('Cardinal surface (body statements, 4) and Taylor: counted as not judged', () => {
    const surf = `surf 0.0 1.0 0.0 1.0 ${patchOrder}\nparm u 0.0 1.0\nparm v 0.0 1.0\nend\n`;
    const intake = read(
      `${patchVertices}cstype cardinal\nstech cparma 1.0 1.0\ndeg 3 3\n${surf}${surf}` +
        `cstype rat taylor\n${surf}cstype rat bmatrix\n${surf}`,
    );
    expect(intake).toMatchObject({ panels: [], faults: [], notices: [] });
    expect(intake.unjudged.map(({ kind, label, count }) => [kind, label, count])).toEqual([
      ['OBJ cardinal surface', 'cardinal surface', 2],
      ['OBJ taylor surface', 'taylor surface', 1],
      ['OBJ rational basis matrix surface', 'rational basis matrix surface', 1],
    ]);
    expect(intake.unjudged[0].places[0]).toEqual({ line: 20, record: 'surf 1' });
  });

  test('a curve in space with a special point (body statements, 9) is no surface', () => {
    const intake = read(
      'vp 0.5\nv 0 0 0\nv 1 1 0\nv 2 1 0\nv 3 0 0\ncstype bezier\ndeg 3\n' +
        `curv 0.2 0.9 -4 -3 -2 -1\nsp 1\nparm u 0.00 1.00\nend\n${plate.replace('1 2 3 4', '5 6 7 8')}`,
    );
    sound(intake);
    expect(intake.panels[0].net.points[3]).toBe(100);
  });
});

describe('basis matrices (attributes, examples 1 to 3)', () => {
  const bezier = [1, -3, 3, -1, 0, 3, -6, 3, 0, 0, 3, -3, 0, 0, 0, 1];
  const spline = [1, -3, 3, -1, 4, 0, -6, 3, 1, 3, 3, -3, 0, 0, 0, 1].map((x) => x / 6);
  // of the points at both ends, then of the tangents
  const hermite = [1, 0, -3, 2, 0, 0, 3, -2, 0, 1, -2, 1, 0, 0, -1, 1];

  interface Direction {
    readonly matrix: readonly number[];
    readonly step: number;
    readonly count: number;
    readonly parameters: readonly number[];
  }
  function surface(u: Direction, v: Direction, points: Float64Array): string {
    const vertices = Array.from(
      { length: u.count * v.count },
      (_, k) => `v ${points.subarray(3 * k, 3 * k + 3).join(' ')}\n`,
    );
    const numbers = vertices.map((_, k) => k + 1).join(' ');
    const range = [u, v].flatMap(({ parameters: p }) => [p[0], p[p.length - 1]]);
    return `${vertices.join('')}cstype bmatrix\ndeg ${[u, v].map(({ matrix: m }) => Math.sqrt(m.length) - 1).join(' ')}\nstep ${u.step} ${v.step}\nbmat u ${u.matrix.join(' ')}
bmat v ${v.matrix.join(' ')}\nsurf ${range.join(' ')} ${numbers}
parm u ${u.parameters.join(' ')}\nparm v ${v.parameters.join(' ')}\nend\n`;
  }
  const drawn = (count: number): Float64Array => {
    const random = seededRandom(count);
    return Float64Array.from({ length: 3 * count }, () => random.between(0, 500));
  };
  const multiplicities = ({ knots }: ControlNet): number[][] =>
    knots.map((own) => breakpoints(own).map(({ multiplicity }) => multiplicity));

  test('the matrix of a cubic Bezier surface gives its points back', () => {
    const points = drawn(49);
    const run: Direction = { matrix: bezier, step: 3, count: 7, parameters: [0, 1, 3] };
    const { net } = first(surface(run, run, points));
    expect(multiplicities(net)).toEqual([
      [4, 3, 4],
      [4, 3, 4],
    ]);
    net.points.forEach((x, k) => expect(Math.abs(x - points[k])).toBeLessThan(1e-11));
  });

  test('a cubic Bezier in u, a uniform cubic B-spline in v: knots in v stand once', () => {
    const points = drawn(4 * 7);
    const { net } = first(
      surface(
        { matrix: bezier, step: 3, count: 4, parameters: [0, 2] },
        { matrix: spline, step: 1, count: 7, parameters: [0, 1, 2, 3, 4] },
        points,
      ),
    );
    expect(multiplicities(net)).toEqual([
      [4, 4],
      [4, 1, 1, 1, 4],
    ]);
    const uniform: ControlNet = {
      degree: [3, 3],
      knots: [
        Float64Array.of(0, 0, 0, 0, 2, 2, 2, 2),
        Float64Array.from({ length: 11 }, (_, k) => k - 3),
      ],
      columns: 4,
      rows: 7,
      points,
      weights: null,
    };
    for (const u of [0, 0.7, 1.9])
      for (const v of [0, 0.4, 1, 2.5, 3.9])
        surfacePoint(net, u, v).forEach((x, axis) => {
          expect(Math.abs(x - surfacePoint(uniform, u, v)[axis])).toBeLessThan(1e-10);
        });
  });

  test('a matrix of seven digits is as smooth as it means to be', () => {
    const given = spline.map((x) => Number(x.toFixed(7)));
    const run: Direction = { matrix: given, step: 1, count: 6, parameters: [0, 1, 2, 3] };
    expect(multiplicities(first(surface(run, run, drawn(36))).net)).toEqual([
      [4, 1, 1, 4],
      [4, 1, 1, 4],
    ]);
  });

  test('a part of a surface that falls to pieces is not taken for its whole', () => {
    const torn: Direction = { matrix: bezier, step: 4, count: 8, parameters: [0, 1, 2] };
    const one: Direction = { matrix: bezier, step: 3, count: 4, parameters: [0, 1] };
    const { panels, notices } = read(
      surface(torn, one, drawn(32)).replace('surf 0 2 0 1', 'surf 0 1.5 0 1'),
    );
    expect(panels.map(({ trim }) => trim.kind)).toEqual(['unread', 'unread']);
    expect(notices.map(({ code, data }) => [code, data['what']])).toContainEqual([
      'trim-unread',
      'apart',
    ]);
  });

  test('Hermite in u: points with their tangents, a step of two; straight in v', () => {
    const { net } = first(
      surface(
        {
          matrix: [...hermite.slice(0, 4), ...hermite.slice(8, 12), ...hermite.slice(4, 8)].concat(
            hermite.slice(12),
          ),
          step: 2,
          count: 6,
          parameters: [0, 1, 3],
        },
        { matrix: [1, -1, 0, 1], step: 1, count: 2, parameters: [0, 1] },
        Float64Array.from(
          // x 0, 100 and 300, with tangents of 90, 150 and 240 a segment; the second row 50 to the side
          [0, 50].flatMap((y) =>
            [0, 90, 100, 150, 300, 240].flatMap((x, k) => [x, k % 2 === 0 ? y : 0, 0]),
          ),
        ),
      ),
    );
    expect(net.degree).toEqual([3, 1]);
    // half way: (x0 + x1) / 2 + (t0 - t1) / 8
    expect(surfacePoint(net, 0.5, 0)[0]).toBeCloseTo(50 + (90 - 150) / 8, 10);
    expect(surfacePoint(net, 2, 1)[0]).toBeCloseTo(200 + (150 - 240) / 8, 10);
    expect(surfacePoint(net, 2, 1)[1]).toBeCloseTo(50, 10);
    // the second segment is twice as long: tangents a segment that agree are none a parameter
    expect(multiplicities(net)[0]).toEqual([4, 3, 4]);
  });

  test('patches that do not meet become panels of their own, which is told', () => {
    const torn: Direction = { matrix: bezier, step: 4, count: 8, parameters: [0, 1, 2] };
    const one: Direction = { matrix: bezier, step: 3, count: 4, parameters: [0, 1] };
    const intake = read(surface(torn, one, drawn(32)));
    sound(intake, 'patches-apart');
    expect(intake.panels.map(({ name, net }) => [name, ...net.knots[0].subarray(3, 5)])).toEqual([
      ['surf 1', 0, 1],
      ['surf 1~2', 1, 2],
    ]);
  });
});

describe('the text', () => {
  test.each<[string, string]>([
    ['CR LF', plate.replaceAll('\n', '\r\n')],
    ['CR', plate.replaceAll('\n', '\r')],
    ['a byte-order mark', `\ufeff${plate}`],
    ['no line end at the end', plate.trimEnd()],
    ['tabs, blanks and blank lines', plate.replaceAll(' ', ' \t ').replaceAll('\n', ' \n\n\t')],
    ['lines joined by a backslash', plate.replaceAll(' ', ' \\\n')],
    ['a backslash behind a word, with CR LF', plate.replaceAll(' ', '\\\r\n ')],
    ['a backslash with blanks behind it', plate.replaceAll(' ', ' \\  \n')],
    ['comments behind statements', plate.replaceAll('\n', ' # 1 2\n#\n')],
    ['a comment that ends with a backslash', `# C:\\\n${plate}`],
    ['indices backwards', plate.replace('1 2 3 4', '-4 -3 -2 -1')],
    ['texture and normals', plate.replace('1 2 3 4', '1/7 2/8/9 3//1 +4')],
    ['a weight that is not asked for', plate.replace('v 0 0 0', 'v 0 0 0 2.5')],
    ['colours', plate.replaceAll(/^v .*$/gm, '$& 0.5 nan 1')],
    [
      'vertices behind the surface',
      `${plate.slice(plate.indexOf('cst'))}${plate.slice(0, plate.indexOf('cst'))}`,
    ],
    ['vertices within the body', plate.replace('parm u', 'v 9 9 9\nusemtl red\nparm u')],
    ['knots said twice: the last holds', plate.replace('parm u 0 1', 'parm u 5 5 5\nparm u 0 1')],
    ['exponents', plate.replaceAll('100', '+.1E+3')],
    [
      'what says nothing of shape',
      `mtllib a b\nusemtl red\ns 1\nmg 1 .5\nvn 0 0 1\nvt 0 0\nlod 1\np 1\nl 1 2\nres 4 4\n${plate.replace('deg', 'stech curv 0.5 10\nctech cparm 1\nvp 0.5 0.5\ndeg').replace('end', 'sp 1\nend')}`,
    ],
  ])('%s', (_, text) => {
    const { net } = first(text);
    expect(Array.from(net.points)).toEqual([0, 0, 0, 100, 0, 0, 0, 50, 0, 100, 50, 8]);
    expect(net.weights).toBeNull();
  });

  test('weights: left out they are 1, with colours behind them they stay', () => {
    const { net } = first(
      plate
        .replace('cstype', 'cstype rat')
        .replace('v 0 0 0', 'v 0 0 0 2.5')
        .replace('v 100 0 0', 'v 100 0 0 3 0 0 1')
        .replace('v 0 50 0', 'v 0 50 0 1 0 0'),
    );
    expect(Array.from(net.weights!)).toEqual([2.5, 3, 1, 1]);
  });

  test('names: of the last group or object; groups', () => {
    const intake = read(
      `${plate}o hood\n${plate}g left front # skin\n${plate}${plate}o Kotfl\u00fcgel\n${plate}g default\n${plate}`,
    );
    sound(intake);
    expect(intake.panels.map(({ name, groups }) => [name, groups])).toEqual([
      ['surf 1', undefined],
      ['hood', undefined],
      ['left front', ['front', 'left']],
      ['left front~2', ['front', 'left']],
      ['Kotfl\u00fcgel', ['front', 'left']],
      ['surf 6', undefined],
    ]);
    const latin = readObjSurfaces(Buffer.from(`g h\u00f6he\n${plate}`, 'latin1'));
    expect(latin.panels[0].name).toBe('h\u00f6he');
  });

  test('the format by ending and content', () => {
    expect(readSurfaces('a.OBJ', Buffer.from(plate))).toMatchObject({ format: 'obj', faults: [] });
    expect(recognisedFormat('a.igs', Buffer.from(plate))).toMatchObject({
      code: 'wrong-extension',
      data: { meant: 'iges', found: 'obj' },
    });
    expect(recognisedFormat('a.obj', Buffer.from(plate, 'utf16le'))).toMatchObject({
      code: 'text-encoding',
    });
  });

  test('a size that no panel has in millimetres is doubted', () => {
    expect(noticed(read(plate.replaceAll('00', '')))).toEqual(['unit-missing']);
    expect(noticed(read(plate.replaceAll('100', '1').replaceAll('50', '1')))).toEqual([
      'unit-missing',
      'unit-doubtful',
    ]);
  });
});

describe('what is told', () => {
  test('a mesh: no panel, no fault, its polygons counted', () => {
    expect(read('v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\nf 1 2 3\n')).toMatchObject({
      panels: [],
      unjudged: [],
      faults: [],
      notices: [{ code: 'obj-faces', data: { count: 2 } }],
    });
  });

  test.each<[string, string, object, RegExp]>([
    [
      'polygons beside surfaces',
      `${plate}f 1 2 3\n`,
      { code: 'obj-faces', place: {}, data: { count: 1 } },
      /^1 polygon stands in the file beside/,
    ],
    [
      'other files',
      `${plate}call a.obj 1\ncall b.obj\n`,
      { code: 'obj-outside', place: { line: 11 }, data: { what: 'call', count: 2 } },
      /^2 statements call another file or program \("call"\); none was followed\./,
    ],
    [
      'a command, which is not run',
      `csh -touch ran\n${plate}`,
      { code: 'obj-outside', place: { line: 1 }, data: { what: 'csh', count: 1 } },
      /^1 statement calls another file or program \("csh"\); none was followed\./,
    ],
    [
      'lines of no statement',
      `${plate}hood 1\nparm u 0 1\ntrim 0 1 1\nend\n`,
      { code: 'mesh-text-unread', place: { line: 11 }, data: { count: 4, text: 'hood' } },
      /^4 lines are not of the format and were passed over, .* "hood"\.$/,
    ],
  ])('%s', (_, text, notice, sentence) => {
    const intake = read(text);
    sound(intake, (notice as { code: string }).code);
    expect(intake.panels).toHaveLength(1);
    expect(intake.notices[0]).toMatchObject(notice);
    expect(noticeSentence(intake.notices[0])).toMatch(sentence);
  });

  const spline = plate.replace('bezier', 'bspline').replace(/parm ([uv]) 0 1/g, 'parm $1 0 0 1 1');
  const matrix = plate
    .replace('bezier', 'bmatrix')
    .replace('deg 1 1', 'deg 1 1\nstep 1 1\nbmat u 1 -1 0 1\nbmat v 1 -1 0 1');
  test('the plate as a B-spline and by matrices is the same plate', () => {
    for (const text of [spline, matrix]) expect(first(text).net).toEqual(first(plate).net);
  });

  test.each<[string, string, Partial<Fault>]>([
    [
      'no type',
      plate.replace('cstype bezier\n', ''),
      { code: 'obj-attribute', data: { what: 'cstype' } },
    ],
    [
      'an unknown type',
      plate.replace('bezier', 'spiral'),
      { code: 'obj-attribute', data: { what: 'cstype' } },
    ],
    ['no degree', plate.replace('deg 1 1\n', ''), { code: 'obj-attribute', data: { what: 'deg' } }],
    [
      'one degree',
      plate.replace('deg 1 1', 'deg 1'),
      { code: 'obj-attribute', data: { what: 'deg' } },
    ],
    [
      'a degree that is no number',
      plate.replace('deg 1 1', 'deg one 1'),
      { code: 'bad-number', place: { line: 6, record: 'deg' } },
    ],
    ['degree 0', plate.replace('deg 1 1', 'deg 0 1'), { code: 'degree-range' }],
    ['half a degree', plate.replace('deg 1 1', 'deg 1.5 1'), { code: 'degree-range' }],
    ['degree 2147483647', plate.replace('deg 1 1', 'deg 2147483647 1'), { code: 'degree-range' }],
    [
      'no parameters',
      plate.replace('parm v 0 1\n', ''),
      { code: 'obj-attribute', data: { what: 'parm v' } },
    ],
    ['one parameter', plate.replace('parm v 0 1', 'parm v 0'), { code: 'obj-attribute' }],
    [
      'parameters of neither direction',
      plate.replace('parm v', 'parm w'),
      { code: 'obj-attribute' },
    ],
    ['parameters that fall', plate.replace('parm v 0 1', 'parm v 1 0'), { code: 'knots-decrease' }],
    [
      'parameters that stand',
      plate.replace('parm v 0 1', 'parm v 1 1'),
      { code: 'knots-decrease' },
    ],
    [
      'a parameter that is no number',
      plate.replace('parm v 0 1', 'parm v 0 nan'),
      { code: 'bad-number', place: { line: 9, record: 'surf 1' } },
    ],
    [
      'a parameter beyond all',
      plate.replace('parm v 0 1', 'parm v 0 1e999'),
      { code: 'not-finite' },
    ],
    [
      'more parameters than points',
      plate.replace('parm v 0 1', 'parm v 0 1 2'),
      { code: 'wrong-count', data: { what: 'points', found: 4, expected: 6 } },
    ],
    [
      'a point more',
      plate.replace('1 2 3 4', '1 2 3 4 4'),
      { code: 'wrong-count', data: { what: 'points', found: 5, expected: 4 } },
    ],
    ['a point less', plate.replace('1 2 3 4', '1 2 3'), { code: 'wrong-count' }],
    [
      'too few knots',
      spline.replace('parm v 0 0 1 1', 'parm v 0 1 1'),
      { code: 'wrong-count', data: { what: 'values of parm v', found: 3, expected: 4 } },
    ],
    [
      'knots that fall',
      spline.replace('parm v 0 0 1 1', 'parm v 0 0 1 .5'),
      { code: 'knots-decrease' },
    ],
    [
      'knots of no extent (body statements, 6, as printed)',
      spline.replace('parm v 0 0 1 1', 'parm v -2 -2 -2 -2'),
      { code: 'no-extent' },
    ],
    [
      'a vertex beyond the last',
      plate.replace('1 2 3 4', '1 2 3 99'),
      {
        code: 'obj-index',
        place: { line: 7, record: 'surf 1' },
        data: { what: 'vertex', found: 99, held: 4 },
      },
    ],
    [
      'a vertex before the first',
      plate.replace('1 2 3 4', '1 2 3 -5'),
      { code: 'obj-index', data: { what: 'vertex', found: -5, held: 4 } },
    ],
    ['vertex 0', plate.replace('1 2 3 4', '0 2 3 4'), { code: 'obj-index' }],
    [
      'a vertex of 400 digits',
      plate.replace('1 2 3 4', `1 2 3 ${'9'.repeat(400)}`),
      { code: 'obj-index' },
    ],
    [
      'half a vertex',
      plate.replace('1 2 3 4', '1 2 3 3.5'),
      { code: 'bad-number', data: { what: 'integer', text: '3.5' } },
    ],
    ['a vertex by name', plate.replace('1 2 3 4', '1 2 3 x/1'), { code: 'bad-number' }],
    [
      'a range of three',
      plate.replace('surf 0 1 0 1 1 2 3 4', 'surf 0 1 0'),
      { code: 'wrong-count' },
    ],
    [
      'a range that is no number',
      plate.replace('surf 0 1 0 1', 'surf 0 1 0 one'),
      { code: 'bad-number' },
    ],
    [
      'a vertex of two coordinates',
      plate.replace('v 100 0 0', 'v 100 0'),
      { code: 'wrong-count', place: { line: 2, record: 'v 2' } },
    ],
    [
      'a vertex of none',
      plate.replace('v 100 0 0', 'v'),
      { code: 'wrong-count', data: { what: 'coordinates', found: 0, expected: 3 } },
    ],
    [
      'a coordinate that is no number',
      plate.replace('v 100 0 0', 'v 100 0 0x'),
      { code: 'bad-number', data: { what: 'coordinate', text: '0x' } },
    ],
    ['a coordinate nan', plate.replace('v 100 0 0', 'v 100 0 nan'), { code: 'not-finite' }],
    [
      'a coordinate beyond all',
      plate.replace('v 100 0 0', 'v 100 0 1e999'),
      { code: 'not-finite' },
    ],
    [
      'a coordinate beyond every panel',
      plate.replace('v 100 0 0', 'v 100 0 1e12'),
      { code: 'beyond-range' },
    ],
    [
      'a weight of 0',
      plate.replace('cstype', 'cstype rat').replace('v 100 0 0', 'v 100 0 0 0'),
      { code: 'weights-not-positive' },
    ],
    [
      'a weight that is no number',
      plate.replace('cstype', 'cstype rat').replace('v 100 0 0', 'v 100 0 0 w'),
      { code: 'not-finite' },
    ],
    [
      'no end',
      plate.replace('end\n', ''),
      { code: 'obj-unended', place: { line: 7, record: 'surf 1' } },
    ],
    ['no end before the next', plate.replace('end\n', plate), { code: 'obj-unended' }],
    ['all points in one', plate.replace('1 2 3 4', '1 1 1 1'), { code: 'no-extent' }],
    [
      'no step',
      matrix.replace('step 1 1\n', ''),
      { code: 'obj-attribute', data: { what: 'step' } },
    ],
    [
      'a step of 0',
      matrix.replace('step 1 1', 'step 1 0'),
      { code: 'obj-attribute', data: { what: 'step' } },
    ],
    [
      'no matrix',
      matrix.replace('bmat v 1 -1 0 1\n', ''),
      { code: 'obj-attribute', data: { what: 'bmat v' } },
    ],
    [
      'a matrix that does not fit',
      matrix.replace('bmat v 1 -1 0 1', 'bmat v 1 -1 0'),
      { code: 'wrong-count' },
    ],
    [
      'a matrix of no extent',
      matrix.replace('bmat u 1 -1 0 1', 'bmat u 0 0 0 0'),
      { code: 'no-extent' },
    ],
    [
      'a vertex by matrix that is lost',
      matrix.replace('v 100 0 0', 'v 100 0 -'),
      { code: 'not-finite' },
    ],
    [
      'a step that claims more points than there are',
      matrix.replace('step 1 1', 'step 2147483647 1').replace('parm u 0 1', 'parm u 0 .5 1'),
      { code: 'wrong-count' },
    ],
  ])('%s', (_, text, expected) => {
    const { faults, panels } = read(text);
    const found = faults.find(({ code }) => code === expected.code);
    expect(faults.map(({ code }) => code)).toContain(expected.code);
    expect(found).toMatchObject(expected);
    expect(found!.place.line).toBeGreaterThan(0);
    expect(faultSentence(found!)).toMatch(/Send|Check/);
    expect(faultSentence(found!)).not.toMatch(/undefined|NaN/);
    expect(panels.length).toBe(text.split('surf').length - 2);
    // what is wrong with one surface costs no other
    expect(read(`${text}\n${plate.replace('1 2 3 4', '-4 -3 -2 -1')}`).panels.length).toBe(
      panels.length + 1,
    );
  });

  test('a file that is wrong in every line, or borders of many legs, keep nobody waiting', () => {
    const legs = Array.from({ length: 5000 }, (_, k) => {
      const angle = (2 * Math.PI * k) / 5000;
      return `vp ${0.5 + 0.4 * Math.cos(angle)} ${0.5 + 0.4 * Math.sin(angle)}`;
    });
    const numbers = legs.map((_, k) => k + 1).join(' ');
    const bordered = `${legs.join('\n')}\ncstype bezier\ndeg 1\ncurv2 ${numbers} 1\nparm u 0 ${numbers}\nend\n${plate.replace('end', 'trim 0 2500 1 2500 5000 1\nend')}`;
    for (const text of ['v x y z\n'.repeat(200_000), bordered]) {
      const begun = performance.now();
      read(text);
      expect(performance.now() - begun).toBeLessThan(2000);
    }
    expect(first(bordered).trim.kind).toBe('part');
  });

  test('of many faults of a kind a hundred are told, the rest counted', () => {
    const { faults } = read('v 1 2\n'.repeat(5000));
    expect(faults).toHaveLength(100);
    expect(faults[99].data['further']).toBe(4900);
  });
});

describe('parts and trims', () => {
  const ringed = (body: string, curve = 'curv2 1 2 3 4 1\nparm u 0 1 2 3 4\nend\n'): string =>
    `vp .2 .2\nvp .8 .2\nvp .8 .8\nvp .2 .8\ncstype bezier\ndeg 1\n${curve}${plate.replace('end', `${body}\nend`)}`;
  const ring = 'trim 0 4 1';

  test.each<[string, string, readonly boolean[]]>([
    [
      'a part of the range',
      plate.replace('surf 0 1 0 1', 'surf .25 1 0 .5'),
      [false, false, true, false],
    ],
    ['a loop', ringed(ring), [false, true, false, false]],
    [
      'a loop in four parts, one backwards',
      ringed('trim 0 1 1 1 2 1 2 3 1 3 4 1'),
      [false, true, false, false],
    ],
    [
      'a loop of two curves, the second backwards',
      ringed(
        'trim 0 2 1 2 0 2',
        'curv2 1 2 3\nparm u 0 1 2\nend\ncurv2 1 4 3\nparm u 0 1 2\nend\n',
      ),
      [false, true, false, false],
    ],
    [
      'a B-spline loop',
      ringed('trim 0 4 1', 'cstype bspline\ncurv2 1 2 3 4 1\nparm u 0 0 1 2 3 4 4\nend\n'),
      [false, true, false, false],
    ],
    [
      'a loop by a basis matrix',
      ringed(
        'trim 0 4 1',
        'cstype bmatrix\nstep 1\nbmat u 1 -1 0 1\ncurv2 1 2 3 4 1\nparm u 0 1 2 3 4\nend\n',
      ),
      [false, true, false, false],
    ],
    ['a hole', ringed('hole 0 4 1'), [true, false, true, true]],
  ])('%s', (_, text, expected) => {
    const { trim } = first(text);
    if (trim.kind !== 'part') throw new Error(trim.kind);
    const kept = insideLoops(trim.region);
    const spots = [
      [0.1, 0.1],
      [0.5, 0.7],
      [0.9, 0.1],
      [0.9, 0.9],
    ];
    expect(spots.map(([u, v]) => kept(u, v))).toEqual(expected);
  });

  test('a range that ends where the knots do but for rounding is the whole', () => {
    expect(first(plate.replace('surf 0 1 0 1', 'surf 0 .9999999 -1e-8 1')).trim).toEqual({
      kind: 'whole',
    });
  });

  const pieces = 'vp 0 0\n'.repeat(2);
  test.each<[string, string, string, object, string | null]>([
    [
      'a range beyond the knots',
      plate.replace('surf 0 1 0 1', 'surf 0 2 0 1'),
      'trim-unread',
      { entity: 'surf 1', what: 'range' },
      null,
    ],
    [
      'a range backwards',
      plate.replace('surf 0 1 0 1', 'surf 0 1 1 0'),
      'trim-unread',
      { entity: 'surf 1', what: 'range' },
      null,
    ],
    ['a loop that is open', ringed('trim 0 3 1'), 'trim-open', { loop: 1 }, null],
    ['a second loop that is open', ringed(`${ring}\nhole 0 3 1`), 'trim-open', { loop: 2 }, null],
    ['a loop without a curve', ringed('trim'), 'trim-empty', { loop: 1 }, null],
    [
      'a use of a curve beyond its parameters',
      ringed('trim 0 5 1'),
      'trim-unread',
      { entity: 'curv2 1', what: 'range' },
      null,
    ],
    [
      'a curve that is not there',
      ringed('trim 0 4 2'),
      'trim-unread',
      { entity: 'surf 1', what: 'pointer' },
      'obj-index',
    ],
    [
      'a curve before the first',
      ringed('trim 0 4 -2'),
      'trim-unread',
      { entity: 'surf 1', what: 'pointer' },
      'obj-index',
    ],
    ['a curve by name', ringed('trim 0 4 ring'), 'trim-unread', { what: 'pointer' }, 'bad-number'],
    [
      'half a use',
      ringed(`${ring} 0`),
      'trim-unread',
      { entity: 'surf 1', what: 'data' },
      'wrong-count',
    ],
    [
      'a use without a curve',
      ringed(`${ring} 0 1`),
      'trim-unread',
      { what: 'data' },
      'wrong-count',
    ],
    ['a use of words', ringed('trim a b c'), 'trim-unread', { what: 'pointer' }, 'bad-number'],
    [
      'a curve without an end',
      ringed(ring, 'curv2 1 2 3 4 1\nparm u 0 1 2 3 4\n'),
      'trim-unread',
      { entity: 'curv2 1', what: 'data' },
      'obj-unended',
    ],
    [
      'a curve of too few points',
      ringed(ring, 'curv2 1 2 3\nparm u 0 1 2 3 4\nend\n'),
      'trim-unread',
      { what: 'data' },
      'wrong-count',
    ],
    [
      'a curve of a point that is not there',
      ringed(ring, 'curv2 1 2 3 9 1\nparm u 0 1 2 3 4\nend\n'),
      'trim-unread',
      { what: 'data' },
      'obj-index',
    ],
    [
      'a curve of one coordinate',
      ringed(ring).replace('vp .8 .8', 'vp .8'),
      'trim-unread',
      { what: 'data' },
      'not-finite',
    ],
    [
      'a curve without parameters',
      ringed(ring, 'curv2 1 2 3 4 1\nend\n'),
      'trim-unread',
      { what: 'data' },
      'obj-attribute',
    ],
    [
      'a curve that is not rational enough',
      ringed(ring, 'cstype rat bezier\ncurv2 1 2 3 4 1\nparm u 0 1 2 3 4\nend\n').replace(
        'vp .8 .8',
        'vp .8 .8 -1',
      ),
      'trim-unread',
      { what: 'data' },
      'weights-not-positive',
    ],
    [
      'a curve of a kind that is not read',
      ringed(ring, 'cstype taylor\ncurv2 1 2 3 4 1\nparm u 0 1 2 3 4\nend\n'),
      'trim-unread',
      { entity: 'curv2 1', what: 'kind' },
      null,
    ],
    ['a point in the plane without numbers', `vp\n${pieces}${plate}`, '', {}, 'wrong-count'],
  ])('%s: the net is taken whole', (_, text, notice, data, code) => {
    const { panels, notices, faults } = read(text);
    expect(panels).toHaveLength(1);
    expect([...new Set(faults.map((fault) => fault.code))]).toEqual(code === null ? [] : [code]);
    faults.forEach((fault) => {
      expect(fault.place.line).toBeGreaterThan(0);
      expect(faultSentence(fault)).not.toMatch(/undefined|NaN/);
    });
    if (notice === '') return;
    expect(panels[0].trim.kind).toBe('unread');
    expect(notices[0]).toMatchObject({ code: notice, data });
    expect(notices[0].place.line).toBeGreaterThan(0);
    expect(noticeSentence(notices[0])).toMatch(/The net was taken whole/);
    expect(noticeSentence(notices[0])).not.toMatch(/undefined/);
  });
});

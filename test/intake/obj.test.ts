import { describe, expect, test } from 'vitest';
import { ternwingPanels } from '../../fixtures/demo/ternwing.ts';
import { netJson } from '../../fixtures/netJson.ts';
import { objSample, objSurfaceText, objText, planeCurves } from '../../fixtures/objText.ts';
import { randomNet } from '../../fixtures/randomNet.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { auditedFile } from '../../src/audit.ts';
import type { ControlNet } from '../../src/geometry/controlNet.ts';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import { trimTest } from '../../src/geometry/trimTest.ts';
import { bufferSource } from '../../src/intake/byteSource.ts';
import { readNetJson } from '../../src/intake/netJson/readNetJson.ts';
import { readObjSurfaces } from '../../src/intake/obj/readObjSurfaces.ts';
import type { Intake, Panel } from '../../src/intake/panel.ts';
import { briefOf } from '../../src/rules/brief.ts';

// What the format's description says (the format's published description, appendix B1, 1995,
// version 3.0) is from memory throughout: its text was not at hand.

const read = (...lines: readonly string[]): Intake =>
  readObjSurfaces(Buffer.from(lines.join('\n')));
const brief = briefOf({ spec: {}, ownRules: [], only: null });
const noticed = (intake: Intake): string[] => intake.notices.map(({ code }) => code);

/** The largest difference of two lists, relative to their largest number. */
function apart(a: ArrayLike<number>, b: ArrayLike<number>): number {
  expect(a.length).toBe(b.length);
  const size = Math.max(...Array.from(a, Math.abs), Number.MIN_VALUE);
  return Math.max(...Array.from(a, (value, k) => Math.abs(value - b[k]))) / size;
}

function expectSame(found: ControlNet, given: ControlNet, most: number): void {
  expect([found.degree, found.columns, found.rows]).toEqual([
    given.degree,
    given.columns,
    given.rows,
  ]);
  for (const side of [0, 1] as const)
    expect(apart(found.knots[side], given.knots[side])).toBeLessThanOrEqual(most);
  expect(apart(found.points, given.points)).toBeLessThanOrEqual(most);
  expect(found.weights === null).toBe(given.weights === null);
  if (found.weights && given.weights)
    expect(apart(found.weights, given.weights)).toBeLessThanOrEqual(most);
}

/** A flat net on [0, 1] x [0, 1], 100 mm wide: point (s, t) lies at 100 s, 100 t. */
const plate: ControlNet = {
  degree: [1, 1],
  knots: [Float64Array.of(0, 0, 1, 1), Float64Array.of(0, 0, 1, 1)],
  columns: 2,
  rows: 2,
  points: Float64Array.of(0, 0, 0, 100, 0, 0, 0, 100, 0, 100, 100, 0),
  weights: null,
};

describe('nets come back as they were written', () => {
  test('60 nets of any degree, half of them rational, to 1e-15', () => {
    const random = seededRandom(11);
    const panels = Array.from({ length: 60 }, (_, k) => ({
      name: `net-${k}`,
      net: randomNet(random, k % 2 === 1),
    }));
    const intake = read(objText(panels));
    expect(intake.faults).toEqual([]);
    expect(noticed(intake)).toEqual(['unit-missing']);
    expect(intake.panels.map(({ name }) => name)).toEqual(panels.map(({ name }) => name));
    intake.panels.forEach(({ net, trim }, k) => {
      expectSame(net, panels[k].net, 1e-15);
      expect(trim.kind).toBe('whole');
    });
    expect(objText(panels)).toMatch(/cstype (rat )?bezier/);
    expect(objText(panels)).toMatch(/cstype rat bspline/);
  });

  test('the demo panels through OBJ and through net JSON are the same', () => {
    const panels = ternwingPanels();
    const json = readNetJson(Buffer.from(netJson(panels))).panels;
    const obj = read(objText(panels)).panels;
    expect(obj.length).toBe(json.length);
    obj.forEach(({ name, net }, k) => {
      expect(name).toBe(json[k].name);
      expectSame(net, json[k].net, 0);
    });
  });

  test('with other line ends, and with positive numbers that mean points further on', () => {
    const text = objText(ternwingPanels().slice(0, 2));
    const plain = read(text).panels.map(({ net }) => net);
    for (const end of ['\r\n', '\r'])
      expect(read(text.replaceAll('\n', end)).panels.map(({ net }) => net)).toEqual(plain);
    const ahead = read(
      'cstype bezier\ndeg 1 1\nsurf 0 1 0 1 1//1 2/1 3/2/1 4 # four\nparm u 0 1\nparm v 0 1\nend',
      'v 0 0 0\nv 100 0 0\nv 0 100 0\nv 100 100 0',
    );
    expect(ahead.faults).toEqual([]);
    expectSame(ahead.panels[0].net, plate, 0);
    expect(ahead.panels[0].name).toBe('surf 1');
  });

  test('the fourth number is a weight in rational surfaces alone, and six are a colour', () => {
    const points = 'v 0 0 0 2\nv 100 0 0 1\nv 0 100 0 1 .5 .5\nv 100 100 0';
    const body = 'deg 1 1\nsurf 0 1 0 1 1 2 3 4\nparm u 0 1\nparm v 0 1\nend';
    const [rational] = read(points, 'cstype rat bezier', body).panels;
    expect(rational.net.weights).toEqual(Float64Array.of(2, 1, 1, 1));
    expectSame(read(points, 'cstype bezier', body).panels[0].net, plate, 0);
  });
});

/** Points of a grid, row by row, with heights that no plane has. */
const grid = (columns: number, rows: number): number[][] =>
  Array.from({ length: columns * rows }, (_, k) => {
    const [i, j] = [k % columns, Math.floor(k / columns)];
    return [40 * i + j, 30 * j - i, 7 * Math.sin(3 * i + j * j)];
  });

const matrixSurface = (
  columns: number,
  rows: number,
  matrix: string,
  step: number,
  [segmentsU, segmentsV]: readonly [number, number],
): string =>
  [
    ...grid(columns, rows).map((p) => `v ${p.join(' ')}`),
    `cstype bmatrix\ndeg 3 3\nstep ${step} ${step}\nbmat u ${matrix}\nbmat v ${matrix}`,
    `surf 0 ${segmentsU} 0 ${segmentsV} ${grid(columns, rows)
      .map((_, k) => k + 1)
      .join(' ')}`,
    ...[segmentsU, segmentsV].map(
      (count, side) =>
        `parm ${'uv'[side]} ${Array.from({ length: count + 1 }, (_, k) => k).join(' ')}`,
    ),
    'end',
  ].join('\n');

// Farin, Curves and Surfaces for CAGD, and Foley, van Dam et al., Computer Graphics, 11.2: the
// matrices of the cubic Bezier and of the uniform cubic B-spline basis, powers rising along a row.
const bezierMatrix = '1 -3 3 -1  0 3 -6 3  0 0 3 -3  0 0 0 1';
const splineMatrix = [1, -3, 3, -1, 4, 0, -6, 3, 1, 3, 3, -3, 0, 0, 0, 1]
  .map((x) => x / 6)
  .join(' ');

describe('basis matrices', () => {
  test('that of Bezier gives the points themselves', () => {
    const intake = read(matrixSurface(4, 4, bezierMatrix, 3, [1, 1]));
    expect(intake.faults).toEqual([]);
    const [{ net }] = intake.panels;
    expect([net.degree, net.columns, net.rows]).toEqual([[3, 3], 4, 4]);
    expect(apart(net.points, grid(4, 4).flat())).toBeLessThan(1e-15);
  });

  test('that of the uniform B-spline gives the surface with knots one apart', () => {
    const [columns, rows] = [6, 5];
    const intake = read(matrixSurface(columns, rows, splineMatrix, 1, [3, 2]));
    expect(intake.faults).toEqual([]);
    const [{ net }] = intake.panels;
    const uniform = (count: number): Float64Array =>
      Float64Array.from({ length: count + 4 }, (_, k) => k - 3);
    const meant: ControlNet = {
      degree: [3, 3],
      knots: [uniform(columns), uniform(rows)],
      columns,
      rows,
      points: Float64Array.from(grid(columns, rows).flat()),
      weights: null,
    };
    expect([net.columns, net.rows]).toEqual([columns, rows]);
    for (let u = 0; u <= 3; u += 0.25)
      for (let v = 0; v <= 2; v += 0.25)
        expect(apart(surfacePoint(net, u, v), surfacePoint(meant, u, v))).toBeLessThan(1e-13);
  });

  test('cardinal, Taylor, rational matrices and patches of version 2.11 are counted', () => {
    const surf = (type: string): string =>
      `cstype ${type}\ndeg 3 3\nsurf 0 1 0 1 1 1 1 1\nparm u 0 1\nparm v 0 1\nend`;
    const intake = read(
      'v 0 0 0',
      surf('cardinal'),
      surf('taylor'),
      surf('rat bmatrix'),
      'bzp 1 1',
    );
    expect(intake.faults).toEqual([]);
    expect(intake.panels).toEqual([]);
    expect(intake.unjudged.map(({ kind, count }) => [kind, count])).toEqual([
      ['OBJ Bezier patch of version 2.11', 1],
      ['OBJ cardinal surface', 1],
      ['OBJ taylor surface', 1],
      ['OBJ rational basis matrix surface', 1],
    ]);
  });
});

describe('trims', () => {
  const standing = ({ net, trim }: Panel): ((u: number, v: number) => string) => {
    if (trim.kind !== 'part') throw new Error(`the trim is ${trim.kind}`);
    return trimTest(net, trim.region);
  };
  const trimmed = (body: readonly string[], range?: readonly number[]): Panel => {
    const intake = read(...planeCurves, objSurfaceText({ name: 'plate', net: plate }, body, range));
    expect(intake.faults).toEqual([]);
    expect(noticed(intake)).toEqual(['unit-missing']);
    return intake.panels[0];
  };

  test('a triangle with a hole', () => {
    const at = standing(trimmed(['trim 0 3 1', 'hole 0 2 2']));
    expect(at(0.2, 0.2)).toBe('inside');
    expect(at(0.5, 0.7)).toBe('inside');
    expect(at(0.05, 0.5)).toBe('outside');
    expect(at(0.9, 0.9)).toBe('outside');
    // The hole runs from (.4, .3) over parabolas whose middles lie at v = .2 and .4.
    expect(at(0.5, 0.3)).toBe('outside');
    expect(at(0.5, 0.21)).toBe('outside');
    expect(at(0.5, 0.19)).toBe('inside');
    expect(at(0.5, 0.41)).toBe('inside');
  });

  test('a border in pieces, some of them run backwards, and a hole alone', () => {
    const pieces = standing(trimmed(['trim 3 1.5 1 1.5 .5 1 .5 0 1']));
    expect(pieces(0.5, 0.5)).toBe('inside');
    expect(pieces(0.1, 0.5)).toBe('outside');
    const hole = standing(trimmed(['hole 0 3 -2']));
    expect(hole(0.5, 0.5)).toBe('outside');
    expect(hole(0.1, 0.5)).toBe('inside');
  });

  test('a range that is part of the domain', () => {
    const at = standing(trimmed([], [0.25, 1, 0, 0.5]));
    expect(at(0.3, 0.4)).toBe('inside');
    expect(at(0.2, 0.4)).toBe('outside');
    expect(at(0.3, 0.6)).toBe('outside');
  });

  test.each([
    ['trim 0 3 9', undefined, 'trim-unread', 'pointer'],
    ['trim 0 2 1', undefined, 'trim-open', undefined],
    ['trim 0 0 1', undefined, 'trim-empty', undefined],
    ['', [0, 2, 0, 1], 'trim-unread', 'data'],
  ] as const)('%s %s: %s %s', (body, range, code, what) => {
    const intake = read(
      ...planeCurves,
      objSurfaceText({ name: 'plate', net: plate }, body ? [body] : [], range),
    );
    expect(intake.panels[0].trim.kind).toBe('unread');
    expect(intake.notices[0].code).toBe(code);
    if (what) expect(intake.notices[0].data['what']).toBe(what);
  });
});

describe('what is wrong is told with its line', () => {
  const points = 'v 0 0 0\nv 100 0 0\nv 0 100 0\nv 100 100 0';
  const type = 'cstype bezier\ndeg 1 1';
  const rest = 'parm u 0 1\nparm v 0 1\nend';
  test.each([
    [
      'bad-number',
      4,
      [points.replace('v 100 100 0', 'v 100 x 0'), type, 'surf 0 1 0 1 1 2 3 4', rest],
    ],
    [
      'wrong-count',
      4,
      [points.replace('v 100 100 0', 'v 100 100'), type, 'surf 0 1 0 1 1 2 3 4', rest],
    ],
    ['obj-index', 7, [points, type, 'surf 0 1 0 1 1 2 3 5', rest]],
    ['obj-index', 7, [points, type, 'surf 0 1 0 1 1 2 3 0', rest]],
    ['obj-index', 7, [points, type, 'surf 0 1 0 1 -1 -2 -3 -5', rest]],
    ['bad-number', 7, [points, type, 'surf 0 1 0 1 1 2 3 four', rest]],
    ['bad-number', 7, [points, type, 'surf 0 one 0 1 1 2 3 4', rest]],
    ['wrong-count', 7, [points, type, 'surf 0 1 0 1 1 2 3', rest]],
    ['wrong-count', 7, [points, type, 'surf 0 1', rest]],
    ['obj-attribute', 5, [points, 'surf 0 1 0 1 1 2 3 4', rest]],
    ['obj-attribute', 6, [points, 'cstype bezier', 'surf 0 1 0 1 1 2 3 4', rest]],
    ['obj-attribute', 7, [points, type, 'surf 0 1 0 1 1 2 3 4', 'parm u 0 1\nend']],
    ['knots-decrease', 7, [points, type, 'surf 0 1 0 1 1 2 3 4', 'parm u 1 0\nparm v 0 1\nend']],
    ['degree-range', 7, [points, 'cstype bezier\ndeg 1e9 1', 'surf 0 1 0 1 1 2 3 4', rest]],
    ['wrong-count', 7, [points, 'cstype bspline\ndeg 1 1', 'surf 0 1 0 1 1 2 3 4', rest]],
    ['obj-attribute', 7, [points, 'cstype bmatrix\ndeg 1 1', 'surf 0 1 0 1 1 2 3 4', rest]],
    ['obj-unended', 7, [points, type, 'surf 0 1 0 1 1 2 3 4', 'parm u 0 1\nparm v 0 1']],
  ] as const)('%s on line %i (%#)', (code, line, lines) => {
    const intake = read(...lines);
    const [first] = intake.faults;
    expect([first.code, first.place.line]).toEqual([code, line]);
    expect(intake.panels).toEqual([]);
  });

  test('files and programs that are called are never followed, and told', () => {
    const intake = read('call other.obj', 'csh rm', 'call third.obj');
    expect(intake.notices.map(({ code, data }) => [code, data['what'], data['count']])).toEqual([
      ['obj-outside', 'call', 2],
      ['obj-outside', 'csh', 1],
    ]);
  });
});

describe('an .obj is a scan or a file of surfaces by what it holds', () => {
  const faces = 'v 0 0 0\nv 9 0 0\nv 0 9 0\nf 1 2 3\n';
  const judged = (text: string): ReturnType<typeof auditedFile> =>
    auditedFile({ name: 'x.obj', scan: bufferSource(Buffer.from(text)), most: 1e9 }, brief);

  test.each([
    ['polygons alone', faces, 0, true],
    ['surfaces alone', objSurfaceText({ name: 'plate', net: plate }), 1, false],
    ['both', faces + objSurfaceText({ name: 'plate', net: plate }), 1, false],
  ])('%s', (_, text, panels, isScan) => {
    const file = judged(text);
    expect(file.format).toBe('obj');
    expect(file.faults).toEqual([]);
    expect(file.panels.length).toBe(panels);
    expect(file.scan !== null).toBe(isScan);
    expect(file.notices.some(({ code }) => code === 'obj-faces')).toBe(
      !isScan && text.startsWith(faces),
    );
    expect(auditedFile({ name: 'x.obj', bytes: Buffer.from(text) }, brief)).toEqual(file);
  });

  test('the sample holds what is read and what is counted', () => {
    const intake = read(objSample());
    expect(intake.faults).toEqual([]);
    expect(intake.panels.map(({ name, trim }) => [name, trim.kind])).toEqual([
      ['one', 'whole'],
      ['two', 'part'],
      ['three', 'part'],
      ['four', 'whole'],
    ]);
    expect(intake.unjudged.length).toBe(2);
  });
});

import { describe, expect, test } from 'vitest';
import { statement, surfFields, vdafsFile } from '../../fixtures/vdafsText.ts';
import { curveDomain, curvePoint, type SplineCurve } from '../../src/geometry/splineCurve.ts';
import type { Intake, Panel } from '../../src/intake/panel.ts';
import { readVdaFs } from '../../src/intake/vdafs/readVdaFs.ts';
import { vdaElements } from '../../src/intake/vdafs/vdaElements.ts';
import { vdaFaces } from '../../src/intake/vdafs/vdaFaces.ts';
import { vdaStatements } from '../../src/intake/vdafs/vdaStatements.ts';
import { clampedKnots } from '../../fixtures/fittedNet.ts';

// DIN 66301 (VDA-FS 2.0), CONS and FACE: from memory throughout.

const read = (...statements: readonly string[]): Intake =>
  readVdaFs(Buffer.from(vdafsFile(statements)));
const codes = (intake: Intake): string[] => intake.faults.map(({ code }) => code);

/** A flat plate of 100 by 50 mm in four patches, its parameters from 0 to 4 and from 0 to 2. */
const plate = statement(
  'PLATE',
  'SURF',
  surfFields({
    degree: [1, 1],
    knots: [
      clampedKnots(1, 2).map((value) => 4 * value),
      clampedKnots(1, 2).map((value) => 2 * value),
    ],
    columns: 3,
    rows: 3,
    points: Float64Array.from([0, 25, 50].flatMap((y) => [0, 50, 100].flatMap((x) => [x, y, 0]))),
    weights: null,
  }),
);

/** A straight line in the plane of parameters, its own parameter from `from` to `to`. */
const straight = (
  name: string,
  [u, v]: readonly [number, number],
  [du, dv]: readonly [number, number],
  [from, to]: readonly [number, number] = [0, 1],
  surface = 'PLATE',
): string =>
  `${name} = CONS / ${surface}, , ${from}, ${to}, 1, ${from}, ${to}, 2, ${u}, ${du}, ${v}, ${dv}`;

/** The borders of a rectangle from (1, 0.5) to (3, 1.5), one after the other. */
const sides = [
  straight('K1', [1, 0.5], [2, 0]),
  straight('K2', [3, 0.5], [0, 1], [10, 20]),
  straight('K3', [3, 1.5], [-2, 0]),
  straight('K4', [1, 1.5], [0, -1]),
];
const around = '4, K1, 0, 1, K2, 10, 20, K3, 0, 1, K4, 0, 1';

function curvesOf({ trim }: Panel): readonly (readonly SplineCurve[])[] {
  if (trim.kind !== 'part') throw new Error(`the trim is ${trim.kind}`);
  return trim.region.loops.map(({ curves }) => curves);
}
const ends = (curve: SplineCurve): readonly (readonly number[])[] =>
  curveDomain(curve).map((t) => curvePoint(curve, t));

describe('FACE', () => {
  test('a rectangle cut out of a plate', () => {
    const intake = read(...plate, ...sides, `F1 = FACE / PLATE, 1, ${around}`);
    expect([intake.faults, intake.notices]).toEqual([[], []]);
    const [panel] = intake.panels;
    expect([intake.panels.length, panel.name, panel.place]).toEqual([
      1,
      'F1',
      { line: intake.panels[0].place.line, record: 'F1' },
    ]);
    const [loop, ...more] = curvesOf(panel);
    expect(more).toEqual([]);
    expect(loop.map(ends)).toEqual([
      [
        [1, 0.5],
        [3, 0.5],
      ],
      [
        [3, 0.5],
        [3, 1.5],
      ],
      [
        [3, 1.5],
        [1, 1.5],
      ],
      [
        [1, 1.5],
        [1, 0.5],
      ],
    ]);
    expect(curveDomain(loop[1])).toEqual([10, 20]);
  });

  test('pieces may be parts of a curve, and run backwards', () => {
    const intake = read(
      ...plate,
      straight('A', [0, 0.5], [4, 0], [0, 8]),
      straight('B', [3, 0], [0, 2], [0, 2]),
      straight('C', [0, 1.5], [4, 0], [0, 8]),
      straight('D', [1, 0], [0, 2], [0, 2]),
      'F1 = FACE / PLATE, 1, 4, A, 2, 6, B, .5, 1.5, C, 6, 2, D, 1.5, .5',
    );
    expect([intake.faults, intake.notices]).toEqual([[], []]);
    const [loop] = curvesOf(intake.panels[0]);
    expect(loop.map(ends).map(([start]) => start)).toEqual([
      [1, 0.5],
      [3, 0.5],
      [3, 1.5],
      [1, 1.5],
    ]);
  });

  test('curves of several segments, each of its own order', () => {
    // along v = 0.5, up the parabola u = 3 - w^2, and straight back
    const bent = 'K = CONS / PLATE, , 0, 3, 3, 0, 1, 2, 3, '.concat(
      '2, 1, 2, .5, 0, ',
      '3, 3, 0, -1, .5, 1, 0, ',
      '2, 2, -1, 1.5, -1',
    );
    const intake = read(...plate, bent, 'F1 = FACE / PLATE, 1, 1, K, 0, 3');
    expect([intake.faults, intake.notices]).toEqual([[], []]);
    const [loop] = curvesOf(intake.panels[0]);
    expect(loop.map(({ degree }) => degree)).toEqual([1, 2, 1]);
    expect(curvePoint(loop[1], 1.5)).toEqual([2.75, 1]);
    const turned = read(...plate, bent, 'F1 = FACE / PLATE, 1, 1, K, 3, 0');
    const [back] = curvesOf(turned.panels[0]);
    expect(back.map(ends)).toEqual(
      loop
        .map(ends)
        .toReversed()
        .map((own) => own.toReversed()),
    );
  });

  test('starts that are off the end before by the last digit are put there', () => {
    const dot = 'K = CONS / PLATE, , 0, 3, 3, 0, 1, 2, 3, '.concat(
      '2, 1, 2, .5, 0, ',
      '2, 3.0000000001, -2.0000000001, .5, 1, ',
      '2, 1, 0, 1.5, -1',
    );
    const intake = read(...plate, dot, 'F1 = FACE / PLATE, 1, 1, K, 0, 3');
    const [loop] = curvesOf(intake.panels[0]);
    expect(loop).toHaveLength(3);
  });

  test('two loops; two faces of one surface share its net and each is a panel', () => {
    const hole = [
      straight('H1', [1.5, 0.75], [1, 0]),
      straight('H2', [2.5, 0.75], [0, 0.5]),
      straight('H3', [2.5, 1.25], [-1, -0.5]),
    ];
    const inner = '3, H1, 0, 1, H2, 0, 1, H3, 0, 1';
    const intake = read(
      ...plate,
      ...sides,
      ...hole,
      `F1 = FACE / PLATE, 2, ${around}, ${inner}`,
      `F2 = FACE / PLATE, 1, ${inner}`,
    );
    expect([intake.faults, intake.notices]).toEqual([[], []]);
    const [first, second] = intake.panels;
    expect(intake.panels.map(({ name }) => name)).toEqual(['F1', 'F2']);
    expect(curvesOf(first).map((loop) => loop.length)).toEqual([4, 3]);
    expect(curvesOf(second).map((loop) => loop.length)).toEqual([3]);
    expect(first.net).toBe(second.net);
  });

  test('what is named may stand behind', () => {
    const intake = read(`F1 = FACE / PLATE, 1, ${around}`, ...sides, ...plate);
    expect([intake.faults, intake.notices]).toEqual([[], []]);
    expect(intake.panels.map(({ trim }) => trim.kind)).toEqual(['part']);
  });

  test('a loop that does not close: the gap in mm is told, the net judged whole', () => {
    const open = around.replace('K2, 10, 20', 'K2, 10, 18');
    const intake = read(...plate, ...sides, `F1 = FACE / PLATE, 1, ${open}`);
    expect(intake.faults).toEqual([]);
    expect(intake.notices).toMatchObject([{ code: 'trim-open', place: { record: 'F1' } }]);
    // a fifth of 25 mm
    expect(intake.notices[0].data['gap']).toBeCloseTo(5, 9);
    expect(intake.panels[0].trim.kind).toBe('unread');
  });

  test('a face over patches that do not meet cannot be told', () => {
    const patch = (x: number): string => `2, 2, ${x}, 10, 0, 0, 0, 0, 50, 0, 0, 0, 0, 0`;
    const intake = read(
      'S = SURF / 2, 1, 0, 1, 2, 0, 1,',
      ` ${patch(0)},`,
      ` ${patch(15)}`,
      straight('K1', [0, 0], [1, 0], [0, 1], 'S'),
      'F1 = FACE / S, 1, 1, K1, 0, 1',
    );
    expect(codes(intake)).toEqual([]);
    expect(intake.notices.map(({ code, data }) => [code, data['what']])).toEqual([
      ['patches-apart', undefined],
      ['trim-unread', 'apart'],
      ['trim-unread', 'apart'],
    ]);
    expect(intake.panels.map(({ name, trim }) => [name, trim.kind])).toEqual([
      ['F1', 'unread'],
      ['F1~2', 'unread'],
    ]);
  });

  test.each<[string, string[], string, Record<string, unknown>, string]>([
    ['no such curve', [], 'vda-reference', { what: 'curve on a surface', to: 'K2' }, 'pointer'],
    [
      'a name of something else',
      ['K2 = POINT / 1, 2, 3'],
      'vda-reference',
      { to: 'K2' },
      'pointer',
    ],
    [
      'a curve on another surface',
      [
        straight('K2', [3, 0.5], [0, 1], [10, 20], 'OTHER'),
        ...statement('OTHER', 'SURF', plate.slice(1)),
      ],
      'vda-reference',
      { what: 'curve on its surface', to: 'K2' },
      'pointer',
    ],
    [
      'a curve on no surface',
      [straight('K2', [3, 0.5], [0, 1], [10, 20], 'GONE')],
      'vda-reference',
      { what: 'surface', to: 'GONE' },
      'data',
    ],
    [
      'an order of 0',
      ['K2 = CONS / PLATE, , 10, 20, 1, 10, 20, 0, 1'],
      'degree-range',
      { found: -1 },
      'data',
    ],
    [
      'breakpoints that fall',
      ['K2 = CONS / PLATE, , 10, 20, 1, 20, 10, 2, 3, 0, .5, 1'],
      'knots-decrease',
      {},
      'data',
    ],
    [
      'a coefficient too few',
      ['K2 = CONS / PLATE, , 10, 20, 1, 10, 20, 2, 3, 0, .5'],
      'wrong-count',
      {},
      'data',
    ],
    [
      'a coefficient too many',
      ['K2 = CONS / PLATE, , 10, 20, 1, 10, 20, 2, 3, 0, .5, 1, 1'],
      'wrong-count',
      {},
      'data',
    ],
    [
      'coefficients that add up to no double',
      ['K2 = CONS / PLATE, , 10, 20, 1, 10, 20, 2, 1.7E308, 1.7E308, .5, 1'],
      'not-finite',
      {},
      'data',
    ],
    [
      'a billion segments',
      ['K2 = CONS / PLATE, , 10, 20, 1000000000, 10, 20, 2, 3, 0, .5, 1'],
      'count-beyond-file',
      { what: 'segments' },
      'data',
    ],
    [
      'no segments, and no curve in space',
      ['K2 = CONS / PLATE, , 10, 20, 0'],
      'vda-reference',
      { what: 'curve', to: '' },
      'data',
    ],
  ])('%s: %s is told once, the net judged whole', (_, other, code, data, what) => {
    const rest = sides.filter((own) => !own.startsWith('K2'));
    const intake = read(...plate, ...rest, ...other, `F1 = FACE / PLATE, 1, ${around}`);
    expect(codes(intake).filter((own) => own === code)).toEqual([code]);
    expect(intake.faults.find((own) => own.code === code)!.data).toMatchObject(data);
    expect(intake.notices).toMatchObject([{ code: 'trim-unread', data: { entity: 'FACE', what } }]);
    const panel = intake.panels.find(({ name }) => name === 'F1')!;
    expect(panel.trim.kind).toBe('unread');
  });

  test.each<[string, string, string]>([
    ['a surface that is not there', 'FACE / GONE, 1, 1, K1, 0, 1', 'vda-reference'],
    ['loops beyond the file', `FACE / PLATE, 1000, ${around}`, 'count-beyond-file'],
    ['pieces beyond the file', 'FACE / PLATE, 1, 99999999, K1, 0, 1', 'count-beyond-file'],
    ['a piece too many', `FACE / PLATE, 1, ${around}, K1, 0, 1`, 'wrong-count'],
    ['a piece cut short', 'FACE / PLATE, 1, 1, K1, 0', 'wrong-count'],
    ['nothing', 'FACE /', 'wrong-count'],
  ])('%s: %s', (_, text, code) => {
    const intake = read(...plate, ...sides, `F1 = ${text}`);
    expect(codes(intake)).toEqual([code]);
    expect(intake.panels).toHaveLength(1);
  });
});

describe('CONS without segments', () => {
  const bordersOf = (text: string): ReturnType<typeof vdaFaces> => {
    const file = vdaStatements(Buffer.from(vdafsFile([...plate, ...text.split('\n')])));
    return vdaFaces(file, vdaElements(file.statements));
  };

  test('the part of its curve in space is the border', () => {
    const { faces, faults } = bordersOf(
      [
        'C = CURVE / 2, 0, 1, 3, 2, 0, 50, 0, 0, 0, 0, 2, 50, 50, 0, 0, 0, 0',
        'K = CONS / PLATE, C, 0.5, 2, 0',
        'F = FACE / PLATE, 1, 1, K, 2, .5',
      ].join('\n'),
    );
    expect(faults).toEqual([]);
    const [border] = faces[0].borders as Exclude<(typeof faces)[0]['borders'], string>;
    expect(border.map(({ plane, space }) => [plane, ends(space!)])).toEqual([
      [
        null,
        [
          [75, 0, 0],
          [50, 0, 0],
        ],
      ],
      [
        null,
        [
          [50, 0, 0],
          [25, 0, 0],
        ],
      ],
    ]);
  });

  test('a curve in space that is broken', () => {
    const { faces, faults } = bordersOf(
      [
        'C = CURVE / 1, 0, 1, 2, 0, 50, 0, 0, 0',
        'K = CONS / PLATE, C, 0, 1, 0',
        'F = FACE / PLATE, 1, 2, K, 0, 1, K, 0, 1',
      ].join('\n'),
    );
    expect(faults).toMatchObject([{ code: 'wrong-count', place: { record: 'C' } }]);
    expect(faces[0].borders).toBe('data');
  });

  test('a file that uses one long curve over and over comes to an end', () => {
    const count = 3000;
    const segments = Array.from({ length: count }, (_, k) => `2, ${k}, 1, 0, 0`);
    const breaks = Array.from({ length: count + 1 }, (_, k) => String(k));
    const pieces = Array.from({ length: count }, () => `K, 0, ${count}`);
    const { faces, faults } = bordersOf(
      [
        ...statement('K', 'CONS', [
          'PLATE',
          '',
          '0',
          String(count),
          String(count),
          ...breaks,
          ...segments,
        ]),
        ...statement('F', 'FACE', ['PLATE', '1', String(count), ...pieces]),
      ].join('\n'),
    );
    expect(faults).toMatchObject([{ code: 'too-deep', data: { what: 'curves' } }]);
    expect(faces[0].borders).toBe('data');
  });
});

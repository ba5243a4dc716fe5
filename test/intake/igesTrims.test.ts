import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { curvePoint } from '../../src/geometry/splineCurve.ts';
import { readIges } from '../../src/intake/iges/readIges.ts';
import type { Intake, Panel } from '../../src/intake/panel.ts';
import { insideLoops } from '../insideLoops.ts';
import {
  hollerith,
  igesFile,
  madePoints,
  pointer,
  surface,
  type Layout,
  type MadeEntity,
} from './igesFile.ts';

// Sections cited are those of IGES 5.3 (ANS US PRO/IPO-100-1996). Every surface here is entity 1, over
// [0, 1] x [0, 1], some 100 x 80 mm large.

const read = (entities: readonly MadeEntity[], layout: Layout = {}): Intake =>
  readIges(igesFile(entities, layout));
const real = (value: number): string => (Number.isInteger(value) ? `${value}.` : `${value}`);

type Shape = (u: number, v: number) => boolean;

/** 500 seeded parameters; those within 0.001 of the border of the shape are left out. */
function expectKept(panel: Panel, shape: Shape): void {
  const { trim } = panel;
  if (trim.kind !== 'part') throw new Error(`the trim is ${trim.kind}`);
  const kept = insideLoops(trim.region);
  const random = seededRandom(142);
  let told = 0;
  for (let k = 0; k < 500; k++) {
    const [u, v] = [random.between(0, 1), random.between(0, 1)];
    const around = [-1e-3, 1e-3].flatMap((d) => [shape(u + d, v), shape(u, v + d)]);
    if (new Set(around).size > 1) continue;
    expect([u, v, kept(u, v)]).toEqual([u, v, shape(u, v)]);
    told++;
  }
  expect(told).toBeGreaterThan(450);
}

const sound = (intake: Intake): void => {
  expect(intake.faults).toEqual([]);
  expect(intake.notices).toEqual([]);
};

const line = (from: readonly [number, number], to: readonly [number, number]): MadeEntity => ({
  type: 110,
  fields: [...from, 0, ...to, 0].map(real),
});
const circle = (x: number, y: number, r: number, z = 0): MadeEntity => ({
  type: 100,
  fields: [z, x, y, x + r, y, x + r, y].map(real),
});
const composite = (...members: number[]): MadeEntity => ({
  type: 102,
  fields: [members.length, ...members.map(pointer)],
});
/** 142 with curves in the plane (entity number) and in space; 0 for none. */
const onSurface = (plane: number, space = 0, preferred = 1, base = 1): MadeEntity => ({
  type: 142,
  fields: [
    0,
    base === 0 ? 0 : pointer(base),
    plane === 0 ? 0 : pointer(plane),
    space === 0 ? 0 : pointer(space),
    preferred,
  ],
});
/** 144 with an outer border (0: that of the surface) and inner ones. */
const trimmed = (outer: number, ...inner: number[]): MadeEntity => ({
  type: 144,
  fields: [
    pointer(1),
    outer === 0 ? 0 : 1,
    inner.length,
    outer === 0 ? 0 : pointer(outer),
    ...inner.map(pointer),
  ],
});

/** Surface, curves, 142 over the last curve, 144. */
const trimmedBy = (...curves: readonly MadeEntity[]): MadeEntity[] => [
  surface(),
  ...curves,
  onSurface(1 + curves.length),
  trimmed(2 + curves.length),
];

const disc =
  (x: number, y: number, r: number): Shape =>
  (u, v) =>
    Math.hypot(u - x, v - y) < r;
const box =
  (u0: number, v0: number, u1: number, v1: number): Shape =>
  (u, v) =>
    u > u0 && u < u1 && v > v0 && v < v1;

const square: [number, number][] = [
  [0.25, 0.25],
  [0.75, 0.25],
  [0.75, 0.75],
  [0.25, 0.75],
];
const closedSquare = [...square, square[0]];
const flatFields = (points: readonly (readonly number[])[]): string[] => points.flat().map(real);
const quarterTurn: MadeEntity = {
  type: 124,
  // x' = 1 - y, y' = x
  fields: [0, -1, 0, 1, 1, 0, 0, 0, 0, 0, 1, 0].map(real),
};

describe('curves in the parameter plane', () => {
  test.each<[string, readonly MadeEntity[], Shape]>([
    ['4.3: a circle, start and end one point', [circle(0.5, 0.4, 0.3)], disc(0.5, 0.4, 0.3)],
    ['4.3: its height is left out', [circle(0.5, 0.4, 0.3, 7)], disc(0.5, 0.4, 0.3)],
    [
      '4.3, 4.4: two arcs, counterclockwise from start to end',
      [
        { type: 100, fields: [0, 0.5, 0.5, 0.8, 0.5, 0.2, 0.5].map(real) },
        { type: 100, fields: [0, 0.5, 0.5, 0.2, 0.5, 0.8, 0.5].map(real) },
        composite(2, 3),
      ],
      disc(0.5, 0.5, 0.3),
    ],
    [
      '4.3: an arc of three quarters and two lines',
      [
        { type: 100, fields: [0, 0.5, 0.5, 0.8, 0.5, 0.5, 0.2].map(real) },
        line([0.5, 0.2], [0.5, 0.5]),
        line([0.5, 0.5], [0.8, 0.5]),
        composite(2, 3, 4),
      ],
      (u, v) => disc(0.5, 0.5, 0.3)(u, v) && !(u > 0.5 && v < 0.5),
    ],
    [
      '4.4: composites in composites, with points between the curves',
      [
        line(square[0], square[1]),
        line(square[1], square[2]),
        { type: 116, fields: ['0.75', '0.75', '0.', 0] },
        composite(2, 3, 4),
        line(square[2], square[3]),
        line(square[3], square[0]),
        composite(6, 7),
        composite(5, 8),
      ],
      box(0.25, 0.25, 0.75, 0.75),
    ],
    [
      '4.5: an ellipse, 4 x^2 + 25 y^2 = 1 about its middle',
      [
        {
          type: 104,
          form: 1,
          fields: [4, 0, 25, 0, 0, -1, 0, 0.5, 0, 0.5, 0].map(real),
          matrix: 3,
        },
        { type: 124, fields: [1, 0, 0, 0.5, 0, 1, 0, 0.5, 0, 0, 1, 0].map(real) },
        composite(2),
      ],
      (u, v) => 4 * (u - 0.5) ** 2 + 25 * (v - 0.5) ** 2 < 1,
    ],
    [
      '4.5: a tilted ellipse, and its half by a line',
      [
        // 9 x^2 - 14 x y + 9 y^2 = 1/4 about (1/2, 1/2)
        {
          type: 104,
          form: 1,
          fields: [9, -14, 9, -2, -2, 0.75, 0, 0.75, 0.75, 0.25, 0.25].map(real),
        },
        line([0.25, 0.25], [0.75, 0.75]),
        composite(2, 3),
      ],
      (u, v) => {
        const [x, y] = [u - 0.5, v - 0.5];
        return 9 * x * x - 14 * x * y + 9 * y * y < 0.25 && y > x;
      },
    ],
    [
      '4.5: a parabola, y = x^2',
      [
        { type: 104, form: 3, fields: [1, 0, 0, 0, -1, 0, 0, 0, 0, 1, 1].map(real) },
        line([1, 1], [0, 0]),
        composite(2, 3),
      ],
      (u, v) => v > u * u && v < u,
    ],
    [
      '4.5: a hyperbola, x y = 0.1',
      [
        { type: 104, form: 2, fields: [0, 1, 0, 0, 0, -0.1, 0, 0.1, 1, 1, 0.1].map(real) },
        line([1, 0.1], [1, 1]),
        line([1, 1], [0.1, 1]),
        composite(2, 3, 4),
      ],
      (u, v) => u * v > 0.1 && u < 1 && v < 1,
    ],
    [
      '4.6: points in a row, pairs (form 1)',
      [{ type: 106, form: 1, fields: [1, 5, '9.', ...flatFields(closedSquare)] }],
      box(0.25, 0.25, 0.75, 0.75),
    ],
    [
      '4.6: triples (form 2)',
      [{ type: 106, form: 2, fields: [2, 5, ...flatFields(closedSquare.map((p) => [...p, 3]))] }],
      box(0.25, 0.25, 0.75, 0.75),
    ],
    [
      '4.6: sextuples (form 3)',
      [
        {
          type: 106,
          form: 3,
          fields: [3, 5, ...flatFields(closedSquare.map((p) => [...p, 3, 0, 0, 1]))],
        },
      ],
      box(0.25, 0.25, 0.75, 0.75),
    ],
    [
      '4.7: linear path (form 11)',
      [{ type: 106, form: 11, fields: [1, 5, '0.', ...flatFields(closedSquare)] }],
      box(0.25, 0.25, 0.75, 0.75),
    ],
    [
      '4.7: linear path (form 12)',
      [{ type: 106, form: 12, fields: [2, 5, ...flatFields(closedSquare.map((p) => [...p, 0]))] }],
      box(0.25, 0.25, 0.75, 0.75),
    ],
    [
      '4.7: linear path with vectors (form 13)',
      [
        {
          type: 106,
          form: 13,
          fields: [3, 5, ...flatFields(closedSquare.map((p) => [...p, 0, 0, 0, 1]))],
        },
      ],
      box(0.25, 0.25, 0.75, 0.75),
    ],
    [
      '4.11: simple closed planar curve (form 63), its last point left out',
      [{ type: 106, form: 63, fields: [1, 4, '0.', ...flatFields(square)] }],
      box(0.25, 0.25, 0.75, 0.75),
    ],
    [
      '4.14: parametric spline, two pieces of x and y in powers of t - T(i)',
      [
        {
          type: 112,
          fields: [
            3,
            1,
            2,
            2,
            '0.',
            '0.5',
            '1.',
            // x = t, y = t^2 up to 0.5; then x = 0.5 + s, y = 0.25 + s + s^2, which is t^2 as well
            ...[0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0].map(real),
            ...[0.5, 1, 0, 0, 0.25, 1, 1, 0, 0, 0, 0, 0].map(real),
            ...[1, 1, 0, 0, 1, 2, 2, 0, 0, 0, 0, 0].map(real),
          ],
        },
        line([1, 1], [0, 0]),
        composite(2, 3),
      ],
      (u, v) => v > u * u && v < u,
    ],
    [
      '4.23: rational B-spline, a circle of two rational parabolas and a range that keeps half',
      [
        {
          type: 126,
          fields: [
            4,
            2,
            1,
            1,
            0,
            0,
            ...[0, 0, 0, 1, 1, 2, 2, 2].map(real),
            // control points of quarter arcs, weight 1/sqrt 2 at the corners
            ...[1, Math.SQRT1_2, 1, Math.SQRT1_2, 1].map(real),
            ...[0.8, 0.5, 0, 0.8, 0.8, 0, 0.5, 0.8, 0, 0.2, 0.8, 0, 0.2, 0.5, 0].map(real),
            '0.',
            '1.',
            '0.',
            '0.',
            '1.',
          ],
        },
        line([0.5, 0.8], [0.5, 0.5]),
        line([0.5, 0.5], [0.8, 0.5]),
        composite(2, 3, 4),
      ],
      (u, v) => disc(0.5, 0.5, 0.3)(u, v) && u > 0.5 && v > 0.5,
    ],
    [
      '4.21: a curve with a matrix of its own, in a composite with another',
      [
        { ...circle(0.3, 0.2, 0.1), matrix: 3 },
        quarterTurn,
        { ...composite(2), matrix: 5 },
        { type: 124, fields: [1, 0, 0, 0, 0, 1, 0, 0.4, 0, 0, 1, 0].map(real) },
        composite(4),
      ],
      // (0.3, 0.2) -> (0.8, 0.3) -> (0.8, 0.7)
      disc(0.8, 0.7, 0.1),
    ],
  ])('%s', (_, curves, shape) => {
    const intake = read(trimmedBy(...curves));
    sound(intake);
    expect(intake.panels).toHaveLength(1);
    expectKept(intake.panels[0], shape);
  });

  test('a conic is exact: every point of a hyperbola satisfies its equation', () => {
    const { trim } = read(
      trimmedBy(
        { type: 104, form: 2, fields: [0, 1, 0, 0, 0, -0.1, 0, 0.1, 1, 1, 0.1].map(real) },
        line([1, 0.1], [1, 1]),
        line([1, 1], [0.1, 1]),
        composite(2, 3, 4),
      ),
    ).panels[0];
    if (trim.kind !== 'part') throw new Error(trim.kind);
    const [arc] = trim.region.loops[0].curves;
    for (let t = 0; t <= 1; t += 0.01) {
      const [x, y] = curvePoint(arc, t);
      expect(x * y).toBeCloseTo(0.1, 14);
    }
  });

  test('parameters are not lengths: the file’s unit leaves them alone (4.32)', () => {
    const intake = read(trimmedBy(circle(0.5, 0.4, 0.3)), { unit: '1,4HINCH' });
    expectKept(intake.panels[0], disc(0.5, 0.4, 0.3));
  });
});

describe('faces', () => {
  const hole = [surface(), circle(0.5, 0.5, 0.2), onSurface(2)];
  test('4.34: N1 = 0, the outer border is that of the surface', () => {
    const intake = read([...hole, trimmed(0, 3)]);
    sound(intake);
    expectKept(intake.panels[0], (u, v) => !disc(0.5, 0.5, 0.2)(u, v));
    const { trim } = intake.panels[0];
    expect(trim).toMatchObject({ place: { record: 'D7' } });
  });
  test('4.34: outer border and two holes', () => {
    const intake = read([
      surface(),
      circle(0.5, 0.5, 0.4),
      onSurface(2),
      circle(0.4, 0.5, 0.1),
      onSurface(4),
      circle(0.7, 0.5, 0.1),
      onSurface(6),
      trimmed(3, 5, 7),
    ]);
    sound(intake);
    expectKept(
      intake.panels[0],
      (u, v) =>
        disc(0.5, 0.5, 0.4)(u, v) && !disc(0.4, 0.5, 0.1)(u, v) && !disc(0.7, 0.5, 0.1)(u, v),
    );
  });
  test('4.24: parameter ranges that keep a part, alone and as the outer border of a face', () => {
    const range = ['0.1', '0.9', '0.', '0.5'];
    const alone = read([surface({ range })]);
    sound(alone);
    expectKept(alone.panels[0], box(0.1, 0, 0.9, 0.5));
    const [, ...rest] = hole;
    const faced = read([surface({ range }), ...rest, trimmed(0, 3)]);
    sound(faced);
    expectKept(
      faced.panels[0],
      (u, v) => box(0.1, 0, 0.9, 0.5)(u, v) !== disc(0.5, 0.5, 0.2)(u, v),
    );
  });
  test('4.31, 4.33: a bounded surface with several curves in the plane for one in space', () => {
    const intake = read([
      surface(),
      line(square[0], square[1]),
      line(square[1], square[2]),
      line(square[2], square[3]),
      line(square[3], square[0]),
      {
        type: 141,
        fields: [
          1,
          1,
          pointer(1),
          2,
          0,
          1,
          3,
          pointer(2),
          pointer(3),
          pointer(4),
          0,
          2,
          1,
          pointer(5),
        ],
      },
      { type: 143, fields: [1, pointer(1), 1, pointer(6)] },
    ]);
    sound(intake);
    expectKept(intake.panels[0], box(0.25, 0.25, 0.75, 0.75));
  });
  test('502, 504, 508, 510: a face of a solid by the curves of its loops, one edge a vertex', () => {
    const corners: MadeEntity = { type: 502, form: 1, fields: [4, ...Array(12).fill('0.')] };
    const edge = (at: number): number[] => [pointer(2), pointer(6), at, pointer(6), (at % 4) + 1];
    const use = (curve: number, at: number): number[] => [
      0,
      pointer(7),
      at,
      1,
      1,
      0,
      pointer(curve),
    ];
    const intake = read([
      surface({}, { status: '00010000' }),
      line(square[0], square[1]),
      line(square[1], square[2]),
      line(square[2], square[3]),
      line(square[3], square[0]),
      corners,
      { type: 504, form: 1, fields: [4, ...edge(1), ...edge(2), ...edge(3), ...edge(4)] },
      {
        type: 508,
        form: 1,
        fields: [5, ...use(2, 1), 1, pointer(6), 2, 1, 0, ...use(3, 2), ...use(4, 3), ...use(5, 4)],
      },
      { type: 510, form: 1, fields: [pointer(1), 1, 1, pointer(8)] },
      { type: 514, form: 1, fields: [1, pointer(9), 1] },
      { type: 186, fields: [pointer(10), 1, 0] },
    ]);
    sound(intake);
    expectKept(intake.panels[0], box(0.25, 0.25, 0.75, 0.75));
  });
  test('510: a face without a loop keeps its whole surface', () => {
    const intake = read([surface(), { type: 510, form: 1, fields: [pointer(1), 0, 1] }]);
    sound(intake);
    expect(intake.panels[0].trim.kind).toBe('whole');
  });

  test('two faces that trim one surface are two panels of one net', () => {
    const intake = read([
      surface(),
      circle(0.3, 0.5, 0.2),
      onSurface(2),
      { ...trimmed(3), label: 'LEFT' },
      circle(0.7, 0.5, 0.15),
      onSurface(5),
      { ...trimmed(6), label: 'RIGHT' },
    ]);
    sound(intake);
    expect(intake.panels.map(({ name }) => name)).toEqual(['LEFT', 'RIGHT']);
    expect(intake.panels[0].net).toBe(intake.panels[1].net);
    expectKept(intake.panels[0], disc(0.3, 0.5, 0.2));
    expectKept(intake.panels[1], disc(0.7, 0.5, 0.15));
  });
  test('one that keeps it whole beside one that trims it: two panels', () => {
    const intake = read([...hole, trimmed(3), trimmed(0)]);
    expect(intake.panels.map(({ trim }) => trim.kind)).toEqual(['part', 'whole']);
    expect(intake.panels[0].net).toBe(intake.panels[1].net);
  });
  test('each face stands where its own matrix puts it', () => {
    const shift = (x: number): MadeEntity => ({
      type: 124,
      fields: [1, 0, 0, x, 0, 1, 0, 0, 0, 0, 1, 0].map(real),
    });
    const intake = read([
      surface({}, { status: '00010000' }),
      circle(0.5, 0.5, 0.2),
      onSurface(2),
      { ...trimmed(3), matrix: 6 },
      { ...trimmed(3), matrix: 7 },
      shift(1000),
      shift(2000),
    ]);
    sound(intake);
    expect(intake.panels.map(({ net }) => net.points[0])).toEqual([1000, 2000]);
    expect(intake.panels.map(({ trim }) => trim.kind)).toEqual(['part', 'part']);
  });
});

describe('the tolerance: global parameter 19', () => {
  // ends 0.001 apart in u, 0.1 mm on the surface
  const gaping = trimmedBy(
    line([0.25, 0.25], [0.75, 0.25]),
    line([0.751, 0.25], [0.5, 0.75]),
    line([0.5, 0.75], [0.25, 0.25]),
    composite(2, 3, 4),
  );
  test.each<[string, string, number]>([
    ['as stated', '0.05', 0.05],
    ['no finer than 0.01 mm', '1E-9', 0.01],
    ['no coarser than a thousandth of the diagonal', '1.', 0.13011],
    ['0.01 mm where it is left out', '', 0.01],
    ['0.01 mm where it is nonsense', '-3.', 0.01],
  ])('%s', (_, resolution, tolerance) => {
    const { trim } = read(trimmedBy(circle(0.5, 0.5, 0.2)), { resolution }).panels[0];
    expect(trim.kind === 'part' && trim.region.tolerance).toBeCloseTo(tolerance, 4);
  });
  test('it is a length: inches become mm', () => {
    const { trim } = read(trimmedBy(circle(0.5, 0.5, 0.2)), {
      resolution: '0.01',
      unit: '1,4HINCH',
    }).panels[0];
    expect(trim.kind === 'part' && trim.region.tolerance).toBeCloseTo(0.254, 12);
  });
  test('curves that lie farther apart are told with the gap; the net is judged whole', () => {
    const intake = read(gaping, { resolution: '0.05' });
    expect(intake.faults).toEqual([]);
    expect(intake.panels[0].trim).toMatchObject({ kind: 'unread', place: { record: 'D13' } });
    expect(intake.notices).toMatchObject([
      { code: 'trim-open', place: { record: 'D13' }, data: { loop: 1, unit: 'mm' } },
    ]);
    expect(intake.notices[0].data['gap']).toBeCloseTo(0.1, 2);
    expect(read(gaping, { resolution: '0.12' }).panels[0].trim.kind).toBe('part');
  });
});

describe('borders that cannot be read are told, and the net is read all the same', () => {
  const wide = (count: number): MadeEntity => ({
    type: 102,
    fields: [count, ...Array.from({ length: count }, () => pointer(2))],
  });
  test.each<[string, readonly MadeEntity[], string, number]>([
    ['no outer border', [surface(), { ...trimmed(0), fields: [1, 1, 0, 0] }], 'pointer', 144],
    ['a border beyond the file', [surface(), trimmed(400)], 'pointer', 144],
    ['a border that is none', [surface(), circle(0.5, 0.5, 0.2), trimmed(2)], 'pointer', 144],
    [
      'more borders than stand there',
      [surface(), { type: 144, fields: [pointer(1), 1, 9999999, 0] }],
      'data',
      144,
    ],
    ['142 without curves', [surface(), onSurface(0), trimmed(2)], 'pointer', 142],
    ['142 with a pointer to nothing', [surface(), onSurface(99), trimmed(2)], 'pointer', 142],
    [
      '142 of another surface, without a curve in space',
      [surface(), circle(0.5, 0.5, 0.2), onSurface(2, 0, 1, 5), trimmed(3), surface()],
      'surface',
      142,
    ],
    ['130: an offset curve', trimmedBy({ type: 130, fields: [1, 1] }), 'kind', 130],
    ['110: a ray (form 1)', trimmedBy({ ...line([0, 0], [1, 1]), form: 1 }), 'kind', 110],
    [
      '110: a line without ends (form 2)',
      trimmedBy({ ...line([0, 0], [1, 1]), form: 2 }),
      'kind',
      110,
    ],
    [
      '106: a witness line (form 40)',
      trimmedBy({ type: 106, form: 40, fields: [1, 2, 0, 0, 0, 1, 1] }),
      'kind',
      106,
    ],
    ['100: no radius', trimmedBy({ type: 100, fields: Array(7).fill('0.') }), 'data', 100],
    ['100: ends early', trimmedBy({ type: 100, fields: ['0.', '1.'] }), 'data', 100],
    [
      '100: a string',
      trimmedBy({ type: 100, fields: [hollerith('arc'), ...Array(6).fill('1.')] }),
      'data',
      100,
    ],
    [
      '100: beyond all numbers',
      trimmedBy({ type: 100, fields: ['0.', '1.E999', ...Array(5).fill('1.')] }),
      'data',
      100,
    ],
    [
      '104: no curve at all',
      trimmedBy({ type: 104, fields: [...Array(10).fill('0.'), '1.'] }),
      'data',
      104,
    ],
    [
      '104: an ellipse of no points',
      trimmedBy({ type: 104, form: 1, fields: [1, 0, 1, 0, 0, 1, 0, 1, 0, 0, 1].map(real) }),
      'data',
      104,
    ],
    [
      '104: two branches',
      trimmedBy({
        type: 104,
        form: 2,
        fields: [0, 1, 0, 0, 0, -0.1, 0, 0.1, 1, -1, -0.1].map(real),
      }),
      'data',
      104,
    ],
    [
      '106: a huge count',
      trimmedBy({ type: 106, form: 12, fields: [2, 2000000000, '0.'] }),
      'data',
      106,
    ],
    [
      '106: one point',
      trimmedBy({ type: 106, form: 12, fields: [2, 1, '0.', '0.', '0.'] }),
      'data',
      106,
    ],
    [
      '106: no such kind of tuple',
      trimmedBy({ type: 106, form: 12, fields: [4, 2, '0.', '0.', '0.'] }),
      'data',
      106,
    ],
    [
      '112: a huge count',
      trimmedBy({ type: 112, fields: [3, 1, 2, 999999999, '0.'] }),
      'data',
      112,
    ],
    [
      '112: breakpoints that fall',
      trimmedBy({ type: 112, fields: [3, 1, 2, 1, '1.', '0.', ...Array(24).fill('1.')] }),
      'data',
      112,
    ],
    [
      '126: a huge count',
      trimmedBy({ type: 126, fields: [2000000000, 2, 0, 0, 0, 0] }),
      'data',
      126,
    ],
    [
      '126: degree 0',
      trimmedBy({ type: 126, fields: [1, 0, 0, 0, 1, 0, ...Array(20).fill('1.')] }),
      'data',
      126,
    ],
    [
      '126: weight 0',
      trimmedBy({
        type: 126,
        fields: [
          1,
          1,
          0,
          0,
          1,
          0,
          '0.',
          '0.',
          '1.',
          '1.',
          '1.',
          '0.',
          ...Array(6).fill('1.'),
          '0.',
          '1.',
        ],
      }),
      'data',
      126,
    ],
    [
      '126: knots that fall',
      trimmedBy({
        type: 126,
        fields: [
          1,
          1,
          0,
          0,
          1,
          0,
          '0.',
          '1.',
          '0.',
          '1.',
          '1.',
          '1.',
          ...Array(6).fill('1.'),
          '0.',
          '1.',
        ],
      }),
      'data',
      126,
    ],
    ['102: in itself', trimmedBy(composite(2)), 'nesting', 102],
    ['102: in a circle', trimmedBy(composite(3), composite(2)), 'nesting', 102],
    ['102: empty', trimmedBy({ type: 102, fields: [0] }), 'data', 102],
    ['102: a huge count', trimmedBy({ type: 102, fields: [999999999, 1] }), 'data', 102],
    ['102: a member that is not there', trimmedBy(composite(77)), 'pointer', 102],
    ['102: a member that is no curve', trimmedBy(composite(1)), 'kind', 128],
    [
      '102: one that doubles 40 times',
      trimmedBy(
        circle(0.5, 0.5, 0.2),
        ...Array.from({ length: 40 }, (_, k) => composite(k + 2, k + 2)),
      ),
      'nesting',
      102,
    ],
    ['102: thousands of one curve', trimmedBy(circle(0.5, 0.5, 0.2), wide(30000)), 'nesting', 102],
    ['a matrix that is none', trimmedBy({ ...circle(0.5, 0.5, 0.2), matrix: 1 }), 'data', 100],
    [
      '141 with a huge count',
      [
        surface(),
        { type: 141, fields: [0, 1, pointer(1), 1e9, 0, 1, 0] },
        { type: 143, fields: [0, pointer(1), 1, pointer(2)] },
      ],
      'data',
      141,
    ],
    [
      '508 with a huge count',
      [
        surface(),
        { type: 508, fields: [1e9, 0, 1, 1, 1, 0] },
        { type: 510, fields: [pointer(1), 1, 1, pointer(2)] },
      ],
      'data',
      508,
    ],
    [
      '508 with an edge beyond its list',
      [
        surface(),
        { type: 504, fields: [1, 1, 1, 1, 1, 1] },
        { type: 508, fields: [1, 0, pointer(2), 7, 1, 0] },
        { type: 510, fields: [pointer(1), 1, 1, pointer(3)] },
      ],
      'pointer',
      508,
    ],
  ])('%s', (_, entities, what, entity) => {
    const begun = performance.now();
    const intake = read([...entities, surface({}, { label: 'HOOD' })]);
    expect(performance.now() - begun).toBeLessThan(2000);
    expect(intake.faults).toEqual([]);
    const kinds = intake.panels.map(({ trim }) => trim.kind);
    expect(kinds[0]).toBe('unread');
    expect(kinds[kinds.length - 1]).toBe('whole');
    expect(intake.notices).toMatchObject([{ code: 'trim-unread', data: { what, entity } }]);
    expect(intake.notices[0].place.record).toMatch(/^D\d+$/);
  });

  test('empty 141: a loop without a curve', () => {
    const intake = read([
      surface(),
      { type: 141, fields: [0, 1, pointer(1), 0] },
      { type: 143, fields: [0, pointer(1), 1, pointer(2)] },
    ]);
    expect(intake.notices).toMatchObject([{ code: 'trim-empty', data: { loop: 1 } }]);
    expect(intake.panels[0].trim.kind).toBe('unread');
  });

  test('thousands of faces with one endless border are refused before they cost time', () => {
    const uses = Array.from({ length: 20_000 }, () => [1, pointer(1), 1, 1, 0]).flat();
    const entities: MadeEntity[] = [
      surface(),
      { type: 508, form: 1, fields: [20_000, ...uses] },
      ...Array.from({ length: 2000 }, () => ({
        type: 510,
        form: 1,
        fields: [pointer(1), 1, 1, pointer(2)],
      })),
    ];
    const bytes = igesFile(entities);
    const begun = performance.now();
    const intake = readIges(bytes);
    expect(performance.now() - begun).toBeLessThan(2000);
    expect(intake.panels).toHaveLength(2000);
    expect(intake.panels.every(({ trim }) => trim.kind === 'unread')).toBe(true);
  });

  test('thousands of faces on one surface, each with a border, take no time beyond their own', () => {
    const faces = 3000;
    const entities = [
      surface(),
      ...Array.from({ length: faces }, (_, k): MadeEntity[] => [
        circle(0.1 + (0.8 * k) / faces, 0.5, 0.05),
        onSurface(3 * k + 2),
        trimmed(3 * k + 3),
      ]).flat(),
    ];
    const begun = performance.now();
    const intake = read(entities);
    expect(performance.now() - begun).toBeLessThan(5000);
    expect(intake.panels).toHaveLength(faces);
    expect(new Set(intake.panels.map(({ net }) => net)).size).toBe(1);
  });
});

describe('flags of 4.24 against the surface', () => {
  const tube = (closes: boolean): (readonly [number, number, number])[] =>
    [0, 80].flatMap((y) => [
      [0, y, 0] as const,
      [50, y, 90] as const,
      [closes ? 0 : 10, y, 0] as const,
    ]);
  const flagged = (points: (readonly [number, number, number])[], flags: number[]): MadeEntity => {
    const made = surface({ points });
    const fields = [...made.fields];
    flags.forEach((flag, k) => (fields[4 + k] = flag));
    return { ...made, fields };
  };
  test.each<[string, boolean, number[], string[]]>([
    ['closed and said so', true, [1, 0, 1, 0, 0], []],
    ['closed and periodic', true, [1, 0, 1, 1, 0], []],
    ['closed, not said', true, [0, 0, 1, 0, 0], ['PROP1']],
    ['open, said to be closed', false, [1, 0, 1, 0, 0], ['PROP1']],
    ['open, said to be closed in v', false, [0, 1, 1, 0, 0], ['PROP2']],
    ['open, said to be periodic', false, [0, 0, 1, 1, 1], ['PROP4', 'PROP5']],
  ])('%s', (_, closes, flags, told) => {
    const intake = read([flagged(tube(closes), flags)]);
    expect(intake.notices.map(({ code, data }) => [code, data['what']])).toEqual(
      told.map((what) => ['flag-contradicts', what]),
    );
    expect(intake.panels).toHaveLength(1);
  });
  test('unclamped knots: the ends of the domain count, not the ends of the net', () => {
    const ring = [0, 1, 2, 3, 0, 1, 2].map((k) => [
      100 * Math.cos((k * Math.PI) / 2),
      100 * Math.sin((k * Math.PI) / 2),
    ]);
    const points = [0, 80].flatMap((z) => ring.map(([x, y]) => [x, y, z]));
    const fields = (periodic: number): (string | number)[] => [
      6,
      1,
      3,
      1,
      1,
      0,
      1,
      periodic,
      0,
      ...[-3, -2, -1, 0, 1, 2, 3, 4, 5, 6, 7].map(real),
      '0.',
      '0.',
      '1.',
      '1.',
      ...Array.from({ length: 14 }, () => '1.'),
      ...points.flat().map(real),
      '0.',
      '4.',
      '0.',
      '1.',
    ];
    expect(read([{ type: 128, fields: fields(1) }]).notices).toEqual([]);
    expect(read([{ type: 128, fields: fields(0) }]).notices).toEqual([]);
  });
  test('a surface is no smaller for it', () => {
    expect(read([flagged([...madePoints], [1, 1, 1, 1, 1])]).panels[0].net.columns).toBe(3);
  });
});

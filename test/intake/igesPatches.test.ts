import { describe, expect, test } from 'vitest';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import { readIges } from '../../src/intake/iges/readIges.ts';
import type { Intake } from '../../src/intake/panel.ts';
import { hollerith, igesFile, pointer, surface, type Layout, type MadeEntity } from './igesFile.ts';

// Parametric spline surface (114): IGES 5.3 (ANS US PRO/IPO-100-1996), section 4.15.

const read = (entities: readonly MadeEntity[], layout: Layout = {}): Intake =>
  readIges(igesFile(entities, layout));

/** x, y and z as powers: powers[axis][j][i] of s^i t^j, s and t from the patch's first corner. */
type Powers = readonly (readonly (readonly number[])[])[];

/** Value of a polynomial and its Taylor powers about (u0, v0), by differences of its own powers. */
const choose = (n: number, k: number): number => (k === 0 ? 1 : (choose(n - 1, k - 1) * n) / k);
const shifted = (powers: Powers, u0: number, v0: number): Powers =>
  powers.map((rows) =>
    [0, 1, 2, 3].map((j) =>
      [0, 1, 2, 3].map((i) => {
        let total = 0;
        rows.forEach((row, b) =>
          row.forEach((value, a) => {
            if (a >= i && b >= j)
              total += value * choose(a, i) * choose(b, j) * u0 ** (a - i) * v0 ** (b - j);
          }),
        );
        return total;
      }),
    ),
  );
const valueAt = (powers: Powers, u: number, v: number): number[] =>
  powers.map((rows) =>
    rows.reduce(
      (total, row, j) => total + row.reduce((sum, a, i) => sum + a * u ** i * v ** j, 0),
      0,
    ),
  );

interface Made {
  readonly breaks: readonly [readonly number[], readonly number[]];
  readonly patch: (i: number, j: number) => Powers;
  readonly type?: readonly [number, number];
  /** Patches left out at the end. */
  readonly short?: number;
  readonly additional?: readonly (string | number)[];
}

/** Patches (1, 1), (1, 2) ... (M + 1, N + 1); those of the last row and column hold 9.E9. */
function splineSurface(made: Made, more: Partial<MadeEntity> = {}): MadeEntity {
  const [us, vs] = made.breaks;
  const [m, n] = [us.length - 1, vs.length - 1];
  const written = Array.from({ length: m + 1 }, (_, i) =>
    Array.from({ length: n + 1 }, (_v, j) =>
      i < m && j < n
        ? made
            .patch(i, j)
            .flat(2)
            .map((x) => x.toExponential(17))
        : Array.from({ length: 48 }, () => '9.E9'),
    ),
  ).flat();
  const kept = written.slice(0, written.length - (made.short ?? 0));
  return {
    type: 114,
    fields: [
      ...(made.type ?? [3, 1]),
      m,
      n,
      ...[...us, ...vs].map((x) => `${x}E0`),
      ...kept.flat(),
      ...(made.additional ?? []),
    ],
    ...more,
  };
}

// a bicubic over all, so that its patches join without a trace
const whole: Powers = [
  [
    [0, 100, 3, -1],
    [2, 0, 0, 0],
    [0, 0, 0, 0],
    [0, 0, 0, 0.5],
  ],
  [
    [0, 1, 0, 0],
    [90, 0, 2, 0],
    [3, 0, 0, 0],
    [1, 0, 0, 0],
  ],
  [
    [0, 3, -7, 1],
    [2, 5, 0, 0],
    [-6, 0, 1, 0],
    [0, 0, 0, 2],
  ],
];
const breaks = [
  [0, 0.5, 2],
  [1, 1.25, 2],
] as const;
const ofWhole = (powers: Powers, [us, vs]: Made['breaks'] = breaks): Made => ({
  breaks: [us, vs],
  patch: (i, j) => shifted(powers, us[i], vs[j]),
});
const knots = (intake: Intake): number[][] =>
  intake.panels[0].net.knots.map((side) => Array.from(side));

describe('parametric spline surface: 4.15', () => {
  test('the net evaluates as the patches do, each from its own corner', () => {
    const intake = read([splineSurface(ofWhole(whole))]);
    expect(intake.faults).toEqual([]);
    expect(intake.notices).toEqual([]);
    expect(intake.unjudged).toEqual([]);
    expect(intake.panels).toHaveLength(1);
    const { net } = intake.panels[0];
    for (let u = 0; u <= 2; u += 0.125)
      for (let v = 1; v <= 2; v += 0.125)
        surfacePoint(net, u, v).forEach((x, axis) =>
          expect(x).toBeCloseTo(valueAt(whole, u, v)[axis], 9),
        );
    expect(knots(intake)).toEqual([
      [0, 0, 0, 0, 0.5, 2, 2, 2, 2],
      [1, 1, 1, 1, 1.25, 2, 2, 2, 2],
    ]);
  });

  test('the meaningless patches behind the last that counts may be left out', () => {
    const all = read([splineSurface(ofWhole(whole))]);
    const short = read([splineSurface({ ...ofWhole(whole), short: 4 })]);
    expect(short.faults).toEqual([]);
    expect(short.panels).toEqual(all.panels);
  });

  test('unit and matrix hold for the points, not for the parameters', () => {
    const intake = read(
      [
        splineSurface(ofWhole(whole), { matrix: 2 }),
        { type: 124, fields: [1, 0, 0, 10, 0, 1, 0, 0, 0, 0, 1, 0].map((x) => `${x}.`) },
      ],
      { unit: '1,4HINCH' },
    );
    const [x, y, z] = valueAt(whole, 0.75, 1.5);
    surfacePoint(intake.panels[0].net, 0.75, 1.5).forEach((value, axis) =>
      expect(value).toBeCloseTo([25.4 * (x + 10), 25.4 * y, 25.4 * z][axis], 8),
    );
  });

  test.each<[string, Powers, [number, number]]>([
    ['bicubic', whole, [3, 3]],
    ['cubic by line', whole.map(([a, b]) => [a, [b[0], 0, 0, 0]]), [3, 1]],
    [
      'line by parabola',
      whole.map((rows) => [
        [rows[0][0], rows[0][1], 0, 0],
        [rows[1][0], 0, 0, 0],
        [1, 0, 0, 0],
      ]),
      [1, 2],
    ],
  ])('degree by what is used, whatever CTYPE says: %s', (_, powers, degree) => {
    const intake = read([splineSurface({ ...ofWhole(powers), type: [6, 0] })]);
    expect(intake.panels[0].net.degree).toEqual(degree);
    surfacePoint(intake.panels[0].net, 1.3, 1.9).forEach((x, axis) =>
      expect(x).toBeCloseTo(valueAt(powers, 1.3, 1.9)[axis], 9),
    );
  });

  test('a fold between patches is a knot three times, a gap parts them and is told', () => {
    const folded: Made = {
      breaks: [
        [0, 1, 2],
        [0, 1],
      ],
      patch: (i) =>
        [[[100 * i, 100, 0, 0]], [[0], [80]], [[0, i === 0 ? 0 : 40, i === 0 ? 0 : 10, 1]]].map(
          (rows) => [0, 1, 2, 3].map((j) => [0, 1, 2, 3].map((k) => rows[j]?.[k] ?? 0)),
        ),
    };
    // z = s^3 up to 1, then 40 s + 10 s^2 + s^3 from 1 on when lifted there
    const lifted = (by: number): Made => ({
      ...folded,
      patch: (i, j) =>
        folded
          .patch(i, j)
          .map((rows, axis) =>
            axis === 2 && i === 1
              ? [[by + rows[0][0], ...rows[0].slice(1)], ...rows.slice(1)]
              : rows,
          ),
    });
    const joined = read([splineSurface(lifted(1))]);
    expect(joined.notices).toEqual([]);
    expect(knots(joined)[0]).toEqual([0, 0, 0, 0, 1, 1, 1, 2, 2, 2, 2]);
    const torn = read([splineSurface(lifted(6), { label: 'HOOD' })]);
    expect(torn.panels.map(({ name }) => name)).toEqual(['HOOD', 'HOOD~2']);
    expect(torn.panels.map(({ net }) => net.knots[0][0])).toEqual([0, 1]);
    expect(torn.notices).toEqual([
      {
        code: 'patches-apart',
        place: { line: 4, record: 'D1' },
        data: { found: 2, gap: 5, unit: 'mm' },
      },
    ]);
    // a trim over pieces is told, not guessed at
    const face = read([
      splineSurface(lifted(6)),
      { type: 100, fields: [0, 1, 0.5, 1.2, 0.5, 1.2, 0.5].map((x) => `${x}E0`) },
      { type: 142, fields: [0, pointer(1), pointer(2), 0, 1] },
      { type: 144, fields: [pointer(1), 1, 0, pointer(3)] },
    ]);
    expect(face.panels.map(({ trim }) => trim.kind)).toEqual(['unread', 'unread']);
    expect(face.notices[1]).toMatchObject({ code: 'trim-unread', data: { what: 'apart' } });
  });

  test('a face trims it in its own breakpoints, and its name is that of its property', () => {
    const intake = read([
      splineSurface({ ...ofWhole(whole), additional: [0, 1, pointer(5)] }),
      { type: 100, fields: ['0.', '1.', '1.5', '1.25', '1.5', '1.25', '1.5'] },
      { type: 142, fields: [0, pointer(1), pointer(2), 0, 1] },
      { type: 144, fields: [pointer(1), 1, 0, pointer(3)] },
      { type: 406, form: 15, fields: [1, hollerith('roof')] },
    ]);
    expect(intake.faults).toEqual([]);
    expect(intake.panels.map(({ name, trim }) => [name, trim.kind])).toEqual([['roof', 'part']]);
  });

  const changed = (at: number, value: string | number): MadeEntity => {
    const made = splineSurface(ofWhole(whole));
    return { ...made, fields: made.fields.map((field, k) => (k === at ? value : field)) };
  };
  test.each<[string, MadeEntity, string]>([
    ['M beyond the file', changed(2, 2000000000), 'count-beyond-file'],
    ['M and N far beyond', { type: 114, fields: [3, 1, '9.E200', '9.E200'] }, 'count-beyond-file'],
    ['M = 0', changed(2, 0), 'no-extent'],
    ['N not whole', changed(3, '1.5'), 'bad-number'],
    ['ends in its head', { type: 114, fields: [3, 1] }, 'iges-count'],
    ['ends early', splineSurface({ ...ofWhole(whole), short: 5 }), 'iges-count'],
    ['breakpoints alike', changed(5, '0.'), 'knots-decrease'],
    ['a breakpoint beyond all numbers', changed(5, '1.E999'), 'not-finite'],
    ['a coefficient beyond all numbers', changed(12, '-1.E999'), 'not-finite'],
    ['a coefficient that is none', changed(12, 'nan'), 'bad-number'],
    [
      'no extent',
      splineSurface({
        breaks: [
          [0, 1],
          [0, 1],
        ],
        patch: () =>
          [[[1]], [[2]], [[3]]].map((rows) =>
            [0, 1, 2, 3].map((j) => [0, 1, 2, 3].map((i) => rows[j]?.[i] ?? 0)),
          ),
      }),
      'no-extent',
    ],
  ])('%s: a fault with its place, and the others are read', (_, entity, code) => {
    const intake = read([entity, surface({}, { label: 'HOOD' })]);
    expect(intake.faults.map((fault) => fault.code)).toEqual([code]);
    expect(intake.faults[0].place.record).toBe('D1');
    expect(intake.panels.map(({ name }) => name)).toEqual(['HOOD']);
  });
});

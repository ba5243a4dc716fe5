import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { clampedKnots } from '../../fixtures/fittedNet.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { pointAt, type ControlNet } from '../../src/geometry/controlNet.ts';
import { lineOf } from './lineNumber.ts';
import type { Intake } from '../../src/intake/panel.ts';
import { lineFinder } from '../../src/intake/step/lineFinder.ts';
import { readStep } from '../../src/intake/step/readStep.ts';
import { keywordAt, keywordNumber } from '../../src/intake/step/stepRecords.ts';
import { keywords } from '../../src/intake/step/stepKeywords.ts';
import { impliedKnots } from '../../src/intake/step/stepKnots.ts';
import { isProblem, stepParts, type StepValue } from '../../src/intake/step/stepValues.ts';
import { corpusBytes, corpusFolder } from '../corpus.ts';
import { sheet, StepFacesMaker } from './stepFaces.ts';
import { knotLists, real, stepFile, StepRecordsMaker } from './stepFile.ts';

/** The nose of Ternwing 3, roughly: every coordinate differs, so that no order can be mistaken. */
function nose(columns = 4, rows = 3, degree: [number, number] = [3, 2]): ControlNet {
  const points = new Float64Array(3 * columns * rows);
  for (let j = 0; j < rows; j++)
    for (let i = 0; i < columns; i++)
      points.set([100 * i + j, 60 * j + 0.25 * i, 7 * i * j + 0.5], 3 * (j * columns + i));
  return {
    degree,
    knots: [
      clampedKnots(degree[0], columns - degree[0]),
      clampedKnots(degree[1], rows - degree[1]),
    ],
    columns,
    rows,
    points,
    weights: null,
  };
}

const codes = (intake: Intake): string[] => intake.faults.map((f) => f.code);
const names = (intake: Intake): string[] => intake.panels.map((p) => p.name);

/** A file with one surface in a representation in millimetres; `extra` adds records. */
function oneSurface(net = nose(), name = '', extra = ''): Uint8Array {
  const maker = new StepRecordsMaker();
  maker.representation([maker.surface(net, name)], maker.context());
  return stepFile(`${maker.text()}\n${extra}`);
}

const withText = (bytes: Uint8Array, change: (text: string) => string): Uint8Array =>
  Buffer.from(change(Buffer.from(bytes).toString('latin1')), 'latin1');

const value = (text: string): StepValue | string => {
  const body = `A(${text})`;
  const parts = stepParts(Buffer.from(body, 'latin1'), 0, body.length);
  return isProblem(parts) ? parts.code : parts[0].values[0];
};

describe('values: ISO 10303-21:2016, 6.4 (tokens; clause from memory)', () => {
  test.each<[string, StepValue | string]>([
    ['1', { kind: 'number', value: 1 }],
    ['-1.5E-3', { kind: 'number', value: -0.0015 }],
    ['+0.', { kind: 'number', value: 0 }],
    ['#12', { kind: 'reference', id: 12 }],
    ['(#1, #2 ,\n#3)', { kind: 'references', ids: [1, 2, 3] }],
    ['$', { kind: 'none' }],
    ['*', { kind: 'derived' }],
    ['.UNSPECIFIED.', { kind: 'enumeration', name: 'UNSPECIFIED' }],
    ['.T.', { kind: 'enumeration', name: 'T' }],
    ['"092A"', { kind: 'binary' }],
    ['()', { kind: 'list', items: [] }],
    [
      '(#1,$)',
      {
        kind: 'list',
        items: [{ kind: 'reference', id: 1 }, { kind: 'none' }],
      },
    ],
    [
      'LENGTH_MEASURE( 1. )',
      { kind: 'typed', type: 'LENGTH_MEASURE', items: [{ kind: 'number', value: 1 }] },
    ],
    ['\\N\\ 2 \\F\\', { kind: 'number', value: 2 }],
    ['/* a (#9, comment */ 2 /**/', { kind: 'number', value: 2 }],
    ['', 'undefined'],
    ['1,,2', 'step-syntax'],
    ["'open", 'step-syntax'],
    ['#', 'step-syntax'],
    ['.X', 'step-syntax'],
    ['"0A', 'step-syntax'],
    ['NAN', 'step-syntax'],
  ])('%j', (text, expected) => {
    const found = value(text);
    if (expected === 'undefined') expect(found).toBeUndefined();
    else expect(found).toEqual(expected);
  });

  test.each<[string, string]>([
    // Examples of ISO 10303-21:2016, 6.4.3 are marked * (from memory).
    ["'CAT'", 'CAT'], // *
    ["'Don''t'", "Don't"], // *
    ["''''", "'"], // *
    ["''", ''], // *
    ["'\\S\\Drger'", '\u00c4rger'], // *
    ["'h\\S\\ttel'", 'h\u00f4tel'], // *
    ["'\\PE\\\\S\\*\\S\\U\\S\\b'", '\u040a\u0435\u0442'], // * page E is ISO 8859-5, Cyrillic
    ["'see \\X\\A7 4.1'", 'see \u00a7 4.1'], // *
    ["'\\X2\\03C0\\X0\\'", '\u03c0'], // * Greek pi
    ["'\\X2\\03B103B203B3\\X0\\'", '\u03b1\u03b2\u03b3'], // *
    // buildingSMART, IFC implementation guidance, "String encoding": four ways to write one letter.
    ["'\\S\\D'", '\u00c4'],
    ["'\\PA\\\\S\\D'", '\u00c4'],
    ["'\\X\\C4'", '\u00c4'],
    ["'\\X2\\00C4\\X0\\'", '\u00c4'],
    // ISO 10303-21:2016, table of print control directives: no part of the string.
    ["'be\\N\\side\\F\\'", 'beside'],
    ["'\\X4\\0001F600\\X0\\'", '\u{1f600}'],
    ["'\\X2\\D83DDE00\\X0\\'", '\u{1f600}'],
    ["'\\X2\\D83D\\X0\\'", '\ufffd'],
    ["'\\X4\\FFFFFFFF\\X0\\'", '\ufffd'],
    ["'a\\\\X\\\\b'", 'a\\X\\b'],
    ["'broken\r\n over lines'", 'broken over lines'],
    ["'semi;colon, (bracket) /* no comment */'", 'semi;colon, (bracket) /* no comment */'],
    ["'\u00c3\u00a9'", '\u00e9'], // UTF-8, edition 3
    ["'\u00e9'", '\u00e9'], // ISO 8859-1, as older writers have it
  ])('string %j', (text, expected) => {
    expect(value(text)).toEqual({ kind: 'text', text: expected });
  });

  test('a complex instance has its parts in order', () => {
    const body = "( A(1) B_2('x') /* c */ C() )";
    const parts = stepParts(Buffer.from(body), 0, body.length);
    expect(isProblem(parts) ? [] : parts.map((part) => part.type)).toEqual(['A', 'B_2', 'C']);
  });

  test('brackets 200 deep are read, 201 deep are not', () => {
    const nested = (depth: number): string => `${'('.repeat(depth)}${')'.repeat(depth)}`;
    expect(value(nested(199))).toMatchObject({ kind: 'list' });
    expect(value(nested(200))).toBe('too-deep');
    expect(value('('.repeat(100_000))).toBe('too-deep');
  });
});

test('no two keywords share a number, and each is found by its bytes', () => {
  for (const word of keywords)
    expect(keywordAt(Buffer.from(`${word}(`), 0, word.length + 1)).toBe(keywordNumber(word));
  expect(keywordAt(Buffer.from('PLANES('), 0, 7)).toBe(0);
});

test('lines are counted as the plain count has them', () => {
  fc.assert(
    fc.property(fc.array(fc.constantFrom(10, 13, 65), { maxLength: 40 }), (head) => {
      const bytes = Uint8Array.from([...head, ...Buffer.alloc(4090, 66), ...head]);
      const line = lineFinder(bytes);
      for (const byte of [0, 1, 20, 4095, 4096, 4097, bytes.length, bytes.length + 9])
        expect(line(byte)).toBe(lineOf(bytes, byte));
    }),
  );
});

describe('surfaces', () => {
  test('control points u outer, v inner (ISO 10303-42, b_spline_surface) become rows in v', () => {
    const net = nose();
    const { panels, faults, notices, unjudged } = readStep(oneSurface(net, 'nose'));
    expect({ faults, notices, unjudged }).toEqual({ faults: [], notices: [], unjudged: [] });
    expect(panels).toHaveLength(1);
    expect(panels[0]).toMatchObject({ name: 'nose', trim: { kind: 'whole' }, net });
  });

  const weightsOf = (net: ControlNet): string =>
    `(${Array.from(
      { length: net.columns },
      (_, i) => `(${Array.from({ length: net.rows }, (_r, j) => real(1 + i + 10 * j)).join(',')})`,
    ).join(',')})`;

  /** Simple and complex instances of each kind: ISO 10303-42, b_spline_surface and its subtypes. */
  const kinds = [
    ['B_SPLINE_SURFACE_WITH_KNOTS', null],
    ['BEZIER_SURFACE', 'bezier'],
    ['UNIFORM_SURFACE', 'uniform'],
    ['QUASI_UNIFORM_SURFACE', 'quasi-uniform'],
  ] as const;
  test.each(kinds.flatMap(([type, form]) => [false, true].map((r) => [type, form, r] as const)))(
    '%s (%s), rational: %s',
    (type, form, rational) => {
      const net = nose(7, 5, [3, 2]);
      const maker = new StepRecordsMaker();
      const own = form === null ? `${knotLists(net)},.UNSPECIFIED.` : '';
      const base = `3,2,${maker.pointLists(net)},.UNSPECIFIED.,.F.,.F.,.F.`;
      const surface = maker.add(
        rational
          ? `( BOUNDED_SURFACE() B_SPLINE_SURFACE(${base}) ${type === 'B_SPLINE_SURFACE_WITH_KNOTS' ? '' : `${type}() `}` +
              `${form === null ? `B_SPLINE_SURFACE_WITH_KNOTS(${own}) ` : ''}GEOMETRIC_REPRESENTATION_ITEM() ` +
              `RATIONAL_B_SPLINE_SURFACE(${weightsOf(net)}) REPRESENTATION_ITEM('hood') SURFACE() )`
          : `${type}('hood',${base}${own === '' ? '' : `,${own}`})`,
      );
      maker.representation([surface], maker.context());
      const { panels, faults } = readStep(maker.file());
      expect(faults).toEqual([]);
      expect(names({ panels } as Intake)).toEqual(['hood']);
      const found = panels[0].net;
      expect(found.points).toEqual(net.points);
      expect(found.knots).toEqual(
        form === null ? net.knots : [impliedKnots(form, 3, 7), impliedKnots(form, 2, 5)],
      );
      expect(found.weights && [found.weights[1], found.weights[found.columns]]).toEqual(
        rational ? [2, 11] : null,
      );
    },
  );

  // ISO 10303-42, default_b_spline_knots and default_b_spline_knot_mult (from memory).
  test.each([
    ['bezier', 3, 4, [0, 0, 0, 0, 1, 1, 1, 1]],
    ['bezier', 2, 5, [0, 0, 0, 1, 1, 2, 2, 2]],
    ['bezier', 2, 4, null],
    ['bezier', 1, 3, [0, 0, 1, 2, 2]],
    ['uniform', 2, 4, [-2, -1, 0, 1, 2, 3, 4]],
    ['quasi-uniform', 2, 5, [0, 0, 0, 1, 2, 3, 3, 3]],
    ['quasi-uniform', 3, 4, [0, 0, 0, 0, 1, 1, 1, 1]],
  ] as const)('knots of %s of degree %i with %i points', (form, degree, count, expected) => {
    const knots = impliedKnots(form, degree, count);
    expect(knots && Array.from(knots, (k) => k + 0)).toEqual(expected);
  });

  test.each<[string, (text: string) => string, string, object]>([
    ['a missing point', (t) => t.replace('((#1,', '((#900,'), 'step-reference', { to: '#900' }],
    [
      'a point that is a direction',
      (t) => t.replace('#1=CARTESIAN_POINT', '#1=DIRECTION'),
      'step-argument',
      { what: 'control point #1' },
    ],
    [
      'a point of the plane',
      (t) => t.replace("#1=CARTESIAN_POINT('',(0.,0.,0.5))", "#1=CARTESIAN_POINT('',(0.,0.))"),
      'step-argument',
      { what: 'control point #1' },
    ],
    [
      'multiplicities beyond the points',
      (t) => t.replace('(4,4),(3,3)', '(4,2000000000),(3,3)'),
      'count-beyond-file',
      { found: 2000000004, expected: 8 },
    ],
    [
      'multiplicities short of the points',
      (t) => t.replace('(4,4),(3,3)', '(4,3),(3,3)'),
      'knots-count',
      { found: 7, expected: 8 },
    ],
    [
      'a multiplicity that is no count',
      (t) => t.replace('(4,4),(3,3)', '(4,-4),(3,3)'),
      'step-argument',
      { what: 'knot multiplicities in u' },
    ],
    [
      'fewer knots than multiplicities',
      (t) => t.replace('(4,4),(3,3),(0.,1.)', '(4,4),(3,3),(0.)'),
      'wrong-count',
      { found: 1, expected: 2 },
    ],
    ['degree 0', (t) => t.replace("('nose',3,2", "('nose',0,2"), 'degree-range', { found: 0 }],
    [
      'a degree above the points',
      (t) => t.replace("('nose',3,2", "('nose',9,2"),
      'too-few-points',
      { found: 4, least: 10 },
    ],
    ['a degree that is a name', (t) => t.replace("('nose',3", "('nose',$"), 'step-argument', {}],
    ['uneven lists', (t) => t.replace('((#1,', '((#1,#1,'), 'wrong-count', {}],
    ['no lists', (t) => t.replace(/\(\(#1.*?\)\)/, '$'), 'step-argument', {}],
    [
      'too large a coordinate',
      (t) => t.replace('(0.,0.,0.5)', '(0.,0.,1.E300)'),
      'beyond-range',
      {},
    ],
    ['no number at all', (t) => t.replace('(0.,0.,0.5)', '(0.,0.,1.E999)'), 'not-finite', {}],
    [
      'a bracket too many',
      (t) => t.replace('.UNSPECIFIED.);', '.UNSPECIFIED.));'),
      'step-syntax',
      {},
    ],
  ])('%s is a fault of that surface, and the next is read', (_, change, code, data) => {
    const maker = new StepRecordsMaker(500);
    maker.surface(nose(), 'tail');
    const bytes = oneSurface(nose(), 'nose', maker.text());
    const changed = withText(bytes, change);
    expect(Buffer.compare(changed, bytes)).not.toBe(0);
    const intake = readStep(changed);
    expect(names(intake)).toEqual(['tail']);
    expect(intake.faults).toHaveLength(1);
    expect(intake.faults[0]).toMatchObject({ code, place: { record: '#13' }, data });
    expect(intake.faults[0].place.line).toBe(7 + 13);
  });

  test('a point may come as a complex instance', () => {
    const bytes = withText(oneSurface(), (t) =>
      t.replace(
        "#1=CARTESIAN_POINT('',(0.,0.,0.5))",
        "#1=(CARTESIAN_POINT((0.,0.,0.5))GEOMETRIC_REPRESENTATION_ITEM()POINT()REPRESENTATION_ITEM(''))",
      ),
    );
    expect(readStep(bytes).panels[0].net.points).toEqual(nose().points);
  });

  test('surfaces of other kinds are counted, also those on faces of a kind unknown here', () => {
    const maker = new StepRecordsMaker();
    const axes = maker.axes([0, 0, 0]);
    const plane = maker.add(`PLANE('',${axes})`);
    const cylinders = [1, 2].map((r) => maker.add(`CYLINDRICAL_SURFACE('',${axes},${r}.)`));
    const faces = [plane, ...cylinders, maker.add("SHELL_OF_REVOLT('')")].map((s) => maker.face(s));
    maker.add('TRIANGULATED_FACE($,$)');
    maker.representation([...faces, maker.surface(nose())], maker.context());
    const intake = readStep(maker.file());
    expect(intake.panels).toHaveLength(1);
    expect(intake.unjudged.map(({ kind, label, count }) => [kind, label, count])).toEqual([
      ['STEP CYLINDRICAL_SURFACE', 'cylindrical surface', 2],
      ['STEP PLANE', 'plane', 1],
      ['STEP SHELL_OF_REVOLT', 'shell of revolt', 1],
      ['STEP TRIANGULATED_FACE', 'triangulated face', 1],
    ]);
  });
});

describe('names', () => {
  const made = (faceName: string, ownName: string, product: string): Intake => {
    const maker = new StepRecordsMaker();
    const face = maker.face(maker.surface(nose(), ownName), faceName);
    const shell = maker.add(`OPEN_SHELL('',(${face}))`);
    const model = maker.add(`SHELL_BASED_SURFACE_MODEL('',(${shell}))`);
    const shape = maker.representation([model], maker.context());
    if (product !== '') maker.shapeOf(maker.product(product), shape);
    return readStep(maker.file());
  };
  test.each([
    ['hood-face', 'hood-surface', 'hood', 'hood-face'],
    [' ', 'hood-surface', 'hood', 'hood-surface'],
    ['', '', 'hood', 'hood'],
    ['', '', '', 'surface-#13'],
    ['Haube \\X2\\00FC\\X0\\', '', '', 'Haube \u00fc'],
  ])('face %j, surface %j, product %j: %j', (face, own, product, expected) => {
    expect(names(made(face, own, product))).toEqual([expected]);
  });

  test('the product is found across a relationship without transformation', () => {
    const maker = new StepRecordsMaker();
    const context = maker.context();
    const shape = maker.representation([maker.axes([0, 0, 0])], context);
    const brep = maker.add(
      `ADVANCED_BREP_SHAPE_REPRESENTATION('',(${maker.surface(nose())}),${context})`,
    );
    maker.add(`SHAPE_REPRESENTATION_RELATIONSHIP('','',${shape},${brep})`);
    maker.shapeOf(maker.product('spine'), shape);
    expect(names(readStep(maker.file()))).toEqual(['spine']);
  });

  test('names are made unique', () => {
    const maker = new StepRecordsMaker();
    const all = [0, 1, 2].map(() => maker.surface(nose(), 'flank'));
    maker.representation(all, maker.context());
    expect(names(readStep(maker.file()))).toEqual(['flank', 'flank~2', 'flank~3']);
  });

  test.each([
    ['ADVANCED_FACE', 'whole', (s: string) => `ADVANCED_FACE('',(),${s},.T.)`],
    ['FACE_SURFACE', 'whole', (s: string) => `FACE_SURFACE('',(),${s},.T.)`],
    [
      'RECTANGULAR_TRIMMED_SURFACE',
      'part',
      (s: string) => `RECTANGULAR_TRIMMED_SURFACE('',${s},0.,.5,0.,.5,.T.,.T.)`,
    ],
    ['CURVE_BOUNDED_SURFACE', 'whole', (s: string) => `CURVE_BOUNDED_SURFACE('',${s},(),.T.)`],
  ])('%s owns its surface, and without a line for a bound keeps it: %s', (_, kind, owner) => {
    const maker = new StepRecordsMaker();
    const record = maker.add(owner(maker.surface(nose())));
    maker.representation([record], maker.context());
    const { panels, unjudged } = readStep(maker.file());
    expect(panels.map(({ trim }) => trim.kind)).toEqual([kind]);
    expect(unjudged).toEqual([]);
  });
});

describe('units: ISO 10303-41, measure_schema', () => {
  const withUnit = (unit: (maker: StepRecordsMaker) => string): Intake => {
    const maker = new StepRecordsMaker();
    maker.representation([maker.surface(nose())], unit(maker));
    return readStep(maker.file());
  };
  const si = (prefix: string): string =>
    `( LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT(${prefix},.METRE.) )`;
  // Factors: BIPM, The International System of Units, table of prefixes.
  test.each([
    ['.MILLI.', 'mm', 1],
    ['.CENTI.', 'cm', 10],
    ['$', 'm', 1000],
    ['.MICRO.', 'um', 1e-3],
    ['.KILO.', 'km', 1e6],
    ['.DECI.', '1e-1 m', 100],
  ])('metre with prefix %s', (prefix, name, millimetres) => {
    const { unit, panels } = withUnit((maker) => maker.context(si(prefix)));
    expect(unit).toEqual({ name, millimetres });
    expect(pointAt(panels[0].net, 0, 3)[0]).toBe(300 * millimetres);
  });

  test('a simple SI_UNIT', () => {
    expect(withUnit((m) => m.context('SI_UNIT(*,.CENTI.,.METRE.)')).unit.name).toBe('cm');
  });

  // The international inch is 25.4 mm exactly (yard and pound agreement, 1959).
  test('inch, and a foot of twelve of them', () => {
    const inch = withUnit((maker) => maker.inchContext());
    expect(inch.unit).toEqual({ name: 'in', millimetres: 25.4 });
    const foot = withUnit((maker) => {
      const metre = maker.add(si('$'));
      const inchFactor = maker.add(
        `( LENGTH_MEASURE_WITH_UNIT() MEASURE_WITH_UNIT(LENGTH_MEASURE(0.0254),${metre}) )`,
      );
      const unit = maker.add(
        `( CONVERSION_BASED_UNIT('INCH',${inchFactor}) LENGTH_UNIT() NAMED_UNIT(*) )`,
      );
      const factor = maker.add(`LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(12.),${unit})`);
      return maker.context(
        `( CONVERSION_BASED_UNIT('FOOT',${factor}) LENGTH_UNIT() NAMED_UNIT(*) )`,
      );
    });
    expect(foot.unit.name).toBe('ft');
    expect(foot.unit.millimetres).toBeCloseTo(304.8, 10);
  });

  test('a unit made of itself is a fault, told once, and millimetres are taken', () => {
    const intake = withUnit((maker) => {
      // The factor is #14 and names the unit, which comes next.
      const factor = maker.add('LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(2.),#15)');
      return maker.context(
        `( CONVERSION_BASED_UNIT('ODD',${factor}) LENGTH_UNIT() NAMED_UNIT(*) )`,
      );
    });
    expect(intake.faults).toMatchObject([
      { code: 'unit-unknown', place: { record: '#15' }, data: { unit: 'odd' } },
    ]);
    expect(intake.notices.map((n) => n.code)).toEqual(['unit-missing']);
    expect(intake.panels[0].net.points).toEqual(nose().points);
  });

  test.each([
    ['SI_UNIT(*,.MYRIA.,.METRE.)', 'MYRIA METRE'],
    ["( CONVERSION_BASED_UNIT('ELL',$) LENGTH_UNIT() NAMED_UNIT(*) )", 'ell'],
  ])('%s is a fault', (unit, named) => {
    const intake = withUnit((maker) => maker.context(unit));
    expect(intake.faults).toMatchObject([{ code: 'unit-unknown', data: { unit: named } }]);
  });

  test('two contexts in one file, each with its own unit', () => {
    const maker = new StepRecordsMaker();
    maker.representation([maker.surface(nose(), 'nose')], maker.inchContext());
    maker.representation([maker.surface(nose(), 'tail')], maker.context(si('.CENTI.')));
    const { panels } = readStep(maker.file());
    expect(panels.map((p) => [p.name, p.unit.name, pointAt(p.net, 0, 1)[0]])).toEqual([
      ['nose', 'in', 2540],
      ['tail', 'cm', 1000],
    ]);
  });

  test('no unit: millimetres and a notice', () => {
    const intake = withUnit((maker) =>
      maker.add("( GEOMETRIC_REPRESENTATION_CONTEXT(3) REPRESENTATION_CONTEXT('','') )"),
    );
    expect(intake.unit.name).toBe('mm');
    expect(intake.notices).toMatchObject([{ code: 'unit-missing', data: { assumed: 'mm' } }]);
  });

  test('a surface in no representation is read as it is, in the unit all contexts agree on', () => {
    const alone = new StepRecordsMaker();
    alone.surface(nose());
    expect(readStep(alone.file()).notices.map((n) => n.code)).toEqual(['unit-missing']);
    alone.context(si('.CENTI.'));
    const agreed = readStep(alone.file());
    expect([agreed.unit.name, agreed.notices]).toEqual(['cm', []]);
    alone.inchContext();
    expect(readStep(alone.file()).notices.map((n) => n.code)).toEqual(['unit-missing']);
  });

  test.each([
    ['.KILO.', ['unit-doubtful']],
    ['.MICRO.', ['unit-doubtful']],
    ['.MILLI.', []],
    ['.CENTI.', []],
  ])('a panel of 300 by 120 units with prefix %s', (prefix, expected) => {
    expect(withUnit((m) => m.context(si(prefix))).notices.map((n) => n.code)).toEqual(expected);
  });
});

describe('placements: ISO 10303-43 and -44', () => {
  /** Rotation by `angle` about z, then a shift: an independent statement of what must come out. */
  type Motion = (p: readonly number[]) => [number, number, number];
  const motion =
    (angle: number, shift: readonly [number, number, number]): Motion =>
    ([x, y, z]) => [
      Math.cos(angle) * x - Math.sin(angle) * y + shift[0],
      Math.sin(angle) * x + Math.cos(angle) * y + shift[1],
      z + shift[2],
    ];
  const expectAt = (net: ControlNet, source: ControlNet, move: Motion, scale: number): void => {
    for (let row = 0; row < net.rows; row++)
      for (let column = 0; column < net.columns; column++) {
        const wanted = move(pointAt(source, row, column).map((c) => c * scale));
        pointAt(net, row, column).forEach((c, axis) => {
          expect(Math.abs(c - wanted[axis])).toBeLessThanOrEqual(1e-12 * 20000);
        });
      }
  };

  /** Part in inches, reused twice in a sub-assembly in mm, itself reused twice in the whole. */
  function tricycle(swap: boolean): { bytes: Uint8Array; moves: Motion[] } {
    const maker = new StepRecordsMaker();
    const inch = maker.inchContext();
    const mm = maker.context();
    const origin = maker.axes([0, 0, 0]);
    const part = maker.representation([maker.surface(nose()), origin], inch);
    const sub = maker.representation([origin], mm);
    const whole = maker.representation([origin], mm);
    const [partOf, subOf, wholeOf] = ['flank', 'fairing', 'Ternwing 3'].map((n) =>
      maker.product(n),
    );
    maker.shapeOf(partOf, part);
    maker.shapeOf(subOf, sub);
    maker.shapeOf(wholeOf, whole);
    const place = (
      one: string,
      two: string,
      oneOf: string,
      twoOf: string,
      angle: number,
      shift: [number, number, number],
    ): Motion => {
      const to = maker.axes(shift, [0, 0, 1], [Math.cos(angle), Math.sin(angle), 0]);
      const relation = swap
        ? maker.placed(two, one, to, origin)
        : maker.placed(one, two, origin, to);
      maker.usage(relation, twoOf, oneOf);
      return motion(angle, shift);
    };
    const inner = [
      place(part, sub, partOf, subOf, Math.PI / 6, [500, -20, 3]),
      place(part, sub, partOf, subOf, -2, [0, 700, 11]),
    ];
    const outer = [
      place(sub, whole, subOf, wholeOf, 1, [1000, 0, 250]),
      place(sub, whole, subOf, wholeOf, Math.PI, [-40, 9000, 0]),
    ];
    return {
      bytes: maker.file(),
      moves: outer.flatMap((o) =>
        inner.map(
          (i): Motion =>
            (p) =>
              o(i(p)),
        ),
      ),
    };
  }

  test.each([false, true])(
    'a nested assembly with reused, turned parts in inches; rep_1 and rep_2 swapped: %s',
    (swap) => {
      const { bytes, moves } = tricycle(swap);
      const { panels, faults, unit } = readStep(bytes);
      expect(faults).toEqual([]);
      expect(unit.name).toBe('in');
      expect(panels.map((p) => p.name)).toEqual(['flank', 'flank~2', 'flank~3', 'flank~4']);
      panels.forEach((panel, k) => expectAt(panel.net, nose(), moves[k], 25.4));
    },
  );

  test('the origin of a transformation counts in the unit of its own representation', () => {
    const maker = new StepRecordsMaker();
    const from = maker.axes([1, 2, 3]);
    const to = maker.axes([100, 200, 300]);
    const part = maker.representation([maker.surface(nose()), from], maker.inchContext());
    const whole = maker.representation([to], maker.context());
    maker.placed(part, whole, from, to);
    const { panels } = readStep(maker.file());
    expectAt(
      panels[0].net,
      nose(),
      ([x, y, z]) => [x - 25.4 + 100, y - 50.8 + 200, z - 76.2 + 300],
      25.4,
    );
  });

  test('a mapped item, also with a mirroring and scaling operator', () => {
    const maker = new StepRecordsMaker();
    const mm = maker.context();
    const origin = maker.axes([0, 0, 0]);
    const part = maker.representation([maker.surface(nose())], mm);
    const map = maker.add(`REPRESENTATION_MAP(${origin},${part})`);
    const turned = maker.axes([5, 6, 7], [0, 0, 1], [0, 1, 0]);
    const mirror = maker.add(
      `CARTESIAN_TRANSFORMATION_OPERATOR_3D('','',$,${maker.direction(1, 0, 0)},` +
        `${maker.direction(0, -1, 0)},${maker.point(10, 0, 0)},2.,${maker.direction(0, 0, 1)})`,
    );
    const items = [turned, mirror].map((t) => maker.add(`MAPPED_ITEM('',${map},${t})`));
    maker.representation(items, mm);
    const { panels, faults } = readStep(maker.file());
    expect(faults).toEqual([]);
    expect(panels).toHaveLength(2);
    expectAt(panels[0].net, nose(), ([x, y, z]) => [-y + 5, x + 6, z + 7], 1);
    expectAt(panels[1].net, nose(), ([x, y, z]) => [2 * x + 10, -2 * y, 2 * z], 1);
  });

  // ISO 10303-42, first_proj_axis: without ref_direction x is [1,0,0], or [0,1,0] where z is along x.
  test('an axis placement without directions', () => {
    const maker = new StepRecordsMaker();
    const mm = maker.context();
    const part = maker.representation([maker.surface(nose())], mm);
    const plain = maker.add(`AXIS2_PLACEMENT_3D('',${maker.point(0, 0, 0)},$,$)`);
    const alongX = maker.add(
      `AXIS2_PLACEMENT_3D('',${maker.point(0, 0, 0)},${maker.direction(1, 0, 0)},$)`,
    );
    maker.placed(part, maker.representation([alongX], mm), plain, alongX);
    const { panels } = readStep(maker.file());
    // z becomes x, x becomes y, y becomes z.
    expectAt(panels[0].net, nose(), ([x, y, z]) => [z, x, y], 1);
  });

  test('a face that a detail shows as well is one panel', () => {
    const maker = new StepRecordsMaker();
    const mm = maker.context();
    const origin = maker.axes([0, 0, 0]);
    const face = maker.face(maker.surface(nose(), 'hood'));
    const part = maker.representation([face], mm);
    maker.shapeOf(maker.product('hood'), part);
    maker.placed(part, maker.representation([origin], mm), origin, maker.axes([9, 9, 9]));
    const aspect = maker.add("SHAPE_ASPECT('','',$,.T.)");
    maker.shapeOf(aspect, maker.representation([face], mm));
    const { panels } = readStep(maker.file());
    expect(panels.map((p) => pointAt(p.net, 0, 0))).toEqual([[9, 9, 9.5]]);
  });

  test('styled items do not show a surface a second time', () => {
    const maker = new StepRecordsMaker();
    const mm = maker.context();
    const face = maker.face(maker.surface(nose()));
    maker.representation([face], mm);
    const styled = maker.add(`STYLED_ITEM('',(),${face})`);
    maker.add(`MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION('',(${styled}),${mm})`);
    expect(readStep(maker.file()).panels).toHaveLength(1);
  });

  test('a placement that is none is a fault, and the part is read where it stands', () => {
    const maker = new StepRecordsMaker();
    const mm = maker.context();
    const part = maker.representation([maker.surface(nose())], mm);
    const flat = maker.axes([0, 0, 0], [0, 0, 1], [0, 0, 1]);
    const relation = maker.placed(part, maker.representation([flat], mm), flat, flat);
    const intake = readStep(maker.file());
    expect(intake.faults).toMatchObject([{ code: 'placement', place: { record: relation } }]);
    expect(intake.panels[0].net.points).toEqual(nose().points);
  });

  test('assemblies in a circle end, with a fault', () => {
    const maker = new StepRecordsMaker();
    const mm = maker.context();
    const origin = maker.axes([0, 0, 0]);
    const a = maker.representation([maker.surface(nose())], mm);
    const b = maker.representation([origin], mm);
    maker.placed(a, b, origin, origin);
    maker.placed(b, a, origin, origin);
    maker.placed(a, a, origin, origin);
    const intake = readStep(maker.file());
    expect(new Set(codes(intake))).toEqual(new Set(['too-deep']));
    expect(intake.panels).toHaveLength(1);
  });

  test('parts that double at each of 40 levels end at the cap, with a fault', () => {
    const maker = new StepRecordsMaker();
    const mm = maker.context();
    const origin = maker.axes([0, 0, 0]);
    let inner = maker.representation([maker.surface(nose())], mm);
    for (let level = 0; level < 40; level++) {
      const outer = maker.representation([origin], mm);
      // Sums of powers of two: no two of the 2^40 places agree.
      for (const shift of [0, 2 ** level])
        maker.placed(inner, outer, origin, maker.axes([shift, 0, 0]));
      inner = outer;
    }
    const intake = readStep(maker.file());
    expect(new Set(codes(intake))).toEqual(new Set(['too-deep']));
    expect(intake.faults[0].data).toEqual({ what: 'placements', most: 100_000 });
    expect(intake.panels.length).toBeGreaterThan(1000);
    expect(intake.panels.length).toBeLessThanOrEqual(100_000);
  });
});

describe('form of the file: ISO 10303-21', () => {
  test('several data sections, anchor, reference and signature sections (edition 3)', () => {
    const maker = new StepRecordsMaker();
    maker.surface(nose(), 'nose');
    const second = new StepRecordsMaker(100);
    second.surface(nose(), 'tail');
    const bytes = Buffer.from(
      `ISO-10303-21;\nHEADER;\nFILE_SCHEMA(('X'));\nENDSEC;\nANCHOR;\n<a>=#13;\nENDSEC;\n` +
        `REFERENCE;\n#900=<other.stp#a>;\nENDSEC;\nDATA('one',('X'));\n${maker.text()}\nENDSEC;\n` +
        `DATA('two; DATA',('X'));\n${second.text()}\nENDSEC;\nEND-ISO-10303-21;\n` +
        `SIGNATURE;\nMIIGaQ=='"/\nENDSEC;\n`,
    );
    const intake = readStep(bytes);
    expect(intake.faults).toEqual([]);
    expect(names(intake)).toEqual(['nose', 'tail']);
  });

  test('comments, blanks and line ends anywhere between tokens change nothing', () => {
    const plain = oneSurface();
    const spread = withText(plain, (text) => {
      const [head, data] = text.split('DATA;');
      return `${head}DATA;${data.replace(/([(),=;])(?!.*')/g, " /* ;' */ $1\r\n")}`;
    });
    expect(Buffer.compare(plain, spread)).not.toBe(0);
    const found = readStep(spread);
    expect(found.faults).toEqual([]);
    expect(found.panels[0].net).toEqual(readStep(plain).panels[0].net);
  });

  test('a byte-order mark and a comment before the first line', () => {
    const bytes = Buffer.concat([Buffer.from('\ufeff/* x */\n'), oneSurface()]);
    expect(readStep(bytes).panels).toHaveLength(1);
  });

  test('names of instances may be far apart', () => {
    const far = withText(oneSurface(), (t) =>
      t.replace(/#(\d+)/g, (_, n: string) => `#${n}000000000`),
    );
    const intake = readStep(far);
    expect(intake.faults).toEqual([]);
    expect(intake.panels[0].place.record).toBe('#13000000000');
  });

  test.each([
    ['after the last record', (t: string) => t.replace(/ENDSEC;\nEND-ISO.*\n$/, '')],
    ['in the last record', (t: string) => t.slice(0, t.indexOf('SHAPE_REPRESENTATION') + 9)],
    ['in a string', (t: string) => `${t.slice(0, t.indexOf('ENDSEC;\nEND'))}#99=PRODUCT('tern`],
    ['in a comment', (t: string) => `${t.slice(0, t.indexOf('ENDSEC;\nEND'))}/* tern`],
  ])('a file cut %s gives what is whole', (_, cut) => {
    const intake = readStep(withText(oneSurface(), cut));
    expect(intake.panels).toHaveLength(1);
    expect(codes(intake)).toEqual(['step-truncated']);
  });

  test.each([
    ['semicolon', (t: string) => t.replace(/;\n#3=/, '\n#3=')],
    ['closing quote', (t: string) => t.replace("#2=CARTESIAN_POINT('',", "#2=CARTESIAN_POINT(',")],
  ])('a missing %s costs one record', (_, change) => {
    const maker = new StepRecordsMaker(500);
    maker.surface(nose(), 'tail');
    const intake = readStep(withText(oneSurface(nose(), 'nose', maker.text()), change));
    expect(names(intake)).toEqual(['tail']);
    expect(intake.faults).toMatchObject([
      { code: 'step-syntax', place: { line: 9, record: '#2' } },
      { code: 'step-reference', place: { record: '#13' }, data: { to: '#2' } },
    ]);
  });

  test.each([
    ['dense', '#1'],
    ['sparse', '#90000000000'],
  ])('of records with one name the first counts (%s names)', (_, name) => {
    const twice = `${name}=CARTESIAN_POINT('',(1.,1.,1.));\n${name}=PLANE('',$);`;
    const intake = readStep(
      withText(oneSurface(nose(), '', twice), (t) =>
        name === '#1' ? t.replace(twice, `#1=PLANE('',$);`) : t,
      ),
    );
    expect(intake.panels).toHaveLength(1);
    expect(intake.unjudged).toEqual([]);
    expect(intake.faults).toMatchObject([{ code: 'step-duplicate', place: { record: name } }]);
    expect(intake.faults[0].data['firstLine']).toBeLessThan(intake.faults[0].place.line!);
  });

  test('faults of one kind are told a hundred times and counted on', () => {
    const records = Array.from({ length: 250 }, () => "#7=PLANE('',$);").join('\n');
    const { faults } = readStep(stepFile(records));
    expect(faults).toHaveLength(100);
    expect(faults[99].data['further']).toBe(149);
  });

  test.each([[''], ['solid tern'], ['\u0000\u0001'], ['ISO-10303-22;']])(
    '%j is no STEP',
    (text) => {
      expect(codes(readStep(Buffer.from(text)))).toEqual(['step-syntax']);
    },
  );
});

describe('files made to cost time or memory', () => {
  const mm = new StepRecordsMaker(900_000);
  const context = mm.context();
  const file = (text: string): Uint8Array => stepFile(`${mm.text()}\n${text}`);
  const many = (count: number, line: (k: number) => string): string =>
    Array.from({ length: count }, (_, k) => line(k)).join('\n');
  const surfaceOf = (points: string): string =>
    `B_SPLINE_SURFACE_WITH_KNOTS('',1,1,${points},.U.,.F.,.F.,.F.,(2,2),(2,2),(0.,1.),(0.,1.),.U.)`;

  test.each<[string, () => Uint8Array, string[]]>([
    ['brackets', () => file(`#1=PLANE(${'('.repeat(1e6)};`), []],
    ['brackets in a face', () => file(`#1=ADVANCED_FACE(${'('.repeat(1e6)};`), ['too-deep']],
    ['openings of comments', () => file('/*'.repeat(1e6)), ['step-truncated']],
    ['quotes', () => file(`#1=A(${"'".repeat(1e6 + 1)});`), ['step-truncated']],
    ['names without end', () => file('#1='.repeat(5e5)), ['step-syntax']],
    [
      'one huge point used a million times',
      () => {
        const uses = Array.from({ length: 2000 }, () => `(${'#1,'.repeat(499)}#1)`).join(',');
        return file(
          `#1=CARTESIAN_POINT('${'x'.repeat(1e6)}',(0.,0.,0.));\n#2=${surfaceOf(`(${uses})`).replace('(2,2),(2,2)', '(2000,2),(500,2)')};`,
        );
      },
      ['too-deep', 'step-argument'],
    ],
    [
      'trimmed surfaces in a circle',
      () =>
        file(
          "#1=RECTANGULAR_TRIMMED_SURFACE('',#2);#2=RECTANGULAR_TRIMMED_SURFACE('',#1);#3=ADVANCED_FACE('',(),#1,.T.);",
        ),
      ['too-deep'],
    ],
    [
      'shells in a circle',
      () =>
        file(
          `#1=OPEN_SHELL('',(#2));#2=OPEN_SHELL('',(#1));#3=SHAPE_REPRESENTATION('',(#1),${context});`,
        ),
      [],
    ],
    [
      'representations that all hold the same shells',
      () => {
        const shells = Array.from({ length: 3000 }, (_, k) => `#${k + 1}`).join(',');
        return file(
          `${many(3000, (k) => `#${k + 1}=OPEN_SHELL('',());`)}\n` +
            many(3000, (k) => `#${k + 5000}=SHAPE_REPRESENTATION('',(${shells}),${context});`),
        );
      },
      ['too-deep'],
    ],
  ])('%s', (_, make, expected) => {
    const bytes = make();
    const start = performance.now();
    const intake = readStep(bytes);
    // Seconds on any machine; quadratic work would take minutes.
    expect(performance.now() - start).toBeLessThan(10_000);
    for (const code of expected) expect(codes(intake)).toContain(code);
    expect(intake.panels).toEqual([]);
  });
});

describe('any bytes give an intake', () => {
  /** A face with a straight leg, an arc, a trimmed composite, a line in the plane, and a hole. */
  const cutFace = (maker: StepFacesMaker): string => {
    const surface = maker.surface(sheet);
    const arc = maker.edge(maker.conic('CIRCLE', [50, 10], [40]), [90, 10], [50, 50]);
    const path = maker.composite([
      [
        maker.spline('BEZIER_CURVE', 2, [
          [50, 50],
          [20, 55],
          [10, 40],
        ]),
        true,
      ],
    ]);
    const ends = [maker.point(50, 50, 0), maker.point(10, 40, 0)];
    const part = maker.add(
      `TRIMMED_CURVE('',${path},(${ends[0]},PARAMETER_VALUE(0.)),(${ends[1]},PARAMETER_VALUE(1.)),.T.,.PARAMETER.)`,
    );
    const plane = maker.pcurve(surface, maker.planeLine([0.1, 0], [0, -1]));
    const down = maker.surfaceCurve(maker.line([10, 40], [0, -1]), [plane]);
    const outer = [
      maker.leg([10, 10], [90, 10]),
      arc,
      maker.edge(part, [50, 50], [10, 40]),
      maker.edge(down, [10, 40], [10, 10]),
    ];
    const hole = maker.edge(maker.conic('ELLIPSE', [40, 25], [10, 5]), [50, 25], [50, 25]);
    return maker.boundedFace(surface, [maker.edgeLoop(outer), maker.edgeLoop([hole])], 'flank');
  };

  const whole = ((): Uint8Array => {
    const maker = new StepFacesMaker();
    const inch = maker.inchContext();
    const origin = maker.axes([0, 0, 0]);
    const face = maker.face(maker.surface(nose(), 'hood'));
    const shell = maker.add(`OPEN_SHELL('',(${face},${cutFace(maker)}))`);
    const part = maker.representation(
      [maker.add(`SHELL_BASED_SURFACE_MODEL('',(${shell}))`), origin],
      inch,
    );
    const outer = maker.representation([origin], maker.context());
    const [partOf, wholeOf] = ['hood', 'Ternwing 3'].map((n) => maker.product(n));
    maker.shapeOf(partOf, part);
    maker.shapeOf(wholeOf, outer);
    maker.usage(maker.placed(part, outer, origin, maker.axes([1, 2, 3])), wholeOf, partOf);
    const map = maker.add(`REPRESENTATION_MAP(${origin},${part})`);
    maker.representation([maker.add(`MAPPED_ITEM('',${map},${maker.axes([4, 5, 6])})`)], inch);
    return maker.file();
  })();

  const isSound = (intake: Intake): void => {
    for (const { net, trim } of intake.panels) {
      expect(net.points.every(Number.isFinite)).toBe(true);
      const loops = trim.kind === 'part' ? trim.region.loops : [];
      for (const { curves } of loops)
        expect(curves.every(({ points }) => points.every(Number.isFinite))).toBe(true);
    }
    for (const f of intake.faults) expect(f.code).not.toBe('');
  };

  test('the whole file is sound', () => {
    const intake = readStep(whole);
    expect([intake.faults, intake.notices]).toEqual([[], []]);
    expect(intake.panels.map(({ name, trim }) => [name, trim.kind])).toEqual([
      ['hood', 'whole'],
      ['hood~2', 'whole'],
      ['flank', 'part'],
      ['flank~2', 'part'],
    ]);
  });

  test('bytes at random, also behind the opening mark', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 300 }), fc.boolean(), (bytes, marked) => {
        const head = marked ? 'ISO-10303-21;DATA;#1=' : '';
        isSound(readStep(Buffer.concat([Buffer.from(head), bytes])));
      }),
      { numRuns: 300 },
    );
  });

  test('a sound file cut, flipped, spliced or with its references exchanged', () => {
    const text = Buffer.from(whole).toString('latin1');
    const count = text.match(/^#/gm)!.length;
    fc.assert(
      fc.property(
        fc.integer({ min: 1 }),
        fc.constantFrom('cut', 'flip', 'splice', 'refer'),
        (start, way) => {
          const random = seededRandom(start);
          let changed = Uint8Array.from(whole);
          if (way === 'cut') changed = changed.subarray(0, random.index(whole.length));
          else if (way === 'flip')
            for (let k = 0; k < 8; k++)
              changed[random.index(whole.length)] =
                random.uniform() < 0.5
                  ? random.index(256)
                  : "(),;#'=$*".charCodeAt(random.index(9));
          else if (way === 'splice') {
            const [a, b, c] = [0, 1, 2].map(() => random.index(whole.length));
            changed = Buffer.concat([
              whole.subarray(0, a),
              whole.subarray(b, b + 400),
              whole.subarray(c),
            ]);
          } else
            changed = Buffer.from(
              text.replace(/([(,])#\d+/g, (whole, before: string) =>
                random.uniform() < 0.1 ? `${before}#${1 + random.index(count)}` : whole,
              ),
              'latin1',
            );
          isSound(readStep(changed));
        },
      ),
      { numRuns: 300 },
    );
  });
});

describe.skipIf(corpusFolder === null)('real files of the corpus', () => {
  const read = (name: string): Intake => readStep(corpusBytes(`surfaces/${name}`));

  test('ship-half.step: three panels placed by an assembly, in metres', () => {
    const { panels, faults, unit, unjudged } = read('ship-half.step');
    expect({ faults, unjudged, unit: unit.name }).toEqual({ faults: [], unjudged: [], unit: 'm' });
    expect(
      panels.map(({ net, place, trim }) => [
        place.record,
        ...net.degree,
        net.columns,
        net.rows,
        trim.kind,
      ]),
    ).toEqual([
      ['#129', 3, 3, 19, 14, 'part'],
      // its four edges are the surface's own
      ['#831', 3, 5, 4, 81, 'whole'],
      ['#1319', 3, 3, 16, 10, 'part'],
    ]);
  });

  test('slim-hull.step: one panel, in metres; first point as the file has it', () => {
    const bytes = corpusBytes('surfaces/slim-hull.step');
    const { panels, unit } = readStep(bytes);
    expect([panels.length, unit.name]).toEqual([1, 'm']);
    const { net } = panels[0];
    expect([...net.degree, net.columns, net.rows]).toEqual([3, 4, 4, 11]);
    const text = Buffer.from(bytes).toString('latin1');
    const first = /#40 = B_SPLINE[^#]*#(\d+)/.exec(text)![1];
    const point = new RegExp(`#${first} = CARTESIAN_POINT\\('',\\(([^)]*)\\)`).exec(text)![1];
    expect(pointAt(net, 0, 0)).toEqual(point.split(',').map((c) => Number(c) * 1000));
  });
});

describe('layers: ISO 10303-46, presentation_layer_assignment', () => {
  test('of a face, of the shell it is in, of its surface; blank names and broken items aside', () => {
    const maker = new StepRecordsMaker();
    const [one, two] = ['a', 'b'].map((name) => maker.surface(nose(), name));
    const [first, second] = [maker.face(one, 'a'), maker.face(two, 'b')];
    const shell = maker.add(`OPEN_SHELL('',(${first},${second}))`);
    maker.representation([shell], maker.context());
    maker.add(`PRESENTATION_LAYER_ASSIGNMENT('skin','',(${shell}))`);
    maker.add(`PRESENTATION_LAYER_ASSIGNMENT('face','',(${first}))`);
    maker.add(`PRESENTATION_LAYER_ASSIGNMENT('base','',(${two}))`);
    maker.add(`PRESENTATION_LAYER_ASSIGNMENT(' ','',(${two}))`);
    const { panels } = readStep(maker.file());
    expect(panels.map(({ name, groups }) => [name, groups])).toEqual([
      ['a', ['face', 'skin']],
      ['b', ['base', 'skin']],
    ]);
  });
});

import { describe, expect, test } from 'vitest';
import { ternwingPanels } from '../../fixtures/demo/ternwing.ts';
import { clampedKnots } from '../../fixtures/fittedNet.ts';
import { igesText } from '../../fixtures/igesText.ts';
import { randomNet } from '../../fixtures/randomNet.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { statement, surfFields, vdafsFile, vdafsText } from '../../fixtures/vdafsText.ts';
import { diagonal, pointAt, type ControlNet } from '../../src/geometry/controlNet.ts';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import { breakpoints, domain } from '../../src/geometry/knots.ts';
import { distance } from '../../src/geometry/vector.ts';
import { recognisedFormat } from '../../src/intake/format.ts';
import { readIges } from '../../src/intake/iges/readIges.ts';
import type { Intake } from '../../src/intake/panel.ts';
import { readVdaFs } from '../../src/intake/vdafs/readVdaFs.ts';

// What the standard (DIN 66301, VDA-FS 2.0) says is from memory throughout: its text was not at hand.

const readText = (text: string): Intake => readVdaFs(Buffer.from(text, 'latin1'));
const read = (...statements: readonly string[]): Intake => readText(vdafsFile(statements));
const codes = (intake: Intake): string[] => intake.faults.map(({ code }) => code);
const noticed = (intake: Intake): string[] => intake.notices.map(({ code }) => code);
const names = (intake: Intake): string[] => intake.panels.map(({ name }) => name);
const sound = (intake: Intake): void => {
  expect(intake.faults).toEqual([]);
  expect(intake.notices).toEqual([]);
};

/** Parameters spread over the domain of a net, its breakpoints among them. */
function parameters({ knots, degree }: ControlNet, side: 0 | 1): number[] {
  const [from, to] = domain(knots[side], degree[side]);
  const even = Array.from({ length: 18 }, (_, k) => from + ((to - from) * k) / 17);
  return [...even, ...Array.from(knots[side]).filter((value) => value >= from && value <= to)];
}

/** The farthest that two surfaces are apart at the same parameters, as a share of their size. */
function farthest(a: ControlNet, b: ControlNet): number {
  let most = 0;
  for (const u of parameters(a, 0))
    for (const v of parameters(a, 1))
      most = Math.max(most, distance(surfacePoint(a, u, v), surfacePoint(b, u, v)));
  return most / diagonal(a);
}

const multiplicities = ({ knots }: ControlNet): number[][] =>
  knots.map((own) => breakpoints(own).map(({ multiplicity }) => multiplicity));

/** A plate of 100 by 50 mm that is lifted by s t: orders 2, 2; written out by hand. */
const plate = ['1', '1', '0.', '1.', '0.', '1.', '2', '2', '0.', '100.', '0.', '0.'].concat(
  ['0.', '0.', '50.', '0.'],
  ['0.', '0.', '0.', '8.'],
);
const surf = (name: string, fields: readonly string[] = plate): string[] =>
  statement(name, 'SURF', fields);

describe('SURF', () => {
  test('a plate written out by hand: powers of s run fastest, x before y before z', () => {
    const intake = read(...surf('PLATE'));
    sound(intake);
    const [{ net, place, name, trim, unit }] = intake.panels;
    expect([name, place, trim, unit.name]).toEqual([
      'PLATE',
      { line: 6, record: 'PLATE' },
      { kind: 'whole' },
      'mm',
    ]);
    expect(net.degree).toEqual([1, 1]);
    expect(Array.from(net.points)).toEqual([0, 0, 0, 100, 0, 0, 0, 50, 0, 100, 50, 8]);
  });

  test('a patch with more powers of s than of t is what the sum of its powers is', () => {
    const random = seededRandom(5);
    const [m, n] = [4, 3];
    const a = Array.from({ length: 3 * m * n }, () => random.between(-100, 100));
    const fields = ['1', '1', '2.', '5.', '-1.', '0.', String(m), String(n), ...a.map(String)];
    const intake = read(...surf('A', fields));
    sound(intake);
    const [{ net }] = intake.panels;
    expect(net.degree).toEqual([3, 2]);
    for (const [u, v] of [
      [0, 0],
      [0.3, 0.8],
      [1, 0.5],
      [0.75, 1],
    ]) {
      const point = [0, 1, 2].map((axis) => {
        let total = 0;
        for (let j = 0; j < n; j++)
          for (let i = 0; i < m; i++) total += a[axis * m * n + j * m + i] * u ** i * v ** j;
        return total;
      });
      // the local parameters run from 0 to 1 over [2, 5] and [-1, 0]
      surfacePoint(net, 2 + 3 * u, -1 + v).forEach((value, axis) =>
        expect(value).toBeCloseTo(point[axis], 9),
      );
    }
  });

  test('a flat patch beside a bent one: all are raised to the highest order', () => {
    // x = 10 s, then 10 + 10 s; z = 0, then s^3
    const fields = ['2', '1', '0.', '1.', '2.', '0.', '1.'].concat(
      ['2', '2', '0.', '10.', '0.', '0.', '0.', '0.', '10.', '0.', '0.', '0.', '0.', '0.'],
      ['4', '2', '10.', '10.', '0.', '0.', '0.', '0.', '0.', '0.'],
      ['0.', '0.', '0.', '0.', '10.', '0.', '0.', '0.'],
      ['0.', '0.', '0.', '1.', '0.', '0.', '0.', '0.'],
    );
    const intake = read(...surf('BENT', fields));
    sound(intake);
    const [{ net }] = intake.panels;
    // the second derivative is 0 on both sides of the join, the third is not
    expect([net.degree, multiplicities(net)[0]]).toEqual([
      [3, 1],
      [4, 1, 4],
    ]);
    expect(distance(surfacePoint(net, 1.5, 0.5), [15, 5, 0.125])).toBeLessThan(1e-13);
    expect(distance(surfacePoint(net, 0.5, 0.5), [5, 5, 0])).toBeLessThan(1e-13);
  });

  test('the demo panels come back as they are, and as through IGES', () => {
    const panels = ternwingPanels();
    const intake = readText(vdafsText(panels));
    sound(intake);
    expect(names(intake)).toEqual(panels.map(({ name }) => name));
    const iges = readIges(Buffer.from(igesText(panels)));
    intake.panels.forEach(({ net }, k) => {
      const given = panels[k].net;
      expect(net.degree).toEqual(given.degree);
      expect(multiplicities(net)).toEqual(multiplicities(given));
      expect(farthest(given, net)).toBeLessThan(1e-12);
      expect(farthest(iges.panels[k].net, net)).toBeLessThan(1e-12);
      const size = diagonal(given);
      net.points.forEach((value, at) =>
        expect(Math.abs(value - given.points[at])).toBeLessThan(1e-12 * size),
      );
    });
  });

  test('100 nets of any degree and knots evaluate the same to 1e-12', () => {
    const random = seededRandom(8);
    const panels = Array.from({ length: 100 }, (_, k) => ({
      name: `N${k}`,
      net: randomNet(random, false),
    }));
    const intake = readText(vdafsText(panels));
    expect(codes(intake)).toEqual([]);
    intake.panels.forEach(({ net }, k) => {
      const given = panels[k].net;
      expect(net.degree).toEqual(given.degree);
      expect(multiplicities(net)).toEqual(multiplicities(given));
      // short spans beside long ones magnify the rounding of the coefficients
      const gaps = given.knots.flatMap((knots) =>
        breakpoints(knots).flatMap(({ value }, at, all) =>
          at > 0 ? [value - all[at - 1].value] : [],
        ),
      );
      const share = Math.min(...gaps);
      expect(farthest(given, net)).toBeLessThan(share > 0.05 ? 1e-12 : 1e-11);
    });
  });

  test.each([
    ['second derivative', 1],
    ['tangent', 2],
    ['corner', 3],
  ])('a cubic that is joined up to the %s has its knot %i times', (_, times) => {
    const knots = clampedKnots(3, [0.25, ...Array.from({ length: times }, () => 0.5), 0.8]);
    const columns = knots.length - 4;
    const random = seededRandom(times);
    const net: ControlNet = {
      degree: [3, 2],
      knots: [knots, clampedKnots(2, 2)],
      columns,
      rows: 4,
      points: Float64Array.from({ length: 12 * columns }, (_p, at) => {
        const point = Math.floor(at / 3);
        const own = [100 * (point % columns), 80 * Math.floor(point / columns), 0];
        return own[at % 3] + random.between(-20, 20);
      }),
      weights: null,
    };
    const intake = readText(vdafsText([{ name: 'CUBIC', net }]));
    sound(intake);
    const found = intake.panels[0].net;
    expect(multiplicities(found)).toEqual([
      [4, 1, times, 1, 4],
      [3, 1, 3],
    ]);
    expect(farthest(net, found)).toBeLessThan(1e-12);
  });

  test('joins are found in files that keep nine digits', () => {
    const [{ net }] = ternwingPanels().slice(2);
    const rounded = surfFields(net).map((field) =>
      field.includes('.') ? Number(field).toExponential(8) : field,
    );
    const intake = read(...surf('NINE', rounded));
    sound(intake);
    expect(multiplicities(intake.panels[0].net)).toEqual(multiplicities(net));
    expect(farthest(net, intake.panels[0].net)).toBeLessThan(1e-8);
  });

  test('patches that do not meet are nets of their own, and the gap is told', () => {
    const patch = (x: number): string[] =>
      ['2', '2', String(x), '10.', '0.', '0.', '0.', '0.', '50.', '0.'].concat(
        Array.from({ length: 4 }, () => '0.'),
      );
    const fields = ['3', '1', '0.', '1.', '2.', '3.', '0.', '1.'];
    const intake = read(...surf('APART', [...fields, ...patch(0), ...patch(10), ...patch(21)]));
    expect(codes(intake)).toEqual([]);
    expect(names(intake)).toEqual(['APART', 'APART~2']);
    expect(intake.notices).toEqual([
      {
        code: 'patches-apart',
        place: { line: 6, record: 'APART' },
        data: { found: 2, gap: 1, unit: 'mm' },
      },
    ]);
    expect(intake.panels.map(({ net }) => domain(net.knots[0], 1))).toEqual([
      [0, 2],
      [2, 3],
    ]);
  });

  test.each([
    ['t', 's'],
    ['s', 't'],
    ['t', 't'],
  ] as const)(
    'coefficients with %s and patches with %s fastest are told by where they meet',
    (c, p) => {
      const panels = ternwingPanels();
      const order = { coefficients: c, patches: p };
      const intake = read(...panels.flatMap(({ name, net }) => surf(name, surfFields(net, order))));
      expect(codes(intake)).toEqual([]);
      expect(intake.notices).toEqual([{ code: 'coefficient-order', place: {}, data: order }]);
      // that of a surface of one patch follows the others of its file
      intake.panels.forEach(({ net }, k) =>
        expect(farthest(panels[k].net, net)).toBeLessThan(1e-12),
      );
    },
  );

  test.each<[string, string, string[], Record<string, unknown>]>([
    ['no patches', 'no-extent', ['0', '1', '0.', '0.', '1.'], {}],
    ['an order of 0', 'degree-range', plate.with(6, '0'), { direction: 'u', found: -1 }],
    ['an order of 32', 'degree-range', plate.with(7, '32'), { direction: 'v', found: 31 }],
    ['an order with a fraction', 'bad-number', plate.with(6, '2.5'), { what: 'integer' }],
    ['breakpoints that fall', 'knots-decrease', plate.with(3, '-1.'), { direction: 'u', index: 2 }],
    ['breakpoints that stand', 'knots-decrease', plate.with(5, '0.'), { direction: 'v', index: 2 }],
    [
      'NaN',
      'bad-number',
      plate.with(9, 'NaN'),
      { what: 'number', text: expect.stringMatching(/^NaN,/) },
    ],
    ['Infinity', 'bad-number', plate.with(9, 'Infinity'), { what: 'number' }],
    ['a number beyond all doubles', 'not-finite', plate.with(9, '1E999'), {}],
    ['a word', 'bad-number', plate.with(9, '1OO.'), { text: expect.stringMatching(/^1OO\.,/) }],
    ['nothing between two commas', 'bad-number', plate.with(9, ''), { what: 'number' }],
    ['a coefficient too few', 'wrong-count', plate.slice(0, -1), { found: 19, expected: 20 }],
    ['a coefficient too many', 'wrong-count', [...plate, '1.'], { found: 21, expected: 20 }],
    ['more patches than bytes', 'count-beyond-file', plate.with(0, '1000'), { expected: 1000 }],
    ['a grid of more than bytes', 'count-beyond-file', ['9', '9', ...plate], { expected: 81 }],
    ['a negative count', 'count-beyond-file', plate.with(1, '-1'), { expected: -1 }],
  ])('%s: %s', (_, code, fields, data) => {
    const intake = read(...surf('BAD', fields), ...surf('GOOD'));
    expect(codes(intake)).toEqual([code]);
    expect(intake.faults[0]).toMatchObject({ place: { record: 'BAD' }, data });
    expect(names(intake)).toEqual(['GOOD']);
  });

  test('coefficients that add up to more than a double are a fault of the net', () => {
    const intake = read(...surf('BAD', plate.with(8, '1.7E308').with(9, '1.7E308')));
    expect(codes(intake)).toEqual(['not-finite']);
  });

  test.each(['2147483647', '4294967296', '1000000000000000000', '9'.repeat(30)])(
    'counts of %s reserve nothing',
    (count) => {
      for (const fields of [plate.with(0, count), plate.with(1, count)])
        expect(codes(read(...surf('BAD', fields)))).toEqual(['count-beyond-file']);
    },
  );

  test('patches of which one asks for a degree that all the others do not have are bounded', () => {
    const count = 9000;
    const flat = ['1', '1', '0.', '0.', '0.'];
    const steep = ['31', '31', ...Array.from({ length: 3 * 961 }, () => '0.')];
    const grid = [
      '1',
      String(count),
      '0.',
      '1.',
      ...Array.from({ length: count + 1 }, (_, k) => `${k}.`),
    ];
    const patches = Array.from({ length: count - 1 }, () => flat).flat();
    const intake = read(...surf('TRAP', [...grid, ...patches, ...steep]));
    expect(intake.faults).toMatchObject([{ code: 'too-deep', data: { what: 'points' } }]);
  });
});

describe('lines', () => {
  const netOf = (text: string): ControlNet => {
    const intake = readText(text);
    sound(intake);
    return intake.panels[0].net;
  };
  const text = vdafsFile(surf('PLATE'));
  const expected = netOf(text);

  test.each<[string, string]>([
    ['carriage return and line feed', text.replaceAll('\n', '\r\n')],
    ['carriage return', text.replaceAll('\n', '\r')],
    ['no sequence numbers', text.replace(/ *\d{8}$/gm, '')],
    ['remarks in columns 73 to 80', text.replace(/\d{8}$/gm, '1.5,2.5,')],
    ['small letters', text.toLowerCase()],
    ['tabs', text.replaceAll(', ', ',\t').replaceAll(' = ', '\t=\t')],
    ['a byte-order mark', `\u00ef\u00bb\u00bf${text}`],
    ['no end of the last line', text.trimEnd()],
    ['blank lines', text.replaceAll('\n', '\n\n').replace(/(\*)\s*\n\n/, '$1\n')],
  ])('%s', (_, other) => {
    const net = readText(
      other.replace(/HEADER \/ 4/i, other.includes('\n\n') ? 'HEADER / 8' : '$&'),
    ).panels[0].net;
    expect(Array.from(net.points)).toEqual(Array.from(expected.points));
  });

  const of = (...lines: readonly string[]): number[] =>
    Array.from(netOf(['H = HEADER / 0', ...lines, 'E = END'].join('\n')).points);
  const head = 'P = SURF / 1,1,0,1,0,1,2,2,';

  test.each<[string, readonly string[]]>([
    ['all on one line', [`${head}0,100,0,0,0,0,50,0,0,0,0,8`]],
    ['more than 80 columns are all data', [`${head}${' '.repeat(60)}0,100,0,0,0,0,50,0,0,0,0,8`]],
    ['no blanks, no comma at line ends', [head, '0,100,0,0', '0,0,50,0', '0,0,0,8']],
    ['commas at the start of lines', [`${head}0`, ',100,0,0', ' , 0,0,50,0', ',0,0,0,8']],
    ['a comma at the end of the statement', [head, '0,100,0,0,0,0,50,0,0,0,0,8,']],
    ['blanks between numbers', [head, '0 100 0 0  0 0 50 0', '0 0 0 8']],
    [
      'command and slash on lines of their own',
      ['P =', 'SURF', '', ' / 1,1,', '0,1,0,1,2,2,', '0,100,0,0,0,0,50,0,0,0,0,8'],
    ],
    ['exponents with E and D', [head, '0,1.D2,0,0,0,0,5.0d+01,0,0,0,0,.8E1']],
    [
      'remarks between and behind',
      ['$$ X = SURF / 1', head, '$$ 1,2,3', '0,100,0,0, $$ 4', '0,0,50,0,0,0,0,8$$'],
    ],
    ['a number broken at column 72', [head, `${'0,'.padStart(70)}10`, '0,0,0,0,0,50,0,0,0,0,8']],
    ['a broken exponent', [head, `${'0,'.padStart(67)}1.0E+`, '02,0,0,0,0,50,0,0,0,0,8']],
    ['a broken sign', [head, `${'0,100,0,0,0,0,50,0,0,0,0,'.padStart(71)}+`, '8']],
    ['a whole number up to column 72', [head, `${'0,'.padStart(69)}100`, ',0,0,0,0,50,0,0,0,0,8']],
    [
      'a whole number up to column 72, a blank after',
      [head, `${'0,'.padStart(69)}100`, ' 0,0,0,0,50,0,0,0,0,8'],
    ],
  ])('%s', (_, lines) => {
    expect(of(...lines)).toEqual([0, 0, 0, 100, 0, 0, 0, 50, 0, 100, 50, 8]);
  });

  test('what is broken and no number is told on its line', () => {
    const intake = readText(
      ['H = HEADER / 0', head, `${'0,'.padStart(69)}1.5`, '2.5,0,0', 'E = END'].join('\n'),
    );
    expect(intake.faults).toMatchObject([{ code: 'bad-number', place: { record: 'P' } }]);
  });
});

describe('HEADER and END', () => {
  test('free lines that look like anything are left alone', () => {
    const free = ['X = 3', 'END', 'A,B,C / 5', '$$ remark', '', 'FILE = PLATE.VDA'];
    const lines = ['H = HEADER / 6', ...free, ...surf('PLATE'), 'E = END'];
    const intake = readText(lines.join('\n'));
    sound(intake);
    expect(names(intake)).toEqual(['PLATE']);
  });

  test('a count of header lines that would take in statements is told, and the statements are read', () => {
    const lines = ['H = HEADER / 20', 'SENDER', 'DATE', ...surf('PLATE'), 'E = END'];
    const intake = readText(lines.join('\n'));
    expect(intake.faults).toEqual([
      {
        code: 'wrong-count',
        place: { line: 1, record: 'H' },
        data: { what: 'header lines', found: 2, expected: 20 },
      },
    ]);
    expect(names(intake)).toEqual(['PLATE']);
  });

  test('a count of header lines over what the file has', () => {
    const intake = readText('H = HEADER / 900000000\nSENDER\n');
    expect(codes(intake)).toEqual(['count-beyond-file', 'vda-truncated']);
  });

  test.each([0.3, 0.6, 0.85])('a file cut short at %d of its length says so', (share) => {
    const text = vdafsFile([...surf('ONE'), ...surf('TWO'), ...surf('THREE')]);
    const intake = readText(text.slice(0, share * text.length));
    expect(codes(intake)).toContain('vda-truncated');
    expect(codes(intake)).toEqual(expect.not.arrayContaining(['vda-statement', 'vda-reference']));
    expect(intake.panels.length).toBeLessThan(3);
  });

  test('what stands behind END is read where it is statements, else left alone', () => {
    const text = `${vdafsFile(surf('ONE'))}free text\n${vdafsFile(surf('TWO'))}`;
    const intake = readText(text);
    sound(intake);
    expect(names(intake)).toEqual(['ONE', 'TWO']);
  });

  test.each<[string, string[], Record<string, unknown>]>([
    ['a command that is none', ['X = SURFACE / 1, 2'], { what: 'command', found: 'SURFACE' }],
    ['a slash left out', ['X = SURF 1, 2'], { what: 'slash', found: 'SURF' }],
    ['text of no statement', ['1., 2., 3.'], { what: 'text', found: '1., 2., 3.' }],
  ])('%s is told once', (_, lines, data) => {
    const intake = readText(
      ['H = HEADER / 0', ...lines, ' 4., 5.', ...surf('GOOD'), 'E = END'].join('\n'),
    );
    expect(intake.faults).toEqual([
      {
        code: 'vda-statement',
        place: expect.objectContaining({ line: 2 }) as unknown,
        data,
      },
    ]);
    expect(names(intake)).toEqual(['GOOD']);
  });

  test('a file of no statements', () => {
    expect(codes(readText('\n\n'))).toEqual(['vda-statement', 'vda-truncated']);
    expect(readText('').panels).toEqual([]);
  });
});

describe('the format is told by name and content', () => {
  const bytes = Buffer.from(vdafsFile(surf('PLATE')));
  test.each(['hood.vda', 'HOOD.VDA', 'hood.vdafs'])('%s', (name) => {
    expect(recognisedFormat(name, bytes)).toBe('vda-fs');
  });
  test.each([
    ['remarks and small letters', '$$ made by hand\r\n$$\r\nh1=header/3\r\n'],
    ['blanks', '\n  H  =  HEADER  /  20\n'],
    ['a byte-order mark', '\u00ef\u00bb\u00bfH = HEADER / 20\n'],
  ])('by %s', (_, text) => {
    const found = recognisedFormat('hood.igs', Buffer.from(text, 'latin1'));
    expect(found).toMatchObject({
      code: 'wrong-extension',
      data: { meant: 'iges', found: 'vda-fs' },
    });
  });
});

describe('what is no surface', () => {
  test('points, circles, curves and neighbours are left out; sets of points are counted', () => {
    const intake = read(
      'P1 = POINT / 1., 2., 3.',
      'S1 = PSET / 2, 0., 0., 0., 1., 1., 1.',
      'S2 = PSET / 1, 0., 0., 0.',
      'M1 = MDI / 1, 0., 0., 0., 0., 0., 1.',
      'C1 = CIRCLE / 0.,0.,0., 5., 1.,0.,0., 0.,1.,0., 0., 90.',
      'T1 = TOP / 1, A, B',
      ...surf('PLATE'),
    );
    expect(codes(intake)).toEqual([]);
    expect(intake.notices).toEqual([{ code: 'points-unread', place: {}, data: { sets: 3 } }]);
    expect([names(intake), intake.unjudged]).toEqual([['PLATE'], []]);
  });

  test('a size that no panel has is doubted', () => {
    const dot = [
      ...plate.slice(0, 9),
      '.1',
      '0.',
      '0.',
      '0.',
      '0.',
      '.1',
      ...plate.slice(15, 19),
      '0.',
    ];
    expect(noticed(read(...surf('DOT', dot)))).toEqual(['unit-doubtful']);
  });
});

describe('names', () => {
  test('a name used twice: the first is kept', () => {
    const intake = read(...surf('A'), ...surf('a', plate.with(9, '70.')));
    expect(intake.faults).toEqual([
      {
        code: 'vda-duplicate',
        place: { line: 8, record: 'a' },
        data: { firstLine: 6 },
      },
    ]);
    expect(intake.panels.map(({ net }) => pointAt(net, 0, 1)[0])).toEqual([100]);
  });

  test('in sets of their own they are different things, and the panels tell their set', () => {
    const intake = read(
      'LEFT = BEGINSET',
      ...surf('A'),
      'L = ENDSET',
      'RIGHT = BEGINSET',
      ...surf('A', plate.with(9, '70.')),
      'R = ENDSET',
      ...surf('B'),
    );
    sound(intake);
    expect(intake.panels.map(({ name, groups }) => [name, groups])).toEqual([
      ['A', ['LEFT']],
      ['A~2', ['RIGHT']],
      ['B', undefined],
    ]);
  });

  test('sets over 64 deep are told', () => {
    const open = Array.from({ length: 70 }, (_, k) => `S${k} = BEGINSET`);
    const intake = read(...open, ...surf('A'));
    expect(intake.faults).toMatchObject([{ code: 'too-deep', data: { what: 'sets', most: 64 } }]);
    expect(intake.panels[0].groups).toHaveLength(64);
  });
});

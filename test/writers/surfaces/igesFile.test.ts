import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../../fixtures/seededRandom.ts';
import type { ControlNet } from '../../../src/geometry/controlNet.ts';
import { lengthUnits } from '../../../src/intake/lengthUnit.ts';
import type { Panel } from '../../../src/intake/panel.ts';
import { igesFile } from '../../../src/writers/surfaces/igesFile.ts';
import { anyNet, madeRegion, panel } from './madePanels.ts';

// Sections cited are those of IGES 5.3 (ANS US PRO/IPO-100-1996). The file is taken apart here by its
// columns, without the reader.

const at = new Date('2026-02-03T04:05:06Z');
const written = (panels: readonly Panel[], unit = lengthUnits['mm']): string[] => {
  const { bytes } = igesFile({ panels, unit, name: 'hood.igs', tool: '1.2.3', at });
  return Buffer.from(bytes).toString('latin1').split('\n').slice(0, -1);
};

const section = (lines: readonly string[], letter: string): string[] =>
  lines.filter((line) => line[72] === letter);

interface Entry {
  readonly pointer: number;
  readonly type: number;
  readonly form: number;
  readonly status: string;
  readonly label: string;
  /** Parameters behind the type number; strings without their length. */
  readonly fields: readonly string[];
}

/** Free-formatted data up to the record delimiter (2.2.3). */
function fieldsOf(text: string): string[] {
  const fields: string[] = [];
  let rest = text;
  for (;;) {
    // blanks before a constant say nothing
    rest = rest.trimStart();
    const length = /^(\d+)H/.exec(rest);
    const from = length ? length[0].length : 0;
    const to = length ? from + Number(length[1]) : rest.search(/[,;]/);
    fields.push(rest.slice(from, to));
    if (rest[to] === ';') return fields;
    expect(rest[to]).toBe(',');
    rest = rest.slice(to + 1);
  }
}

function entries(lines: readonly string[]): Entry[] {
  const directory = section(lines, 'D');
  const parameters = section(lines, 'P');
  return Array.from({ length: directory.length / 2 }, (_, k) => {
    const [one, two] = directory.slice(2 * k, 2 * k + 2);
    const cell = (line: string, n: number): string => line.slice(8 * n - 8, 8 * n);
    const start = Number(cell(one, 2));
    const own = parameters.slice(start - 1, start - 1 + Number(cell(two, 4)));
    for (const line of own) expect(Number(line.slice(65, 72))).toBe(2 * k + 1);
    const [type, ...fields] = fieldsOf(
      own
        .map((line) => line.slice(0, 64))
        .join('')
        .trimEnd(),
    );
    expect([cell(one, 1).trim(), cell(two, 1).trim()]).toEqual([type, type]);
    return {
      pointer: 2 * k + 1,
      type: Number(type),
      form: Number(cell(two, 5)),
      status: cell(one, 9),
      label: cell(two, 8).trim(),
      fields,
    };
  });
}

const net: ControlNet = {
  degree: [1, 2],
  knots: [Float64Array.of(0, 0, 2, 2), Float64Array.of(-1, -1, -1, 0, 0, 0)],
  columns: 2,
  rows: 3,
  points: Float64Array.of(
    0,
    0,
    0,
    254,
    0,
    0,
    0,
    50.8,
    1e-7,
    254,
    50.8,
    0,
    0,
    100,
    25.4,
    254,
    100,
    3,
  ),
  weights: null,
};

describe('form: 2.2', () => {
  const lines = written([panel('hood', net), panel('a name of more than eight', net)]);

  test('80 columns, a letter in the 73rd, numbered sections in their order, counts at the end', () => {
    for (const line of lines) expect(line).toHaveLength(80);
    expect(lines.map((line) => line[72]).join('')).toMatch(/^S+G+D+P+T$/);
    for (const letter of 'SGDPT')
      section(lines, letter).forEach((line, k) => expect(Number(line.slice(73))).toBe(k + 1));
    const counts = ['S', 'G', 'D', 'P'].map(
      (letter) => letter + String(section(lines, letter).length).padStart(7),
    );
    expect(section(lines, 'T')[0].slice(0, 72)).toBe(counts.join('').padEnd(72));
  });

  test('global section: 2.2.4.3', () => {
    const text = section(lines, 'G')
      .map((line) => line.slice(0, 72))
      .join('');
    const moment = '20260203.040506';
    expect(fieldsOf(text)).toEqual(
      // prettier-ignore
      [',', ';', 'hood.igs', 'hood.igs', 'hullsight', '1.2.3', '32', '38', '6', '308', '17', 'hood.igs',
        // scale, unit flag and name, line weights, date
        '1.', '2', 'MM', '1', '0.', moment,
        // resolution: a millionth of the diagonal; greatest coordinate; author and organisation
        `${Math.hypot(254, 100, 25.4) * 1e-6}`, '254.', '', '',
        // IGES 5.3, no drafting standard, date
        '11', '0', moment],
    );
  });

  test.each([
    ['in', 1, 'INCH', '10.'],
    ['ft', 4, 'FT', '0.8333333333333333'],
    ['m', 6, 'M', '0.254'],
    ['cm', 10, 'CM', '25.4'],
    // no flag stands for it
    ['league', 2, 'MM', '254.'],
  ])('unit %s: flag %i, name %s (2.2.4.3.14)', (name, flag, spelt, x) => {
    const unit = lengthUnits[name] ?? { name, millimetres: 4828032 };
    const some = written([panel('hood', net, { unit })], unit);
    const globals = fieldsOf(
      section(some, 'G')
        .map((line) => line.slice(0, 72))
        .join(''),
    );
    expect([globals[13], globals[14]]).toEqual([String(flag), spelt]);
    const [surface] = entries(some);
    expect(surface.fields[9 + 4 + 6 + 6 + 3]).toBe(x);
  });
});

describe('names and groups', () => {
  test('up to 8 characters a label (2.2.4.4.18), else a name property as well (406, form 15)', () => {
    const [hood, name, long] = entries(
      written([panel('hood', net), panel("Größe, 'left'; 2", net)]),
    );
    expect([hood.type, hood.label, hood.fields.slice(-1)]).toEqual([128, 'hood', ['0.']]);
    expect([name.type, name.form, name.status]).toEqual([406, 15, '00020300']);
    expect(name.fields).toEqual(['1', Buffer.from("Größe, 'left'; 2").toString('latin1')]);
    expect([long.type, long.label]).toEqual([128, "Gr__e,_'"]);
    // no associativities, one property (2.2.4.5.2)
    expect(long.fields.slice(-3)).toEqual(['0', '1', String(name.pointer)]);
  });

  test('groups without back pointers (402, form 7) hold the surfaces and the faces', () => {
    const region = madeRegion(anyNet(seededRandom(1)), seededRandom(1));
    const all = entries(
      written([
        panel('a', net, { groups: ['skin'] }),
        panel('b', anyNet(seededRandom(1)), { region, groups: ['skin'] }),
        panel('c', net),
      ]),
    );
    const groups = all.filter(({ type }) => type === 402);
    expect(groups.map(({ form, label }) => [form, label])).toEqual([[7, 'skin']]);
    const members = groups[0].fields.slice(1).map(Number);
    expect(Number(groups[0].fields[0])).toBe(members.length);
    const held = all.filter(({ pointer }) => members.includes(pointer));
    expect(held.map(({ type, label }) => [type, label])).toEqual([
      [128, 'a'],
      [144, 'b'],
      [144, 'b'],
    ]);
    // logically dependent (2.2.4.4.9.2)
    for (const { status } of held) expect(status).toBe('00020000');
  });
});

describe('surfaces: 4.24', () => {
  test('sizes, degrees, flags, knots, weights, points with u fastest, ranges', () => {
    const [{ fields, status, type }] = entries(written([panel('hood', net)]));
    expect([type, status]).toEqual([128, '00000000']);
    // prettier-ignore
    expect(fields).toEqual([
      '1', '2', '1', '2', '0', '0', '1', '0', '0',
      '0.', '0.', '2.', '2.', '-1.', '-1.', '-1.', '0.', '0.', '0.',
      '1.', '1.', '1.', '1.', '1.', '1.',
      '0.', '0.', '0.', '254.', '0.', '0.', '0.', '50.8', '1.D-7', '254.', '50.8', '0.',
      '0.', '100.', '25.4', '254.', '100.', '3.',
      '0.', '2.', '-1.', '0.',
    ]);
  });

  test('PROP1 and PROP2 where it closes, PROP3 0 where it has weights', () => {
    const tent = {
      ...net,
      points: net.points.map((x, k) => (k >= 12 ? net.points[k - 12] : x)),
      weights: Float64Array.of(1, 1, 2, 1, 1, 1),
    };
    const [{ fields }] = entries(written([panel('tent', tent)]));
    expect(fields.slice(4, 9)).toEqual(['0', '1', '0', '0', '0']);
  });
});

describe('trimmed surfaces: 4.34, 4.32, 4.23, 4.4', () => {
  const random = seededRandom(77);
  const trimmed = anyNet(random);
  const all = entries(written([panel('trim', trimmed, { region: madeRegion(trimmed, random) })]));
  const of = (pointer: string): Entry => all.find((entry) => entry.pointer === Number(pointer))!;
  const faces = all.filter(({ type }) => type === 144);
  const borders = all.filter(({ type }) => type === 142);
  const base = all.find(({ type }) => type === 128)!;

  test('a face: surface, outer border given (N1 = 1), inner borders', () => {
    // the island is a face of its own
    expect(faces.map(({ fields }) => fields.slice(0, 3))).toEqual([
      [String(base.pointer), '1', '2'],
      [String(base.pointer), '1', '0'],
    ]);
    for (const { fields } of faces) {
      expect(fields).toHaveLength(4 + Number(fields[2]));
      for (const pointer of fields.slice(3)) expect(of(pointer).type).toBe(142);
    }
    // physically dependent (2.2.4.4.9.2)
    expect([base.status, ...borders.map(({ status }) => status)]).toEqual(
      Array.from({ length: 5 }, () => '00010000'),
    );
  });

  /** Points, without weights, of the curves that a pointer comes to. */
  const curvesOf = (pointer: string): Entry[] => {
    const entry = of(pointer);
    return entry.type === 102 ? entry.fields.slice(1).map(of) : [entry];
  };
  const pointsOf = ({ fields }: Entry): number[][] => {
    const [last, degree] = fields.map(Number);
    const from = 6 + (last + degree + 2) + (last + 1);
    const number = (text: string): number => Number(text.replace('D', 'E'));
    return Array.from({ length: last + 1 }, (_, k) =>
      fields.slice(from + 3 * k, from + 3 * k + 3).map(number),
    );
  };

  test('a border prefers the parameter plane (PREF 1), and has its curves in space as well', () => {
    for (const { fields } of borders) {
      expect([fields[0], fields[1], fields[4]]).toEqual(['0', String(base.pointer), '1']);
      const [plane, space] = [curvesOf(fields[2]), curvesOf(fields[3])];
      expect(space).toHaveLength(plane.length);
      for (const curve of plane) {
        // 2D parametric use, physically dependent
        expect([curve.type, curve.status]).toEqual([126, '00010500']);
        // PROP1 planar, and the normal of the plane z = 0
        expect([curve.fields[2], curve.fields.slice(-3)]).toEqual(['1', ['0.', '0.', '1.']]);
        for (const point of pointsOf(curve)) expect(point[2]).toBe(0);
      }
      for (const curve of space) expect([curve.type, curve.status]).toEqual([126, '00010000']);
    }
  });

  test('each curve begins where the one before it ends; outer borders run counter-clockwise', () => {
    for (const { fields } of faces)
      fields.slice(3).forEach((pointer, k) => {
        const plane = curvesOf(of(pointer).fields[2]).map(pointsOf);
        let area = 0;
        plane.forEach((points, at) => {
          const next = plane[(at + 1) % plane.length];
          expect(points[points.length - 1]).toEqual(next[0]);
          points.slice(1).forEach(([u, v], i) => (area += points[i][0] * v - u * points[i][1]));
        });
        // control polygons of these loops turn as the loops do
        expect(Math.sign(area)).toBe(k === 0 ? 1 : -1);
      });
  });
});

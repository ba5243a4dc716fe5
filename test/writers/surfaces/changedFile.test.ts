import { readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../../fixtures/seededRandom.ts';
import { withMoves, type ControlNet } from '../../../src/geometry/controlNet.ts';
import { readSurfaces } from '../../../src/intake/readSurfaces.ts';
import { lengthUnits } from '../../../src/intake/lengthUnit.ts';
import type { Panel } from '../../../src/intake/panel.ts';
import { changedFile, type WrittenFormat } from '../../../src/writers/surfaces/changedFile.ts';
import type { ChangedFile } from '../../../src/writers/surfaces/netChange.ts';
import { igesFile } from '../../../src/writers/surfaces/igesFile.ts';
import { netJsonFile } from '../../../src/writers/surfaces/netJsonFile.ts';
import { stepFile } from '../../../src/writers/surfaces/stepFile.ts';
import { corpusBytes, corpusFolder } from '../../corpus.ts';
import { igesFile as placedIges, pointer, surface } from '../../intake/igesFile.ts';
import { StepRecordsMaker } from '../../intake/stepFile.ts';
import { anyNet, panel } from './madePanels.ts';

const endings = { iges: 'igs', step: 'stp', 'net-json': 'net.json' } as const;
const formats = ['iges', 'step', 'net-json'] as const;
const writers = { iges: igesFile, step: stepFile, 'net-json': netJsonFile };

const panelsOf = (format: WrittenFormat, bytes: Uint8Array): readonly Panel[] => {
  const { panels, faults } = readSurfaces(`x.${endings[format]}`, bytes);
  expect(faults).toEqual([]);
  return panels;
};

function bytesOf(result: ChangedFile): Uint8Array {
  if (!(result instanceof Uint8Array)) throw new Error(JSON.stringify(result));
  return result;
}

const latin = (bytes: Uint8Array): string => Buffer.from(bytes).toString('latin1');
const lines = (bytes: Uint8Array): string[] => latin(bytes).split('\n');

/** The net with one point moved by numbers that take all their digits. */
const nudged = (net: ControlNet, row: number, column: number): ControlNet =>
  withMoves(net, [{ spot: { row, column }, by: [1 / 3, -Math.PI, Math.E / 7] }]);

/** A file of ours with three panels. */
function made(format: WrittenFormat, seed: number, unit = lengthUnits['mm']): Uint8Array {
  const random = seededRandom(seed);
  const panels = ['one', 'two', 'three'].map((name) => panel(name, anyNet(random), { unit }));
  const header = { name: 'made', tool: '0', at: new Date(0) };
  return writers[format]({ panels, unit, ...header }).bytes;
}

describe.each(formats)('%s', (format) => {
  test('without changes the file is the same, and so it is where a net is put back as it was', () => {
    const bytes = made(format, 1);
    const [first] = panelsOf(format, bytes);
    expect(bytesOf(changedFile(format, bytes, []))).toBe(bytes);
    const again = changedFile(format, bytes, [{ panel: first, net: first.net }]);
    expect(latin(bytesOf(again))).toBe(latin(bytes));
  });

  test('a moved point reads back to the last bit, the other nets are as they were', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 1e9 }), (seed) => {
        const bytes = made(format, seed);
        const before = panelsOf(format, bytes);
        const random = seededRandom(seed);
        const { net } = before[1];
        const moved = nudged(net, random.index(net.rows), random.index(net.columns));
        const after = panelsOf(
          format,
          bytesOf(changedFile(format, bytes, [{ panel: before[1], net: moved }])),
        );
        expect(after.map((found) => found.net)).toEqual([before[0].net, moved, before[2].net]);
        expect(after.map((found) => found.name)).toEqual(['one', 'two', 'three']);
      }),
      { numRuns: 25 },
    );
  });

  test('every point of every net at once', () => {
    const bytes = made(format, 5);
    const before = panelsOf(format, bytes);
    const changes = before.map((found) => ({
      panel: found,
      net: { ...found.net, points: found.net.points.map((x, k) => x + Math.sin(k)) },
    }));
    const after = panelsOf(format, bytesOf(changedFile(format, bytes, changes)));
    expect(after.map(({ net }) => net)).toEqual(changes.map(({ net }) => net));
  });

  test('in inches a new number reads back within 2.3e-16 of itself, the rest to the last bit', () => {
    const bytes = made(format, 11, lengthUnits['in']);
    const [first] = panelsOf(format, bytes);
    const net = nudged(first.net, 1, 0);
    const [after] = panelsOf(format, bytesOf(changedFile(format, bytes, [{ panel: first, net }])));
    after.net.points.forEach((value, at) => {
      const isOld = net.points[at] === first.net.points[at];
      const off = Math.abs(value - net.points[at]);
      expect(off).toBeLessThanOrEqual(isOld ? 0 : 2.3e-16 * Math.abs(value));
    });
  });

  test('what is more than points, or not of this file, is refused, and nothing is changed', () => {
    const bytes = made(format, 2);
    const [first] = panelsOf(format, bytes);
    const other = anyNet(seededRandom(99));
    expect(changedFile(format, bytes, [{ panel: first, net: other }])).toEqual([
      { panel: 'one', why: 'build' },
    ]);
    const lost = { ...first, place: { record: format === 'step' ? '#999999' : 'D999' } };
    expect(changedFile(format, bytes, [{ panel: lost, net: nudged(first.net, 0, 0) }])).toEqual([
      { panel: 'one', why: 'missing' },
    ]);
    expect(
      changedFile(format, bytes, [
        { panel: first, net: nudged(first.net, 0, 0) },
        { panel: first, net: nudged(first.net, 1, 1) },
      ]),
    ).toEqual([{ panel: 'one', why: 'two-nets' }]);
  });
});

describe('IGES: the parameter records of the surface', () => {
  const demo = readFileSync(
    resolve(import.meta.dirname, '../../../fixtures/demo/same/ternwing-3.igs'),
  );

  test('a number that fits its record changes that record alone', () => {
    const [first] = panelsOf('iges', demo);
    const net = withMoves(first.net, [{ spot: { row: 1, column: 1 }, by: [0, 0, 0] }]);
    net.points[3 * (net.columns + 1)] = 7;
    const [before, after] = [
      lines(demo),
      lines(bytesOf(changedFile('iges', demo, [{ panel: first, net }]))),
    ];
    expect(after).toHaveLength(before.length);
    const differing = before.flatMap((line, k) => (line === after[k] ? [] : [k]));
    expect(differing).toHaveLength(1);
    const [k] = differing;
    expect(after[k].slice(64)).toBe(before[k].slice(64));
    expect(after[k]).toHaveLength(80);
  });

  test('where it does not fit, records are added and everything behind is numbered anew', () => {
    const [first, second] = panelsOf('iges', demo);
    const changes = [first, second].map((found) => ({
      panel: found,
      // 24 characters a number
      net: { ...found.net, points: found.net.points.map((x, k) => (-x - k - 1) * 1.1e-10) },
    }));
    const bytes = bytesOf(changedFile('iges', demo, changes));
    const section = (all: string[], letter: string): string[] =>
      all.filter((line) => line[72] === letter);
    const [before, after] = [lines(demo), lines(bytes)];
    for (const letter of 'SG') expect(section(after, letter)).toEqual(section(before, letter));
    const records = section(after, 'P');
    expect(records.length).toBeGreaterThan(section(before, 'P').length);
    // sequence numbers and back pointers by IGES 5.3, 2.2 and 2.2.4.5
    records.forEach((line, k) => expect(Number(line.slice(73))).toBe(k + 1));
    const directory = section(after, 'D');
    expect(directory).toHaveLength(section(before, 'D').length);
    for (let k = 0; k < directory.length; k += 2) {
      const start = Number(directory[k].slice(8, 16));
      const count = Number(directory[k + 1].slice(24, 32));
      const own = records.slice(start - 1, start - 1 + count);
      for (const line of own) expect(Number(line.slice(65, 72))).toBe(k + 1);
      expect(own[count - 1].slice(0, 64).trimEnd().endsWith(';')).toBe(true);
      expect(own[0].split(',')[0].trim()).toBe(directory[k].slice(0, 8).trim());
    }
    expect(Number(after.find((line) => line[72] === 'T')!.slice(25, 32))).toBe(records.length);
    expect(panelsOf('iges', bytes).map(({ net }) => net)).toEqual([
      ...changes.map(({ net }) => net),
      ...panelsOf('iges', demo)
        .slice(2)
        .map(({ net }) => net),
    ]);
  });

  test.each([
    ['carriage return and line feed', '\r\n'],
    ['blocks of 80 columns', ''],
  ])('line end: %s', (_, lineEnd) => {
    const bytes = Buffer.from(lines(demo).filter(Boolean).join(lineEnd) + lineEnd, 'latin1');
    const [first, ...others] = panelsOf('iges', bytes);
    const net = { ...first.net, points: first.net.points.map((x) => (-x - 1) * 1.1e-10) };
    const changed = bytesOf(changedFile('iges', bytes, [{ panel: first, net }]));
    const after = panelsOf('iges', changed);
    expect(after.map((found) => found.net)).toEqual([net, ...others.map((found) => found.net)]);
    expect(changed.length % (80 + lineEnd.length)).toBe(0);
  });
});

/** A small STEP file: two surfaces that share a point, of which one uses one point twice. */
const shared = `ISO-10303-21;
HEADER;
FILE_DESCRIPTION((''),'2;1');
FILE_NAME('','',(''),(''),'','','');
FILE_SCHEMA(('AUTOMOTIVE_DESIGN'));
ENDSEC;
DATA;
/* #1 and #2 in a comment are no uses */
#1 = CARTESIAN_POINT ( 'it''s (#2)', ( 0. , 0.0E0 , 0 ) ) ;
#2=CARTESIAN_POINT('',(100.,0.,0.));
#3=CARTESIAN_POINT('',(0.,100.,0.));#4=CARTESIAN_POINT('',(100.,100.,5.));
#5=CARTESIAN_POINT('',(200.,0.,0.));
#10=B_SPLINE_SURFACE_WITH_KNOTS('one',1,1,((#1,#3),(#2,#4)),.UNSPECIFIED.,.F.,.F.,.F.,(2,2),(2,2),(0.,1.),(0.,1.),.UNSPECIFIED.);
#11=B_SPLINE_SURFACE_WITH_KNOTS('two',1,1,((#2,#4),(#5,#5)),.UNSPECIFIED.,.F.,.F.,.F.,(2,2),(2,2),(0.,1.),(0.,1.),.UNSPECIFIED.);
ENDSEC;
END-ISO-10303-21;
`;

describe('STEP: the points of the surface', () => {
  const bytes = Buffer.from(shared);
  const changed = (name: string, row: number, column: number): string => {
    const found = readSurfaces('x.stp', bytes).panels.find((one) => one.name === name)!;
    const net = withMoves(found.net, [{ spot: { row, column }, by: [0, 1, 0.5] }]);
    const result = bytesOf(changedFile('step', bytes, [{ panel: found, net }]));
    const after = readSurfaces('x.stp', result).panels;
    expect(after.find((one) => one.name === name)!.net).toEqual(net);
    for (const other of after.filter((one) => one.name !== name))
      expect(other.net).toEqual(
        readSurfaces('x.stp', bytes).panels.find((one) => one.name === other.name)!.net,
      );
    return latin(result);
  };

  test('a point of its own is changed where it stands, and only its new numbers', () => {
    expect(changed('one', 0, 0)).toBe(shared.replace('( 0. , 0.0E0 , 0 )', '( 0. , 1. , 0.5 )'));
  });

  test('a point that another surface has as well is copied', () => {
    expect(changed('one', 0, 1)).toBe(
      shared.replace(
        "#10=B_SPLINE_SURFACE_WITH_KNOTS('one',1,1,((#1,#3),(#2,#4))",
        "#12=CARTESIAN_POINT('',(100.,1.,0.5));\n#10=B_SPLINE_SURFACE_WITH_KNOTS('one',1,1,((#1,#3),(#12,#4))",
      ),
    );
  });

  test('a point that a surface has twice is copied for the one that moves', () => {
    expect(changed('two', 1, 1)).toBe(
      shared.replace(
        "#11=B_SPLINE_SURFACE_WITH_KNOTS('two',1,1,((#2,#4),(#5,#5))",
        "#12=CARTESIAN_POINT('',(200.,1.,0.5));\n#11=B_SPLINE_SURFACE_WITH_KNOTS('two',1,1,((#2,#4),(#5,#12))",
      ),
    );
  });
});

describe('net JSON: the numbers of rows', () => {
  test('spacing, notes, other numbers, a byte-order mark and letters outside ASCII stay', () => {
    const text = `\ufeff{"format":"hullsight-net", "version":1,"units":"mm","note":"Größe 漢 1.50",
 "panels":[{"name":"é","degree":[1,1],"knots":[[0,0,1,1.0],[0,0,1,1]],"weights":null,
  "rows":[[[0,0,0],[1.0e2, 0.00 ,0]],
 [[0,50,0],[100,50,0]]]}]}`;
    const bytes = Buffer.from(text);
    const [found] = panelsOf('net-json', bytes);
    const net = withMoves(found.net, [{ spot: { row: 0, column: 1 }, by: [0, 0.25, 0] }]);
    const result = bytesOf(changedFile('net-json', bytes, [{ panel: found, net }]));
    expect(Buffer.from(result).toString('utf8')).toBe(text.replace('0.00 ,', '0.25 ,'));
  });
});

describe('surfaces that the file places', () => {
  const third = Math.sqrt(3) / 2;
  const rotation = [third, -0.5, 0, 1000.1, 0.5, third, 0, -20.7, 0, 0, 1, 3.3];

  /** Largest distance of the net read back from what was wanted, over the largest coordinate. */
  function departure(format: 'iges' | 'step', bytes: Uint8Array): number {
    const [first] = panelsOf(format, bytes);
    const net = nudged(first.net, 1, 1);
    const [after] = panelsOf(format, bytesOf(changedFile(format, bytes, [{ panel: first, net }])));
    const largest = net.points.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
    const off = net.points.map((value, at) => Math.abs(value - after.net.points[at]));
    off.forEach((value, at) => {
      if (Math.floor(at / 3) !== net.columns + 1) expect(value).toBe(0);
    });
    return off.reduce((most, value) => Math.max(most, value), 0) / largest;
  }

  test('IGES: a matrix (124, section 4.21) is undone to 1e-15 of the largest coordinate', () => {
    const bytes = placedIges([
      { ...surface(), matrix: 2 },
      { type: 124, fields: rotation },
    ]);
    expect(departure('iges', bytes)).toBeLessThan(1e-15);
  });

  test('STEP: a part placed in an assembly, in inches, likewise', () => {
    const maker = new StepRecordsMaker();
    const net = { ...anyNet(seededRandom(4)), weights: null };
    const [part, whole] = [
      maker.representation([maker.face(maker.surface(net, 'a'))], maker.inchContext()),
      maker.representation([], maker.inchContext()),
    ];
    maker.placed(
      part,
      whole,
      maker.axes([0, 0, 0]),
      maker.axes([10.1, -3, 0.7], [1, 2, 3], [3, 1, -1]),
    );
    expect(departure('step', maker.file())).toBeLessThan(1e-15);
  });

  test('a surface that stands in two places is refused: both would change', () => {
    const instance = (x: number) => ({ type: 408, fields: [pointer(2), x, 0, 0, 1] });
    const bytes = placedIges([
      { ...surface(), status: '00010000' },
      { type: 308, fields: [0, '1Hs', 1, pointer(1)], status: '00000200' },
      instance(0),
      instance(500),
    ]);
    const panels = panelsOf('iges', bytes);
    expect(panels).toHaveLength(2);
    expect(
      changedFile('iges', bytes, [{ panel: panels[0], net: nudged(panels[0].net, 0, 0) }]),
    ).toEqual([{ panel: panels[0].name, why: 'places' }]);
  });
});

describe.skipIf(corpusFolder === null)('files of others', () => {
  test.each([
    'airliner-wing.igs',
    'ship-bow.iges',
    'ship-half.iges',
    'ship-half.step',
    'slim-hull.iges',
    'slim-hull.step',
    'wing-metre.iges',
    'pipe-rational.iges',
  ])('a point of each net of %s is moved, all other points are as they were', (name) => {
    const bytes = corpusBytes(`surfaces/${name}`);
    const format = name.endsWith('step') ? 'step' : 'iges';
    const before = panelsOf(format, bytes);
    const changes = before.map((found) => {
      // no farther than the borders that are given in space bear
      const spot = { row: 1, column: 1 };
      const net = withMoves(found.net, [{ spot, by: [3e-4, -3e-3, 4e-4] }]);
      // a number that a file in metres can hold to the last bit
      const at = 3 * (net.columns + 1);
      const { millimetres } = found.unit;
      for (let k = at; k < at + 3; k++)
        net.points[k] = (Math.round(net.points[k] * 1e6) / 1e6 / millimetres) * millimetres;
      return { panel: found, net };
    });
    const after = panelsOf(format, bytesOf(changedFile(format, bytes, changes)));
    expect(after.map(({ name: called, trim }) => [called, trim.kind])).toEqual(
      before.map(({ name: called, trim }) => [called, trim.kind]),
    );
    after.forEach(({ net }, k) => {
      const size = Math.max(...net.points.map(Math.abs));
      net.points.forEach((value, at) => {
        const isOld = changes[k].net.points[at] === before[k].net.points[at];
        const off = Math.abs(value - changes[k].net.points[at]);
        expect(off).toBeLessThanOrEqual(isOld ? 0 : 1e-15 * size);
      });
    });
  });
});

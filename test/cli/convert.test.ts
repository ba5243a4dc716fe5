import {
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { join, resolve } from 'node:path';
import { PassThrough } from 'node:stream';
import { describe, expect, test } from 'vitest';
import { convertCommand, type ConvertArguments } from '../../src/cli/convertCommand.ts';
import { UsageFault } from '../../src/cli/usageFault.ts';
import { readSurfaces } from '../../src/intake/readSurfaces.ts';
import { corpusFolder } from '../corpus.ts';
import { surface, igesFile } from '../intake/igesFile.ts';
import { StepRecordsMaker } from '../intake/stepFile.ts';
import { anyNet } from '../writers/surfaces/madePanels.ts';
import { statement, surfFields, vdafsFile } from '../../fixtures/vdafsText.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { inFolder, isBuilt, started } from './auditRun.ts';

const demo = resolve(import.meta.dirname, '../../fixtures/demo');

/** Runs the command in this process. */
function converted(asked: Pick<ConvertArguments, 'file' | 'to'> & { output?: string }): {
  status: number;
  printed: string;
} {
  const stream = new PassThrough();
  const out = stream as unknown as NodeJS.WriteStream;
  const status = convertCommand(
    { output: undefined, ...asked },
    {
      tool: 'test',
      now: new Date('2026-01-01T00:00:00Z'),
      workerPath: '',
      out,
      err: out,
      environment: {},
    },
  );
  return { status, printed: String(stream.read() ?? '') };
}

describe('convert', () => {
  test('writes beside the file with the new ending, and says what it wrote', () =>
    inFolder((folder) => {
      const file = join(folder, 'front.v2.IGS');
      writeFileSync(file, readFileSync(join(demo, 'job/front.igs')));
      const { status, printed } = converted({ file, to: 'stp' });
      expect(status).toBe(0);
      expect(readdirSync(folder).sort()).toEqual(['front.v2.IGS', 'front.v2.stp']);
      expect(printed.replace(/\n +/g, ' ')).toBe(
        `front.v2.IGS: 2 panels written to ${join(folder, 'front.v2.stp')} (STEP, unit mm): nose, hood.\n`,
      );
      const { panels, faults } = readSurfaces('x.stp', readFileSync(join(folder, 'front.v2.stp')));
      expect(faults).toEqual([]);
      const before = readSurfaces('x.igs', readFileSync(file)).panels;
      expect(panels.map(({ name, net }) => [name, net])).toEqual(
        before.map(({ name, net }) => [name, net]),
      );
    }));

  test('the same bytes for the same file and moment', () =>
    inFolder((folder) => {
      const file = join(demo, 'job/flanks.stp');
      const bytes = ['a', 'b'].map((name) => {
        mkdirSync(join(folder, name));
        const output = join(folder, name, 'x.igs');
        converted({ file, to: 'igs', output });
        return readFileSync(output);
      });
      expect(bytes[0].equals(bytes[1])).toBe(true);
    }));

  test('a file that is in the format already is copied byte for byte', () =>
    inFolder((folder) => {
      const file = join(demo, 'job/flanks.stp');
      const output = join(folder, 'copy.stp');
      const { status, printed } = converted({ file, to: 'stp', output });
      expect(status).toBe(0);
      expect(printed.replace(/\n +/g, ' ')).toContain('flanks.stp is STEP already');
      expect(readFileSync(output).equals(readFileSync(file))).toBe(true);
    }));

  test('what does not go over is counted and told', () =>
    inFolder((folder) => {
      const file = join(folder, 'mixed.igs');
      writeFileSync(
        file,
        igesFile([
          { ...surface(), label: 'HOOD' },
          { type: 110, fields: [0, 0, 0, 1, 1, 1] },
          { type: 110, fields: [0, 0, 0, 2, 1, 1] },
          { type: 116, fields: [0, 0, 0, 0] },
          { type: 314, fields: [100, 0, 0] },
          { type: 122, fields: [3, 1, 1, 1] },
        ]),
      );
      const { status, printed } = converted({ file, to: 'net.json' });
      expect(status).toBe(0);
      const text = printed.replace(/\n +/g, ' ');
      for (const [count, type, label] of [
        [1, 122, 'tabulated cylinder'],
        [2, 110, 'line'],
        [1, 116, 'point'],
        [1, 314, 'color definition'],
      ] as const)
        expect(text).toContain(`Left out: ${count} of IGES ${type} (${label}).`);
    }));

  test('of STEP likewise: colours, curves, annotation, and the rest by count', () =>
    inFolder((folder) => {
      const maker = new StepRecordsMaker();
      const one = maker.surface({ ...anyNet(seededRandom(4)), weights: null }, 'a');
      maker.representation([maker.face(one)], maker.context());
      maker.add(`STYLED_ITEM('',(),${one})`);
      maker.add(`GEOMETRIC_CURVE_SET('',())`);
      maker.add(`APPROVAL($,'')`);
      const file = join(folder, 'mixed.stp');
      writeFileSync(file, maker.file());
      const text = converted({ file, to: 'igs' }).printed.replace(/\n +/g, ' ');
      expect(text).toContain('Left out: 1 of STEP STYLED_ITEM (colour or style).');
      expect(text).toContain('Left out: 1 of STEP GEOMETRIC_CURVE_SET (set of curves and points).');
      expect(text).toContain('Left out: 1 of STEP records (approval).');
    }));

  test('VDA-FS: nets and trims go over; points and curves that bound nothing are told', () =>
    inFolder((folder) => {
      const file = join(folder, 'plate.vda');
      const net = {
        degree: [1, 1] as const,
        knots: [Float64Array.of(0, 0, 1, 1), Float64Array.of(0, 0, 1, 1)] as const,
        columns: 2,
        rows: 2,
        points: Float64Array.of(0, 0, 0, 100, 0, 0, 0, 50, 0, 100, 50, 9),
        weights: null,
      };
      const corners = [
        [0.1, 0.1, 0.8, 0],
        [0.9, 0.1, 0, 0.8],
        [0.9, 0.9, -0.8, 0],
        [0.1, 0.9, 0, -0.8],
      ];
      writeFileSync(
        file,
        vdafsFile([
          ...statement('PLATE', 'SURF', surfFields(net)),
          ...corners.map(
            ([u, v, du, dv], k) =>
              `K${k} = CONS / PLATE, , 0, 1, 1, 0, 1, 2, ${u}, ${du}, ${v}, ${dv}`,
          ),
          'CUT = FACE / PLATE, 1, 4, K0, 0, 1, K1, 0, 1, K2, 0, 1, K3, 0, 1',
          'P1 = POINT / 1, 2, 3',
        ]),
      );
      const { status, printed } = converted({ file, to: 'igs' });
      expect(status).toBe(0);
      expect(printed.replace(/\n +/g, ' ')).toContain('Left out: 1 of VDA-FS POINT (point).');
      const before = readSurfaces('plate.vda', readFileSync(file)).panels;
      const after = readSurfaces('plate.igs', readFileSync(join(folder, 'plate.igs'))).panels;
      expect(after.map(({ name, net: found }) => [name, found])).toEqual(
        before.map(({ name, net: found }) => [name, found]),
      );
      const loops = after.map(({ trim }) => (trim.kind === 'part' ? trim.region.loops : []));
      expect(loops.map(({ length }) => length)).toEqual([1]);
      const isLong = ({ points }: { readonly points: Float64Array }): boolean =>
        Math.hypot(points[0] - points[2], points[1] - points[3]) > 1e-9;
      expect(loops[0][0].curves.filter(isLong)).toHaveLength(4);
    }));

  test('a scan has no surfaces', () =>
    inFolder((folder) => {
      const file = join(folder, 'clay.stl');
      writeFileSync(file, 'solid clay\nendsolid clay\n');
      expect(() => converted({ file, to: 'stp' })).toThrow(/is a scan/);
      expect(readdirSync(folder)).toEqual(['clay.stl']);
    }));

  test('notes of net JSON', () =>
    inFolder((folder) => {
      const file = join(folder, 'noted.net.json');
      writeFileSync(
        file,
        '{"format":"hullsight-net","version":1,"units":"in","note":"x","panels":[{"name":"a","note":"y","degree":[1,1],"knots":[[0,0,1,1],[0,0,1,1]],"rows":[[[0,0,0],[10,0,0]],[[0,10,0],[10,10,0]]]}]}',
      );
      const text = converted({ file, to: 'igs' }).printed.replace(/\n +/g, ' ');
      expect(text).toContain('unit in)');
      expect(text).toContain('Left out: 2 of net JSON (note).');
    }));

  test('faults of reading are told, what could be read is written, status 2', () =>
    inFolder((folder) => {
      const file = join(folder, 'half.igs');
      writeFileSync(
        file,
        igesFile([
          { ...surface(), label: 'GOOD' },
          { type: 128, fields: [2, 1, 2, 1, 0], label: 'BAD' },
        ]),
      );
      const { status, printed } = converted({ file, to: 'stp' });
      expect(status).toBe(2);
      expect(printed).toContain('1 panel written');
      expect(printed).toMatch(/Not read\n {2}half\.igs, line \d+, D3: entity 128: parameters/);
      expect(existsSync(join(folder, 'half.stp'))).toBe(true);
    }));

  test.each([
    ['a file that is not there', 'gone.igs', null, 'file-missing'],
    ['a file without a surface', 'empty.igs', igesFile([]), 'iges-section'],
    ['a file of no format', 'x.igs', Buffer.from('hello'), 'iges-form'],
    ['a file of no bytes', 'x.stp', Buffer.from(''), 'file-empty'],
  ])('%s: nothing is written, status 2', (_, name, bytes, code) =>
    inFolder((folder) => {
      const file = join(folder, name);
      if (bytes) writeFileSync(file, bytes);
      const { status, printed } = converted({ file, to: 'net.json' });
      expect(status).toBe(2);
      expect(printed).toContain('nothing to write');
      expect(printed).toContain(`[${code}]`);
      expect(readdirSync(folder)).toEqual(bytes ? [name] : []);
    }),
  );

  test('no file is written over: not the one read, by whatever name, nor any other', () =>
    inFolder((folder) => {
      const file = join(folder, 'front.igs');
      const bytes = readFileSync(join(demo, 'job/front.igs'));
      writeFileSync(file, bytes);
      symlinkSync(file, join(folder, 'link.stp'));
      symlinkSync(join(folder, 'nowhere'), join(folder, 'dangling.stp'));
      writeFileSync(join(folder, 'other.stp'), 'mine');
      const refused = (asked: Parameters<typeof converted>[0], words: RegExp): void => {
        expect(() => converted(asked)).toThrow(UsageFault);
        expect(() => converted(asked)).toThrow(words);
      };
      refused({ file, to: 'igs' }, /is the file to convert/);
      refused({ file, to: 'stp', output: join(folder, 'link.stp') }, /is the file to convert/);
      refused({ file, to: 'stp', output: join(folder, 'other.stp') }, /is there already/);
      refused({ file, to: 'stp', output: join(folder, 'dangling.stp') }, /is there already/);
      refused({ file, to: 'stp', output: folder }, /is there already/);
      expect(readFileSync(file).equals(bytes)).toBe(true);
      expect(readFileSync(join(folder, 'other.stp'), 'utf8')).toBe('mine');
      expect(readdirSync(folder)).toHaveLength(4);
    }));
});

describe.skipIf(!isBuilt)('the built command', () => {
  test('lines of at most 80 columns, no colour, in a pipe', () =>
    inFolder((folder) => {
      const output = join(folder, 'a', 'b.igs');
      const file = join(demo, 'same/ternwing-3.stp');
      const { status, out, err } = started(['convert', file, '--to', 'igs', '--output', output]);
      expect([status, err]).toEqual([0, '']);
      for (const line of out.split('\n'))
        if (!line.includes(folder)) expect(line.length).toBeLessThanOrEqual(80);
      // oxlint-disable-next-line no-control-regex
      expect(out).not.toMatch(/\u001b/);
      expect(existsSync(output)).toBe(true);
    }));

  test('--help in plain words', () => {
    const { status, out } = started(['convert', '--help']);
    expect(status).toBe(0);
    for (const line of out.split('\n')) expect(line.length).toBeLessThanOrEqual(80);
    expect(out).toContain('Exit status: 0');
    expect(out).toContain('No file is ever written over.');
  });
});

describe.skipIf(corpusFolder === null)(
  'every file of the corpus, to the other formats and back',
  () => {
    const others = {
      igs: ['stp', 'net.json'],
      stp: ['igs', 'net.json'],
      'net.json': ['igs', 'stp'],
    } as const;
    const endingOf = (name: string): keyof typeof others =>
      name.endsWith('.net.json') ? 'net.json' : /\.ige?s$/.test(name) ? 'igs' : 'stp';
    const files = ['surfaces', 'nets'].flatMap((sub) =>
      corpusFolder === null
        ? []
        : readdirSync(join(corpusFolder, sub))
            .filter((name) => !name.endsWith('.points.json'))
            .map((name) => join(corpusFolder!, sub, name)),
    );
    test.each(
      files.flatMap((file) =>
        others[endingOf(file)].map((to) => [file.split('/').pop()!, to, file] as const),
      ),
    )('%s by way of %s', (name, to, file) =>
      inFolder((folder) => {
        const there = join(folder, `there.${to}`);
        const back = join(folder, `back.${endingOf(name)}`);
        const { panels } = readSurfaces(name, readFileSync(file));
        const { status } = converted({ file, to, output: there });
        expect(existsSync(there)).toBe(panels.length > 0);
        if (panels.length === 0) return;
        expect(status).toBe(0);
        expect(converted({ file: there, to: endingOf(name), output: back }).status).toBe(0);
        const again = readSurfaces(back, readFileSync(back)).panels;
        expect(again.map(({ name: called, unit }) => [called, unit])).toEqual(
          panels.map(({ name: called, unit }) => [called, unit]),
        );
        // in metres and in inches too: what stood in a file is found again to the last bit
        again.forEach(({ net }, k) => expect(net).toEqual(panels[k].net));
      }),
    );
  },
);

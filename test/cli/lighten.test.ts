import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { PassThrough } from 'node:stream';
import { describe, expect, test } from 'vitest';
import { clampedKnots } from '../../fixtures/fittedNet.ts';
import { ruleFixtures } from '../../fixtures/rules/makeRuleFixtures.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { vdafsText } from '../../fixtures/vdafsText.ts';
import { lightenCommand, type LightenArguments } from '../../src/cli/lightenCommand.ts';
import { UsageFault } from '../../src/cli/usageFault.ts';
import { diagonal, type ControlNet } from '../../src/geometry/controlNet.ts';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import { domain } from '../../src/geometry/knots.ts';
import { polyline } from '../../src/geometry/splineCurve.ts';
import { distance } from '../../src/geometry/vector.ts';
import { igesFreeCurves } from '../../src/intake/iges/igesFreeCurves.ts';
import { lengthUnits } from '../../src/intake/lengthUnit.ts';
import type { Panel } from '../../src/intake/panel.ts';
import { readSurfaces } from '../../src/intake/readSurfaces.ts';
import { stepFreeCurves } from '../../src/intake/step/stepFreeCurves.ts';
import { igesFile as igesWriter } from '../../src/writers/surfaces/igesFile.ts';
import { netJsonFile } from '../../src/writers/surfaces/netJsonFile.ts';
import { stepFile as stepWriter } from '../../src/writers/surfaces/stepFile.ts';
import { corpusBytes, corpusFolder } from '../corpus.ts';
import { igesFile, pointer, surface, type MadeEntity } from '../intake/igesFile.ts';
import { stepFile } from '../intake/stepFile.ts';
import { kernelSurfaces } from '../published/oracleKernel.ts';
import { insertedKnot, raised, withKnots } from '../writers/surfaces/heavierNet.ts';
import { panel } from '../writers/surfaces/madePanels.ts';
import { inFolder, isBuilt, started } from './auditRun.ts';

const demo = resolve(import.meta.dirname, '../../fixtures/demo/job');
const endings = { iges: 'igs', step: 'stp', 'net-json': 'net.json' } as const;
const writers = { iges: igesWriter, step: stepWriter, 'net-json': netJsonFile };

function lightened(asked: Partial<LightenArguments> & { file: string }): {
  status: number;
  printed: string;
} {
  const stream = new PassThrough();
  const out = stream as unknown as NodeJS.WriteStream;
  const status = lightenCommand(
    { within: undefined, lowerDegree: undefined, output: undefined, ...asked },
    { tool: 'test', now: new Date(0), workerPath: '', out, err: out, environment: {} },
  );
  return { status, printed: String(stream.read() ?? '').replace(/\n +/g, ' ') };
}

/** A single-span net of which no point can be spared. */
function restless(seed: number, degree: number): ControlNet {
  const random = seededRandom(seed);
  const size = degree + 1;
  return {
    degree: [degree, degree],
    knots: [clampedKnots(degree), clampedKnots(degree)],
    columns: size,
    rows: size,
    points: Float64Array.from({ length: 3 * size * size }, (_, k) => {
      const at = Math.floor(k / 3);
      const plan = k % 3 === 0 ? at % size : Math.floor(at / size);
      return k % 3 === 2 ? 60 * random.normal() : 200 * plan + 10 * random.normal();
    }),
    weights: null,
  };
}

const cubic = restless(1, 3);
const six = restless(2, 5);
const honest = ruleFixtures['surplus-build'].met;
const square = {
  loops: [
    {
      curves: [
        polyline([
          [0.2, 0.2],
          [0.8, 0.2],
          [0.8, 0.8],
          [0.2, 0.8],
          [0.2, 0.2],
        ]),
      ],
      winds: [0, 0] as const,
    },
  ],
  tolerance: 0.01,
};
const heavy: readonly Panel[] = [
  panel('raised', raised(cubic, 2)),
  panel('honest one', honest, { region: square as never }),
  panel('inserted', withKnots(six, [0.2, 0.45, 0.7]), { groups: ['rear'] }),
];

function near(one: ControlNet, other: ControlNet, share = 1e-9): void {
  expect([one.degree, one.columns, one.rows]).toEqual([other.degree, other.columns, other.rows]);
  for (const side of [0, 1])
    one.knots[side].forEach((t, k) => expect(t).toBeCloseTo(other.knots[side][k], 12));
  const close = share * diagonal(other);
  one.points.forEach((x, k) => expect(Math.abs(x - other.points[k])).toBeLessThan(close));
}

/** The largest distance at 21 x 21 even parameters, mm. */
function farthest(one: ControlNet, other: ControlNet): number {
  const [[u0, u1], [v0, v1]] = [0, 1].map((side) => domain(one.knots[side], one.degree[side]));
  let most = 0;
  for (let i = 0; i <= 20; i++)
    for (let j = 0; j <= 20; j++) {
      const at = [u0 + (i / 20) * (u1 - u0), v0 + (j / 20) * (v1 - v0)] as const;
      most = Math.max(most, distance(surfacePoint(one, ...at), surfacePoint(other, ...at)));
    }
  return most;
}

describe.each(['iges', 'step', 'net-json'] as const)('%s', (format) => {
  test.each(['mm', 'in'])(
    'raised and inserted nets come back, all else stays (%s)',
    async (name) => {
      const unit = lengthUnits[name];
      const panels = heavy.map((one) => ({ ...one, unit }));
      const header = { name: 'made', tool: '0', at: new Date(0) };
      const { bytes } = writers[format]({ panels, unit, ...header });
      await inFolder(async (folder) => {
        const file = join(folder, `job.v1.${endings[format]}`);
        writeFileSync(file, bytes);
        const { status, printed } = lightened({ file });
        const path = join(folder, `job.v1-light.${endings[format]}`);
        expect(status).toBe(0);
        expect(printed).toContain(`: 2 of 3 panels lighter within 0.10 mm, written to ${path}.`);
        expect(printed).toContain(
          'raised: 4x4 points, degree 3x3, spans 1x1, hold it without a loss.',
        );
        expect(printed).toContain('honest one: left as it is.');
        expect(Buffer.compare(readFileSync(file), bytes)).toBe(0);
        const written = readFileSync(path);
        const before = readSurfaces(file, bytes).panels;
        const { panels: after, faults, notices } = readSurfaces(path, written);
        expect([faults, notices]).toEqual([[], []]);
        near(after[0].net, cubic);
        near(after[2].net, six);
        expect(after[1].net).toEqual(before[1].net);
        expect(after.map((one) => [one.name, one.trim.kind, one.groups])).toEqual(
          before.map((one) => [one.name, one.trim.kind, one.groups]),
        );
        expect(written.length).toBeLessThan(bytes.length);
        // twice as light is the same
        const again = lightened({ file: path });
        expect(again.printed).toContain('no file is written');
        expect(readdirSync(folder)).toHaveLength(2);
        if (format !== 'net-json') {
          const [first, , last] = await kernelSurfaces(written, format);
          for (const [kernel, net] of [
            [first, cubic],
            [last, six],
          ] as const) {
            expect(kernel.count).toEqual([net.columns, net.rows]);
            for (let row = 0; row < net.rows; row++)
              for (let column = 0; column < net.columns; column++)
                kernel
                  .pole(row, column)
                  .forEach((x, axis) =>
                    expect(x).toBeCloseTo(net.points[3 * (row * net.columns + column) + axis], 6),
                  );
          }
        }
      });
    },
    60_000,
  );
});

describe('files of others', () => {
  test('IGES: a placed surface whose records grow few, with what follows it kept', () =>
    inFolder((folder) => {
      const net = raised(cubic, 2);
      const made = (points: ControlNet): MadeEntity => ({
        ...surface(),
        fields: [
          points.columns - 1,
          points.rows - 1,
          ...points.degree,
          0,
          0,
          1,
          0,
          0,
          ...points.knots[0],
          ...points.knots[1],
          ...Array.from({ length: points.columns * points.rows }, () => 1),
          ...points.points,
          0,
          1,
          0,
          1,
          0,
          1,
          pointer(4),
        ],
      });
      const bytes = igesFile([
        { ...made(net), matrix: 2 },
        { type: 124, fields: [0, -1, 0, 40, 1, 0, 0, -7, 0, 0, 1, 12] },
        { ...made(honest), label: 'HONEST' },
        { type: 406, form: 15, fields: [1, '9Ha name ok'] },
        { type: 110, fields: [0, 0, 0, 1, 2, 3] },
      ]);
      const file = join(folder, 'x.igs');
      writeFileSync(file, bytes);
      expect(lightened({ file }).status).toBe(0);
      const before = readSurfaces(file, bytes);
      const after = readSurfaces(file, readFileSync(join(folder, 'x-light.igs')));
      expect(after.faults).toEqual([]);
      expect(after.panels.map(({ name }) => name)).toEqual(before.panels.map(({ name }) => name));
      expect([after.panels[0].net.columns, after.panels[0].net.rows]).toEqual([4, 4]);
      near(after.panels[0].net, {
        ...cubic,
        points: cubic.points.map((_, k, all) => {
          const [x, y, z] = all.subarray(k - (k % 3), k - (k % 3) + 3);
          return [40 - y, x - 7, z + 12][k % 3];
        }),
      });
      expect(after.panels[1].net).toEqual(before.panels[1].net);
    }));

  test
    .skipIf(corpusFolder === null)
    .each([
      'airliner-wing.igs',
      'ship-bow.iges',
      'ship-half.iges',
      'ship-half.step',
      'slim-hull.iges',
      'slim-hull.step',
      'wing-metre.iges',
      'pipe-rational.iges',
    ])('%s: what is lighter reads back as told, what is not as it was', (name) =>
    inFolder((folder) => {
      const bytes = corpusBytes(`surfaces/${name}`);
      const file = join(folder, name);
      writeFileSync(file, bytes);
      lightened({ file, within: 2 });
      const path = join(folder, readdirSync(folder).find((other) => other !== name) ?? name);
      const before = readSurfaces(name, bytes).panels;
      const after = readSurfaces(name, readFileSync(path)).panels;
      expect(after.map((one) => one.name)).toEqual(before.map((one) => one.name));
      after.forEach(({ net }, k) => {
        const old = before[k].net;
        expect(net.columns * net.rows).toBeLessThanOrEqual(old.columns * old.rows);
        expect(farthest(old, net)).toBeLessThanOrEqual(2.001);
      });
    }),
  );

  test('a format that is not written is told so, and so is a surface of another kind', () =>
    inFolder((folder) => {
      const file = join(folder, 'x.vda');
      writeFileSync(file, vdafsText([{ name: 'a', net: raised(cubic, 2) }]));
      const { status, printed } = lightened({ file });
      expect(status).toBe(2);
      expect(printed).toContain('VDA-FS is read and not written. Convert it first');
      expect(readdirSync(folder)).toEqual(['x.vda']);
    }));
});

/** A cubic of one span, and the same with three knots put in. */
const arch = Array.from({ length: 4 }, (_, k) => [100 * k, k % 2 === 0 ? 0 : 50, 20 * k * k]);
const heavyArch = [0.3, 0.5, 0.6].reduce(
  ({ knots, points }, t) => insertedKnot(knots, 3, points, t),
  { knots: [0, 0, 0, 0, 1, 1, 1, 1], points: arch },
);

describe('free curves', () => {
  test('IGES 126: back to a cubic of one span; borders and parts of others stay', () =>
    inFolder((folder) => {
      const fields = [
        heavyArch.points.length - 1,
        3,
        0,
        0,
        1,
        0,
        ...heavyArch.knots,
        ...heavyArch.points.map(() => 1),
        ...heavyArch.points.flat(),
        0,
        1,
        0,
        0,
        0,
      ];
      const bytes = igesFile([
        { type: 126, fields, label: 'SPINE' },
        { type: 126, fields, status: '00010000' },
        surface(),
      ]);
      const file = join(folder, 'x.igs');
      writeFileSync(file, bytes);
      const { status, printed } = lightened({ file });
      expect(status).toBe(0);
      expect(printed).toContain('SPINE: 4 points, degree 3, spans 1, hold it without a loss.');
      const written = readFileSync(join(folder, 'x-light.igs'));
      const [curve, ...others] = igesFreeCurves(written);
      expect(others).toEqual([]);
      expect(Array.from(curve.curve.knots)).toEqual([0, 0, 0, 0, 1, 1, 1, 1]);
      arch.flat().forEach((x, k) => expect(curve.curve.points[k]).toBeCloseTo(x, 9));
      // the part of another is as it was: as many entities, and its seven points
      expect(
        Buffer.from(written)
          .toString('latin1')
          .match(/126,6,3/g),
      ).toHaveLength(1);
    }));

  test('STEP: a curve of a set likewise, an edge stays', () =>
    inFolder((folder) => {
      const points = heavyArch.points
        .map(
          (p, k) => `#${100 + k}=CARTESIAN_POINT('',(${p.map((x) => x.toFixed(12)).join(',')}));`,
        )
        .join('\n');
      const list = heavyArch.points.map((_, k) => `#${100 + k}`).join(',');
      const curve = `B_SPLINE_CURVE_WITH_KNOTS('spine',3,(${list}),.UNSPECIFIED.,.F.,.F.,(4,1,1,1,4),(0.,0.3,0.5,0.6,1.),.UNSPECIFIED.)`;
      const bytes = stepFile(`${points}
#1=${curve};
#2=${curve};
#3=GEOMETRIC_CURVE_SET('',(#1));
#4=EDGE_CURVE('',#5,#6,#2,.T.);
#5=VERTEX_POINT('',#100);
#6=VERTEX_POINT('',#106);
`);
      const file = join(folder, 'x.stp');
      writeFileSync(file, bytes);
      const { printed } = lightened({ file });
      expect(printed).toContain('spine: 4 points, degree 3, spans 1, hold it without a loss.');
      const written = readFileSync(join(folder, 'x-light.stp'));
      const [free, ...others] = stepFreeCurves(written);
      expect(others).toEqual([]);
      expect(free.curve.points).toHaveLength(12);
      arch.flat().forEach((x, k) => expect(free.curve.points[k]).toBeCloseTo(x, 9));
      const text = written.toString('latin1');
      expect(text).toContain(`#2=${curve};`);
      // points that the edge still has are kept
      for (let k = 0; k < 7; k++) expect(text).toContain(`#${100 + k}=CARTESIAN_POINT`);
    }));
});

describe('the call', () => {
  test('the price of fewer points is told, and --lower-degree pays it', () =>
    inFolder((folder) => {
      const file = join(folder, 'front.igs');
      writeFileSync(file, readFileSync(join(demo, 'front.igs')));
      const kept = lightened({ file });
      expect(kept.status).toBe(0);
      expect(kept.printed).toMatch(
        /hood: left as it is\. Of its 36 points, fewer would cost: 30 \(degree 4x5\) 0\.02 mm, .*20 \(degree 3x4\) 0\.11 mm\./,
      );
      expect(readdirSync(folder)).toEqual(['front.igs']);
      lightened({ file, lowerDegree: true, within: 0.05 });
      const { panels } = readSurfaces('x.igs', readFileSync(join(folder, 'front-light.igs')));
      expect(panels.map(({ net }) => net.degree)).toEqual([
        [3, 4],
        [4, 5],
      ]);
    }));

  test('nothing is written over, and --within is a distance', () =>
    inFolder((folder) => {
      const file = join(folder, 'flanks.stp');
      writeFileSync(file, readFileSync(join(demo, 'flanks.stp')));
      expect(() => lightened({ file, output: file })).toThrow(/is the file to lighten/);
      writeFileSync(join(folder, 'flanks-light.stp'), '');
      expect(() => lightened({ file })).toThrow(/is there already/);
      for (const within of [0, -1, NaN, Infinity])
        expect(() => lightened({ file, within, output: join(folder, 'y.stp') })).toThrow(
          UsageFault,
        );
      expect(existsSync(join(folder, 'y.stp'))).toBe(false);
    }));

  test.skipIf(!isBuilt)('as a program', () =>
    inFolder((folder) => {
      const output = join(folder, 'out', 'light.stp');
      const run = started(['lighten', join(demo, 'flanks.stp'), '--output', output]);
      expect(run.status).toBe(0);
      expect(run.out).toContain('flank-left: 5x7 points, degree 4x4, spans 1x3');
      expect(
        readSurfaces('x.stp', readFileSync(output)).panels.map(({ net }) => net.columns),
      ).toEqual([5, 5]);
    }),
  );
});

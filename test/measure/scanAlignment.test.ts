// Units, axes and places of a scan told from panels: corpus meshes with their published scale, shift and
// order of axes (INDEX.md there), the demo's clay, and generated bodies whose truth is known.
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { clayScan } from '../../fixtures/demo/clayScan.ts';
import { ternwingPanels } from '../../fixtures/demo/ternwing.ts';
import { gridMesh } from '../../fixtures/gridMesh.ts';
import { families } from '../../fixtures/panelFamilies.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { diagonal, type ControlNet } from '../../src/geometry/controlNet.ts';
import { surfaceJet, surfaceNormal, surfacePoint } from '../../src/geometry/evaluation.ts';
import { footFinder } from '../../src/geometry/foot.ts';
import { keptBox, type ParameterBox } from '../../src/geometry/keptPart.ts';
import type { Mesh } from '../../src/geometry/mesh.ts';
import { scanBody, type ScanBody } from '../../src/geometry/scanBody.ts';
import { sheetOf } from '../../src/geometry/sheet.ts';
import { cross, distance, length, vectorAt, type Vector } from '../../src/geometry/vector.ts';
import { bufferSource } from '../../src/intake/byteSource.ts';
import { readNetJson } from '../../src/intake/netJson/readNetJson.ts';
import { readScan } from '../../src/intake/readScan.ts';
import { panelSamples, type PanelSamples } from '../../src/measure/panelSamples.ts';
import { scanAlignment } from '../../src/measure/scanAlignment.ts';
import {
  inScan,
  otherReadings,
  plainReading,
  type ScanReading,
} from '../../src/measure/scanReadings.ts';
import { corpusBytes, corpusFolder } from '../corpus.ts';

const whole = (net: ControlNet): PanelSamples => panelSamples(net, keptBox(net, null), null);

const together = (all: readonly PanelSamples[]): PanelSamples => ({
  places: Float64Array.from(all.flatMap(({ places }) => [...places])),
  normals: Float64Array.from(all.flatMap(({ normals }) => [...normals])),
});

/** Numbers of a scan as a reading takes them: the other way round than inScan, written on its own. */
function asRead({ factor, axes }: ScanReading, numbers: Float64Array): Float64Array {
  const read = new Float64Array(numbers.length);
  for (let at = 0; at < numbers.length; at += 3) {
    const [x, y, z] = numbers.subarray(at, at + 3);
    const values = { x, y, z, '-x': -x, '-y': -y, '-z': -z };
    axes.forEach((axis, k) => (read[at + k] = factor * values[axis]));
  }
  return read;
}

/** Samples as they are when the scan that they lie on is to be read so. */
const readSamples = (reading: ScanReading, { places, normals }: PanelSamples): PanelSamples => ({
  places: asRead(reading, places),
  normals: asRead({ ...reading, factor: 1 }, normals),
});

const raised = ({ places, normals }: PanelSamples, by: (k: number) => number): PanelSamples => ({
  places: places.map((x, at) => x + normals[at] * by(Math.floor(at / 3))),
  normals,
});

const moved = ({ places, normals }: PanelSamples, by: Vector): PanelSamples => ({
  places: places.map((x, at) => x + by[at % 3]),
  normals,
});

const bodyOf = (net: ControlNet, [us, vs]: ParameterBox, across = 80, along = 40): ScanBody =>
  scanBody(
    gridMesh(
      (u, v) => surfacePoint(net, us[0] + u * (us[1] - us[0]), vs[0] + v * (vs[1] - vs[0])),
      across,
      along,
    ),
  );

const wholeBox: ParameterBox = [
  [0, 1],
  [0, 1],
];

const familyNet = (seed: number): ControlNet => {
  const random = seededRandom(seed);
  const names = Object.keys(families);
  return families[names[random.index(names.length)]](random);
};

describe('readings', () => {
  test('are the 48 ways to take axes with each ratio of mm, cm, m, inch and foot, but for the plain one', () => {
    const ratios = [10, 100, 1000, 25.4, 2.54, 1000 / 25.4, 304.8, 30.48, 1000 / 304.8, 12];
    expect(otherReadings).toHaveLength(48 * (2 * ratios.length + 1) - 1);
    for (const ratio of [...ratios, ...ratios.map((r) => 1 / r)])
      expect(otherReadings.some(({ factor }) => Math.abs(factor / ratio - 1) < 1e-12)).toBe(true);
    const axes = new Set(otherReadings.map((reading) => reading.axes.join(' ')));
    expect(axes.size).toBe(48);
    expect(otherReadings).not.toContainEqual(plainReading);
    // another unit is the first guess, a turned frame comes before a mirrored one
    expect(otherReadings[0].axes).toEqual(['x', 'y', 'z']);
    const places = otherReadings.filter(({ factor }) => factor === 1).map((r) => r.axes.join(' '));
    expect(places.indexOf('x z -y')).toBeLessThan(places.indexOf('x z y'));
  });

  test('inScan undoes what a reading does', () => {
    const numbers = Float64Array.of(1, 2, 3, -40, 5, 600);
    expect([...asRead({ factor: 2, axes: ['x', 'z', '-y'] }, numbers)]).toEqual([
      2, 6, -4, -80, 1200, -10,
    ]);
    for (const reading of otherReadings) {
      const back = inScan(reading, asRead(reading, numbers));
      back.forEach((value, at) => expect(value).toBeCloseTo(numbers[at], 9));
    }
  });
});

describe('samples of a panel', () => {
  test('lie on it evenly by area, with its unit normals', () => {
    for (let seed = 1; seed <= 12; seed++) {
      const net = familyNet(seed);
      const { places, normals } = whole(net);
      expect(places).toHaveLength(768);
      const find = footFinder(sheetOf(net, 1e-9 * diagonal(net)));
      // area of the half u < 0.4 by a fine sum, against the share of the samples
      const area = (from: number, to: number): number => {
        let sum = 0;
        for (let i = 0; i < 60; i++)
          for (let j = 0; j < 60; j++) {
            const jet = surfaceJet(net, from + ((i + 0.5) / 60) * (to - from), (j + 0.5) / 60);
            sum += length(cross(jet.u, jet.v)) * (to - from);
          }
        return sum;
      };
      let count = 0;
      for (let k = 0; k < 256; k++) {
        const foot = find(vectorAt(places, k));
        expect(foot.gap).toBeLessThan(1e-6);
        if (foot.at[0] < 0.4) count++;
        const normal = surfaceNormal({ u: foot.u, v: foot.v })!;
        expect(distance(normal, vectorAt(normals, k))).toBeLessThan(1e-4);
      }
      expect(Math.abs(count / 256 - area(0, 0.4) / area(0, 1))).toBeLessThan(0.03);
    }
  });

  test('lie in the kept part alone, some hundred of them however small it is', () => {
    const net = familyNet(3);
    const find = footFinder(sheetOf(net, 1e-9 * diagonal(net)));
    const kept = (u: number, v: number) =>
      Math.hypot(u - 0.7, v - 0.4) < 0.06 ? ('inside' as const) : ('outside' as const);
    const { places } = panelSamples(net, wholeBox, kept);
    expect(places.length / 3).toBeGreaterThan(100);
    for (let k = 0; k < places.length / 3; k++) {
      const { at } = find(vectorAt(places, k));
      expect(Math.hypot(at[0] - 0.7, at[1] - 0.4)).toBeLessThan(0.0601);
    }
    expect(panelSamples(net, wholeBox, () => 'outside').places).toHaveLength(0);
  });
});

describe('the demo: panels over the clay that they were built over', () => {
  const body = scanBody(clayScan());
  const panels = ternwingPanels().map(({ name, net }) => ({ name, samples: whole(net) }));

  test.each(panels)('$name is aligned', ({ samples }) => {
    expect(scanAlignment(samples, body)).toEqual({ kind: 'aligned' });
  });

  // left and right of the body are alike, so what runs against y fits as well
  const mirrored = ({ factor, axes }: ScanReading): ScanReading => ({
    factor,
    axes: axes.map((axis) =>
      axis === 'y' ? '-y' : axis === '-y' ? 'y' : axis,
    ) as unknown as ScanReading['axes'],
  });

  test('of any other units and axes the reading is told, by each panel and by all together', () => {
    const random = seededRandom(12);
    for (let k = 0; k < 25; k++) {
      const reading = otherReadings[random.index(otherReadings.length)];
      if (reading.factor === 1 && mirrored(reading).axes.join(' ') === 'x y z') continue;
      for (const samples of [
        ...panels.map((panel) => panel.samples),
        together(panels.map((panel) => panel.samples)),
      ]) {
        const found = scanAlignment(readSamples(reading, samples), body);
        expect([reading, mirrored(reading)]).toContainEqual(
          found?.kind === 'misread' && found.reading,
        );
      }
    }
  });
});

describe.skipIf(!corpusFolder)('teapots of the corpus', () => {
  const mesh = (name: string): Mesh =>
    readScan(name, bufferSource(corpusBytes(name)), { millimetres: 1, most: Infinity }).mesh!;
  const nets = (): ControlNet[] =>
    readNetJson(corpusBytes('nets/teapot-bicubic.net.json')).panels.map(({ net }) => net);

  /** How far vertices of a scan lie from the nets, at most, where they are read and moved so. */
  function farthest(scan: Mesh, reading: ScanReading, shift: Vector, step: number): number {
    const finders = nets().map((net) => footFinder(sheetOf(net, 1e-9 * diagonal(net))));
    const read = asRead(reading, scan.vertices);
    let most = 0;
    for (let k = 0; k < read.length / 3; k += step) {
      const [x, y, z] = vectorAt(read, k);
      const place: Vector = [x + shift[0], y + shift[1], z + shift[2]];
      most = Math.max(most, Math.min(...finders.map((find) => find(place).gap)));
    }
    return most;
  }

  test('that with y upwards: axes (x, z, y), or (x, z, -y), since left and right are alike; within 0.0054', () => {
    const scan = mesh('meshes/teapot-y-up.obj');
    const found = scanAlignment(together(nets().map(whole)), scanBody(scan));
    expect(found?.kind).toBe('misread');
    const { reading } = found as { reading: ScanReading };
    expect(reading.factor).toBe(1);
    expect(['x z y', 'x z -y', 'x -z y']).toContain(reading.axes.join(' '));
    expect(farthest(scan, reading, [0, 0, 0], 31)).toBeLessThan(0.0055);
  });

  test('the other: its nets 9.82631 times as large and shifted by (0.611, 0, -0.591) lie on it, within 0.034', () => {
    const [scale, published] = [9.82631, [0.611, 0, -0.591] as const];
    const scan = mesh('meshes/teapot.stl');
    const { places, normals } = together(nets().map(whole));
    const large = { places: places.map((x) => scale * x), normals };
    // half a millimetre of 60 is no more than work is off
    expect(scanAlignment(large, scanBody(scan))).toEqual({ kind: 'aligned' });
    // moved away, the shift back is told, and with it the published one
    const away: Vector = [70, -20, 45];
    const found = scanAlignment(moved(large, away), scanBody(scan));
    expect(found?.kind).toBe('shifted');
    const { shift } = found as { shift: Vector };
    const own: Vector = [away[0] - shift[0], away[1] - shift[1], away[2] - shift[2]];
    // a fifth of a percent of its size: its facets are coarse
    expect(distance(own, published)).toBeLessThan(0.12);
    const unit: ScanReading = { factor: 1 / scale, axes: ['x', 'y', 'z'] };
    const back = own.map((x) => -x / scale) as unknown as Vector;
    expect(scale * farthest(scan, unit, back, 23)).toBeLessThan(0.034 + 0.12);
    // as it comes it is of another size than the nets, and of no unit's: that is told, and not judged
    expect(scanAlignment({ places, normals }, scanBody(scan))?.kind).toBe('far');
  });
});

describe('bodies that are the same when their axes are swapped', () => {
  const sphere = (radius: number): Mesh =>
    gridMesh(
      (u, v) => [
        radius * Math.sin(Math.PI * v) * Math.cos(2 * Math.PI * u),
        radius * Math.sin(Math.PI * v) * Math.sin(2 * Math.PI * u),
        -radius * Math.cos(Math.PI * v),
      ],
      96,
      48,
    );
  /** Samples of a part of a sphere about a direction. */
  const cap = (radius: number, centre: Vector): PanelSamples => {
    const random = seededRandom(8);
    const normals = Float64Array.from(
      Array.from({ length: 200 }, () => {
        const way = centre.map((x) => x + random.between(-0.4, 0.4));
        return way.map((x) => x / Math.hypot(...way));
      }).flat(),
    );
    return { places: normals.map((x) => radius * x), normals };
  };

  test('a closed sphere: aligned however it is turned, and of another unit only the unit is told', () => {
    const body = scanBody(sphere(400));
    for (const centre of [
      [0, 0, 1],
      [1, 0.2, -0.4],
      [-1, -1, 1],
    ] as const) {
      expect(scanAlignment(cap(400, centre), body)).toEqual({ kind: 'aligned' });
      expect(scanAlignment(cap(400 * 25.4, centre), body)).toMatchObject({
        kind: 'misread',
        reading: { factor: 25.4, axes: ['x', 'y', 'z'] },
      });
      expect(scanAlignment(cap(0.4, centre), body)).toMatchObject({
        kind: 'misread',
        reading: { axes: ['x', 'y', 'z'] },
      });
    }
  });

  test('beside it: the distance is told where nothing fits, and the shift where one does', () => {
    const body = scanBody(sphere(400));
    const plate: PanelSamples = {
      places: Float64Array.from(
        Array.from({ length: 256 }, (_, k) => [
          20 * (k % 16),
          20 * Math.floor(k / 16),
          1000,
        ]).flat(),
      ),
      normals: Float64Array.from(Array.from({ length: 256 }, () => [0, 0, 1]).flat()),
    };
    const far = scanAlignment(plate, body);
    expect(far).toMatchObject({ kind: 'far' });
    expect((far as { nearest: number }).nearest).toBeCloseTo(600, 1);
    const shifted = scanAlignment(moved(cap(400, [0, 0, 1]), [900, 40, -70]), body);
    expect(shifted?.kind).toBe('shifted');
    expect(distance((shifted as { shift: Vector }).shift, [900, 40, -70])).toBeLessThan(3);
  });

  test('of no samples nothing is told', () => {
    const none = { places: new Float64Array(), normals: new Float64Array() };
    expect(scanAlignment(none, scanBody(sphere(400)))).toBeNull();
  });
});

describe('panels of many kinds', () => {
  const seeds = fc.integer({ min: 1, max: 1e6 });
  const share = fc.double({ min: -1, max: 1, noNaN: true });

  test('up to 2 % of the diagonal off, evenly or in waves, is aligned', () => {
    fc.assert(
      fc.property(seeds, share, share, (seed, float, wave) => {
        const net = familyNet(seed);
        const samples = whole(net);
        const size = 0.01 * diagonal(net);
        const off = raised(
          samples,
          (k) => size * (float + wave * Math.sin(samples.places[3 * k] / 150)),
        );
        expect(scanAlignment(off, bodyOf(net, wholeBox))).toEqual({ kind: 'aligned' });
      }),
      { numRuns: 40, seed: 11 },
    );
  });

  test('partly beyond the border of the scan, and a little off, is aligned', () => {
    fc.assert(
      fc.property(
        seeds,
        share,
        fc.double({ min: 0.15, max: 0.9, noNaN: true }),
        fc.boolean(),
        (seed, float, covered, isAlong) => {
          const net = familyNet(seed);
          const box: ParameterBox = isAlong
            ? [[0, covered], wholeBox[1]]
            : [wholeBox[0], [1 - covered, 1]];
          const off = raised(whole(net), () => 0.01 * float * diagonal(net));
          expect(scanAlignment(off, bodyOf(net, box))).toEqual({ kind: 'aligned' });
        },
      ),
      { numRuns: 40, seed: 11 },
    );
  });

  test('as small as the triangles, or much larger than the scan, is aligned', () => {
    fc.assert(
      fc.property(
        seeds,
        fc.double({ min: 0.01, max: 0.2, noNaN: true }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        (seed, width, where) => {
          const net = familyNet(seed);
          const from = where * (1 - width);
          const part: ParameterBox = [
            [from, from + width],
            [from, from + width],
          ];
          const small = panelSamples(net, part, null);
          expect(scanAlignment(small, bodyOf(net, wholeBox))).toEqual({ kind: 'aligned' });
          if (width > 0.1)
            expect(scanAlignment(whole(net), bodyOf(net, part))?.kind).not.toBe('misread');
        },
      ),
      { numRuns: 40, seed: 11 },
    );
  });

  test('read otherwise: the reading that is told lays the panel on the scan, and is seldom another', () => {
    let [others, all] = [0, 0];
    fc.assert(
      fc.property(
        seeds,
        share,
        fc.integer({ min: 0, max: otherReadings.length - 1 }),
        (seed, float, which) => {
          const net = familyNet(seed);
          const body = bodyOf(net, wholeBox);
          const samples = whole(net);
          const reading = otherReadings[which];
          const off = raised(samples, () => 0.002 * float * diagonal(net));
          const found = scanAlignment(readSamples(reading, off), body);
          all++;
          // a panel about the axes may be the same when they are turned; one that is nearly flat lies
          // on a scan of another size as far as that goes
          if (found?.kind === 'aligned') {
            if (reading.factor !== 1) others++;
            return;
          }
          expect(found?.kind).toBe('misread');
          const told = (found as { reading: ScanReading }).reading;
          // of a panel that is nearly flat, a plainer one may fit as well: it is told then
          expect(otherReadings.indexOf(told)).toBeLessThanOrEqual(which);
          if (told.factor !== reading.factor) others++;
          // read so, it is the plain reading that fits
          const back = {
            places: inScan(told, asRead(reading, off.places)),
            normals: inScan({ ...told, factor: 1 }, asRead({ ...reading, factor: 1 }, off.normals)),
          };
          expect(scanAlignment(back, body)).toEqual({ kind: 'aligned' });
        },
      ),
      { numRuns: 60, seed: 11 },
    );
    expect(others / all).toBeLessThan(0.1);
  });

  test('moved away as a whole: the shift of the scan is told', () => {
    fc.assert(
      fc.property(
        seeds,
        fc.tuple(share, share, share).filter((way) => Math.hypot(...way) > 0.3),
        (seed, way) => {
          const net = familyNet(seed);
          const by: Vector = [6000 * way[0], 6000 * way[1], 6000 * way[2]];
          const found = scanAlignment(moved(whole(net), by), bodyOf(net, wholeBox));
          expect(found?.kind).toBe('shifted');
          expect(distance((found as { shift: Vector }).shift, by)).toBeLessThan(
            0.05 * diagonal(net),
          );
        },
      ),
      { numRuns: 30, seed: 11 },
    );
  });

  test('on a scan of something else elsewhere, nothing is read into it', () => {
    fc.assert(
      fc.property(seeds, seeds, (seed, other) => {
        const samples = moved(whole(familyNet(seed)), [3000, -1000, 2500]);
        expect(scanAlignment(samples, bodyOf(familyNet(other), wholeBox))?.kind).toMatch(
          /far|shifted/,
        );
      }),
      { numRuns: 30, seed: 11 },
    );
  });
});

import { describe, expect, test } from 'vitest';
import { drawnOut, scanOfShape } from '../../fixtures/featureScan.ts';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import type { ControlNet } from '../../src/geometry/controlNet.ts';
import { keptPart } from '../../src/geometry/keptPart.ts';
import { outlineEdges } from '../../src/geometry/outlineEdges.ts';
import { scanBody, type ScanBody } from '../../src/geometry/scanBody.ts';
import { ellipseArc } from '../../src/geometry/splineCurve.ts';
import { trimmedRegion } from '../../src/geometry/trimRegion.ts';
import { readNetJson } from '../../src/intake/netJson/readNetJson.ts';
import { featureMask } from '../../src/measure/featureMask.ts';
import type { FeatureBounds } from '../../src/measure/featureMeetings.ts';
import { scanFeatures, type ScanFeatures } from '../../src/measure/scanFeatures.ts';
import { corpusBytes, corpusFolder } from '../corpus.ts';
import { scanOf } from '../intake/scanOf.ts';
import { cleanScan } from './cleanScans.ts';
import { calmSection, drawnPanel, featureSection, radians } from './featurePanels.ts';

const bounds: FeatureBounds = {
  radius: 80,
  turn: radians(8),
  wobble: { height: 2, length: 50 },
  depth: 40,
};

function featuresOf(net: ControlNet, body: ScanBody): ScanFeatures {
  const edges = outlineEdges(net, { region: null, keep: [] });
  const found = scanFeatures({ net, edges, kept: null, body }, bounds);
  if (!found) throw new Error('no scan lies behind the panel');
  return found;
}

const filletScan = (radius: number, turn: number, size: number, noise: number): ScanBody =>
  scanBody(
    scanOfShape(
      drawnOut(featureSection(radius, turn)),
      [0, 160],
      [-240, radius * radians(Math.abs(turn)) + 80],
      { size, noise, random: seededRandom(Math.round(100 * size + 10 * radius + turn)) },
    ),
  );

describe.each([
  [1.5, 0.1],
  [2, 0],
  [2, 0.1],
  [6, 0],
  [6, 0.1],
])('triangles of %f mm, noise %f mm', (size, noise) => {
  test.each([
    [5, 60],
    [10, -60],
    [20, 60],
    [40, -45],
    [60, 40],
    [0, 10],
    [0, -30],
    [0, 60],
  ])('a fillet of %f mm that turns %f degrees', (radius, turn) => {
    const body = filletScan(radius, turn, size, noise);
    // a triangle may lie across the place where the turn begins; noise hides the first of it
    const within =
      1.3 * size + Math.sqrt(radius * noise) + (2 * noise) / radians(Math.abs(turn)) + 0.3;
    for (const over of [-8, 0, 5, 30]) {
      const net = drawnPanel(calmSection, [20, 140], [-180, over]);
      const { encroachments, crossings } = featuresOf(net, body);
      expect(crossings).toEqual([]);
      if (over <= 0) {
        for (const { depth } of encroachments) expect(depth).toBeLessThan(within);
        continue;
      }
      expect(encroachments.map(({ edge }) => edge)).toEqual([1]);
      const [{ depth, turn: found, from, to }] = encroachments;
      expect(Math.abs(depth - over)).toBeLessThan(within);
      expect(Math.sign(found)).toBe(Math.sign(turn));
      expect(to - from).toBeGreaterThan(100);
    }
  });
});

describe('no feature', () => {
  test.each(Array.from({ length: 28 }, (_, k) => k))('clean scan %i', (k) => {
    const { net, mesh } = cleanScan(k);
    const { encroachments, crossings } = featuresOf(net, scanBody(mesh));
    expect([encroachments, crossings]).toEqual([[], []]);
  });

  test.each([
    [50, 2],
    [60, 2],
    [80, 2],
    [120, 2],
  ])('a wobble %f mm long and %f mm high', (length, height) => {
    const net = drawnPanel(calmSection, [0, 400], [-250, 0]);
    const body = scanBody(
      scanOfShape(
        (x, s) => {
          const { y, z, angle } = calmSection(s);
          const off =
            height * Math.sin((2 * Math.PI * (s + 0.3 * x)) / (length * Math.hypot(1, 0.3)));
          const normal = [0, Math.sin(angle), Math.cos(angle)];
          return { point: [x, y + off * normal[1], z + off * normal[2]], normal };
        },
        [-60, 460],
        [-290, 80],
        { size: 2.5, noise: 0.05, random: seededRandom(length) },
      ),
    );
    const { encroachments, crossings } = featuresOf(net, body);
    expect([encroachments, crossings]).toEqual([[], []]);
  });

  test('a panel of 60 mm radius over a scan of 60 mm radius', () => {
    const shape = (x: number, s: number) => {
      const [sine, cosine] = [Math.sin(s / 60), Math.cos(s / 60)];
      return { point: [x, 60 * sine, 60 * cosine - 60], normal: [0, sine, cosine] };
    };
    const net = drawnPanel(
      (s) => {
        const { point } = shape(0, s);
        return { y: point[1], z: point[2], angle: s / 60 };
      },
      [10, 190],
      [-55, 55],
    );
    for (const noise of [0, 0.1]) {
      const making = { size: 2, noise, random: seededRandom(5) };
      const body = scanBody(scanOfShape(shape, [0, 200], [-70, 70], making));
      const { encroachments, crossings } = featuresOf(net, body);
      expect([encroachments, crossings]).toEqual([[], []]);
    }
  });
});

test('the mask covers what lies over the feature, and nothing else', () => {
  const body = filletScan(20, 60, 2, 0.05);
  const net = drawnPanel(calmSection, [20, 140], [-180, 12]);
  const { cover } = featuresOf(net, body);
  const us = Array.from({ length: 25 }, (_, k) => k / 24);
  const vs = Array.from({ length: 193 }, (_, k) => k / 192);
  const mask = featureMask(cover, us, vs);
  vs.forEach((v, row) => {
    const s = -180 + 192 * v;
    const own = mask.subarray(row * us.length, (row + 1) * us.length);
    if (s > 2)
      expect(
        own.every((one) => one === 1),
        `${s} mm`,
      ).toBe(true);
    if (s < -3)
      expect(
        own.every((one) => one === 0),
        `${s} mm`,
      ).toBe(true);
  });
});

test('a feature line through a panel is told once, and covered', () => {
  const body = filletScan(10, 30, 2, 0.05);
  const line = featureSection(10, 30);
  // over both sides of the line, each as the clay has it, without the line
  const net = drawnPanel(line, [20, 140], [-180, 75]);
  const { encroachments, crossings, cover } = featuresOf(net, body);
  expect(encroachments).toEqual([]);
  expect(crossings).toHaveLength(1);
  const [{ length, turn, position }] = crossings;
  expect(length).toBeGreaterThan(90);
  expect(turn).toBeGreaterThan(radians(15));
  expect(Math.abs(position[1] - 2.6)).toBeLessThan(4);
  const v = 182.6 / 255;
  expect(featureMask(cover, [0.2, 0.5, 0.8], [v - 0.2, v, v + 0.2])).toEqual(
    Uint8Array.from([0, 0, 0, 1, 1, 1, 0, 0, 0]),
  );
});

describe('of other forms', () => {
  /** A height field as a shape, with its normal by differences. */
  const field = (z: (x: number, y: number) => number) => (x: number, y: number) => {
    const h = 1e-3;
    const slopes = [(z(x + h, y) - z(x - h, y)) / (2 * h), (z(x, y + h) - z(x, y - h)) / (2 * h)];
    const size = Math.hypot(slopes[0], slopes[1], 1);
    return { point: [x, y, z(x, y)], normal: [-slopes[0] / size, -slopes[1] / size, 1 / size] };
  };
  const fieldScan = (
    z: (x: number, y: number) => number,
    [wide, high]: readonly [number, number],
    noise = 0.05,
  ): ScanBody =>
    scanBody(
      scanOfShape(field(z), [-wide, wide], [-high, high], {
        size: 2,
        noise,
        random: seededRandom(9),
      }),
    );
  /** How far a fillet of 15 mm that turns one radian has dropped, so many mm beyond its start. */
  const drop = (beyond: number): number => {
    const end = 15 * Math.sin(1);
    if (beyond <= 0) return 0;
    return beyond < end
      ? 15 - Math.sqrt(15 * 15 - beyond * beyond)
      : 15 - 15 * Math.cos(1) + (beyond - end) * Math.tan(1);
  };
  const flat = (x: number, y: number): ControlNet =>
    fittedNet([3, 3], [clampedKnots(3), clampedKnots(3)], (u, v) => [
      (2 * u - 1) * x,
      (2 * v - 1) * y,
      0,
    ]);

  test('a disc with a fillet round it, and a panel trimmed by a circle', () => {
    const body = fieldScan((x, y) => -drop(Math.hypot(x, y) - 80), [120, 120]);
    const net = flat(110, 110);
    const found = [76, 86].map((radius) => {
      const share = radius / 220;
      const loop = ellipseArc([0.5, 0.5], [share, 0], [0, share], 0, 2 * Math.PI);
      const region = trimmedRegion(net, [[{ plane: loop, space: null }]], 1e-3);
      if ('trouble' in region) throw new Error(region.trouble);
      const edges = outlineEdges(net, { region, keep: [] });
      const kept = keptPart(net, region, []);
      return scanFeatures({ net, edges, kept, body }, bounds)!;
    });
    expect(found[0].encroachments).toEqual([]);
    expect(found[1].encroachments).toHaveLength(1);
    const [{ depth, usual, from, to, radius }] = found[1].encroachments;
    expect(Math.abs(depth - 6)).toBeLessThan(2.5);
    expect(Math.abs(usual - 6)).toBeLessThan(2);
    expect(Math.abs(radius - 15)).toBeLessThan(2);
    expect((to - from) / (2 * Math.PI * 86)).toBeCloseTo(1, 2);
  });

  test('a pad with round corners: the usual depth along an edge, and more at its corners', () => {
    const pad = (x: number, y: number): number => {
      const [a, b] = [Math.abs(x) - 70, Math.abs(y) - 50];
      const off = Math.hypot(Math.max(a, 0), Math.max(b, 0)) + Math.min(Math.max(a, b), 0) - 30;
      return -drop(off);
    };
    const body = fieldScan(pad, [150, 130]);
    expect(featuresOf(flat(87, 67), body).encroachments).toEqual([]);
    const { encroachments, crossings } = featuresOf(flat(105, 85), body);
    expect(encroachments.map(({ edge }) => edge).toSorted((a, b) => a - b)).toEqual([0, 1, 2, 3]);
    for (const { usual, depth } of encroachments) {
      expect(Math.abs(usual - 5)).toBeLessThan(2.5);
      expect(depth).toBeGreaterThan(10);
    }
    expect(crossings).toEqual([]);
  });

  test('a crease that runs slantwise through the panel', () => {
    const [c, s] = [Math.cos(0.5), Math.sin(0.5)];
    const crease = (x: number, y: number): number => -Math.max(0, c * x + s * y) * Math.tan(0.35);
    const body = fieldScan(crease, [130, 110]);
    const net = fittedNet([5, 5], [clampedKnots(5), clampedKnots(5)], (u, v) => {
      const [x, y] = [(2 * u - 1) * 110, (2 * v - 1) * 90];
      return [x, y, crease(x, y)];
    });
    const { encroachments, crossings, cover } = featuresOf(net, body);
    expect(encroachments).toEqual([]);
    expect(crossings).toHaveLength(1);
    // it leaves the panel at both ends of v: 180 mm high, slanted by 0.5 radians
    expect(crossings[0].length).toBeGreaterThan(0.85 * (180 / c));
    expect(Math.abs(crossings[0].turn - 0.35)).toBeLessThan(0.06);
    for (const share of [-0.8, -0.4, 0, 0.4, 0.8]) {
      const y = 90 * share;
      const x = (-s * y) / c;
      const [u, v] = [(x / 110 + 1) / 2, (share + 1) / 2];
      const places = [u - 0.15, u, u + 0.15];
      expect(featureMask(cover, places, [v]), `${share}`).toEqual(Uint8Array.from([0, 1, 0]));
    }
  });

  test('a badge on the clay is one feature', () => {
    const badge = (x: number, y: number): number => {
      const off = Math.hypot(x - 20, y + 10);
      return Math.min(4, Math.max(0, 16 - off));
    };
    const { encroachments, crossings } = featuresOf(flat(100, 80), fieldScan(badge, [120, 100]));
    expect(encroachments).toEqual([]);
    expect(crossings).toHaveLength(1);
    expect(crossings[0].length).toBeLessThan(45);
  });

  test("a panel's own bend over calm clay is none, nor a scan that is not there", () => {
    const body = fieldScan(() => 0, [130, 110]);
    const bent = fittedNet([5, 5], [clampedKnots(5), clampedKnots(5)], (u, v) => {
      const x = (2 * u - 1) * 110;
      return [x, (2 * v - 1) * 90, 6 * Math.exp(-(x * x) / 600)];
    });
    const { encroachments, crossings } = featuresOf(bent, body);
    expect([encroachments, crossings]).toEqual([[], []]);
    const away = { ...bent, points: bent.points.map((x, k) => (k % 3 === 2 ? x + 500 : x)) };
    const edges = outlineEdges(away, { region: null, keep: [] });
    expect(scanFeatures({ net: away, edges, kept: null, body }, bounds)).toBeNull();
  });
});

test.skipIf(corpusFolder === null)(
  'the teapot of others lies over its own mesh without a feature, though its triangles are coarse',
  () => {
    const read = readNetJson(corpusBytes('nets/teapot-bicubic.net.json'));
    const { vertices, triangles } = scanOf(
      'teapot-y-up.obj',
      corpusBytes('meshes/teapot-y-up.obj'),
    ).mesh!;
    // 650 mm across; the mesh has its axes in the order x, z, y
    const turned = vertices.map((_, k) => 100 * vertices[k - (k % 3) + [0, 2, 1][k % 3]]);
    const body = scanBody({ vertices: turned, triangles });
    for (const { net } of read.panels) {
      const large = { ...net, points: net.points.map((x) => 100 * x) };
      const { encroachments, crossings } = featuresOf(large, body);
      expect([encroachments, crossings]).toEqual([[], []]);
    }
  },
);

import { describe, expect, test } from 'vitest';
import { drawnOut, scanOfShape } from '../../fixtures/featureScan.ts';
import { families } from '../../fixtures/panelFamilies.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import type { ControlNet } from '../../src/geometry/controlNet.ts';
import { surfaceJet, surfaceNormal } from '../../src/geometry/evaluation.ts';
import { outlineEdges } from '../../src/geometry/outlineEdges.ts';
import { scanBody, type ScanBody } from '../../src/geometry/scanBody.ts';
import { featureMask } from '../../src/measure/featureMask.ts';
import type { FeatureBounds } from '../../src/measure/featureMeetings.ts';
import { scanFeatures, type ScanFeatures } from '../../src/measure/scanFeatures.ts';
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

describe.each([1.5, 2, 4, 6])('triangles of %f mm', (size) => {
  describe.each([0, 0.1])('noise %f mm', (noise) => {
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
      const within = 1.3 * size + Math.sqrt(radius * noise) + noise / radians(Math.abs(turn)) + 0.3;
      for (const over of [-8, 0, 5, 14, 30]) {
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
});

describe('no feature', () => {
  /** A scan that follows a net, moved along its normals by a height of both parameters. */
  const followingScan = (
    net: ControlNet,
    height: (u: number, v: number) => number,
    size: number,
    noise: number,
    seed: number,
  ): ScanBody =>
    scanBody(
      scanOfShape(
        (a, b) => {
          const [u, v] = [a / 1200, b / 600];
          const jet = surfaceJet(net, u, v);
          const normal = surfaceNormal(jet) ?? [0, 0, 1];
          const off = height(u, v);
          return { point: jet.point.map((x, axis) => x + off * normal[axis]), normal };
        },
        [2, 1198],
        [2, 598],
        { size, noise, random: seededRandom(seed) },
      ),
    );

  test.each(Object.keys(families))('%s, scanned with noise', (family) => {
    const net = families[family](seededRandom(7));
    const { encroachments, crossings } = featuresOf(
      net,
      followingScan(net, () => 0, 6, 0.1, 3),
    );
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

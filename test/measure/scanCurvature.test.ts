import { describe, expect, test } from 'vitest';
import { scanOfShape } from '../../fixtures/featureScan.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { scanBody, type ScanBody } from '../../src/geometry/scanBody.ts';
import { scanCurvature } from '../../src/measure/scanCurvature.ts';

/** A scan about the origin of a quadric height field: exact principal curvatures -a along x and -b along y there. */
const scanOfQuadric = (a: number, b: number, size: number, noise: number, seed: number): ScanBody =>
  scanBody(
    scanOfShape(
      (x, y) => ({ point: [x, y, -(a * x * x + b * y * y) / 2], normal: [0, 0, 1] }),
      [-40, 40],
      [-40, 40],
      { size, noise, random: seededRandom(seed) },
    ),
  );

const up = [0, 0, 1] as const;
const origin = [0, 0, 0] as const;

describe('curvature of a height field at its top: its second derivatives', () => {
  test.each([
    ['a cylinder', 1 / 20, 0],
    ['a cylinder, hollow', -1 / 60, 0],
    ['a saddle', 1 / 40, -1 / 80],
    ['a dome', 1 / 50, 1 / 30],
    ['a plane', 0, 0],
  ])('%s', (_, a, b) => {
    const exact = scanCurvature(scanOfQuadric(a, b, 2, 0, 1), origin, up, 1e-3)!;
    const [most, least] = Math.abs(a) >= Math.abs(b) ? [-a, -b] : [-b, -a];
    expect(exact.principal[0]).toBeCloseTo(most, 8);
    expect(exact.principal[1]).toBeCloseTo(least, 8);
    if (a !== b)
      expect(Math.abs(exact.direction[Math.abs(a) >= Math.abs(b) ? 0 : 1])).toBeCloseTo(1, 6);
  });
});

test('its error is what noise does to it, seen over many scans', () => {
  const offs = Array.from({ length: 120 }, (_, seed) => {
    const { principal, error, noise } = scanCurvature(
      scanOfQuadric(1 / 25, 0, 2, 0.05, seed),
      origin,
      up,
      1e-3,
    )!;
    expect(noise).toBeGreaterThan(0.03);
    expect(noise).toBeLessThan(0.08);
    return (principal[0] + 1 / 25) / error;
  });
  const spread = Math.sqrt(offs.reduce((sum, off) => sum + off * off, 0) / offs.length);
  expect(spread).toBeGreaterThan(0.8);
  expect(spread).toBeLessThan(1.4);
});

test('outliers are weighted down', () => {
  const { tree } = scanOfQuadric(1 / 25, 0, 2, 0.01, 3);
  const vertices = Float64Array.from(tree.mesh.vertices);
  // one vertex in fifteen is off by a millimetre
  for (let k = 2; k < vertices.length; k += 45) vertices[k] += 1;
  const body = scanBody({ vertices, triangles: tree.mesh.triangles });
  const found = scanCurvature(body, origin, up, 1e-3)!;
  expect(Math.abs(found.principal[0] + 1 / 25)).toBeLessThan(0.25 / 25);
});

test('the side of the normal decides the sign; too few vertices tell nothing', () => {
  const body = scanOfQuadric(1 / 25, 0, 2, 0, 1);
  expect(scanCurvature(body, origin, [0, 0, -1], 1e-3)!.principal[0]).toBeCloseTo(1 / 25, 8);
  expect(scanCurvature(body, [500, 0, 0], up, 1e-3)).toBeNull();
});

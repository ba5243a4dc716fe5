import { readFileSync, readdirSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { describe, expect, test } from 'vitest';
import { demoFiles } from '../../fixtures/demo/demoFiles.ts';
import { plantedFaults, ternwingPanels } from '../../fixtures/demo/ternwing.ts';
import { insideBody } from '../../fixtures/demo/ternwingBody.ts';
import { netJson } from '../../fixtures/netJson.ts';
import { randomNet } from '../../fixtures/randomNet.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { pointAt, type ControlNet } from '../../src/geometry/controlNet.ts';
import { surfaceJet, surfaceNormal, surfacePoint } from '../../src/geometry/evaluation.ts';
import { angleBetween, difference, distance, dot } from '../../src/geometry/vector.ts';
import { readNetJson } from '../../src/intake/netJson/readNetJson.ts';

const folder = resolve(import.meta.dirname, '../../fixtures/demo');
const grid = Array.from({ length: 41 }, (_, k) => k / 40);
const degrees = 180 / Math.PI;

describe('the committed demo', () => {
  test.each([...demoFiles()])('%s is what the script makes', (path, text) => {
    expect(readFileSync(join(folder, path), 'utf8')).toBe(text);
  });

  test.each(['job', 'same'])('%s holds nothing else', (name) => {
    const made = [...demoFiles().keys()].filter((path) => path.startsWith(`${name}/`));
    expect(readdirSync(join(folder, name)).map((file) => `${name}/${file}`)).toEqual(
      expect.arrayContaining(made),
    );
    expect(readdirSync(join(folder, name))).toHaveLength(made.length);
  });

  test('two runs give the same bytes', () => {
    expect([...demoFiles()]).toEqual([...demoFiles()]);
  });
});

describe('net JSON', () => {
  const random = seededRandom(3);
  const panels = [
    ...ternwingPanels(),
    { name: 'rational "one"', net: randomNet(random, true) },
    { name: 'tiny', net: randomNet(random, false, 1e-7) },
  ];
  const intake = readNetJson(Buffer.from(netJson(panels)));

  test('is read without a fault', () => {
    expect(intake.faults).toEqual([]);
    expect(intake.panels.map((panel) => panel.name)).toEqual(panels.map((panel) => panel.name));
  });

  test.each(panels.map((panel, at) => [panel.name, at] as const))(
    '%s comes back to the last bit',
    (_name, at) => {
      expect(intake.panels[at].net).toEqual(panels[at].net);
    },
  );
});

describe('the shapes, without what is planted', () => {
  const panels = ternwingPanels({ clean: true });
  const netOf = (name: string): ControlNet => panels.find((panel) => panel.name === name)!.net;

  test.each(panels)('$name faces outwards and does not fold', ({ net }) => {
    for (const v of grid)
      for (const u of grid) {
        const jet = surfaceJet(net, u, v);
        const normal = surfaceNormal(jet);
        expect(normal && dot(normal, difference(jet.point, insideBody))).toBeGreaterThan(100);
      }
  });

  test('the body is 2.4 to 2.8 m long as far as it is panelled', () => {
    const x = panels.flatMap(({ net }) => grid.map((u) => surfacePoint(net, u, 0.5)[0]));
    expect(Math.max(...x) - Math.min(...x)).toBeGreaterThan(2400);
    expect(Math.max(...x) - Math.min(...x)).toBeLessThan(2800);
  });

  test.each([
    ['nose', 'hood'],
    ['hood', 'spine'],
    ['spine', 'tail'],
  ])('%s meets %s within a tenth of a millimetre and of a degree', (front, back) => {
    for (const v of grid) {
      const [a, b] = [surfaceJet(netOf(front), 1, v), surfaceJet(netOf(back), 0, v)];
      expect(distance(a.point, b.point)).toBeLessThan(0.1);
      expect(angleBetween(surfaceNormal(a)!, surfaceNormal(b)!) * degrees).toBeLessThan(0.1);
    }
  });

  test.each([
    ['flank-left', 1, 'hood', 0],
    ['flank-right', 0, 'hood', 1],
    ['flank-left', 1, 'spine', 0],
    ['flank-right', 0, 'spine', 1],
  ] as const)(
    'the edge of %s at v = %d lies on that of %s at v = %d',
    (flank, v, upper, vUpper) => {
      // Samples 0.4 mm apart: the nearest is at most 0.2 mm further than the edge itself.
      const edge = Array.from({ length: 4001 }, (_, k) => surfacePoint(netOf(flank), k / 4000, v));
      const [first, last] = [edge[0][0], edge[4000][0]];
      for (const u of grid) {
        const p = surfacePoint(netOf(upper), u, vUpper);
        if (p[0] > first || p[0] < last) continue;
        expect(Math.min(...edge.map((q) => distance(p, q)))).toBeLessThan(0.3);
      }
    },
  );
});

describe('what is planted', () => {
  const planted = ternwingPanels();
  const netOf = (name: string): ControlNet => planted.find((panel) => panel.name === name)!.net;
  const sizeOf = (id: string): number => plantedFaults().find((fault) => fault.id === id)!.size;

  test('nose and hood share an edge to 1e-6 mm, with an angle of up to 0.5 degrees that the flanks do not see', () => {
    const [nose, hood] = [netOf('nose'), netOf('hood')];
    for (let row = 0; row < nose.rows; row++)
      expect(distance(pointAt(nose, row, nose.columns - 1), pointAt(hood, row, 0))).toBeLessThan(
        1e-6,
      );
    const angles: number[] = [];
    for (const v of grid) {
      const [a, b] = [surfaceJet(nose, 1, v), surfaceJet(hood, 0, v)];
      const angle = angleBetween(surfaceNormal(a)!, surfaceNormal(b)!) * degrees;
      expect(angle).toBeLessThan(0.5);
      angles.push(angle);
    }
    expect(Math.max(...angles)).toBeGreaterThan(0.4);
    // at both ends the hood comes back to the flanks
    expect(Math.max(angles[0], angles[angles.length - 1])).toBeLessThan(0.05);
  });

  test.each([
    ['point-jut', 0.2, 0.4],
    // The largest basis function of the sagging row, 0.54, times 2.5 mm.
    ['hull-jut', 1.3, 1.4],
    ['wobble', 0.75, 0.85],
    ['scan-distance', 1.5, 1.7],
  ])('%s moves the surface by %d to %d mm', (id, least, most) => {
    expect(sizeOf(id)).toBeGreaterThan(least);
    expect(sizeOf(id)).toBeLessThan(most);
  });

  test('the bunched column leaves legs over twice as long behind it as before it', () => {
    const spine = netOf('spine');
    const bunched = plantedFaults().find((fault) => fault.id === 'spacing-ratio')!;
    for (const { spot } of bunched.moves) {
      const [before, here, behind] = [-1, 0, 1].map((step) =>
        pointAt(spine, spot.row, spot.column + step),
      );
      // The Greville gaps of the clean spine's even legs are alike there: see the knots.
      expect(distance(here, behind) / distance(before, here)).toBeGreaterThan(2);
    }
  });
});

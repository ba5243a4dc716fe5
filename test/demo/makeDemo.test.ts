import { readFileSync, readdirSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { describe, expect, test } from 'vitest';
import { demoFiles } from '../../fixtures/demo/demoFiles.ts';
import { plantedFaults, ternwingPanels } from '../../fixtures/demo/ternwing.ts';
import { insideBody } from '../../fixtures/demo/ternwingBody.ts';
import { netJson } from '../../fixtures/netJson.ts';
import { randomNet } from '../../fixtures/randomNet.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { closestPoints } from '../../src/geometry/closestPoints.ts';
import { pointAt, type ControlNet } from '../../src/geometry/controlNet.ts';
import { surfaceJet, surfaceNormal, surfacePoint } from '../../src/geometry/evaluation.ts';
import { scanBody } from '../../src/geometry/scanBody.ts';
import { scanFeet } from '../../src/geometry/scanFeet.ts';
import { angleBetween, difference, distance, dot } from '../../src/geometry/vector.ts';
import { bufferSource } from '../../src/intake/byteSource.ts';
import { readNetJson } from '../../src/intake/netJson/readNetJson.ts';
import { readScan } from '../../src/intake/readScan.ts';
import { meshRim } from '../meshRim.ts';

const folder = resolve(import.meta.dirname, '../../fixtures/demo');
const grid = Array.from({ length: 41 }, (_, k) => k / 40);
const degrees = 180 / Math.PI;

describe('the committed demo', () => {
  test.each([...demoFiles()])('%s is what the script makes', (path, contents) => {
    const file = readFileSync(join(folder, path));
    if (typeof contents === 'string') expect(file.toString()).toBe(contents);
    else expect(file.equals(contents)).toBe(true);
  });

  test.each(['job', 'same'])('%s holds nothing else', (name) => {
    const made = [...demoFiles().keys()].filter((path) => path.startsWith(`${name}/`));
    expect(readdirSync(join(folder, name)).map((file) => `${name}/${file}`)).toEqual(
      expect.arrayContaining(made),
    );
    expect(readdirSync(join(folder, name))).toHaveLength(made.length);
  });

  test('two runs give the same bytes', () => {
    const [one, other] = [demoFiles(), demoFiles()];
    expect([...one.keys()]).toEqual([...other.keys()]);
    for (const [path, contents] of one)
      expect(Buffer.from(contents).equals(Buffer.from(other.get(path)!)), path).toBe(true);
  });
});

describe('the clay', () => {
  const { mesh, faults } = readScan(
    'clay.ply',
    bufferSource(readFileSync(join(folder, 'job/clay.ply'))),
    { millimetres: 1, most: Infinity },
  );
  const body = scanBody(mesh!);
  const rim = meshRim(body.tree.mesh);

  /** Signed distances from the clay all over a panel, mm, where the clay lies behind it. */
  function gaps(net: ControlNet): number[] {
    const steps = Array.from({ length: 121 }, (_, k) => k / 120);
    const places = Float64Array.from(
      steps.flatMap((v) => steps.flatMap((u) => [...surfacePoint(net, u, v)])),
    );
    const { triangles, features } = closestPoints(body.tree, places);
    const { distances } = scanFeet(body, places, Infinity);
    return [...distances].filter((_, k) => !rim.holds(triangles[k], features[k]));
  }

  test('is read without a fault, and is one piece with two holes whose front is outside', () => {
    expect(faults).toEqual([]);
    expect(body.spacing).toBeGreaterThan(9);
    expect(body.spacing).toBeLessThan(11);
    const inside = scanFeet(body, Float64Array.from(insideBody), Infinity);
    expect(inside.distances[0]).toBeLessThan(-100);
    expect(rim.lines).toBe(3);
  });

  test.each(ternwingPanels({ clean: true }).filter(({ name }) => name !== 'flank-right'))(
    'the clean $name lies on it, but for facets and noise, and all of it but the holes',
    ({ net }) => {
      const all = gaps(net);
      expect(Math.max(...all.map(Math.abs))).toBeLessThan(0.3);
      expect(all.length).toBeGreaterThan(0.95 * 121 * 121);
    },
  );

  test('the dip of the right flank is in it: the panel with the dip lies on it, the one without is off', () => {
    const [dipped, even] = [{}, { clean: true }].map((how) =>
      gaps(ternwingPanels(how).find(({ name }) => name === 'flank-right')!.net),
    );
    expect(Math.max(...dipped.map(Math.abs))).toBeLessThan(0.25);
    expect(Math.max(...even)).toBeGreaterThan(0.75);
    expect(Math.max(...even)).toBeLessThan(0.95);
  });

  // What PLANTED.md says.
  test.each([
    ['nose', 0, 0.1],
    ['hood', 0, 0.97],
    ['flank-left', -1.4, 0.1],
    ['flank-right', 0, 0.1],
    ['spine', -1.6, 0.2],
    ['tail', 0, 1.7],
  ])('the planted %s lies from %d to %d mm off it', (name, least, most) => {
    const all = gaps(ternwingPanels().find((panel) => panel.name === name)!.net);
    expect(Math.abs(Math.min(...all) - least)).toBeLessThan(0.08);
    expect(Math.abs(Math.max(...all) - most)).toBeLessThan(0.08);
    expect(all.some((gap) => Math.abs(gap) >= 1)).toBe(
      ['flank-left', 'spine', 'tail'].includes(name),
    );
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

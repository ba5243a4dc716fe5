// A general geometry kernel (opencascade.js, LGPL) as the judge of the files we write.
import type { OpenCascadeInstance } from 'opencascade.js/dist/opencascade.full.js';
import { beforeAll, describe, expect, test } from 'vitest';
import { ternwingPanels } from '../../fixtures/demo/ternwing.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { isClosed } from '../../src/geometry/closedSide.ts';
import { diagonal, pointAt, type ControlNet } from '../../src/geometry/controlNet.ts';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import { domain, isClamped } from '../../src/geometry/knots.ts';
import { trimTest } from '../../src/geometry/trimTest.ts';
import { distance } from '../../src/geometry/vector.ts';
import { lengthUnits } from '../../src/intake/lengthUnit.ts';
import type { Panel } from '../../src/intake/panel.ts';
import { readSurfaces } from '../../src/intake/readSurfaces.ts';
import { igesFile } from '../../src/writers/surfaces/igesFile.ts';
import { stepFile } from '../../src/writers/surfaces/stepFile.ts';
import { corpusBytes, corpusFolder } from '../corpus.ts';
import { insideLoops } from '../insideLoops.ts';
import { anyNet, madeRegion, panel } from '../writers/surfaces/madePanels.ts';
import { ball, roundRegions, tube } from '../writers/surfaces/revolved.ts';
import { kernelSurfaces, loaded, type KernelSurface } from './oracleKernel.ts';
import { kernelFaces, type KernelFace } from './trimmedFaces.ts';

let oc: OpenCascadeInstance;
beforeAll(async () => {
  oc = await loaded();
}, 60_000);

const writers = { iges: igesFile, step: stepFile };
const formats = ['iges', 'step'] as const;

/** Surfaces and faces that the kernel makes of what is written, in the same order. */
async function kernelOf(
  format: 'iges' | 'step',
  panels: readonly Panel[],
  unit = panels[0].unit,
): Promise<{ surfaces: KernelSurface[]; faces: KernelFace[] }> {
  const header = { name: 'made', tool: '0', at: new Date(0) };
  const { bytes } = writers[format]({ panels, unit, ...header });
  return { surfaces: await kernelSurfaces(bytes, format), faces: kernelFaces(oc, bytes, format) };
}

/** Seeded parameters in the net's domain. */
function parameters({ knots, degree }: ControlNet, count = 100): [number, number][] {
  const random = seededRandom(144);
  const [u, v] = [0, 1].map((side) => domain(knots[side], degree[side]));
  return Array.from({ length: count }, () => [random.between(...u), random.between(...v)]);
}

const isClampedNet = ({ knots, degree }: ControlNet): boolean =>
  ([0, 1] as const).every((side) => isClamped(knots[side], degree[side]));

/** The kernel's surface is the net's: degrees, 100 points of it, and every pole where it keeps them. */
function expectSame(net: ControlNet, surface: KernelSurface): void {
  const close = 1e-12 * diagonal(net);
  expect(surface.degree).toEqual(net.degree);
  for (const [u, v] of parameters(net))
    expect(distance(surfacePoint(net, u, v), surface.evaluate(u, v))).toBeLessThan(close);
  // loose knots it clamps, closed surfaces it makes periodic, which gives other poles
  if (!isClampedNet(net) || isClosed(net, 0, close)) return;
  expect(surface.count).toEqual([net.columns, net.rows]);
  for (let row = 0; row < net.rows; row++)
    for (let column = 0; column < net.columns; column++)
      expect(distance(pointAt(net, row, column), surface.pole(row, column))).toBeLessThan(close);
}

/** One sound face a panel, on its surface. */
async function expectFaces(
  format: 'iges' | 'step',
  panels: readonly Panel[],
): Promise<KernelFace[]> {
  const { surfaces, faces } = await kernelOf(format, panels);
  expect(faces).toHaveLength(panels.length);
  panels.forEach(({ net }, k) => {
    expectSame(net, surfaces[k]);
    expect(faces[k].isValid).toBe(true);
  });
  return faces;
}

describe.each(formats)('%s', (format) => {
  test.each(['mm', 'in', 'm', 'ft', 'um', 'mil'])('nets of any build in %s', async (name) => {
    const random = seededRandom(242);
    const unit = lengthUnits[name];
    const panels = Array.from({ length: 8 }, (_, k) =>
      panel(`panel '${k}' é`, anyNet(random), { unit }),
    );
    await expectFaces(format, panels);
  });

  test('the demo panels: four edges each', async () => {
    const panels = ternwingPanels().map(({ name, net }) => panel(name, net));
    const faces = await expectFaces(format, panels);
    expect(faces.map(({ edges }) => edges)).toEqual(panels.map(() => 4));
  });

  test('a tube that closes in u, and a ball that has no edges at its poles', async () => {
    const faces = await expectFaces(format, [panel('tube', tube), panel('ball', ball)]);
    // each side of the seam is met once: with two rims, and with two poles as edges without length
    expect(faces.map(({ edges }) => edges)).toEqual([4, 4]);
  });

  test.each(roundRegions)('borders that run round: %s', async (_, net, region) => {
    const { surfaces, faces } = await kernelOf(format, [panel('round', net, { region })]);
    expect(faces).toHaveLength(1);
    expectSame(net, surfaces[0]);
    expect(faces[0].isValid).toBe(true);
    const kept = trimTest(net, region);
    let told = 0;
    for (const at of parameters(net, 300)) {
      const own = kept(...at);
      // the kernel's loops may stand a period apart from what is asked
      const sides = [0, -4, 4].map((shift) => faces[0].side(at[0] + shift, at[1], 0.01));
      if (own === 'border' || sides.includes('border')) continue;
      told++;
      expect([...at, sides.includes('in')]).toEqual([...at, own === 'inside']);
    }
    expect(told).toBeGreaterThan(250);
  });

  test('trims: sound faces that keep the parameters the region keeps', async () => {
    const random = seededRandom(5);
    for (let round = 0; round < 6; round++) {
      const net = anyNet(random);
      const region = madeRegion(net, random);
      const { surfaces, faces } = await kernelOf(format, [panel('trimmed', net, { region })]);
      // the island in the hole is a face by itself
      expect(faces).toHaveLength(2);
      const kept = insideLoops(region);
      const [u, v] = [0, 1].map((side) => domain(net.knots[side], net.degree[side]));
      const near = 2e-3 * Math.min(u[1] - u[0], v[1] - v[0]);
      let told = 0;
      for (const at of parameters(net, 400)) {
        const sides = faces.map((face) => face.side(...at, near));
        if (sides.includes('border')) continue;
        told++;
        expect([...at, sides.includes('in')]).toEqual([...at, kept(...at)]);
      }
      expect(told).toBeGreaterThan(350);
      faces.forEach((face, k) => {
        expectSame(net, surfaces[k]);
        expect(face.isValid).toBe(true);
      });
    }
  });
});

describe.skipIf(corpusFolder === null)('files of others, written anew', () => {
  const files = [
    'airliner-wing.igs',
    'ship-bow.iges',
    'ship-half.iges',
    'ship-half.step',
    'slim-hull.step',
    'wing-metre.iges',
    'pipe-rational.iges',
  ];
  test.each(files.flatMap((file) => formats.map((format) => [file, format] as const)))(
    '%s as %s',
    async (file, format) => {
      await expectFaces(format, readSurfaces(file, corpusBytes(`surfaces/${file}`)).panels);
    },
  );
});

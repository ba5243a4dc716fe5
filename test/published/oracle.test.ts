// A general geometry kernel (opencascade.js, LGPL) as the judge of readers and of fixture writers.
import { readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { describe, expect, test } from 'vitest';
import { ternwingPanels } from '../../fixtures/demo/ternwing.ts';
import { igesText } from '../../fixtures/igesText.ts';
import type { NamedNet } from '../../fixtures/namedNet.ts';
import { randomNet } from '../../fixtures/randomNet.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { stepText } from '../../fixtures/stepText.ts';
import { diagonal, type ControlNet } from '../../src/geometry/controlNet.ts';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import { domain } from '../../src/geometry/knots.ts';
import { distance } from '../../src/geometry/vector.ts';
import { readSurfaces } from '../../src/intake/readSurfaces.ts';
import { corpusFolder } from '../corpus.ts';
import { kernelSurfaces, type KernelSurface } from './oracleKernel.ts';

/** 100 seeded parameters in the net's domain. */
function parameters(net: ControlNet): [number, number][] {
  const random = seededRandom(128);
  const [u, v] = [0, 1].map((side) => domain(net.knots[side], net.degree[side]));
  return Array.from({ length: 100 }, () => [random.between(...u), random.between(...v)]);
}

/** Largest distance between a net and a kernel's surface at equal parameters, over the diagonal. */
function departure(net: ControlNet, surface: KernelSurface): number {
  const apart = parameters(net).map(([u, v]) =>
    distance(surfacePoint(net, u, v), surface.evaluate(u, v)),
  );
  return Math.max(...apart) / diagonal(net);
}

/** That of the kernel's nearest surface: it lists faces in an order of its own. */
const nearestDeparture = (net: ControlNet, surfaces: readonly KernelSurface[]): number =>
  Math.min(
    ...surfaces
      .filter(({ count }) => count[0] === net.columns && count[1] === net.rows)
      .map((surface) => departure(net, surface)),
  );

const formatOf = (name: string): 'iges' | 'step' => (/\.ige?s$/.test(name) ? 'iges' : 'step');

describe('fixture writers', () => {
  const random = seededRandom(42);
  const odd: NamedNet[] = [false, true, true].map((rational, at) => ({
    name: `panel-${at}`,
    net: randomNet(random, rational),
  }));
  const written = { iges: igesText, step: stepText };

  test.each([
    ['iges', 'mm'],
    ['iges', 'in'],
    ['iges', 'm'],
    ['step', 'mm'],
    ['step', 'in'],
    ['step', 'm'],
  ] as const)('the kernel reads %s in %s and finds the same surfaces', async (format, unit) => {
    const panels = [...ternwingPanels(), ...odd];
    const bytes = Buffer.from(written[format](panels, { unit }));
    const surfaces = await kernelSurfaces(bytes, format);
    expect(surfaces).toHaveLength(panels.length);
    panels.forEach(({ net }, at) => expect(departure(net, surfaces[at])).toBeLessThan(1e-12));
  });
});

describe('readers and kernel agree on the demo', () => {
  const folder = resolve(import.meta.dirname, '../../fixtures/demo');
  const everyName = ternwingPanels().map((panel) => panel.name);
  test.each([
    ['job/front.igs', ['nose', 'hood']],
    ['job/flanks.stp', ['flank-left', 'flank-right']],
    ['same/ternwing-3.igs', everyName],
    ['same/ternwing-3.stp', everyName],
  ])('%s', async (name, names) => {
    const bytes = readFileSync(resolve(folder, name));
    const { panels, faults } = readSurfaces(name, bytes);
    const surfaces = await kernelSurfaces(bytes, formatOf(name));
    expect(faults).toEqual([]);
    expect(panels.map((panel) => panel.name)).toEqual(names);
    expect(surfaces).toHaveLength(names.length);
    panels.forEach(({ net }, at) => expect(departure(net, surfaces[at])).toBeLessThan(1e-12));
  });
});

describe.skipIf(corpusFolder === null)('readers and kernel agree on files of others', () => {
  test.each([
    ['ship-bow.iges', 1],
    ['ship-half.iges', 3],
    ['ship-half.step', 3],
    ['slim-hull.iges', 1],
    ['slim-hull.step', 1],
    ['wing-metre.iges', 4],
    ['airliner-wing.igs', 6],
    ['pipe-rational.iges', 4],
  ])('surfaces/%s', async (name, count) => {
    const bytes = readFileSync(resolve(corpusFolder!, 'surfaces', name));
    const { panels } = readSurfaces(name, bytes);
    const surfaces = await kernelSurfaces(bytes, formatOf(name));
    expect([panels.length, surfaces.length]).toEqual([count, count]);
    for (const { net } of panels) expect(nearestDeparture(net, surfaces)).toBeLessThan(1e-12);
  });
});

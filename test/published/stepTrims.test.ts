// Trims of STEP files against a general geometry kernel: the files that ship with the package
// occt-import-js (CAx-IF test rounds among them) and those of the corpus.
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { basename, dirname, join } from 'node:path';
import init from 'opencascade.js/dist/node.js';
import type { OpenCascadeInstance } from 'opencascade.js/dist/opencascade.full.js';
import { beforeAll, expect, test } from 'vitest';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { diagonal, type ControlNet } from '../../src/geometry/controlNet.ts';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import { domain } from '../../src/geometry/knots.ts';
import { curveDomain, curvePoint } from '../../src/geometry/splineCurve.ts';
import { trimTest } from '../../src/geometry/trimTest.ts';
import { distance } from '../../src/geometry/vector.ts';
import type { Panel } from '../../src/intake/panel.ts';
import { readStep } from '../../src/intake/step/readStep.ts';
import { corpusFolder } from '../corpus.ts';
import { kernelFaces, type KernelFace } from './trimmedFaces.ts';

let oc: OpenCascadeInstance;
beforeAll(async () => {
  oc = await (init as unknown as (options: object) => Promise<OpenCascadeInstance>)({
    module: { print: () => undefined, printErr: () => undefined },
  });
}, 60_000);

const { resolve } = createRequire(import.meta.url);
const shipped = join(dirname(resolve('occt-import-js/package.json')), 'test/testfiles');
const filesBelow = (folder: string): string[] =>
  existsSync(folder)
    ? readdirSync(folder, { recursive: true })
        .map(String)
        .filter((name) => /\.st(e)?p$/i.test(name))
        .sort()
        .map((name) => join(folder, name))
    : [];
const files = [
  ...filesBelow(shipped),
  ...(corpusFolder === null ? [] : filesBelow(join(corpusFolder, 'surfaces'))),
];

const ranges = (net: ControlNet) =>
  [0, 1].map((side) =>
    domain(net.knots[side], net.degree[side]),
  ) as unknown as KernelFace['ranges'];

/** Largest distance at equal parameters, relative to the size of the net. */
function departure({ net }: Panel, face: KernelFace, count: number): number {
  const random = seededRandom(42);
  const [u, v] = ranges(net);
  let most = 0;
  for (let k = 0; k < count; k++) {
    const at = [random.between(...u), random.between(...v)] as const;
    most = Math.max(most, distance(surfacePoint(net, ...at), face.evaluate(...at)));
  }
  return most / diagonal(net);
}

/** Points along the loops of a trim, in the plane. */
const alongLoops = ({ trim }: Panel): (readonly number[])[] =>
  trim.kind !== 'part'
    ? []
    : trim.region.loops.flatMap(({ curves }) =>
        curves.flatMap((curve) => {
          const [from, to] = curveDomain(curve);
          const count = 4 * (curve.points.length / 2) + 60;
          return Array.from({ length: count + 1 }, (_, k) =>
            curvePoint(curve, from + (k / count) * (to - from)),
          );
        }),
      );

/** Parameters at which both say clearly where they stand, and at how many of them they differ. */
function comparison(panel: Panel, face: KernelFace): { told: number; apart: number } {
  const { net, trim } = panel;
  const random = seededRandom(7);
  const [u, v] = ranges(net);
  const standing = trim.kind === 'part' ? trimTest(net, trim.region) : () => 'inside' as const;
  // the kernel's own word on what is near a border does not hold where parameters are large
  const near = 1e-2;
  const loops = alongLoops(panel);
  let [told, apart] = [0, 0];
  for (let k = 0; k < 500; k++) {
    const at = [random.between(...u), random.between(...v)] as const;
    const isNear = loops.some(
      ([a, b]) => Math.hypot((a - at[0]) / (u[1] - u[0]), (b - at[1]) / (v[1] - v[0])) < near,
    );
    const theirs = face.side(...at, 0);
    const ours = standing(...at);
    if (isNear || ours === 'border') continue;
    told++;
    if ((theirs === 'in') !== (ours === 'inside')) apart++;
  }
  return { told, apart };
}

test('the package ships its files', () => expect(filesBelow(shipped).length).toBeGreaterThan(50));

test.each(files.map((file) => [basename(file), file]))(
  '%s',
  (_, file) => {
    const bytes = readFileSync(file);
    const { panels, faults, notices } = readStep(bytes);
    expect(faults).toEqual([]);
    expect(notices.filter(({ code }) => code.startsWith('trim'))).toEqual([]);
    const faces = kernelFaces(oc, bytes, 'step').filter(({ isSpline }) => isSpline);
    expect(panels).toHaveLength(faces.length);
    const left = new Set(faces);
    for (const panel of panels) {
      // the kernel lists faces by shell, we by file: the same surface with the same trim is looked for
      const own = [...left].filter((face) => departure(panel, face, 5) < 1e-9);
      const compared = own.map((face) => ({ face, ...comparison(panel, face) }));
      const best = compared.reduce((a, b) => (b.apart < a.apart ? b : a));
      expect(departure(panel, best.face, 100)).toBeLessThan(1e-9);
      expect([panel.name, best.apart]).toEqual([panel.name, 0]);
      expect(best.told).toBeGreaterThan(250);
      left.delete(best.face);
    }
  },
  60_000,
);

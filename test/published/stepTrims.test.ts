// A general geometry kernel (opencascade.js, LGPL) as the judge of trims: on every STEP file that the
// package occt-import-js brings for its own tests, on the corpus, and on faces made here.
import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { diagonal, type ControlNet } from '../../src/geometry/controlNet.ts';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import { domain } from '../../src/geometry/knots.ts';
import { polyline } from '../../src/geometry/splineCurve.ts';
import { trimTest } from '../../src/geometry/trimTest.ts';
import { distance } from '../../src/geometry/vector.ts';
import type { Panel } from '../../src/intake/panel.ts';
import { readStep } from '../../src/intake/step/readStep.ts';
import { corpusFolder } from '../corpus.ts';
import { revolvedNet } from '../geometry/revolvedNet.ts';
import { StepFacesMaker } from '../intake/stepFaces.ts';
import { kernelSurfaces, type KernelSurface } from './oracleKernel.ts';

/** Parameters at which points are compared, and at which trims are asked. */
const [pointsAsked, sidesAsked] = [100, 500];
const nearlyEqual = 1e-9;

function parameters(net: ControlNet): [number, number][] {
  const random = seededRandom(42);
  const [u, v] = [0, 1].map((side) => domain(net.knots[side], net.degree[side]));
  return Array.from({ length: sidesAsked }, () => [random.between(...u), random.between(...v)]);
}

/** Whether a kernel's surface is a net at 100 equal parameters, to 1e-9 of the diagonal. */
const isSame = (net: ControlNet, surface: KernelSurface): boolean =>
  surface.degree.every((degree, side) => degree === net.degree[side]) &&
  parameters(net)
    .slice(0, pointsAsked)
    .every(
      ([u, v]) =>
        distance(surfacePoint(net, u, v), surface.evaluate(u, v)) <= nearlyEqual * diagonal(net),
    );

interface Comparison {
  readonly panels: number;
  readonly faces: number;
  /** Panels without a face that is the same surface in the same place. */
  readonly unmatched: string[];
  readonly unread: number;
  readonly whole: number;
  /** Places within the tolerance of a border by our account. */
  border: number;
  inside: number;
  outside: number;
  /** Where trim and kernel disagree. */
  readonly wrong: string[];
}

/** Every panel against its face: surfaces in every place they stand, the trim of each but once. */
async function comparison(bytes: Uint8Array): Promise<Comparison> {
  const { panels } = readStep(bytes);
  const surfaces = await kernelSurfaces(bytes, 'step');
  const found: Comparison = {
    panels: panels.length,
    faces: surfaces.length,
    unmatched: [],
    unread: panels.filter(({ trim }) => trim.kind === 'unread').length,
    whole: panels.filter(({ trim }) => trim.kind === 'whole').length,
    border: 0,
    inside: 0,
    outside: 0,
    wrong: [],
  };
  const free = new Set(surfaces);
  const asked = new Set<string>();
  const partOf = ({ place, trim }: Panel): string =>
    `${place.record} ${trim.kind === 'part' ? trim.place.record : ''}`;
  for (const panel of panels) {
    const { net, name, trim } = panel;
    const surface = [...free].find((one) => isSame(net, one));
    if (!surface) {
      found.unmatched.push(name);
      continue;
    }
    free.delete(surface);
    if (trim.kind === 'unread' || asked.has(partOf(panel))) continue;
    asked.add(partOf(panel));
    const side = trim.kind === 'part' ? trimTest(net, trim.region) : (): 'inside' => 'inside';
    for (const [u, v] of parameters(net)) {
      const ours = side(u, v);
      found[ours] += 1;
      if (ours !== 'border' && surface.side(u, v, nearlyEqual) !== ours)
        found.wrong.push(`${name} at ${u}, ${v}: ${ours}`);
    }
  }
  return found;
}

const agreement = { unmatched: [], unread: 0, wrong: [] };

const shipped = resolve(import.meta.dirname, '../../node_modules/occt-import-js/test/testfiles');

/** The STEP files of that package, none twice. */
const shippedFiles = readdirSync(shipped, { recursive: true, encoding: 'utf8' })
  .filter((name) => /\.ste?p$/i.test(name))
  .map((name) => ({ name, bytes: readFileSync(join(shipped, name)) }))
  .toSorted((a, b) => (a.name < b.name ? -1 : 1))
  .filter(({ bytes }, at, all) => {
    const sum = (data: Uint8Array): string => createHash('sha256').update(data).digest('hex');
    return all.findIndex((other) => sum(other.bytes) === sum(bytes)) === at;
  });

describe('every STEP file of occt-import-js: surfaces, places and trims as the kernel has them', () => {
  test('there are files, and they hold panels that are cut', () => {
    expect(shippedFiles).toHaveLength(54);
    const panels = shippedFiles.flatMap(({ bytes }) => readStep(bytes).panels);
    expect(panels).toHaveLength(328);
    expect(panels.filter(({ trim }) => trim.kind === 'part').length).toBeGreaterThan(100);
  });

  test.each(shippedFiles)('$name', async ({ bytes }) => {
    const found = await comparison(bytes);
    expect(found).toMatchObject(agreement);
    expect(found.panels).toBe(found.faces);
    expect(found.border).toBeLessThanOrEqual(0.02 * (found.inside + found.outside));
  });
});

describe.skipIf(corpusFolder === null)('the corpus', () => {
  test.each(['ship-half.step', 'slim-hull.step'])('%s', async (name) => {
    const found = await comparison(readFileSync(join(corpusFolder!, 'surfaces', name)));
    expect(found).toMatchObject(agreement);
    expect(found.panels).toBe(found.faces);
  });
});

/** Makes what bounds a revolved surface. */
class RevolvedMaker extends StepFacesMaker {
  spot(x: number, y: number, z: number): string {
    return this.add(`VERTEX_POINT('',${this.point(x, y, z)})`);
  }

  use(edge: string, forward: boolean): string {
    return this.add(`ORIENTED_EDGE('',*,*,${edge},.${forward ? 'T' : 'F'}.)`);
  }

  /** The circle round the axis through a vertex at y = 0. */
  round(vertex: string, radius: number, height: number): string {
    const circle = this.add(`CIRCLE('',${this.axes([0, 0, height])},${radius}.)`);
    return this.add(`EDGE_CURVE('',${vertex},${vertex},${circle},.T.)`);
  }

  ruling(from: string, to: string, curve: string): string {
    return this.add(`EDGE_CURVE('',${from},${to},${curve},.T.)`);
  }

  /** A line in space from (x, 0, 0) up. */
  upright(x: number): string {
    const vector = this.add(`VECTOR('',${this.direction(0, 0, 1)},1.)`);
    return this.add(`LINE('',${this.point(x, 0, 0)},${vector})`);
  }
}

type MadeFace = (maker: RevolvedMaker, surface: string) => string;

/** A band between two heights of the tube of radius 40, closed by a seam. */
const banded =
  (seam: (maker: RevolvedMaker, surface: string) => string): MadeFace =>
  (maker, surface) => {
    const [low, high] = [20, 60].map((height) => maker.spot(40, 0, height));
    const [under, over] = [maker.round(low, 40, 20), maker.round(high, 40, 60)];
    const up = maker.ruling(low, high, seam(maker, surface));
    const edges = [
      maker.use(under, true),
      maker.use(up, true),
      maker.use(over, false),
      maker.use(up, false),
    ];
    return maker.boundedFace(surface, [maker.edgeLoop(edges)]);
  };

describe('faces on surfaces that close, made here', () => {
  // (distance from the axis, height)
  const tube = revolvedNet(
    polyline([
      [40, 0],
      [40, 100],
    ]),
  );
  const cone = revolvedNet(
    polyline([
      [0, 0],
      [50, 100],
    ]),
  );
  const round = 2 * Math.PI;

  test.each<[string, ControlNet, MadeFace]>([
    [
      'a seam_curve with both of its pcurves',
      tube,
      banded((m, surface) => {
        const sides = [0, round].map((u) => m.pcurve(surface, m.planeLine([u, 0], [0, 1], 0.01)));
        return m.surfaceCurve(m.upright(40), sides, 'SEAM_CURVE');
      }),
    ],
    [
      'a seam_curve with its pcurves the other way round',
      tube,
      banded((m, surface) => {
        const sides = [round, 0].map((u) => m.pcurve(surface, m.planeLine([u, 0], [0, 1], 0.01)));
        return m.surfaceCurve(m.upright(40), sides, 'SEAM_CURVE');
      }),
    ],
    ['a seam in space alone', tube, banded((m) => m.upright(40))],
    [
      'a band between two circles, without a seam: a face with two bounds',
      tube,
      (m, surface) => {
        const loops = [20, 60].map((height, k) =>
          m.edgeLoop([m.use(m.round(m.spot(40, 0, height), 40, height), k === 0)]),
        );
        return m.boundedFace(surface, loops);
      },
    ],
    [
      'a cone to its apex: a circle and a vertex_loop',
      cone,
      (m, surface) => {
        const base = m.edgeLoop([m.use(m.round(m.spot(30, 0, 60), 30, 60), false)]);
        return m.boundedFace(surface, [base, m.add(`VERTEX_LOOP('',${m.spot(0, 0, 0)})`)]);
      },
    ],
  ])('%s', async (_, net, make) => {
    const maker = new RevolvedMaker();
    const surface = maker.rationalSurface(net);
    const shell = maker.add(`OPEN_SHELL('',(${make(maker, surface)}))`);
    const model = maker.add(`SHELL_BASED_SURFACE_MODEL('',(${shell}))`);
    const shape = maker.add(
      `MANIFOLD_SURFACE_SHAPE_REPRESENTATION('',(${model}),${maker.context()})`,
    );
    maker.shapeOf(maker.product('tube'), shape);
    const found = await comparison(maker.file());
    expect(found).toMatchObject(agreement);
    expect([found.panels, found.faces, found.whole]).toEqual([1, 1, 0]);
    expect(Math.min(found.inside, found.outside)).toBeGreaterThan(100);
  });
});

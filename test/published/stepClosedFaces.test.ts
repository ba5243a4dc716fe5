// Faces on surfaces that close, made here: a general geometry kernel (opencascade.js, LGPL) says what is kept.
import init from 'opencascade.js/dist/node.js';
import type { OpenCascadeInstance } from 'opencascade.js/dist/opencascade.full.js';
import { beforeAll, describe, expect, test } from 'vitest';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { diagonal, type ControlNet } from '../../src/geometry/controlNet.ts';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import { domain } from '../../src/geometry/knots.ts';
import { polyline } from '../../src/geometry/splineCurve.ts';
import { trimTest } from '../../src/geometry/trimTest.ts';
import { distance } from '../../src/geometry/vector.ts';
import { readStep } from '../../src/intake/step/readStep.ts';
import { revolvedNet } from '../geometry/revolvedNet.ts';
import { StepFacesMaker } from '../intake/stepFaces.ts';
import { kernelFaces } from './trimmedFaces.ts';

let oc: OpenCascadeInstance;
beforeAll(async () => {
  oc = await (init as unknown as (options: object) => Promise<OpenCascadeInstance>)({
    module: { print: () => undefined, printErr: () => undefined },
  });
}, 60_000);

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

describe('faces on surfaces that close', () => {
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
  ])('%s', (_, net, make) => {
    const maker = new RevolvedMaker();
    const surface = maker.rationalSurface(net);
    const shell = maker.add(`OPEN_SHELL('',(${make(maker, surface)}))`);
    const model = maker.add(`SHELL_BASED_SURFACE_MODEL('',(${shell}))`);
    const shape = maker.add(
      `MANIFOLD_SURFACE_SHAPE_REPRESENTATION('',(${model}),${maker.context()})`,
    );
    maker.shapeOf(maker.product('tube'), shape);
    const bytes = maker.file();
    const { panels, faults, notices } = readStep(bytes);
    expect({ faults, notices }).toEqual({ faults: [], notices: [] });
    const faces = kernelFaces(oc, bytes, 'step');
    expect([panels.length, faces.length]).toEqual([1, 1]);
    const [{ net: own, trim }] = panels;
    if (trim.kind !== 'part') throw new Error(`the trim is ${trim.kind}`);
    const side = trimTest(own, trim.region);
    const random = seededRandom(3);
    const [us, vs] = [0, 1].map((k) => domain(own.knots[k], own.degree[k]));
    const counts = { inside: 0, outside: 0, border: 0 };
    for (let k = 0; k < 500; k++) {
      const at = [random.between(us[0], us[1]), random.between(vs[0], vs[1])] as const;
      const apart = distance(surfacePoint(own, ...at), faces[0].evaluate(...at));
      expect(apart).toBeLessThan(1e-9 * diagonal(own));
      const ours = side(...at);
      counts[ours] += 1;
      if (ours !== 'border') expect(faces[0].side(...at, 0)).toBe(ours === 'inside' ? 'in' : 'out');
    }
    expect(Math.min(counts.inside, counts.outside)).toBeGreaterThan(100);
    expect(counts.border).toBeLessThan(10);
  });
});

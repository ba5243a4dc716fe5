// A general geometry kernel (opencascade.js, LGPL) as the judge of trims: it says which parameters of
// the faces of a file are kept, of files that it wrote itself and of files made here.
import type { OpenCascadeInstance } from 'opencascade.js/dist/opencascade.full.js';
import { beforeAll, describe, expect, test } from 'vitest';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import type { ControlNet } from '../../src/geometry/controlNet.ts';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import { domain } from '../../src/geometry/knots.ts';
import { distance } from '../../src/geometry/vector.ts';
import { readIges } from '../../src/intake/iges/readIges.ts';
import type { Panel } from '../../src/intake/panel.ts';
import { corpusBytes, corpusFolder } from '../corpus.ts';
import { insideLoops } from '../insideLoops.ts';
import { igesFile, pointer, surface, type MadeEntity } from '../intake/igesFile.ts';
import { loaded } from './oracleKernel.ts';
import {
  kernelFaces,
  kernelIges,
  type KernelFace,
  type MadeSheet,
  type Pair,
  type PlaneCurve,
} from './trimmedFaces.ts';

const real = (value: number): string => (Number.isInteger(value) ? `${value}.` : `${value}`);

let oc: OpenCascadeInstance;
beforeAll(async () => {
  oc = await loaded();
}, 60_000);

const ranges = (net: ControlNet): [Pair, Pair] => [
  domain(net.knots[0], net.degree[0]),
  domain(net.knots[1], net.degree[1]),
];

/** 500 seeded parameters; those near the border are left out, which are few. Returns how many are kept. */
function expectAgreement({ net, trim }: Panel, face: KernelFace, least = 400): number {
  if (trim.kind !== 'part') throw new Error(`the trim is ${trim.kind}`);
  const random = seededRandom(144);
  const kept = insideLoops(trim.region);
  const [u, v] = ranges(net);
  const near = 2e-3 * Math.min(u[1] - u[0], v[1] - v[0]);
  let told = 0;
  let inside = 0;
  for (let k = 0; k < 500; k++) {
    const at = [random.between(...u), random.between(...v)] as const;
    const side = face.side(...at, near);
    if (side === 'border') continue;
    expect([...at, kept(...at) ? 'in' : 'out']).toEqual([...at, side]);
    told++;
    if (side === 'in') inside++;
  }
  expect(told).toBeGreaterThan(least);
  return inside;
}

/** Largest distance at equal parameters inside the face's own ranges. */
const departure = (net: ControlNet, face: KernelFace): number => {
  const random = seededRandom(128);
  const [u, v] = face.ranges;
  return Math.max(
    ...Array.from({ length: 30 }, () => {
      const at = [random.between(...u), random.between(...v)] as const;
      return distance(surfacePoint(net, ...at), face.evaluate(...at));
    }),
  );
};

const sheet: MadeSheet = {
  ranges: [
    [2, 5],
    [-1, 0.5],
  ],
  columns: 6,
  rows: 7,
  point: (i, j) => [200 * i, 120 * j, 40 * Math.sin(i + 1) * Math.cos(j + 1)],
};
/** From the unit square to the sheet's own parameters. */
const to = ([x, y]: Pair): Pair => [2 + 3 * x, -1 + 1.5 * y];
const polygon = (...corners: Pair[]): PlaneCurve[] =>
  corners.map((corner, k) => ({
    kind: 'line',
    from: to(corner),
    to: to(corners[(k + 1) % corners.length]),
  }));
const ellipse = (centre: Pair, large: number, small: number): PlaneCurve[] => [
  { kind: 'ellipse', centre: to(centre), large, small, from: 0, to: 2 * Math.PI },
];
const quad = polygon([0.1, 0.1], [0.9, 0.15], [0.8, 0.9], [0.15, 0.85]);
const edges = polygon([0, 0], [1, 0], [1, 1], [0, 1]);
const arcs = (centre: Pair, radius: number): PlaneCurve[] =>
  [0, 2.5, 4].map((from, k) => ({
    kind: 'ellipse',
    centre: to(centre),
    large: radius,
    small: radius,
    from,
    to: [2.5, 4, 2 * Math.PI][k],
  }));
const bean: PlaneCurve[] = [
  {
    kind: 'spline',
    points: (
      [
        [0.2, 0.5],
        [0.2, 0.1],
        [0.7, 0.05],
        [0.95, 0.5],
        [0.6, 0.6],
        [0.5, 0.95],
        [0.2, 0.9],
        [0.2, 0.5],
      ] as const
    ).map(to),
  },
];

const faces: [string, readonly (readonly PlaneCurve[])[]][] = [
  ['lines', [quad]],
  ['lines and a circle as hole', [quad, ellipse([0.5, 0.5], 0.3, 0.3)]],
  ['the edges of the surface and a hole of three arcs', [edges, arcs([0.4, 0.6], 0.35)]],
  [
    'an ellipse and two holes',
    [ellipse([0.5, 0.5], 1.4, 0.6), ellipse([0.35, 0.5], 0.3, 0.2), ellipse([0.7, 0.5], 0.2, 0.2)],
  ],
  ['a spline', [bean]],
  ['a spline and a hole of three arcs', [bean, arcs([0.4, 0.4], 0.2)]],
];

describe.each(['trimmed surface', 'face of loops'] as const)(
  'written by the kernel as %s',
  (as) => {
    test.each(faces)('%s', (_, loops) => {
      const bytes = kernelIges(oc, sheet, loops, as, 'MM', true);
      const intake = readIges(bytes);
      expect(intake.faults).toEqual([]);
      expect(intake.notices).toEqual([]);
      const [face, ...others] = kernelFaces(oc, bytes);
      expect(others).toEqual([]);
      expect(intake.panels).toHaveLength(1);
      expect(departure(intake.panels[0].net, face)).toBeLessThan(1e-6);
      const inside = expectAgreement(intake.panels[0], face);
      expect(inside).toBeGreaterThan(100);
      expect(inside).toBeLessThan(460);
    });
    test.each(faces)('%s, by curves in space only', (_, loops) => {
      const bytes = kernelIges(oc, sheet, loops, as, 'INCH', false);
      const intake = readIges(bytes);
      expect(intake.notices).toEqual([]);
      expectAgreement(intake.panels[0], kernelFaces(oc, bytes)[0]);
    });
    test('in inches', () => {
      const bytes = kernelIges(oc, sheet, faces[1][1], as, 'INCH', true);
      const { panels, notices } = readIges(bytes);
      expect(notices).toEqual([]);
      expectAgreement(panels[0], kernelFaces(oc, bytes)[0]);
    });
  },
);

/** Files made here by the standard's text, entity 1 the surface over [0, 1] x [0, 1]. */
const line = (from: Pair, end: Pair): MadeEntity => ({
  type: 110,
  fields: [...from, 0, ...end, 0].map(real),
});
const onSurface = (plane: number): MadeEntity => ({
  type: 142,
  fields: [0, pointer(1), pointer(plane), 0, 1],
});
const cut = (outer: number, ...inner: number[]): MadeEntity => ({
  type: 144,
  fields: [pointer(1), 1, inner.length, pointer(outer), ...inner.map(pointer)],
});
const composite = (...members: number[]): MadeEntity => ({
  type: 102,
  fields: [members.length, ...members.map(pointer)],
});

describe('made here, read by both', () => {
  test.each<[string, MadeEntity[]]>([
    [
      'a parabola and a line (104 form 3, 102)',
      [
        // y^2 = x; of x^2 = y this kernel makes another curve, which does not satisfy the equation
        { type: 104, form: 3, fields: [0, 0, 1, -1, 0, 0, 0, 0, 0, 1, 1].map(real) },
        line([1, 1], [0, 0]),
        composite(2, 3),
        onSurface(4),
        cut(5),
      ],
    ],
    [
      'a hyperbola and lines (104 form 2)',
      [
        // x^2 - y^2 = 0.04, turned and moved by its matrix: the standard's own position
        {
          type: 104,
          form: 2,
          fields: [1, 0, -1, 0, 0, -0.04, 0, Math.sqrt(0.13), -0.3, Math.sqrt(0.13), 0.3].map(real),
          matrix: 3,
        },
        { type: 124, fields: [0, -1, 0, 0.5, 1, 0, 0, 0.1, 0, 0, 1, 0].map(real) },
        line([0.2, 0.1 + Math.sqrt(0.13)], [0.8, 0.1 + Math.sqrt(0.13)]),
        composite(2, 4),
        onSurface(5),
        cut(6),
      ],
    ],
    [
      'half an ellipse counterclockwise and a line (104 form 1)',
      [
        {
          type: 104,
          form: 1,
          fields: [4, 0, 25, 0, 0, -1, 0, 0.5, 0, -0.5, 0].map(real),
          matrix: 3,
        },
        { type: 124, fields: [1, 0, 0, 0.5, 0, 1, 0, 0.5, 0, 0, 1, 0].map(real) },
        line([0, 0.5], [1, 0.5]),
        composite(2, 4),
        onSurface(5),
        cut(6),
      ],
    ],
    [
      'points in a row (106 form 12)',
      [
        {
          type: 106,
          form: 12,
          fields: [2, 4, ...[0.2, 0.2, 0, 0.9, 0.3, 0, 0.4, 0.8, 0, 0.2, 0.2, 0].map(real)],
        },
        onSurface(2),
        cut(3),
      ],
    ],
    [
      'a parametric spline (112) and a line',
      [
        {
          type: 112,
          fields: [3, 1, 2, 2, '0.', '0.5', '1.']
            .map(String)
            .concat([0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0].map(real))
            .concat([0.5, 1, 0, 0, 0.25, 1, 1, 0, 0, 0, 0, 0].map(real))
            .concat([1, 1, 0, 0, 1, 2, 2, 0, 0, 0, 0, 0].map(real)),
        },
        line([1, 1], [0, 0]),
        composite(2, 3),
        onSurface(4),
        cut(5),
      ],
    ],
    [
      'an arc of three quarters as outer border, a circle as hole (100)',
      [
        { type: 100, fields: [0, 0.5, 0.5, 0.9, 0.5, 0.5, 0.1].map(real) },
        line([0.5, 0.1], [0.9, 0.5]),
        composite(2, 3),
        onSurface(4),
        { type: 100, fields: [0, 0.4, 0.6, 0.5, 0.6, 0.5, 0.6].map(real) },
        onSurface(6),
        cut(5, 7),
      ],
    ],
  ])('%s', (_, rest) => {
    const bytes = igesFile([surface(), ...rest]);
    const intake = readIges(bytes);
    expect(intake.faults).toEqual([]);
    expect(intake.notices).toEqual([]);
    const all = kernelFaces(oc, bytes);
    expect(all).toHaveLength(1);
    expect(departure(intake.panels[0].net, all[0])).toBeLessThan(1e-9);
    const inside = expectAgreement(intake.panels[0], all[0]);
    expect(inside).toBeGreaterThan(25);
    expect(inside).toBeLessThan(475);
  });

  test('a parametric spline surface of 2 x 2 patches (114)', () => {
    // patches of x = u, y = v, z = a bicubic of its own about its corner, continuous along the joins
    const height = (i: number, j: number): number[] => {
      const powers = Array.from({ length: 16 }, () => 0);
      const [a, b] = [i === 0 ? 0 : 0.7, j === 0 ? 0 : 1.1];
      // z = u^3 v^2 - 2 u v^3 + u + max(u - 0.7, 0)^3 about (a, b)
      const put = (s: number, t: number, value: number) => (powers[4 * t + s] += value);
      const choose = [[1], [1, 1], [1, 2, 1], [1, 3, 3, 1]];
      const add = (m: number, n: number, factor: number): void => {
        for (let s = 0; s <= m; s++)
          for (let t = 0; t <= n; t++)
            put(s, t, factor * choose[m][s] * a ** (m - s) * choose[n][t] * b ** (n - t));
      };
      add(3, 2, 1);
      add(1, 3, -2);
      add(1, 0, 1);
      if (i === 1) put(3, 0, 1);
      return powers;
    };
    const patch = (i: number, j: number): string[] => {
      const x = Array.from({ length: 16 }, (_, k) => (k === 0 ? [0, 0.7][i] : k === 1 ? 1 : 0));
      const y = Array.from({ length: 16 }, (_, k) => (k === 0 ? [0, 1.1][j] : k === 4 ? 1 : 0));
      return [...x, ...y, ...height(i, j)].map((value) => value.toExponential(17));
    };
    const none = Array.from({ length: 48 }, () => '0.');
    const bytes = igesFile([
      {
        type: 114,
        fields: [3, 1, 2, 2, '0.', '0.7', '1.5', '0.', '1.1', '2.']
          .map(String)
          .concat(patch(0, 0), patch(0, 1), none, patch(1, 0), patch(1, 1), none, none, none, none),
      },
    ]);
    const { panels, faults } = readIges(bytes);
    expect(faults).toEqual([]);
    expect(panels).toHaveLength(1);
    const [face] = kernelFaces(oc, bytes);
    expect(departure(panels[0].net, face)).toBeLessThan(1e-12);
    // C2 at u = 0.7 (a cubic's third derivative jumps), and one polynomial across v = 1.1
    expect(panels[0].net.knots.map((knots) => Array.from(knots))).toEqual([
      [0, 0, 0, 0, 0.7, 1.5, 1.5, 1.5, 1.5],
      [0, 0, 0, 0, 1.1, 2, 2, 2, 2],
    ]);
  });
});

describe.skipIf(corpusFolder === null)('files of others', () => {
  test.each([
    ['wing-metre.iges', 4],
    ['airliner-wing.igs', 6],
    ['ship-bow.iges', 1],
    ['ship-half.iges', 3],
    ['slim-hull.iges', 1],
  ])('surfaces/%s', (name, count) => {
    const bytes = corpusBytes(`surfaces/${name}`);
    const { panels } = readIges(bytes);
    expect(panels).toHaveLength(count);
    const all = kernelFaces(oc, bytes);
    for (const panel of panels) {
      const own = all.filter((face) => departure(panel.net, face) < 1e-6);
      expect(own).toHaveLength(1);
      expectAgreement(panel, own[0], 300);
    }
  });
});

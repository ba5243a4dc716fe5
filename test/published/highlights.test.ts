// Highlight lines: Beier & Chen, CAD 26 (1994) 268-277, as given by Patrikalakis, Maekawa, Cho, Shape
// Interrogation, section 8.1.2; isophotes: Poeschl, CAGD 1 (1984) 163-168. What is compared with is
// worked out from the closed forms of cylinder, sphere and parabolic panels.
import { describe, expect, test } from 'vitest';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import type { ControlNet } from '../../src/geometry/controlNet.ts';
import { surfaceJet, surfaceNormal } from '../../src/geometry/evaluation.ts';
import { placedNet } from '../../src/geometry/placement.ts';
import { ellipseArc } from '../../src/geometry/splineCurve.ts';
import { dot, unit, type Vector } from '../../src/geometry/vector.ts';
import { highlightKinks } from '../../src/measure/highlightKinks.ts';
import { lightTracer, type HighlightLine } from '../../src/measure/highlightLines.ts';
import { highlightWiggles } from '../../src/measure/highlightWiggles.ts';
import { highlightDistance, lightValue, type Light } from '../../src/measure/lights.ts';
import { revolvedNet, sphere } from '../geometry/revolvedNet.ts';

const degrees = (radians: number): number => (radians * 180) / Math.PI;
const above = { up: [0, 0, 1], sign: 1 } as const;

const traced = (
  net: ControlNet,
  light: Light,
  side: { up: Vector; sign: 1 | -1 } = above,
): HighlightLine[] => lightTracer(net, side, null)!(light, 0);

describe('highlight distance on a cylinder of radius 500 about y', () => {
  const place = (f: number): [Vector, Vector] => [
    [500 * Math.sin(f), 37, 500 * Math.cos(f)],
    [Math.sin(f), 0, Math.cos(f)],
  ];
  const along: Light = { kind: 'line', through: [200, 0, 2000], along: [0, 1, 0] };
  const across: Light = { kind: 'line', through: [0, 100, 2000], along: [1, 0, 0] };

  test.each([
    [0, 200],
    [0.1, 0.666000238],
    [0.3, 399.973115498],
  ])('a light along it: at %d rad %d mm', (f, wanted) => {
    expect(Math.abs(Math.abs(highlightDistance(along, ...place(f))!) - wanted)).toBeLessThan(1e-9);
  });

  test('a light across it: 63 mm everywhere; none where the light runs along the normal', () => {
    for (const f of [-0.4, 0, 0.1, 0.7])
      expect(Math.abs(highlightDistance(across, ...place(f))!)).toBeCloseTo(63, 9);
    expect(highlightDistance({ through: [0, 0, 0], along: [0, 0, 1] }, ...place(0))).toBeNull();
  });

  test('the highlight line of the first lies at tan f = 0.1, whatever the radius', () => {
    for (const radius of [80, 500, 3000]) {
      const arc = ellipseArc([0, 0], [0, radius], [radius, 0], -1, 1);
      const columns = arc.points.length / 2;
      const net: ControlNet = {
        degree: [arc.degree, 1],
        knots: [arc.knots, clampedKnots(1)],
        columns,
        rows: 2,
        points: Float64Array.from(
          [0, 300].flatMap((y) =>
            Array.from({ length: columns }, (_, k) => [
              arc.points[2 * k],
              y,
              arc.points[2 * k + 1],
            ]).flat(),
          ),
        ),
        weights: arc.weights && Float64Array.from([...arc.weights, ...arc.weights]),
      };
      const lines = traced(net, along);
      expect(lines.length).toBe(1);
      for (const { point } of lines[0].places)
        expect(Math.abs(Math.atan2(point[0], point[2]) - 0.099668652)).toBeLessThan(1e-9);
      expect(lines[0].places.at(-1)!.way).toBeCloseTo(300, 9);
    }
  });
});

test('every traced place of 60 lights on a rational torus is on its highlight line or isophote', () => {
  const torus = revolvedNet(ellipseArc([300, 0], [80, 0], [0, 80], 0, 2 * Math.PI));
  const random = seededRandom(7);
  const direction = (): Vector => unit([random.normal(), random.normal(), random.normal()])!;
  let places = 0;
  for (let k = 0; k < 60; k++) {
    const light: Light =
      k % 2 === 0
        ? {
            kind: 'line',
            through: [900 * random.normal(), 900 * random.normal(), 2000],
            along: direction(),
          }
        : { kind: 'parallel', toward: direction(), cosine: random.between(0.1, 0.95) };
    for (const sign of [1, -1] as const)
      for (const line of traced(torus, light, { up: [0, 0, 1], sign }))
        for (const { at } of line.places) {
          const jet = surfaceJet(torus, at[0], at[1]);
          const normal = surfaceNormal(jet)!;
          places += 1;
          if (light.kind === 'line')
            expect(Math.abs(highlightDistance(light, jet.point, normal)!)).toBeLessThan(1e-6);
          else
            expect(Math.abs(Math.abs(dot(normal, light.toward)) - light.cosine)).toBeLessThan(1e-9);
        }
  }
  expect(places).toBeGreaterThan(2000);
});

test('round a ring of equal slope on a sphere the line turns by 2 pi cos(angle) within it (Gauss and Bonnet)', () => {
  const up: Vector = unit([0.3, -0.5, 0.8])!;
  for (const angle of [0.2, 0.45, 1.1]) {
    const lines = traced(
      sphere(250),
      { kind: 'parallel', toward: up, cosine: Math.cos(angle) },
      { up, sign: 1 },
    );
    expect(lines.length).toBe(1);
    const [{ places, isClosed }] = lines;
    expect(isClosed).toBe(true);
    expect(Math.abs(places.at(-1)!.heading) / (2 * Math.PI * Math.cos(angle))).toBeCloseTo(1, 3);
    expect(places.at(-1)!.way / (2 * Math.PI * 250 * Math.sin(angle))).toBeCloseTo(1, 3);
    expect(highlightWiggles(sphere(250), lines).every(({ swing }) => swing < 1e-3)).toBe(true);
  }
});

/** z = -(k x^2 + 0.0005 y^2) / 2 with k = `before` where x < 0 and `after` where x > 0, over 400 x 400 mm. */
const joined = (before: number, after: number): ControlNet =>
  fittedNet([2, 2], [clampedKnots(2, 2), clampedKnots(2)], (u, v) => {
    const [x, y] = [400 * u - 200, 400 * v - 200];
    return [x, y, -((x < 0 ? before : after) * x * x + 0.0005 * y * y) / 2];
  });

/** The isophote through the origin of a light that leans as much along x as along y. */
const leaning: Light = { kind: 'parallel', toward: unit([1, 1, 3])!, cosine: 3 / Math.sqrt(11) };

describe('across a join with a common tangent', () => {
  test.each([
    [0.001, -63.43495],
    [0.00101, -63.66231],
    [0.0011, -65.55605],
    [0.002, -75.96376],
  ])('of curvature %d the isophote runs at %d degrees', (k, wanted) => {
    const { u, v } = lightValue(leaning, surfaceJet(joined(k, k), 0.5, 0.5))!;
    // across is x, along the edge is y: the direction (-f_y, f_x) in both
    expect(degrees(Math.atan(-u / v))).toBeCloseTo(wanted, 5);
  });

  test('the line kinks by the difference of the two directions, and is thrown off by it', () => {
    const net = joined(0.001, 0.0011);
    const kinks = highlightKinks(net, traced(net, leaning));
    expect(kinks.length).toBe(1);
    const [{ order, side, knot, angle, place }] = kinks;
    expect([order, side, knot.value]).toEqual([1, 0, 0.5]);
    expect(degrees(angle)).toBeCloseTo(65.55605 - 63.43495, 4);
    for (const coordinate of place.point) expect(Math.abs(coordinate)).toBeLessThan(1e-6);
  });

  test.each([
    [0.01, 0.285],
    [0.05, 1.398],
    [0.1, 2.729],
    [0.2, 5.216],
  ])('a relative curvature jump of %d kinks lines by %d degrees at worst', (r, wanted) => {
    const net = joined(0.001, 0.001 * (1 + r));
    const worst = Array.from({ length: 90 }, (_, k) => {
      const turn = ((k + 0.5) * Math.PI) / 90;
      const toward = unit([Math.cos(turn), Math.sin(turn), 3])!;
      const kinks = highlightKinks(
        net,
        traced(net, { kind: 'parallel', toward, cosine: toward[2] }),
      );
      return Math.max(
        0,
        ...kinks
          .filter(({ place }) => Math.hypot(...place.point) < 1e-6)
          .map(({ angle }) => degrees(angle)),
      );
    });
    // the closed form of the worst holds for equal curvature along and across: here 0.0005 and 0.001
    expect(Math.max(...worst) / wanted).toBeGreaterThan(0.98);
    expect(Math.max(...worst) / wanted).toBeLessThan(1.01);
  });

  test('a join of continuous curvature does not kink, one of continuous tangents does', () => {
    const shape =
      (power: number) =>
      (u: number, v: number): Vector => [
        800 * u,
        500 * v,
        -150 * (u - 0.4) ** 2 - 90 * (v - 0.5) ** 2 - 60 * Math.max(0, u - 0.5) ** power,
      ];
    const knots = [clampedKnots(4, [0.5, 0.5, 0.5]), clampedKnots(3)] as const;
    const largest = (net: ControlNet): number => {
      const lights = [-300, 0, 300].flatMap((at): Light[] => [
        { kind: 'line', through: [at, 0, 1500], along: [0.3, 1, 0] },
        { kind: 'line', through: [400, at, 1500], along: [1, 0.6, 0] },
      ]);
      return Math.max(
        ...highlightKinks(
          net,
          lights.flatMap((light) => traced(net, light)),
        ).map(({ angle }) => degrees(angle)),
      );
    };
    expect(largest(fittedNet([4, 3], knots, shape(2)))).toBeGreaterThan(1);
    expect(largest(fittedNet([4, 3], knots, shape(3)))).toBeLessThan(1e-6);
  });
});

/** Half of a parabolic panel of radius R across the edge x = 0, 200 mm wide or less, x > 0. */
const half = (radius: number): ControlNet =>
  fittedNet([2, 1], [clampedKnots(2), clampedKnots(1)], (u, v) => {
    const x = Math.min(200, radius / 4) * u;
    return [x, 200 * v, -(x * x) / (2 * radius)];
  });

/** Turned about the edge. */
const tilted = (net: ControlNet, by: number): ControlNet =>
  placedNet(net, {
    rotation: [
      [Math.cos(by), 0, Math.sin(by)],
      [0, 1, 0],
      [-Math.sin(by), 0, Math.cos(by)],
    ],
    shift: [0, 0, 0],
  });

describe('a break of 0.1 degrees between two panels', () => {
  const angle = (0.1 * Math.PI) / 180;
  const edgeward = (net: ControlNet, light: Light): number => {
    const lines = traced(net, light);
    expect(lines.length).toBe(1);
    return lines[0].places[0].point[0];
  };

  test.each([
    [500, 0.87],
    [2000, 3.49],
    [10000, 17.5],
  ])('moves an isophote beside it by angle times radius: R %d, %d mm', (radius, wanted) => {
    const lean = 40 / radius;
    const light: Light = {
      kind: 'parallel',
      toward: unit([-1, 0, 2])!,
      cosine: Math.cos(Math.atan2(1, 2) + lean),
    };
    const [plain, other] = [half(radius), tilted(half(radius), angle)].map((net) =>
      edgeward(net, light),
    );
    expect(Math.abs(Math.abs(plain - other) / wanted - 1)).toBeLessThan(0.05);
  });

  test.each([500, 2000, 10000])(
    'moves the highlight line of a light at a height h by angle over (1 / R + 1 / h): R %d',
    (radius) => {
      for (const height of [1000, 4000, 100 * radius]) {
        const light: Light = {
          kind: 'line',
          through: [40 + (height * 40) / radius, 0, height],
          along: [0, 1, 0],
        };
        const [plain, other] = [half(radius), tilted(half(radius), angle)].map((net) =>
          edgeward(net, light),
        );
        const wanted = angle / (1 / radius + 1 / height);
        expect(Math.abs(Math.abs(plain - other) / wanted - 1)).toBeLessThan(0.05);
      }
    },
  );

  test('inside one panel a line that crosses it jumps, and by so much', () => {
    const bent = (u: number, v: number): Vector => {
      const [x, y] = [400 * u - 200, 400 * v - 200];
      return [x, y, -0.0005 * x * x - 0.0002 * y * y - Math.max(0, x) * Math.tan(angle)];
    };
    const net = fittedNet([2, 2], [clampedKnots(2, [0.5, 0.5]), clampedKnots(2)], bent);
    const lines = traced(net, leaning);
    const ends = lines
      .flatMap(({ places }) => [places[0], places.at(-1)!])
      .filter(({ at }) => at[0] === 0.5);
    expect(ends.length).toBe(2);
    const jumps = highlightKinks(net, lines);
    expect(jumps.map(({ order }) => order)).toEqual([0, 0]);
    // along the edge the line is taken up again where the normal's lean along it makes the break good
    const apart = Math.abs(ends[0].point[1] - ends[1].point[1]);
    expect(Math.abs(apart / (angle / 0.0004) - 1)).toBeLessThan(0.05);
    // told is the shortest way: square to the line, which runs at atan(k_s / k_t) to the edge
    for (const { shift } of jumps)
      expect(Math.abs(shift / (apart * Math.sin(Math.atan(0.4))) - 1)).toBeLessThan(0.05);
  });
});

describe('wiggles', () => {
  const wavy =
    (height: number) =>
    (u: number, v: number): Vector => [
      1000 * u,
      600 * v,
      -120 * (u - 0.5) ** 2 -
        90 * (v - 0.5) ** 2 +
        height * u ** 2 * (1 - u) ** 2 * (u - 0.5) * (v - 0.3),
    ];
  const lights: Light[] = [100, 300, 500].map((at) => ({
    kind: 'line',
    through: [500, at, 1800],
    along: [1, 0.4, 0],
  }));
  const swings = (net: ControlNet): number[] =>
    highlightWiggles(
      net,
      lights.flatMap((light) => traced(net, light)),
    ).map(({ swing }) => degrees(swing));

  test('measure the same however many patches, and so places, a surface is traced in', () => {
    const one = fittedNet([5, 3], [clampedKnots(5), clampedKnots(3)], wavy(900));
    const many = fittedNet([5, 3], [clampedKnots(5, 7), clampedKnots(3, 5)], wavy(900));
    const [a, b] = [one, many].map((net) =>
      swings(net)
        .filter((swing) => swing > 0.1)
        .sort((x, y) => x - y),
    );
    expect(a.length).toBeGreaterThan(2);
    expect(b.length).toBe(a.length);
    a.forEach((swing, k) => expect(Math.abs(b[k] / swing - 1)).toBeLessThan(0.02));
  });

  test('a panel of second degree has none', () => {
    const parabolic = fittedNet([2, 2], [clampedKnots(2), clampedKnots(2)], wavy(0));
    for (const swing of swings(parabolic)) expect(swing).toBeLessThan(0.01);
  });
});

// Curvature against closed forms of surfaces that nets hold exactly, and against a general geometry
// kernel (opencascade.js, LGPL) on nets of others.
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { randomNet } from '../../fixtures/randomNet.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { diagonal, reversed, transposed, type ControlNet } from '../../src/geometry/controlNet.ts';
import { surfaceJet, surfaceNormal } from '../../src/geometry/evaluation.ts';
import { domain } from '../../src/geometry/knots.ts';
import { axisPlacement, placedNet, placedVector } from '../../src/geometry/placement.ts';
import { ellipseArc, polyline } from '../../src/geometry/splineCurve.ts';
import {
  curvatureAt,
  normalCurvature,
  parameterDirection,
  surfaceCurvature,
  type SurfaceCurvature,
} from '../../src/geometry/surfaceCurvature.ts';
import {
  angleBetween,
  distance,
  dot,
  scaled,
  sum,
  type Vector,
} from '../../src/geometry/vector.ts';
import { readNetJson } from '../../src/intake/netJson/readNetJson.ts';
import { readSurfaces } from '../../src/intake/readSurfaces.ts';
import { corpusBytes, corpusFolder } from '../corpus.ts';
import { bendScale } from '../geometry/bendScale.ts';
import { revolvedNet, sphere } from '../geometry/revolvedNet.ts';
import { kernelBend } from './oracleKernel.ts';

const bezierKnots = (degree: number): Float64Array =>
  Float64Array.from({ length: 2 * degree + 2 }, (_, k) => (k > degree ? 1 : 0));

/** A polynomial graph z = f(x, y) from its control heights; x and y rise evenly over [low, high]. */
function graph(
  x: { readonly degree: number; readonly low: number; readonly high: number },
  y: { readonly degree: number; readonly low: number; readonly high: number },
  height: (column: number, row: number) => number,
): ControlNet {
  const [columns, rows] = [x.degree + 1, y.degree + 1];
  const points = Array.from({ length: rows * columns }, (_, at) => {
    const [column, row] = [at % columns, Math.floor(at / columns)];
    return [
      x.low + ((x.high - x.low) * column) / x.degree,
      y.low + ((y.high - y.low) * row) / y.degree,
      height(column, row),
    ];
  });
  return {
    degree: [x.degree, y.degree],
    knots: [bezierKnots(x.degree), bezierKnots(y.degree)],
    columns,
    rows,
    points: Float64Array.from(points.flat()),
    weights: null,
  };
}

/** Curvature of such a graph at a place, not a parameter. */
function graphCurvature(net: ControlNet, x: number, y: number): SurfaceCurvature {
  const last = net.points.length - 3;
  const [u, v] = [x, y].map((value, axis) => {
    const [low, high] = [net.points[axis], net.points[last + axis]];
    return (value - low) / (high - low);
  });
  return curvatureAt(net, u, v)!;
}

describe('closed forms of graphs that small nets hold exactly (any textbook on differential geometry)', () => {
  const unitSide = (degree: number) => ({ degree, low: 0, high: 1 });
  const wholeSide = (degree: number) => ({ degree, low: -1, high: 1 });
  const square = [1, -1, 1];
  const saddle = graph(unitSide(1), unitSide(1), (i, j) => i * j);
  const bowl = graph(wholeSide(2), wholeSide(2), (i, j) => (square[i] + square[j]) / 2);
  const pass = graph(wholeSide(2), wholeSide(2), (i, j) => (square[i] - square[j]) / 2);
  const gutter = graph(wholeSide(2), wholeSide(1), (i) => square[i] / 2);
  // x^3 - 3 x y^2 on [-1, 1]: x^3 has control heights -1, 1, -1, 1; x has -1, -1/3, 1/3, 1
  const monkey = graph(
    wholeSide(3),
    wholeSide(2),
    (i, j) => [-1, 1, -1, 1][i] - 3 * [-1, -1 / 3, 1 / 3, 1][i] * square[j],
  );

  // tables of values, computed from the closed forms outside this project
  test.each([
    ['z = xy', 0, 0, saddle, -1, 0],
    ['z = xy', 1, 0, saddle, -1 / 4, 0],
    ['z = xy', 0.5, 0.5, saddle, -0.444444444, -0.136082763],
    ['z = xy', 1, 1, saddle, -1 / 9, -0.19245009],
    ['z = (x^2 + y^2) / 2', 0, 0, bowl, 1, 1],
    ['z = (x^2 + y^2) / 2', 1, 0, bowl, 0.25, 0.530330086],
    ['z = (x^2 + y^2) / 2', 0.5, 0.5, bowl, 0.444444444, 0.680413817],
    ['z = (x^2 + y^2) / 2', 1, 1, bowl, 0.111111111, 0.384900179],
    ['z = (x^2 - y^2) / 2', 1, 0, pass, -0.25, -0.176776695],
    ['z = (x^2 - y^2) / 2', 1, 1, pass, -0.111111111, 0],
    ['z = x^2 / 2', 0, 0.3, gutter, 0, 0.5],
    ['z = x^2 / 2', 0.5, -0.3, gutter, 0, 0.357770876],
    ['z = x^2 / 2', 1, 1, gutter, 0, 0.176776695],
    ['z = x^3 - 3xy^2', 0, 0, monkey, 0, 0],
    ['z = x^3 - 3xy^2', 1, 0, monkey, -0.36, -0.853814968],
    ['z = x^3 - 3xy^2', 0.5, 0.5, monkey, -1.704142012, 0.576034819],
    ['z = x^3 - 3xy^2', 1, 1, monkey, -0.052593134, 0.479867314],
  ])('%s at (%d, %d), to the digits of the table', (_, x, y, net, K, H) => {
    const { gaussian, mean } = graphCurvature(net, x, y);
    expect(Math.abs(gaussian - K)).toBeLessThan(6e-10);
    expect(Math.abs(mean - H)).toBeLessThan(6e-10);
  });

  const forms: readonly [
    string,
    ControlNet,
    (x: number, y: number) => number,
    (x: number, y: number) => number,
  ][] = [
    [
      'z = xy',
      saddle,
      (x, y) => -1 / (1 + x * x + y * y) ** 2,
      (x, y) => (-x * y) / (1 + x * x + y * y) ** 1.5,
    ],
    [
      'z = (x^2 + y^2) / 2',
      bowl,
      (x, y) => 1 / (1 + x * x + y * y) ** 2,
      (x, y) => (2 + x * x + y * y) / (2 * (1 + x * x + y * y) ** 1.5),
    ],
    [
      'z = (x^2 - y^2) / 2',
      pass,
      (x, y) => -1 / (1 + x * x + y * y) ** 2,
      (x, y) => (y * y - x * x) / (2 * (1 + x * x + y * y) ** 1.5),
    ],
    ['z = x^2 / 2', gutter, () => 0, (x) => 1 / (2 * (1 + x * x) ** 1.5)],
    [
      'z = x^3 - 3xy^2',
      monkey,
      (x, y) => (-36 * (x * x + y * y)) / (1 + 9 * (x * x + y * y) ** 2) ** 2,
      (x, y) =>
        (27 * x * (-(x ** 4) + 2 * x * x * y * y + 3 * y ** 4)) /
        (1 + 9 * (x * x + y * y) ** 2) ** 1.5,
    ],
  ];
  test.each(forms)('%s all over, to 1e-12', (_, net, gaussianOf, meanOf) => {
    const from = net.points[0];
    for (let x = from; x <= 1; x += 0.125)
      for (let y = from; y <= 1; y += 0.125) {
        const { gaussian, mean, principal } = graphCurvature(net, x, y);
        const [K, H] = [gaussianOf(x, y), meanOf(x, y)];
        const spread = Math.sqrt(Math.max(0, H * H - K));
        expect(Math.abs(gaussian - K)).toBeLessThan(1e-12);
        expect(Math.abs(mean - H)).toBeLessThan(1e-12);
        // the root of nothing but rounding at an umbilic
        expect(Math.abs(principal[0] - (H + spread))).toBeLessThan(1e-7);
        expect(principal[0] * principal[1]).toBeCloseTo(K, 11);
      }
  });

  test('directions: along x and y where the graph is symmetric, none at an umbilic', () => {
    const { directions } = graphCurvature(pass, 0, 0);
    expect(Math.abs(directions![0][0])).toBeCloseTo(1, 12);
    expect(Math.abs(directions![1][1])).toBeCloseTo(1, 12);
    expect(graphCurvature(bowl, 0, 0).directions).toBeNull();
    // a ruling of z = xy has no curvature, the diagonals have the principal ones
    const jet = surfaceJet(saddle, 0, 0);
    expect(normalCurvature(jet, [1, 0, 0])).toBeCloseTo(0, 12);
    expect(normalCurvature(jet, [1, 1, 5])).toBeCloseTo(1, 12);
    expect(normalCurvature(jet, [1, -1, 0])).toBeCloseTo(-1, 12);
    expect(normalCurvature(jet, [0, 0, 1])).toBeNull();
  });
});

/** The same surface from nets that run otherwise: curvature must not know. */
const ways: readonly [string, (net: ControlNet) => ControlNet, 1 | -1][] = [
  ['as it is', (net) => net, 1],
  ['rows as columns', transposed, -1],
  ['run backwards', reversed, -1],
];

/** Parameters of a net: shares of its domain, off its knots. */
const shares = [0.013, 0.1, 0.2345, 0.37, 0.49, 0.61, 0.7, 0.835, 0.97];
function atShares(net: ControlNet): [number, number][] {
  const [[u0, u1], [v0, v1]] = [0, 1].map((side) => domain(net.knots[side], net.degree[side]));
  return shares.flatMap((a) =>
    shares.map((b): [number, number] => [u0 + a * (u1 - u0), v0 + b * (v1 - v0)]),
  );
}

/** Curvatures of surfaces of revolution with the outward normal, at a distance from the axis. */
describe.each(ways)('surfaces of revolution, rational and exact, %s', (_, way, sign) => {
  const expectPrincipal = (
    { principal, gaussian, mean }: SurfaceCurvature,
    a: number,
    b: number,
    scale: number,
  ): void => {
    const [k1, k2] = [sign * a, sign * b].toSorted((p, q) => q - p);
    expect(Math.abs(principal[0] - k1)).toBeLessThan(1e-9 * scale);
    expect(Math.abs(principal[1] - k2)).toBeLessThan(1e-9 * scale);
    expect(Math.abs(gaussian - k1 * k2)).toBeLessThan(1e-9 * scale * scale);
    expect(Math.abs(mean - (k1 + k2) / 2)).toBeLessThan(1e-9 * scale);
  };
  const everywhere = (net: ControlNet, check: (c: SurfaceCurvature, point: Vector) => void): void =>
    atShares(net).forEach(([u, v]) => check(curvatureAt(net, u, v)!, surfaceJet(net, u, v).point));

  test.each([1, 0.05, 2750])('sphere, radius %d', (radius) => {
    everywhere(way(sphere(radius)), (found, point) => {
      expectPrincipal(found, -1 / radius, -1 / radius, 1 / radius);
      expect(distance(found.normal, scaled(point, sign / radius))).toBeLessThan(1e-9);
    });
  });

  test('cylinder, radius 500', () => {
    const net = way(
      revolvedNet(
        polyline([
          [500, 0],
          [500, 300],
        ]),
      ),
    );
    everywhere(net, (found, [x, y]) => {
      expectPrincipal(found, -1 / 500, 0, 1 / 500);
      expect(distance(found.normal, [(sign * x) / 500, (sign * y) / 500, 0])).toBeLessThan(1e-9);
    });
  });

  test('cone: the cosine of its half angle over the distance from the axis', () => {
    const net = way(
      revolvedNet(
        polyline([
          [0, 0],
          [300, 400],
        ]),
      ),
    );
    everywhere(net, (found, [x, y]) => {
      const k = 0.8 / Math.hypot(x, y);
      expectPrincipal(found, -k, 0, k);
    });
  });

  test.each([
    [2, 1],
    [40, 39.5],
    [1000, 12],
  ])('torus %d, %d', (R, r) => {
    const net = way(revolvedNet(ellipseArc([R, 0], [r, 0], [0, r], 0, 2 * Math.PI)));
    everywhere(net, (found, [x, y]) => {
      const rho = Math.hypot(x, y);
      const parallel = -(rho - R) / (r * rho);
      expectPrincipal(found, -1 / r, parallel, Math.max(1 / r, Math.abs(parallel)));
    });
  });
});

/** R = 2, r = 1 at the outer, upper and inner circle: 1/3, 2/3; 0, 1/2; -1, 0. */
test('torus: K and |H| of the table', () => {
  const net = revolvedNet(ellipseArc([2, 0], [1, 0], [0, 1], 0, 2 * Math.PI));
  const at = (t: number): [number, number] => {
    const { gaussian, mean } = curvatureAt(net, 0.3, t)!;
    return [gaussian, Math.abs(mean)];
  };
  for (const [t, K, H] of [
    [0, 1 / 3, 2 / 3],
    [Math.PI / 2, 0, 1 / 2],
    [Math.PI, -1, 0],
  ]) {
    expect(at(t)[0]).toBeCloseTo(K, 9);
    expect(at(t)[1]).toBeCloseTo(H, 9);
  }
});

/** The net with its first row drawn together in its first point. */
function collapsed(net: ControlNet): ControlNet {
  const points = Float64Array.from(net.points);
  for (let column = 0; column < net.columns; column++)
    points.set(net.points.subarray(0, 3), 3 * column);
  return { ...net, points };
}

describe('where an edge has collapsed', () => {
  test.each(ways)('the poles of a sphere have the limit, %s', (_, way, sign) => {
    for (const shift of [0, 5e3]) {
      const placed = placedNet(
        sphere(120),
        axisPlacement([shift, -shift, 2 * shift], [0, 0, 1], [1, 0, 0])!,
      );
      const net = way(placed);
      const [us, vs] = [0, 1].map((side) => {
        const [from, to] = domain(net.knots[side], net.degree[side]);
        return [from, from + 0.3 * (to - from), to];
      });
      for (const u of us)
        for (const v of vs) {
          const found = curvatureAt(net, u, v)!;
          for (const k of found.principal) expect(k).toBeCloseTo(-sign / 120, 9);
          const jet = surfaceJet(net, u, v);
          const outward = scaled(sum(jet.point, [-shift, shift, -2 * shift]), sign / 120);
          expect(distance(found.normal, outward)).toBeLessThan(1e-7);
        }
    }
  });

  test('an ellipsoid has at its pole the curvature of both its sections', () => {
    // semi-axes 300, 300, 100: at the pole 100 / 300^2 both ways
    const net = revolvedNet(ellipseArc([0, 0], [0, -100], [300, 0], 0, Math.PI));
    for (const u of [0, 0.7, 2, 5]) {
      const found = curvatureAt(net, u, Math.PI)!;
      expect(found.isLimit).toBe(true);
      for (const k of found.principal) expect(k / (-100 / 9e4)).toBeCloseTo(1, 7);
      expect(distance(found.normal, [0, 0, 1])).toBeLessThan(1e-7);
    }
  });

  test('a flat disc has none, and its normal', () => {
    const found = curvatureAt(
      revolvedNet(
        polyline([
          [0, 0],
          [300, 0],
        ]),
      ),
      1,
      0,
    )!;
    expect(found.isLimit).toBe(true);
    expect(Math.max(...found.principal.map(Math.abs))).toBeLessThan(1e-12);
    expect(found.normal.map(Math.abs)).toEqual([0, 0, 1]);
  });

  test('the tip of a cone has none to tell, and a spindle neither', () => {
    const cone = revolvedNet(
      polyline([
        [0, 0],
        [300, 400],
      ]),
    );
    for (const u of [0, 0.4, 1, 3, 6]) expect(curvatureAt(cone, u, 0)).toBeNull();
    // an arc turned about its chord: at its ends it runs into the axis at a slant
    const half = Math.sqrt(400 ** 2 - 250 ** 2);
    const angle = Math.asin(half / 400);
    const spindle = revolvedNet(
      ellipseArc([-250, 0], [0, -400], [400, 0], Math.PI / 2 - angle, Math.PI / 2 + angle),
    );
    for (const u of [0, 0.4, 1, 3, 6])
      for (const end of domain(spindle.knots[1], 2))
        expect(curvatureAt(spindle, u, end)).toBeNull();
  });

  test('nothing is ever no number, on any net', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 1e6 }),
        fc.boolean(),
        fc.constantFrom(0, 1, 0.5, 0.25, 1e-9),
        fc.constantFrom(0, 1, 0.5, 0.25, 1e-9),
        (seed, rational, u, v) => {
          const net = collapsed(randomNet(seededRandom(seed), rational));
          const found = curvatureAt(net, u, v);
          if (!found) return;
          const { normal, gaussian, mean, principal, directions } = found;
          const numbers = [...normal, gaussian, mean, ...principal, ...(directions ?? []).flat()];
          expect(numbers.every(Number.isFinite)).toBe(true);
          expect(principal[0]).toBeGreaterThanOrEqual(principal[1]);
        },
      ),
      { numRuns: 300 },
    );
  });

  test('nets drawn together in a line or a point have none', () => {
    const net = randomNet(seededRandom(3), false);
    const line = { ...net, points: net.points.map((x, k) => (k % 3 === 0 ? x : 0)) };
    const point = { ...net, points: net.points.map((_, k) => k % 3) };
    for (const u of [0, 0.3, 1]) {
      expect(curvatureAt(line, u, 0.4)).toBeNull();
      expect(curvatureAt(point, u, 0.4)).toBeNull();
    }
  });
});

describe('the end of a plane row: ((p-1)/p) (xi1/xi2) h / a^2, any textbook for a Bezier row', () => {
  /** A plane row drawn out square to its plane. */
  const ribbon = (
    degree: number,
    knots: readonly number[],
    row: readonly (readonly number[])[],
  ): ControlNet => ({
    degree: [degree, 1],
    knots: [Float64Array.from(knots), Float64Array.from([0, 0, 1, 1])],
    columns: row.length,
    rows: 2,
    points: Float64Array.from([0, 1].flatMap((z) => row.flatMap(([x, y]) => [x, y, z]))),
    weights: null,
  });
  const sharpest = (net: ControlNet): number =>
    Math.max(...curvatureAt(net, net.knots[0][0], 0.5)!.principal.map(Math.abs));

  test.each([
    [
      3,
      [0, 0, 0, 0, 1, 3, 4, 4, 4, 4],
      [
        [0, 0],
        [1, 0],
        [3, 1],
        [5, 1],
        [6, 3],
        [8, 3],
      ],
      0.222222222222,
    ],
    [
      2,
      [0, 0, 0, 1, 3, 3, 3],
      [
        [0, 0],
        [1, 0],
        [3, 1],
        [5, 4],
      ],
      0.166666666667,
    ],
    [
      5,
      [0, 0, 0, 0, 0, 0, 0.5, 1, 1, 1, 1, 1, 1],
      [
        [0, 0],
        [10, 0],
        [20, 1],
        [30, 3],
        [40, 6],
        [50, 10],
        [60, 15],
      ],
      0.004,
    ],
  ])('degree %d', (degree, knots, row, expected) => {
    expect(Math.abs(sharpest(ribbon(degree, knots, row)) - expected)).toBeLessThan(1e-12);
  });

  test('any knots and points', () => {
    const coordinate = fc.double({ min: -100, max: 100, noNaN: true });
    const gap = fc.double({ min: 0.1, max: 3, noNaN: true });
    fc.assert(
      fc.property(
        fc.integer({ min: 2, max: 6 }),
        fc.array(gap, { minLength: 3, maxLength: 3 }),
        fc.array(fc.tuple(coordinate, coordinate), { minLength: 9, maxLength: 9 }),
        (p, gaps, points) => {
          const inner = [gaps[0], gaps[0] + gaps[1]];
          const end = inner[1] + gaps[2];
          const knots = [
            ...Array<number>(p + 1).fill(0),
            ...inner,
            ...Array<number>(p + 1).fill(end),
          ];
          const row = points.slice(0, p + 3);
          const leg = [row[1][0] - row[0][0], row[1][1] - row[0][1]];
          const a = Math.hypot(...leg);
          fc.pre(a > 1);
          const h =
            Math.abs(leg[0] * (row[2][1] - row[0][1]) - leg[1] * (row[2][0] - row[0][0])) / a;
          // knots u_{p+1} - u_p and u_{p+2} - u_p; a row of degree p has two inner knots here
          const share = inner[0] / inner[1];
          const expected = (((p - 1) / p) * share * h) / (a * a);
          const scale = (((p - 1) / p) * share * (Math.hypot(...row[2]) + 300)) / (a * a);
          expect(Math.abs(sharpest(ribbon(p, knots, row)) - expected)).toBeLessThan(1e-12 * scale);
        },
      ),
    );
  });
});

describe('curvature belongs to the shape, not to how it is told', () => {
  const seed = fc.integer({ min: 0, max: 1e6 });
  const share = fc.double({ min: 0.01, max: 0.99, noNaN: true });
  const part = fc.double({ min: -1, max: 1, noNaN: true });
  const direction = fc.tuple(part, part, part).filter((d) => Math.hypot(...d) > 0.1);

  /** Compares the curvature of a net with that of a changed one: scale times as large, side kept or not. */
  function compare(
    net: ControlNet,
    [u, v]: readonly [number, number],
    changed: ControlNet,
    [cu, cv]: readonly [number, number],
    { size = 1, side = 1, turned = (d: Vector): Vector => d },
  ): void {
    const jet = surfaceJet(net, u, v);
    const own = surfaceCurvature(jet);
    const other = surfaceCurvature(surfaceJet(changed, cu, cv));
    const blur = bendScale(jet);
    // a place where rounding decides whether there is a normal at all tells nothing
    fc.pre(own !== null && blur < 1e4 / diagonal(net));
    const [k1, k2] = side > 0 ? own.principal : [-own.principal[1], -own.principal[0]];
    const within = 1e-9 * blur;
    expect(Math.abs(other!.principal[0] * size - k1)).toBeLessThan(within);
    expect(Math.abs(other!.principal[1] * size - k2)).toBeLessThan(within);
    expect(Math.abs(other!.gaussian * size * size - own.gaussian)).toBeLessThan(within * blur);
    expect(Math.abs(other!.mean * size - side * own.mean)).toBeLessThan(within);
    expect(distance(other!.normal, scaled(turned(own.normal), side))).toBeLessThan(
      1e-9 * blur * diagonal(net),
    );
    if (own.directions && k1 - k2 > 0.01 * blur)
      for (const which of [0, 1] as const) {
        const expected = turned(own.directions[side > 0 ? which : 1 - which]);
        const cosine = dot(other!.directions![which], expected);
        expect(Math.abs(cosine)).toBeCloseTo(1, 9);
      }
  }

  const anyNet = fc
    .tuple(seed, fc.boolean())
    .map(([s, rational]) => randomNet(seededRandom(s), rational));

  test('moved and turned', () => {
    fc.assert(
      fc.property(anyNet, share, share, direction, direction, (net, u, v, z, x) => {
        const placement = axisPlacement([700, -2000, 300], z, x);
        fc.pre(placement !== null && angleBetween(z, x) > 0.01 && angleBetween(z, x) < 3.13);
        compare(net, [u, v], placedNet(net, placement), [u, v], {
          turned: (d) => placedVector(placement, d),
        });
      }),
    );
  });

  test('scaled: curvature by the inverse, Gaussian by its square', () => {
    fc.assert(
      fc.property(
        anyNet,
        share,
        share,
        fc.double({ min: 1e-3, max: 1e3, noNaN: true }),
        (net, u, v, size) => {
          const points = net.points.map((x) => x * size);
          compare(net, [u, v], { ...net, points }, [u, v], { size });
        },
      ),
    );
  });

  test('rows as columns, and run backwards: the other side', () => {
    fc.assert(
      fc.property(anyNet, share, share, (net, u, v) => {
        compare(net, [u, v], transposed(net), [v, u], { side: -1 });
        compare(net, [u, v], reversed(net), [1 - u, v], { side: -1 });
      }),
    );
  });

  test('in any direction it lies between the principal ones, by Euler: k1 cos^2 + k2 sin^2', () => {
    fc.assert(
      fc.property(
        anyNet,
        share,
        share,
        fc.double({ min: 0, max: 7, noNaN: true }),
        (net, u, v, angle) => {
          const jet = surfaceJet(net, u, v);
          const own = surfaceCurvature(jet);
          const blur = bendScale(jet);
          fc.pre(
            own?.directions !== undefined && own.directions !== null && blur < 1e4 / diagonal(net),
          );
          const [c, s] = [Math.cos(angle), Math.sin(angle)];
          const [k1, k2] = own.principal;
          const along = sum(scaled(own.directions[0], 3 * c), scaled(own.directions[1], 3 * s));
          const lifted = sum(along, scaled(own.normal, 2));
          expect(Math.abs(normalCurvature(jet, lifted)! - (k1 * c * c + k2 * s * s))).toBeLessThan(
            1e-9 * blur,
          );
          const [a, b] = parameterDirection(jet, along)!;
          expect(distance(sum(scaled(jet.u, a), scaled(jet.v, b)), along)).toBeLessThan(
            1e-9 * blur * diagonal(net),
          );
        },
      ),
    );
  });
});

describe.skipIf(corpusFolder === null)(
  'a general geometry kernel agrees on surfaces of others',
  () => {
    const nets = (path: string): ControlNet[] =>
      (path.endsWith('.json')
        ? readNetJson(corpusBytes(path))
        : readSurfaces(path, corpusBytes(path))
      ).panels.map(({ net }) => net);
    test.each([
      ['surfaces/ship-bow.iges', 1],
      ['surfaces/ship-half.step', 3],
      ['surfaces/slim-hull.iges', 1],
      ['surfaces/wing-metre.iges', 4],
      ['surfaces/airliner-wing.igs', 6],
      ['surfaces/pipe-rational.iges', 4],
      ['nets/king-biquintic.net.json', 60],
      ['nets/teapot-bicubic.net.json', 32],
      ['nets/egg-rational.net.json', 1],
      ['nets/quarter-sphere-rational.net.json', 2],
    ])('%s: normals and curvature at 200 parameters of each of %d', async (path, count) => {
      const all = nets(path);
      expect(all).toHaveLength(count);
      const random = seededRandom(200);
      let compared = 0;
      for (const net of all) {
        const bend = await kernelBend(net);
        const [u01, v01] = [0, 1].map((side) => domain(net.knots[side], net.degree[side]));
        for (let k = 0; k < 200; k++) {
          const [u, v] = [random.between(...u01), random.between(...v01)];
          const jet = surfaceJet(net, u, v);
          const own = surfaceCurvature(jet);
          const theirs = bend(u, v);
          if (!own || !theirs) {
            // Both say that there is none, or it is a place next to a collapsed edge.
            if (own || theirs) expect(bendScale(jet) * diagonal(net)).toBeGreaterThan(1e6);
            continue;
          }
          compared += 1;
          const scale = Math.max(...own.principal.map(Math.abs), 1 / diagonal(net));
          const within = 1e-9 * scale;
          own.principal.forEach((k, which) => {
            expect(Math.abs(k - theirs.principal[which])).toBeLessThan(within);
          });
          expect(Math.abs(own.mean - theirs.mean)).toBeLessThan(within);
          expect(Math.abs(own.gaussian - theirs.gaussian)).toBeLessThan(2 * scale * within);
          expect(distance(surfaceNormal(jet)!, theirs.normal)).toBeLessThan(1e-9);
        }
      }
      expect(compared).toBeGreaterThan(195 * count);
    });
  },
);

// A general geometry kernel raises degrees and inserts knots; the lighter build must be what it was before.
import { beforeAll, describe, expect, test } from 'vitest';
import { clampedKnots } from '../../fixtures/fittedNet.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { diagonal, type ControlNet } from '../../src/geometry/controlNet.ts';
import { breakpoints } from '../../src/geometry/knots.ts';
import { lightening } from '../../src/measure/lighterBuilds.ts';
import { loaded } from './oracleKernel.ts';

type Kernel = Awaited<ReturnType<typeof loaded>>;
type Change = (surface: {
  IncreaseDegree: (u: number, v: number) => void;
  InsertUKnot: (at: number, times: number, tolerance: number, add: boolean) => void;
  InsertVKnot: (at: number, times: number, tolerance: number, add: boolean) => void;
}) => void;

let oc: Kernel;
beforeAll(async () => {
  oc = await loaded();
}, 60_000);

/** The net as the kernel has it after a change of its own. */
function changed(net: ControlNet, change: Change): ControlNet {
  const poles = new oc.TColgp_Array2OfPnt_2(1, net.columns, 1, net.rows);
  const weights = new oc.TColStd_Array2OfReal_2(1, net.columns, 1, net.rows);
  for (let i = 0; i < net.columns; i++)
    for (let j = 0; j < net.rows; j++) {
      const k = j * net.columns + i;
      const [x, y, z] = net.points.subarray(3 * k, 3 * k + 3);
      poles.SetValue(i + 1, j + 1, new oc.gp_Pnt_3(x, y, z));
      weights.SetValue(i + 1, j + 1, net.weights ? net.weights[k] : 1);
    }
  const [u, v] = net.knots.map((knots) => {
    const distinct = breakpoints(knots);
    const values = new oc.TColStd_Array1OfReal_2(1, distinct.length);
    const times = new oc.TColStd_Array1OfInteger_2(1, distinct.length);
    distinct.forEach(({ value, multiplicity }, k) => {
      values.SetValue(k + 1, value);
      times.SetValue(k + 1, multiplicity);
    });
    return { values, times };
  });
  const surface = new oc.Geom_BSplineSurface_2(
    poles,
    weights,
    u.values,
    v.values,
    u.times,
    v.times,
    ...net.degree,
    false,
    false,
  );
  change(surface);
  const [columns, rows] = [surface.NbUPoles(), surface.NbVPoles()];
  const points = new Float64Array(3 * columns * rows);
  const own = new Float64Array(columns * rows);
  for (let i = 0; i < columns; i++)
    for (let j = 0; j < rows; j++) {
      const pole = surface.Pole(i + 1, j + 1);
      points.set([pole.X(), pole.Y(), pole.Z()], 3 * (j * columns + i));
      own[j * columns + i] = surface.Weight(i + 1, j + 1);
    }
  const knots = (
    count: number,
    value: (k: number) => number,
    times: (k: number) => number,
  ): Float64Array =>
    Float64Array.from(
      Array.from({ length: count }, (_, k) =>
        Array.from({ length: times(k + 1) }, () => value(k + 1)),
      ).flat(),
    );
  return {
    degree: [surface.UDegree(), surface.VDegree()],
    knots: [
      knots(
        surface.NbUKnots(),
        (k) => surface.UKnot(k),
        (k) => surface.UMultiplicity(k),
      ),
      knots(
        surface.NbVKnots(),
        (k) => surface.VKnot(k),
        (k) => surface.VMultiplicity(k),
      ),
    ],
    columns,
    rows,
    points,
    weights: net.weights && own,
  };
}

/** A net none of whose points can be spared: heights up and down by centimetres. */
function restless(
  seed: number,
  degree: readonly [number, number],
  inner: readonly [readonly number[], readonly number[]],
  rational: boolean,
): ControlNet {
  const random = seededRandom(seed);
  const knots = [clampedKnots(degree[0], inner[0]), clampedKnots(degree[1], inner[1])] as const;
  const columns = knots[0].length - degree[0] - 1;
  const rows = knots[1].length - degree[1] - 1;
  const points = Float64Array.from({ length: 3 * columns * rows }, (_, k) => {
    const [axis, at] = [k % 3, Math.floor(k / 3)];
    if (axis === 0) return (1200 * (at % columns)) / columns + 15 * random.normal();
    if (axis === 1) return (700 * Math.floor(at / columns)) / rows + 15 * random.normal();
    return 60 * random.normal();
  });
  return {
    degree,
    knots,
    columns,
    rows,
    points,
    weights: rational
      ? Float64Array.from({ length: columns * rows }, () => random.between(0.6, 1.6))
      : null,
  };
}

const raised: Change = (surface) => surface.IncreaseDegree(5, 5);
const threeKnots: Change = (surface) => {
  for (const at of [0.21, 0.4, 0.83]) surface.InsertUKnot(at, 1, 1e-12, true);
};
const knotsBothWays: Change = (surface) => {
  for (const at of [0.13, 0.55, 0.9]) surface.InsertUKnot(at, 1, 1e-12, true);
  surface.InsertVKnot(0.37, 2, 1e-12, true);
  surface.InsertVKnot(0.71, 1, 1e-12, true);
};
const both: Change = (surface) => {
  surface.IncreaseDegree(5, 4);
  threeKnots(surface);
};

const cubic = { degree: [3, 3] as const, inner: [[], []] as const };
const spans = { degree: [3, 3] as const, inner: [[0.3, 0.6], [0.5]] as const };
const six = { degree: [5, 5] as const, inner: [[], []] as const };

describe.each([
  ['a cubic raised to degree 5', cubic, raised],
  ['a cubic of several spans raised to degree 5', spans, raised],
  ['a 6x6 with 3 knots put in', six, threeKnots],
  ['a 6x6 with knots put in both ways', six, knotsBothWays],
  ['spans with 3 knots put in', spans, threeKnots],
  ['a cubic of several spans raised, then 3 knots put in', spans, both],
] as const)('%s', (_, { degree, inner }, change) => {
  test.each([
    ['polynomial', false],
    ['rational', true],
  ] as const)('%s: comes back to 1e-9 of its size', (_kind, rational) => {
    for (let seed = 1; seed <= 5; seed++) {
      const net = restless(seed, degree, inner, rational);
      const heavier = changed(net, change);
      expect(heavier.columns * heavier.rows).toBeGreaterThan(net.columns * net.rows);
      const { fewer, same } = lightening(heavier, 0.1);
      expect(fewer.net.degree).toEqual(net.degree);
      expect([fewer.net.columns, fewer.net.rows]).toEqual([net.columns, net.rows]);
      expect(fewer.net).toEqual(same.net);
      const close = 1e-9 * diagonal(net);
      expect(fewer.deviation).toBeLessThan(close);
      net.points.forEach((value, k) =>
        expect(Math.abs(fewer.net.points[k] - value)).toBeLessThan(close),
      );
      net.knots.forEach((knots, side) =>
        knots.forEach((value, k) => expect(fewer.net.knots[side][k]).toBeCloseTo(value, 12)),
      );
      net.weights?.forEach((weight, k) => expect(fewer.net.weights![k]).toBeCloseTo(weight, 9));
      // and the net by itself is left alone
      expect(lightening(net, 0.1).fewer.net).toBe(net);
    }
  });
});

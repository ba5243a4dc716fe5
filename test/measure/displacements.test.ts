import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { anySpot, families, juttingNet, unevenNet } from '../../fixtures/panelFamilies.ts';
import { randomNet } from '../../fixtures/randomNet.ts';
import { ruleFixtures } from '../../fixtures/rules/makeRuleFixtures.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import {
  pointAt,
  reversed,
  transposed,
  withMoves,
  type ControlNet,
  type Spot,
} from '../../src/geometry/controlNet.ts';
import { placedNet, placedVector, type Placement } from '../../src/geometry/placement.ts';
import { difference, length, scaled, type Vector } from '../../src/geometry/vector.ts';
import { displacements, remaining, type Displacement } from '../../src/measure/displacements.ts';
import { gaussRule } from '../../src/measure/gaussRule.ts';
import { lineMap } from '../../src/measure/locator/lineMap.ts';
import type { FaultPlace } from '../../src/measure/locator/netFaults.ts';
import { netWindows } from '../../src/measure/netWindows.ts';
import { netNormals } from '../../src/measure/outwardSide.ts';
import { certainty } from '../../src/rules/certainty.ts';
import { auditFindings } from '../bench/locator/reportedAnswer.ts';
import { reversedSite, transposedSite } from '../netSites.ts';
import { slidNet } from './slidNet.ts';

/** A plain crowned panel of 1200 x 600 mm. */
const crown = (u: number, v: number): Vector => [
  1200 * u,
  600 * v,
  -90 * u * u - 40 * v * v + 25 * u * u * v,
];

const panel = (
  degree: readonly [number, number],
  spans: readonly [number, number] = [1, 1],
  samples = 41,
): ControlNet =>
  fittedNet(
    degree,
    [clampedKnots(degree[0], spans[0]), clampedKnots(degree[1], spans[1])],
    crown,
    samples,
  );

interface Measured {
  readonly hand: number;
  readonly displacements: readonly Displacement[];
}

function measured(net: ControlNet, hand: number | null = null): Measured {
  const result = displacements(net, hand);
  if (result.kind !== 'measured') throw new Error(result.reason);
  return result;
}

/** Those that are named, one false alarm in a hundred; whether anybody sees them is not asked. */
function confident(net: ControlNet, hand: number | null = null): Displacement[] {
  const result = displacements(net, hand);
  if (result.kind !== 'measured') throw new Error(result.reason);
  return result.displacements.filter(
    (one) => certainty(one, result, net.rows * net.columns, 0.01)?.level === 'named',
  );
}

const pointPlace = ({ row, column }: Spot): FaultPlace => ({ kind: 'point', row, column });

const isAt = ({ place }: Displacement, spot: Spot): boolean =>
  place.kind === 'point' && place.row === spot.row && place.column === spot.column;

const spotOf = (place: FaultPlace): Spot => {
  if (place.kind !== 'point') throw new Error(`a ${place.kind} is not a point`);
  return { row: place.row, column: place.column };
};

/** True where no number in a value is NaN or infinite. */
const finite = (value: unknown): boolean =>
  typeof value === 'number'
    ? Number.isFinite(value)
    : typeof value !== 'object' || value === null || Object.values(value).every(finite);

describe('the bases', () => {
  // Abramowitz & Stegun, table 25.4.
  test.each([
    [2, [0.577350269189626], [1]],
    [3, [0.774596669241483, 0], [0.555555555555556, 0.888888888888889]],
    [
      5,
      [0.906179845938664, 0.538469310105683, 0],
      [0.236926885056189, 0.478628670499366, 0.568888888888889],
    ],
  ])('Gauss-Legendre nodes and weights, %i points', (count, nodes, weights) => {
    const rule = gaussRule(count);
    nodes.forEach((node, k) => expect(rule.nodes[k]).toBeCloseTo(node, 13));
    weights.forEach((weight, k) => expect(rule.weights[k]).toBeCloseTo(weight, 13));
  });

  // Discrete orthogonal polynomials on 5 points, Abramowitz & Stegun 22.17 (as in tables of
  // orthogonal contrasts): -2 -1 0 1 2; 2 -1 -2 -1 2; -1 2 0 -2 1; 1 -4 6 -4 1.
  test.each(['fitted', 'sampled'] as const)(
    'a single span of degree 4 gives the classical contrasts (%s)',
    (kind) => {
      const { vectors } = lineMap(kind, clampedKnots(4), 4, 16);
      const contrasts = [
        [1, 1, 1, 1, 1],
        [-2, -1, 0, 1, 2],
        [2, -1, -2, -1, 2],
        [-1, 2, 0, -2, 1],
        [1, -4, 6, -4, 1],
      ];
      contrasts.forEach((contrast, a) => {
        const size = Math.hypot(...contrast);
        const along = contrast.reduce(
          (total, value, i) => total + (value * vectors[i * 5 + a]) / size,
          0,
        );
        expect(Math.abs(along)).toBeCloseTo(1, 12);
      });
    },
  );

  // The net of a linear function runs straight over the Greville abscissae: Patrikalakis, Maekawa,
  // Cho, Shape Interrogation, eq. 1.60; so on any knots degree 1 is those abscissae, centred.
  test('degree 1 is linear precision on uneven knots', () => {
    const knots = Float64Array.of(0, 0, 0, 0, 1, 2, 4, 5, 5, 5, 5);
    const { vectors, count } = lineMap('fitted', knots, 3, 16);
    const abscissae = [0, 1 / 3, 1, 7 / 3, 11 / 3, 14 / 3, 5];
    const mean = abscissae.reduce((total, x) => total + x, 0) / count;
    const size = Math.hypot(...abscissae.map((x) => x - mean));
    const sign = Math.sign(vectors[(count - 1) * count + 1]);
    abscissae.forEach((x, i) =>
      expect(vectors[i * count + 1] * sign).toBeCloseTo((x - mean) / size, 12),
    );
  });

  // The same linear precision: what a fitted net of a polynomial the spline space holds has in it is
  // that polynomial's degree and lower; the Legendre polynomial of degree 1 has nothing above degree 1.
  test('a curve that is straight has a net that is straight', () => {
    const { squares, count } = lineMap('fitted', clampedKnots(3, [0.2, 0.5, 0.65]), 3, 16);
    for (let a = 2; a < count; a++) expect(squares[a * 16 + 1]).toBeLessThan(1e-20);
    expect(squares[16 + 1]).toBeGreaterThan(0.1);
  });
});

describe('one jut on a seeded panel', () => {
  const cases = Object.keys(families).filter((family) => family !== 'conic-loft');

  // No outside source: the planted point and its size are the reference. Conic lofts are the kind on
  // which a jut is mostly called uncertain (reports/locator.md).
  test.each(cases)('%s: 4 mm out is found where it was planted', (family) => {
    let [large, found, wrong, near] = [0, 0, 0, 0];
    for (let seed = 0; seed < 30; seed++) {
      const random = seededRandom(700 + seed);
      const fair = families[family](random);
      if (fair.points.length < 75) continue;
      const spot = anySpot(fair, random);
      const { net, moved } = juttingNet(unevenNet(fair, random, 0.02), spot, 4);
      large += 1;
      for (const one of confident(net)) {
        if (!isAt(one, spot)) wrong += 1;
        else {
          found += 1;
          if (length(difference(one.displacement, moved)) < 0.8) near += 1;
        }
      }
    }
    expect(large).toBeGreaterThan(15);
    expect(found / large).toBeGreaterThanOrEqual(0.9);
    expect(wrong).toBeLessThanOrEqual(1);
    expect(near / found).toBeGreaterThanOrEqual(0.9);
  });

  test.each(Object.keys(families))('%s: fair panels stay unnamed', (family) => {
    let alarms = 0;
    for (let seed = 0; seed < 30; seed++) {
      const random = seededRandom(900 + seed);
      const net = unevenNet(families[family](random), random, [0, 0.01, 0.05][seed % 3]);
      if (auditFindings(net).some((one) => one.certainty === 'named')) alarms += 1;
    }
    expect(alarms).toBeLessThanOrEqual(1);
  });
});

test.each([
  [
    [5, 5],
    [1, 1],
    [
      { row: 1, column: 2 },
      { row: 4, column: 4 },
    ],
  ],
  [
    [3, 3],
    [4, 3],
    [
      { row: 0, column: 3 },
      { row: 3, column: 1 },
      { row: 5, column: 5 },
    ],
  ],
] as const)('several juts are named together: degree %j, spans %j', (degree, spans, spots) => {
  const net = withMoves(
    panel(degree, spans),
    spots.map((spot, k) => ({ spot, by: [0, 0, k % 2 === 0 ? 3 : -2.5] as const })),
  );
  const byPlace = (a: Spot, b: Spot): number => a.row - b.row || a.column - b.column;
  const told = confident(net);
  expect(told.map(({ place }) => spotOf(place)).sort(byPlace)).toEqual(spots);
  for (const { setSize } of told) expect(setSize).toBe(spots.length);
});

// A displacement at a slant, and one far beyond what is expected: neither is pulled towards zero.
test.each([
  [4, 1, 0],
  [0, -14, 0],
  [3, 0, 2],
  [-2, 2, -3],
  [0, 0, 9],
] as const)(
  'a displacement of (%d, %d, %d) mm on an even net is one place, told within 5 %',
  (...by) => {
    const spot = { row: 2, column: 3 };
    const net = withMoves(panel([5, 5]), [{ spot, by }]);
    const told = measured(net).displacements;
    expect(told.map(({ place }) => place)).toEqual([pointPlace(spot)]);
    const [{ displacement, points }] = told;
    expect(length(difference(displacement, by))).toBeLessThan(0.05 * length(by));
    expect(points).toEqual([
      {
        spot,
        displacement,
        expected: difference(pointAt(net, spot.row, spot.column), displacement),
      },
    ]);
  },
);

describe('a displacement that is neither along the normal nor within the surface', () => {
  const ways: readonly Vector[] = [
    [0, 0, 2],
    [0, 0, 6],
    [3, 0, 3],
    [0, -3, 2],
  ];
  /** Whether the point moved is told, and by near its whole vector. */
  function isTold(
    fair: ControlNet,
    seed: number,
  ): { readonly told: boolean; readonly near: boolean } {
    const random = seededRandom(seed);
    const spot = anySpot(fair, random);
    const by = ways[seed % ways.length];
    const own = measured(withMoves(fair, [{ spot, by }])).displacements.find((one) =>
      isAt(one, spot),
    );
    const off = own ? length(difference(own.displacement, by)) : Infinity;
    return { told: own !== undefined, near: off < 0.2 * length(by) };
  }

  // No outside source: the planted point and its move are the reference. What explains one part of a
  // displacement explains little while another part is still in.
  test.each(['point-jut', 'hull-jut', 'turning-jump'])(
    'is told whole on a net without any unevenness, and with little (%s)',
    (id) => {
      const even = ruleFixtures[id].met;
      for (let seed = 0; seed < 12; seed++)
        for (const hand of [0, 0.002, 0.02])
          expect(isTold(unevenNet(even, seededRandom(seed), hand), seed).near).toBe(true);
    },
  );

  test('is told whole on panels of any kind but conic lofts, mostly', () => {
    const cases = Object.keys(families).filter((family) => family !== 'conic-loft');
    const told = cases
      .flatMap((family) =>
        Array.from({ length: 24 }, (_, seed) => {
          const random = seededRandom(50 + seed);
          const fair = unevenNet(families[family](random), random, 0.01);
          return fair.points.length < 75 ? { told: false, near: false } : isTold(fair, seed);
        }),
      )
      .filter((one) => one.told);
    expect(told.length).toBeGreaterThan(150);
    expect(told.filter(({ near }) => near).length / told.length).toBeGreaterThanOrEqual(0.95);
  });
});

describe('one point slid along its row or column', () => {
  const cases = Object.keys(families).filter((family) => family !== 'conic-loft');

  /** Panels of a kind with one point slid by 8 mm: those where it is named, by near its amount, and where another is. */
  function slidPanels(family: string): Record<'count' | 'found' | 'near' | 'wrong', number> {
    const tally = { count: 0, found: 0, near: 0, wrong: 0 };
    for (let seed = 0; seed < 24; seed++) {
      const random = seededRandom(400 + seed);
      const fair = unevenNet(families[family](random), random, 0.02);
      if (fair.points.length < 75) continue;
      const spot = anySpot(fair, random);
      const { net, moved } = slidNet(fair, spot, seed % 2 === 0 ? 'row' : 'column', 8);
      const told = confident(net);
      const own = told.find((one) => isAt(one, spot));
      tally.count += 1;
      if (own) tally.found += 1;
      if (own && length(difference(own.displacement, moved)) < 1.6) tally.near += 1;
      if (told.some((one) => one !== own)) tally.wrong += 1;
    }
    return tally;
  }

  // No outside source: the planted point and its move are the reference.
  test('8 mm is named where it was planted, by its whole amount', () => {
    const tallies = cases.map((family) => ({ family, ...slidPanels(family) }));
    for (const { family, count, found, near, wrong } of tallies) {
      expect(count, family).toBeGreaterThan(10);
      expect(found / count, family).toBeGreaterThanOrEqual(0.9);
      expect(near / found, family).toBeGreaterThanOrEqual(0.95);
      expect(wrong, family).toBeLessThanOrEqual(1);
    }
    const [wrong, count] = (['wrong', 'count'] as const).map((key) =>
      tallies.reduce((total, tally) => total + tally[key], 0),
    );
    expect(wrong / count).toBeLessThanOrEqual(0.01);
  });
});

describe('a whole line off', () => {
  const fair = panel([3, 3], [8, 4]);
  const normals = netNormals(fair).map((normal) => normal!);
  const sagging = (along: 'row' | 'column', index: number, by: number): ControlNet =>
    withMoves(
      fair,
      normals.flatMap((normal, k) => {
        const spot = { row: Math.floor(k / fair.columns), column: k % fair.columns };
        return spot[along] === index ? [{ spot, by: scaled(normal, by) }] : [];
      }),
    );

  test.each([
    ['row', 2, 3],
    ['row', 3, -3],
    ['row', 4, 1.5],
    ['column', 3, 3],
    ['column', 5, -2],
  ] as const)(
    '%s %i of an 11 x 7 net, %d mm: told as a line, with a move for each member',
    (...[along, index, by]) => {
      const told = confident(sagging(along, index, by));
      expect(told.map(({ place }) => place)).toEqual([{ kind: along, [along]: index }]);
      const [{ part, points, displacement }] = told;
      expect(part).toBe('line');
      expect(points).toHaveLength(along === 'row' ? fair.columns : fair.rows);
      expect(Math.abs(length(displacement) - Math.abs(by))).toBeLessThan(0.15 * Math.abs(by));
      for (const { spot, displacement: own, expected } of points) {
        expect(spot[along]).toBe(index);
        const planted = scaled(normals[spot.row * fair.columns + spot.column], by);
        expect(length(difference(own, planted))).toBeLessThan(0.15 * Math.abs(by));
        const off = difference(expected, pointAt(fair, spot.row, spot.column));
        expect(length(off)).toBeLessThan(0.15 * Math.abs(by));
      }
    },
  );

  test('an honest net of rows that accelerate has no line named', () => {
    for (let seed = 0; seed < 20; seed++) {
      const random = seededRandom(60 + seed);
      const net = unevenNet(families['accelerating-crown'](random), random, 0.01);
      expect(confident(net).filter(({ part }) => part === 'line')).toEqual([]);
    }
  });
});

test('odds, and rivals by how far they are behind', () => {
  for (const name of ['styled', 'torus', 'symmetric-hood']) {
    const random = seededRandom(77);
    const fair = unevenNet(families[name](random), random, 0.05);
    const told = measured(juttingNet(fair, anySpot(fair, random), 1).net).displacements;
    const odds = told.map(({ logOdds }) => logOdds);
    expect(odds).toEqual([...odds].sort((a, b) => b - a));
    for (const { rivals, place, gain, logOdds } of told) {
      expect(logOdds).toBeLessThanOrEqual(gain);
      const behind = rivals.map((rival) => rival.behind);
      expect(behind).toEqual([...behind].sort((a, b) => a - b));
      expect(rivals.map((rival) => rival.place)).not.toContainEqual(place);
    }
    expect(told.length).toBeGreaterThan(0);
  }
});

test('two points 3 mm out on nets of 4 x 4 and 5 x 4: hardly ever a wrong name', () => {
  let [right, wrong] = [0, 0];
  for (const degree of [
    [3, 3],
    [4, 3],
  ] as const)
    for (let seed = 0; seed < 20; seed++) {
      const random = seededRandom(500 + seed);
      const fair = unevenNet(panel(degree), random, 0.01);
      const first = anySpot(fair, random);
      const second = {
        row: (first.row + 2) % fair.rows,
        column: (first.column + 1) % fair.columns,
      };
      const net = withMoves(
        fair,
        [first, second].map((spot) => ({ spot, by: [0, 0, 3] as const })),
      );
      for (const { place } of confident(net)) {
        const { row, column } = spotOf(place);
        const planted = [first, second].some((s) => s.row === row && s.column === column);
        if (planted) right++;
        else wrong++;
      }
    }
  expect(right).toBeGreaterThan(30);
  expect(wrong).toBeLessThanOrEqual(0.1 * (right + wrong));
});

describe('a nudge leaves', () => {
  const spot = { row: 2, column: 3 };
  const left = (net: ControlNet): number => remaining(net, [pointPlace(spot)], null)![0];

  test.each([
    ['jut', [0, 0, 2]],
    ['drift', [8, 0, 0]],
    ['slant', [3, -2, 2]],
  ] as const)('next to nothing where it undoes a %s', (_, by) => {
    const net = withMoves(panel([5, 5]), [{ spot, by }]);
    expect(Math.abs(left(net) - length(by))).toBeLessThan(0.1);
    const [{ displacement }] = measured(net).displacements;
    expect(left(withMoves(net, [{ spot, by: scaled(displacement, -1) }]))).toBeLessThan(0.1);
  });

  test('what is left where it was too short', () => {
    const short = withMoves(panel([5, 5]), [{ spot, by: [5, 0, 0] }]);
    expect(Math.abs(left(short) - 5)).toBeLessThan(0.25);
  });

  test('what is left of a whole row', () => {
    const { missed, met } = ruleFixtures['hull-jut'];
    const row: FaultPlace = { kind: 'row', row: 3 };
    const [off, even] = [missed, met].map((net) => remaining(net, [row], null)![0]);
    expect(Math.abs(off - 3)).toBeLessThan(0.15);
    expect(even).toBeLessThan(0.05);
  });

  test('nobody knows what where the net cannot be judged', () => {
    expect(remaining(panel([2, 5]), [pointPlace({ row: 0, column: 0 })], null)).toBeNull();
  });
});

describe('the unevenness of the hand', () => {
  const fair = panel([3, 3], [6, 6]);

  test('of a fair net is next to nothing, that of a rough one about what was put in', () => {
    expect(measured(fair).hand).toBeLessThan(0.01);
    const rough = measured(unevenNet(fair, seededRandom(4), 0.2)).hand;
    expect(rough).toBeGreaterThan(0.12);
    expect(rough).toBeLessThan(0.35);
  });

  test('stated, is believed: the same 1 mm jut is one of 0.01 mm hands, and not of 1 mm hands', () => {
    const spot = { row: 4, column: 4 };
    const { net } = juttingNet(unevenNet(fair, seededRandom(5), 0.01), spot, 1);
    const [told] = confident(net, 0.01);
    expect(told.place).toEqual(pointPlace(spot));
    expect(confident(net, 1)).toEqual([]);
    expect(measured(net, 1).hand).toBeGreaterThan(0.3);
    expect(measured(net, 0.01).hand).toBeLessThan(0.05);
  });
});

test('what was located before changes nothing, to the last bit', () => {
  const nets = Object.values(families).flatMap((family, k) => {
    const random = seededRandom(3000 + k);
    const fair = unevenNet(family(random), random, 0.02);
    return [fair, juttingNet(fair, anySpot(fair, random), 2).net];
  });
  const alone = nets.map((net) => JSON.stringify(displacements(net, null)));
  const again = nets.map((_, k) => JSON.stringify(displacements(nets[nets.length - 1 - k], null)));
  expect(again.reverse()).toEqual(alone);
});

describe('what must not matter', () => {
  const subject = (seed: number): ControlNet => {
    const random = seededRandom(seed);
    const names = Object.keys(families);
    const fair = families[names[random.index(names.length)]](random);
    const spot = anySpot(fair, random);
    return juttingNet(unevenNet(fair, random, 0.02), spot, 2.5).net;
  };
  const same = (
    a: Measured,
    b: Measured,
    place: (place: FaultPlace) => FaultPlace,
    turned: (v: Vector) => Vector,
    scale = 1,
  ): void => {
    expect(Math.abs(b.hand / (a.hand * scale) - 1)).toBeLessThan(1e-4);
    expect(b.displacements.map((one) => one.place)).toEqual(
      a.displacements.map((one) => place(one.place)),
    );
    a.displacements.forEach((one, k) => {
      const other = b.displacements[k];
      for (const key of ['logOdds', 'gain', 'setGain'] as const)
        expect(Math.abs(other[key] - one[key])).toBeLessThan(1e-3 * (1 + Math.abs(one[key])));
      expect(other.setSize).toBe(one.setSize);
      expect(Math.abs(other.deviation / (one.deviation * scale) - 1)).toBeLessThan(1e-4);
      const off = difference(turned(one.displacement), other.displacement);
      expect(length(off)).toBeLessThan(1e-5 * length(other.displacement));
    });
  };
  const asIs = (v: Vector): Vector => v;

  test('transposing and reversing', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 1e6 }), (seed) => {
        const net = subject(seed);
        const result = measured(net);
        same(
          result,
          measured(transposed(net)),
          (place) => transposedSite(place) as FaultPlace,
          asIs,
        );
        same(
          result,
          measured(reversed(net)),
          (place) => reversedSite(place, net) as FaultPlace,
          asIs,
        );
      }),
      { numRuns: 25, seed: 11 },
    );
  });
  test('moving, turning, mirroring and scaling', () => {
    const angle = fc.double({ min: -3, max: 3, noNaN: true });
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 1e6 }),
        angle,
        angle,
        fc.boolean(),
        fc.double({ min: -2, max: 2, noNaN: true }),
        (seed, a, b, mirror, size) => {
          const net = subject(seed);
          const [ca, sa, cb, sb] = [Math.cos(a), Math.sin(a), Math.cos(b), Math.sin(b)];
          const flip = mirror ? -1 : 1;
          const turn: Placement = {
            rotation: [
              [ca * cb * flip, -sa, ca * sb],
              [sa * cb * flip, ca, sa * sb],
              [-sb * flip, 0, cb],
            ],
            shift: [300, -5000, 80],
          };
          const scale = 10 ** size;
          same(
            measured(net),
            measured(placedNet(net, turn, scale)),
            (place) => place,
            (v) => {
              const [x, y, z] = placedVector(turn, v);
              return [scale * x, scale * y, scale * z];
            },
            scale,
          );
        },
      ),
      { numRuns: 25, seed: 12 },
    );
  });
});

describe('nets that are hardly surfaces', () => {
  const mapped = (change: (p: Vector, row: number, column: number) => Vector): ControlNet => {
    const net = panel([4, 4]);
    const points = Float64Array.from(net.points);
    for (let k = 0; k < points.length / 3; k++)
      points.set(
        change(
          [points[3 * k], points[3 * k + 1], points[3 * k + 2]],
          Math.floor(k / net.columns),
          k % net.columns,
        ),
        3 * k,
      );
    return { ...net, points };
  };
  test.each([
    ['planar', mapped(([x, y]) => [x, y, 0])],
    ['on a line', mapped(([x]) => [x, 0, 0])],
    ['with a collapsed edge', mapped((p, row) => (row === 0 ? [0, 0, 0] : p))],
    ['with coincident neighbours', mapped((p, _, column) => (column === 2 ? [500, p[1], 0] : p))],
    [
      'closed to a tube',
      mapped(([x, y, z]) => [x, (100 - z) * Math.cos(y / 95), (100 - z) * Math.sin(y / 95)]),
    ],
    ['folded over', mapped(([x, y, z], row) => [x, row === 3 ? -y : y, z])],
    [
      'all but one point at one place',
      mapped((_, row, column) => (row + column === 0 ? [1, 1, 1] : [0, 0, 0])),
    ],
  ])('%s: measured, and every number finite', (_, net) => {
    expect(finite(measured(net))).toBe(true);
  });

  test('no extent, too small, too large, broken', () => {
    const reason = (net: ControlNet): string => {
      const result = displacements(net, null);
      return result.kind === 'undecided' ? result.reason : result.kind;
    };
    expect(reason(mapped(() => [5, 5, 5]))).toBe('no-extent');
    expect(reason(panel([2, 5]))).toBe('too-small');
    expect(reason(panel([1, 1], [60, 60], 121))).toBe('too-large');
    // Knot 1 stands four times: two cubic pieces that need not meet.
    const cut = Float64Array.of(0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2);
    const pieces = panel([3, 3], [5, 1]);
    expect(reason({ ...pieces, knots: [cut, pieces.knots[1]] })).toBe('inner-break');
  });
});

describe('rational nets', () => {
  test('weights are left out of account', () => {
    const random = seededRandom(21);
    const fair = families['conic-rational'](random);
    const { net } = juttingNet(fair, { row: 2, column: 2 }, 3);
    expect(net.weights).not.toBeNull();
    expect(measured(net)).toEqual(measured({ ...net, weights: null }));
  });
});

describe('any net', () => {
  test('is measured in finite numbers, or undecided', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 2 ** 31 - 1 }),
        fc.boolean(),
        fc.constantFrom(1e-6, 1, 1e3, 1e9),
        fc.constantFrom(null, 0, 1e-9, 0.02, 1e6),
        (seed, rational, size, hand) => {
          const result = displacements(randomNet(seededRandom(seed), rational, size), hand);
          expect(finite(result)).toBe(true);
        },
      ),
      { numRuns: 60, seed: 13 },
    );
  });
});

describe('long nets', () => {
  test('windows cover every point, the same from both ends', () => {
    const net = panel([3, 3], [78, 1], 161);
    const columns = netWindows(net).map(({ column }) => column);
    const last = net.columns - 12;
    expect(columns).toEqual(columns.map((first) => last - first).reverse());
    expect(columns[0]).toBe(0);
    columns.slice(1).forEach((first, k) => expect(first - columns[k]).toBeLessThanOrEqual(7));
  });

  test('a jut in an 81 x 10 net is named once, in a second or two', () => {
    const spot = { row: 4, column: 37 };
    const fair = unevenNet(panel([3, 3], [78, 7], 241), seededRandom(8), 0.02);
    const { net } = juttingNet(fair, spot, 1.5);
    displacements(net, null);
    const start = performance.now();
    expect(confident(net).map(({ place }) => place)).toEqual([pointPlace(spot)]);
    expect(performance.now() - start).toBeLessThan(2000);
  });

  test('a row off in a 30 x 8 net is one line with each of its points once', () => {
    const fair = panel([3, 3], [27, 5], 121);
    const normals = netNormals(fair);
    const net = withMoves(
      fair,
      Array.from({ length: fair.columns }, (_, column) => ({
        spot: { row: 3, column },
        by: scaled(normals[3 * fair.columns + column]!, 3),
      })),
    );
    const told = confident(net).filter(({ part }) => part === 'line');
    expect(told.map(({ place }) => place)).toEqual([{ kind: 'row', row: 3 }]);
    const columns = told[0].points.map(({ spot }) => spot.column).sort((a, b) => a - b);
    expect(columns).toEqual(Array.from({ length: fair.columns }, (_, column) => column));
  });
});

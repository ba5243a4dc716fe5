import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { reversed, transposed, withMoves, type ControlNet } from '../../src/geometry/controlNet.ts';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import type { Mesh } from '../../src/geometry/mesh.ts';
import { scanBody } from '../../src/geometry/scanBody.ts';
import { difference, distance, dot, length, unit, type Vector } from '../../src/geometry/vector.ts';
import { wobbleCauses, type WobbleCause } from '../../src/measure/wobbleCause.ts';
import {
  suspectOfLine,
  suspectOfPoint,
  type WobbleSuspect,
} from '../../src/measure/wobbleSuspect.ts';

type Field = (x: number, y: number) => number;

const bump =
  (cx: number, cy: number, wave: number, height: number): Field =>
  (x, y) =>
    height * Math.exp((-0.5 * 4.5 ** 2 * ((x - cx) ** 2 + (y - cy) ** 2)) / wave ** 2);
const flat: Field = () => 0;
const both =
  (a: Field, b: Field): Field =>
  (x, y) =>
    a(x, y) + b(x, y);

/** A panel of 600 by 500 mm, bent like a hood, with a field added to its height. */
const design: Field = (x, y) => -(x * x) / 5000 - (y * y) / 3200 - (x / 300) ** 3 * 3;
const panel = (field: Field): ControlNet =>
  fittedNet(
    [4, 4],
    [clampedKnots(4, 12), clampedKnots(4, 10)],
    (u, v) => {
      const [x, y] = [600 * (u - 0.5), 500 * (v - 0.5)];
      return [x, y, design(x, y) + field(x, y)];
    },
    61,
  );

/** A scan of it in triangles of 7 mm, seen from above; `isThere` leaves holes. */
function scanOf(
  field: Field,
  noise = 0.01,
  isThere: (x: number, y: number) => boolean = () => true,
): Mesh {
  const random = seededRandom(5);
  const [columns, rows, step] = [94, 78, 6.6];
  const vertices = new Float64Array(3 * columns * rows);
  const isIn: boolean[] = [];
  for (let j = 0; j < rows; j++)
    for (let i = 0; i < columns; i++) {
      const x = (i - (columns - 1) / 2) * step + random.between(-1, 1);
      const y = (j - (rows - 1) / 2) * step + random.between(-1, 1);
      vertices.set([x, y, design(x, y) + field(x, y) + noise * random.normal()], 3 * isIn.length);
      isIn.push(isThere(x, y));
    }
  const triangles: number[] = [];
  for (let j = 0; j + 1 < rows; j++)
    for (let i = 0; i + 1 < columns; i++) {
      const k = j * columns + i;
      for (const corners of [
        [k, k + 1, k + columns + 1],
        [k, k + columns + 1, k + columns],
      ])
        if (corners.every((corner) => isIn[corner])) triangles.push(...corners);
    }
  return { vertices, triangles: Uint32Array.from(triangles) };
}

const suspectAt = (x: number, y: number, wave: number): WobbleSuspect => ({
  position: [x, y, design(x, y)],
  at: null,
  along: [1, 0, 0],
  lengths: [wave, wave],
});

const causes = (
  net: ControlNet,
  mesh: Mesh,
  suspects: readonly WobbleSuspect[],
  outward: 1 | -1 = 1,
): WobbleCause[] => wobbleCauses({ net, outward, kept: null }, scanBody(mesh), suspects);

const own = bump(20, -10, 110, 0.3);
const suspect = suspectAt(24, -14, 125);
const wobbly = panel(own);
const evenScan = scanOf(flat);
const plain = causes(wobbly, evenScan, [suspect])[0];

describe('whose a wobble is', () => {
  test('the model’s where the scan is even, and the numbers are those of the bump', () => {
    expect(plain).toMatchObject({ cause: 'model', doubt: null });
    expect(plain.surface).toBeGreaterThan(0.2);
    expect(plain.share).toBeLessThan(0.1);
    expect(plain.share).toBeGreaterThan(-0.1);
    expect(plain.coverage).toBe(1);
    expect(plain.confidence!).toBeGreaterThan(0.95);
    expect(plain.confidence!).toBeLessThanOrEqual(0.99);
  });

  test.each<[string, Field, WobbleCause['cause'], number]>([
    ['the scan’s where the scan has it', own, 'scan', 1],
    ['the scan’s where the scan has more of it', bump(20, -10, 110, 0.5), 'scan', 1.67],
    ['the model’s where the scan has the opposite', bump(20, -10, 110, -0.2), 'model', -0.67],
    ['not said where the scan has half of it', bump(20, -10, 110, 0.15), 'unknown', 0.5],
  ])('%s', (_, field, cause, share) => {
    const [found] = causes(wobbly, scanOf(field), [suspect]);
    expect(found.cause).toBe(cause);
    expect(Math.abs(found.share - share)).toBeLessThan(3 * found.shareError);
  });

  test('not said where noise hides it', () => {
    const [found] = causes(panel(bump(20, -10, 110, 0.06)), scanOf(flat, 0.5), [suspect]);
    expect(found).toMatchObject({ cause: 'unknown', doubt: 'noise', confidence: null });
  });

  test('not said where there is no wobble', () => {
    const [found] = causes(panel(flat), evenScan, [suspect]);
    expect(found).toMatchObject({ cause: 'unknown', doubt: 'small' });
  });

  test('not said in a hole, beside the scan, on what is not kept, or where nothing is', () => {
    const hole = scanOf(flat, 0.01, (x, y) => Math.hypot(x - 20, y + 10) > 50);
    const half = scanOf(flat, 0.01, (x) => x > 65);
    const kept = (u: number): 'inside' | 'outside' => (u > 0.61 ? 'inside' : 'outside');
    const far: Mesh = { ...evenScan, vertices: evenScan.vertices.map((value) => value + 5000) };
    for (const [mesh, keep] of [
      [hole, null],
      [half, null],
      [evenScan, kept],
      [far, null],
    ] as const) {
      const [found] = wobbleCauses({ net: wobbly, outward: 1, kept: keep }, scanBody(mesh), [
        suspect,
      ]);
      expect(found).toMatchObject({ cause: 'unknown', doubt: 'coverage' });
      expect(found.coverage).toBeLessThan(0.15);
    }
  });

  test('of other sheets of the scan and of which side its triangles show nothing hangs', () => {
    const back = scanOf(() => -2.5);
    const doubled: Mesh = {
      vertices: Float64Array.from([...evenScan.vertices, ...back.vertices]),
      triangles: Uint32Array.from([
        ...evenScan.triangles,
        ...Array.from(back.triangles, (k) => k + evenScan.vertices.length / 3).reverse(),
      ]),
    };
    const [two] = causes(wobbly, doubled, [suspect]);
    expect(two.cause).toBe('model');
    expect(two.gap).toBeCloseTo(plain.gap, 9);
    const flipped: Mesh = { ...evenScan, triangles: evenScan.triangles.toReversed() };
    const [turned] = causes(wobbly, flipped, [suspect]);
    expect(turned.gap).toBeCloseTo(plain.gap, 9);
  });

  test('two near each other are told apart when they are asked about together', () => {
    const other = bump(120, 10, 110, 0.35);
    const net = panel(both(own, other));
    const found = causes(net, scanOf(other), [suspect, suspectAt(115, 13, 100)]);
    expect(found.map(({ cause }) => cause)).toEqual(['model', 'scan']);
    expect(Math.abs(found[0].share)).toBeLessThan(0.15);
    expect(Math.abs(found[1].share - 1)).toBeLessThan(0.15);
  });
});

describe('the picture', () => {
  test('has the surface’s bump and the scan’s evenness', () => {
    const { at, surface, scan } = plain.picture!;
    expect(at).toHaveLength(33);
    const top = surface.map((value) => value!).indexOf(Math.max(...surface.map((value) => value!)));
    expect(Math.abs(at[top])).toBeLessThan(15);
    expect(surface[top]!).toBeGreaterThan(0.2);
    for (const value of scan) expect(Math.abs(value!)).toBeLessThan(0.08);
  });

  test('has nothing where the scan has nothing', () => {
    const mesh = scanOf(own, 0.01, (x, y) => Math.hypot(x - 90, y + 14) > 25);
    const [{ picture, cause }] = causes(wobbly, mesh, [suspect]);
    expect(cause).toBe('scan');
    const missing = picture!.at.filter((_, k) => picture!.scan[k] === null);
    expect(missing.length).toBeGreaterThan(1);
    for (const at of missing) expect(Math.abs(24 + at - 90)).toBeLessThan(25);
    expect(picture!.surface.every((value) => value !== null)).toBe(true);
  });
});

describe('suspects of control points and lines', () => {
  const net = panel(flat);

  test('are as wide as the bump that they are about', () => {
    const point = suspectOfPoint(net, 6, 8);
    const moved = withMoves(net, [{ spot: { row: 6, column: 8 }, by: [0, 0, 1] }]);
    const rise = (u: number, v: number): number =>
      distance(surfacePoint(moved, u, v), surfacePoint(net, u, v));
    const [u, v] = point.at!;
    // the width at half height, found by stepping: about half of the wavelength
    const widths = ([0, 1] as const).map((side) => {
      const near = (by: number): readonly [number, number] =>
        side === 0 ? [u + by, v] : [u, v + by];
      let by = 0;
      while (rise(...near(by)) > rise(u, v) / 2) by += 1e-4;
      return distance(surfacePoint(net, ...near(by)), surfacePoint(net, ...near(-by)));
    });
    widths.forEach((width, k) => {
      expect(point.lengths[k] / (2 * width)).toBeGreaterThan(0.85);
      expect(point.lengths[k] / (2 * width)).toBeLessThan(1.15);
    });
    expect(distance(point.position, surfacePoint(net, u, v))).toBeLessThan(1e-9);
  });

  test.each([
    [{ row: 6, column: 8 }, 'model'],
    [{ row: 5, column: 6 }, 'model'],
  ] as const)('a displaced point %j is the model’s', (spot, cause) => {
    const moved = withMoves(net, [{ spot, by: [0, 0, 0.8] }]);
    const [found] = causes(moved, evenScan, [suspectOfPoint(moved, spot.row, spot.column)]);
    expect(found.cause).toBe(cause);
    expect(found.likeness).toBeGreaterThan(0.8);
  });

  test.each(['row', 'column'] as const)(
    'a displaced %s is the model’s, its length without end',
    (along) => {
      const index = 6;
      const count = along === 'row' ? net.columns : net.rows;
      const spots = Array.from({ length: count }, (_, k) =>
        along === 'row' ? { row: index, column: k } : { row: k, column: index },
      );
      const moved = withMoves(
        net,
        spots.map((spot) => ({ spot, by: [0, 0, 0.3] as const })),
      );
      const line = suspectOfLine(moved, along, index);
      expect(line.lengths[1]).toBe(Infinity);
      const across = unit(line.along)!;
      expect(Math.abs(dot(across, along === 'row' ? [0, 1, 0] : [1, 0, 0]))).toBeGreaterThan(0.99);
      const [found] = causes(moved, evenScan, [line]);
      expect(found.cause).toBe('model');
      expect(found.likeness).toBeGreaterThan(0.8);
      // the scan with the same ridge
      const ridge: Field = (x, y) => {
        const [u, v] = [x / 600 + 0.5, y / 500 + 0.5];
        const held = [u, v].map((w) => Math.min(1, Math.max(0, w)));
        return length(
          difference(surfacePoint(moved, held[0], held[1]), surfacePoint(net, held[0], held[1])),
        );
      };
      expect(causes(moved, scanOf(ridge), [line])[0].cause).toBe('scan');
    },
  );
});

describe('nothing that is said hangs on how the panel lies or is written', () => {
  const numbers = ({
    cause,
    surface,
    gap,
    gapError,
    share,
    shareError,
    likeness,
    change,
    coverage,
  }: WobbleCause) => ({
    cause,
    numbers: [surface, gap, gapError, share, shareError, likeness, change, coverage],
  });
  const alike = (found: WobbleCause): void => {
    const [a, b] = [numbers(found), numbers(plain)];
    expect(a.cause).toBe(b.cause);
    a.numbers.forEach((value, k) => expect(value).toBeCloseTo(b.numbers[k], 5));
  };

  test.each<[string, ControlNet, 1 | -1]>([
    ['u and v changed over', transposed(wobbly), -1],
    ['u reversed', reversed(wobbly), -1],
    ['v reversed', transposed(reversed(transposed(wobbly))), -1],
    ['both reversed', transposed(reversed(transposed(reversed(wobbly)))), 1],
  ])('%s', (_, net, outward) => {
    alike(causes(net, evenScan, [suspect], outward)[0]);
    const at = [0.5, 0.5] as const;
    alike(causes(net, evenScan, [{ ...suspect, at }], outward)[0]);
  });

  const placed = (
    p: Vector,
    [a, b, c]: readonly [Vector, Vector, Vector],
    shift: Vector,
  ): Vector => [dot(a, p) + shift[0], dot(b, p) + shift[1], dot(c, p) + shift[2]];
  const everywhere = (all: Float64Array, move: (p: Vector) => Vector): Float64Array => {
    const moved = new Float64Array(all.length);
    for (let k = 0; k < all.length; k += 3) moved.set(move([all[k], all[k + 1], all[k + 2]]), k);
    return moved;
  };
  const angle = fc.double({ min: -Math.PI, max: Math.PI, noNaN: true });
  const turns = fc.tuple(angle, angle, angle, fc.boolean());

  test('anywhere in space, and mirrored', () => {
    fc.assert(
      fc.property(turns, ([a, b, c, isMirrored]) => {
        const [ca, sa, cb, sb, cc, sc] = [a, b, c].flatMap((t) => [Math.cos(t), Math.sin(t)]);
        const m = isMirrored ? -1 : 1;
        const rows: readonly [Vector, Vector, Vector] = [
          [m * ca * cb, ca * sb * sc - sa * cc, ca * sb * cc + sa * sc],
          [m * sa * cb, sa * sb * sc + ca * cc, sa * sb * cc - ca * sc],
          [-m * sb, cb * sc, cb * cc],
        ];
        const move = (p: Vector): Vector => placed(p, rows, [400 * a, -300 * b, 200 * c]);
        const turned = (p: Vector): Vector => placed(p, rows, [0, 0, 0]);
        const net = { ...wobbly, points: everywhere(wobbly.points, move) };
        const mesh = {
          vertices: everywhere(evenScan.vertices, move),
          // a mirrored scan is written so that its triangles still show their front
          triangles: isMirrored ? evenScan.triangles.toReversed() : evenScan.triangles,
        };
        const own = { ...suspect, position: move(suspect.position), along: turned(suspect.along) };
        alike(causes(net, mesh, [own], isMirrored ? -1 : 1)[0]);
      }),
      { numRuns: 12, seed: 20 },
    );
  });

  test('the outward side changed over changes the signs of the heights alone', () => {
    const [other] = causes(wobbly, evenScan, [suspect], -1);
    alike({ ...other, surface: -other.surface, gap: -other.gap });
  });

  test('asked twice, the same bits', () => {
    expect(causes(wobbly, evenScan, [suspect])[0]).toEqual(plain);
  });
});

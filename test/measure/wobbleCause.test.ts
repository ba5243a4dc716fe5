import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { reversed, transposed, type ControlNet } from '../../src/geometry/controlNet.ts';
import type { Mesh } from '../../src/geometry/mesh.ts';
import { scanBody } from '../../src/geometry/scanBody.ts';
import { dot, type Vector } from '../../src/geometry/vector.ts';
import { wobbleCauses, type WobbleCause } from '../../src/measure/wobbleCause.ts';
import type { WobbleSuspect } from '../../src/measure/wobbleSuspect.ts';
import { noField, type Field } from '../wobble/fields.ts';
import { bump, suspectAt, wobblyPanel, wobblyScan } from './wobblyPanel.ts';

const causes = (
  net: ControlNet,
  mesh: Mesh,
  suspects: readonly WobbleSuspect[],
  outward: 1 | -1 = 1,
): WobbleCause[] => wobbleCauses({ net, outward, kept: null }, scanBody(mesh), suspects);

const own = bump(20, -10, 110, 0.3);
const suspect = suspectAt(24, -14, 125);
const wobbly = wobblyPanel(own);
const evenScan = wobblyScan(noField);
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
    const [found] = causes(wobbly, wobblyScan(field), [suspect]);
    expect(found.cause).toBe(cause);
    expect(Math.abs(found.share - share)).toBeLessThan(3 * found.shareError);
  });

  test('of a suspect that is known badly is found as well', () => {
    const [found] = causes(wobbly, evenScan, [suspectAt(45, 12, 150)]);
    expect(found.cause).toBe('model');
    const [x, y] = found.position!;
    expect(Math.hypot(x - 20, y + 10)).toBeLessThan(6);
    for (const length of found.lengths) expect(Math.abs(length / 110 - 1)).toBeLessThan(0.15);
    expect(found.gap).toBeCloseTo(plain.gap, 1);
  });

  test('not said where noise hides it', () => {
    const [found] = causes(wobblyPanel(bump(20, -10, 110, 0.06)), wobblyScan(noField, 0.5), [
      suspect,
    ]);
    expect(found).toMatchObject({ cause: 'unknown', doubt: 'noise', confidence: null });
  });

  test('not said where there is no wobble', () => {
    const [found] = causes(wobblyPanel(noField), evenScan, [suspect]);
    expect(found).toMatchObject({ cause: 'unknown', doubt: 'small' });
  });

  test('not said in a hole, beside the scan, on what is not kept, or where nothing is', () => {
    const hole = wobblyScan(noField, 0.01, [{ at: [20, -10], radius: 55 }]);
    const half = wobblyScan(
      noField,
      0.01,
      [],
      [
        [75, 307],
        [-254, 254],
      ],
    );
    const kept = (u: number): 'inside' | 'outside' => (u > 0.625 ? 'inside' : 'outside');
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
      expect(found.coverage).toBeLessThan(0.12);
    }
  });

  test('nor of a suspect without an extent, or in a direction that the surface does not have', () => {
    for (const one of [
      { ...suspect, lengths: [0, 0] as const },
      { ...suspect, lengths: [Infinity, Infinity] as const },
      { ...suspect, lengths: [110, NaN] as const },
      { ...suspect, along: [0, 0, 0] as const },
    ]) {
      const [found] = causes(wobbly, evenScan, [one]);
      expect(found).toMatchObject({ cause: 'unknown', doubt: 'coverage', picture: null });
      expect(found.coverage).toBe(0);
    }
  });

  test('of other sheets of the scan and of which side its triangles show nothing hangs', () => {
    const back = wobblyScan(() => -2.5);
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
    const net = wobblyPanel((x, y) => own(x, y) + other(x, y));
    const found = causes(net, wobblyScan(other), [suspect, suspectAt(115, 13, 100)]);
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
    const mesh = wobblyScan(own, 0.01, [{ at: [90, -14], radius: 25 }]);
    const [{ picture, cause }] = causes(wobbly, mesh, [suspect]);
    expect(cause).toBe('scan');
    const missing = picture!.at.filter((_, k) => picture!.scan[k] === null);
    expect(missing.length).toBeGreaterThan(1);
    for (const at of missing) expect(Math.abs(24 + at - 90)).toBeLessThan(25);
    expect(picture!.surface.every((value) => value !== null)).toBe(true);
  });
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

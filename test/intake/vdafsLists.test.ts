import { describe, expect, test } from 'vitest';
import { vdafsFile } from '../../fixtures/vdafsText.ts';
import { pointAt } from '../../src/geometry/controlNet.ts';
import type { Intake } from '../../src/intake/panel.ts';
import { readVdaFs } from '../../src/intake/vdafs/readVdaFs.ts';

// DIN 66301 (VDA-FS 2.0), GROUP, TMAT and TLIST: from memory throughout.

const read = (...statements: readonly string[]): Intake =>
  readVdaFs(Buffer.from(vdafsFile(statements)));
const codes = (intake: Intake): string[] => intake.faults.map(({ code }) => code);

/** A plate of 100 by 50 mm with a corner at (x, 0, 7). */
const plate = (name: string, x = 0): string =>
  `${name} = SURF / 1,1, 0,1, 0,1, 2,2, ${x},100,0,0, 0,0,50,0, 7,0,0,0`;
const mirror = 'M = TMAT / 1, 0, 0, 0, -1, 0, 0, 0, 1, 0, 0, 0';
const turn = 'T = TMAT / 0, -1, 0, 1, 0, 0, 0, 0, 1, 1000, 0, 0';
const shift = 'V = TMAT / 1, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 30';

/** Names, groups and where the second point of the first row stands. */
const placed = ({ panels }: Intake): unknown[] =>
  panels.map(({ name, groups, net, place }) => [
    name,
    place.record,
    groups ?? [],
    pointAt(net, 0, 1),
  ]);

describe('GROUP', () => {
  test('groups and groups of groups are told in order of their names', () => {
    const intake = read(
      plate('A'),
      plate('B'),
      'REAR = GROUP / 2, A, B',
      'CAR = GROUP / 2, REAR, A',
      'ALONE = GROUP / 1, B',
    );
    expect([intake.faults, intake.notices]).toEqual([[], []]);
    expect(intake.panels.map(({ groups }) => groups)).toEqual([
      ['CAR', 'REAR'],
      ['ALONE', 'CAR', 'REAR'],
    ]);
  });

  test('a surface stands for its faces, and other elements for nothing', () => {
    const intake = read(
      plate('A'),
      'P = POINT / 1, 2, 3',
      'K = CONS / A, , 0, 3, 3, 0, 1, 2, 3, 2, 0, 1, 0, 0, 2, 1, 0, 0, 1, 2, 1, -1, 1, -1',
      'F1 = FACE / A, 1, 1, K, 0, 3',
      'F2 = FACE / A, 1, 1, K, 3, 0',
      'G = GROUP / 2, A, P',
      'H = GROUP / 1, F2',
    );
    expect([intake.faults, intake.notices]).toEqual([[], []]);
    expect(intake.panels.map(({ name, groups }) => [name, groups])).toEqual([
      ['F1', ['G']],
      ['F2', ['G', 'H']],
    ]);
  });
});

describe('TLIST', () => {
  test('its elements stand once more, mirrored; they themselves stay', () => {
    const intake = read(plate('A'), mirror, 'RIGHT = TLIST / M, 1, A');
    expect([intake.faults, intake.notices]).toEqual([[], []]);
    expect(placed(intake)).toEqual([
      ['A', 'A', [], [100, 0, 7]],
      ['A~2', 'RIGHT/A', ['RIGHT'], [100, 0, 7]],
    ]);
    expect(pointAt(intake.panels[1].net, 1, 0)).toEqual([0, -50, 7]);
    expect(intake.panels.map(({ place }) => place.line)).toEqual([6, 6]);
  });

  test('the matrix stands row by row, the shift is added after it', () => {
    const intake = read(plate('A', 10), turn, 'L = TLIST / T, 1, A');
    // x' = -y + 1000, y' = x
    expect(pointAt(intake.panels[1].net, 0, 1)).toEqual([1000, 110, 7]);
    expect(pointAt(intake.panels[1].net, 1, 0)).toEqual([950, 10, 7]);
  });

  test('lists of lists and of groups: the inner matrix first', () => {
    const intake = read(
      plate('A'),
      plate('B', 200),
      turn,
      shift,
      'G = GROUP / 2, A, B',
      'IN = TLIST / T, 1, G',
      'OUT = TLIST / V, 2, IN, A',
      'H = GROUP / 1, OUT',
    );
    expect([intake.faults, intake.notices]).toEqual([[], []]);
    expect(placed(intake)).toEqual([
      ['A', 'A', ['G'], [100, 0, 7]],
      ['B', 'B', ['G'], [300, 0, 7]],
      ['A~2', 'IN/A', ['IN'], [1000, 100, 7]],
      ['B~2', 'IN/B', ['IN'], [1000, 300, 7]],
      ['A~3', 'OUT/A', ['H', 'OUT'], [1000, 100, 37]],
      ['B~3', 'OUT/B', ['H', 'OUT'], [1000, 300, 37]],
      ['A~4', 'OUT/A', ['H', 'OUT'], [100, 0, 37]],
    ]);
  });

  test('an element named twice, or with its face, stands once in a list', () => {
    const intake = read(
      plate('A'),
      'K = CONS / A, , 0, 3, 3, 0, 1, 2, 3, 2, 0, 1, 0, 0, 2, 1, 0, 0, 1, 2, 1, -1, 1, -1',
      'F = FACE / A, 1, 1, K, 0, 3',
      mirror,
      'L = TLIST / M, 4, A, F, K, F',
    );
    expect([intake.faults, intake.notices]).toEqual([[], []]);
    const [own, copy] = intake.panels;
    expect(intake.panels).toHaveLength(2);
    expect(copy.trim).toBe(own.trim);
  });

  test('lists that stand before what they name', () => {
    const intake = read('L = TLIST / M, 1, A', mirror, plate('A'));
    expect([intake.faults, intake.panels.length]).toEqual([[], 2]);
  });

  test.each<[string, string[], string, Record<string, unknown>]>([
    ['no matrix', ['L = TLIST / X, 1, A'], 'vda-reference', { what: 'TMAT', to: 'X' }],
    ['no element', [mirror, 'L = TLIST / M, 1, X'], 'vda-reference', { what: 'element', to: 'X' }],
    ['no element of a group', ['L = GROUP / 1, X'], 'vda-reference', { what: 'element', to: 'X' }],
    [
      'a flat matrix',
      ['Z = TMAT / 1,0,0, 0,1,0, 1,1,0, 0,0,0', 'L = TLIST / Z, 1, A'],
      'placement',
      { what: 'Z' },
    ],
    [
      'a matrix cut short',
      ['Z = TMAT / 1,0,0, 0,1,0, 0,0,1, 0,0', 'L = TLIST / Z, 1, A'],
      'wrong-count',
      {},
    ],
    [
      'a matrix with more',
      ['Z = TMAT / 1,0,0, 0,1,0, 0,0,1, 0,0,0,1', 'L = TLIST / Z, 1, A'],
      'wrong-count',
      {},
    ],
    [
      'a circle',
      [mirror, 'L = TLIST / M, 1, N', 'N = GROUP / 2, A, L'],
      'too-deep',
      { what: 'lists', most: 64 },
    ],
    ['itself', ['L = GROUP / 1, L'], 'too-deep', { what: 'lists' }],
    [
      'elements beyond the file',
      ['L = GROUP / 4000000000, A'],
      'count-beyond-file',
      { what: 'elements' },
    ],
    ['an element too few', ['L = GROUP / 2, A'], 'wrong-count', {}],
    ['an element too many', ['L = GROUP / 1, A, A'], 'wrong-count', {}],
    [
      'a place beyond all panels',
      ['Z = TMAT / 1,0,0, 0,1,0, 0,0,1, 1E12,0,0', 'L = TLIST / Z, 1, A'],
      'beyond-range',
      {},
    ],
  ])('%s: %s', (_, lines, code, data) => {
    const intake = read(plate('A'), ...lines);
    expect(codes(intake)).toEqual([code]);
    expect(intake.faults[0].data).toMatchObject(data);
    expect(intake.panels[0].name).toBe('A');
  });

  test('100 lists in a row are too deep, and none is lost for it but the deepest', () => {
    const chain = Array.from({ length: 100 }, (_, k) => `G${k} = GROUP / 1, G${k + 1}`);
    const intake = read(plate('A'), ...chain, 'G100 = GROUP / 1, A');
    expect(codes(intake)).toEqual(['too-deep']);
  });

  test.each([
    ['lists that double each other', (k: number) => `L${k + 1} = TLIST / M, 2, L${k}, O${k}`],
    ['groups that double each other', (k: number) => `L${k + 1} = GROUP / 2, L${k}, O${k}`],
  ])('%s come to an end', (_, next) => {
    const chain = Array.from({ length: 40 }, (_l, k) => [
      next(k),
      `O${k} = TLIST / M, 1, L${k}`,
    ]).flat();
    const begun = performance.now();
    const intake = read(plate('L0'), mirror, ...chain);
    expect(codes(intake)).toEqual(['too-deep']);
    expect(performance.now() - begun).toBeLessThan(10_000);
  });
});

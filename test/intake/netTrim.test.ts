import { describe, expect, test } from 'vitest';
import type { Intake } from '../../src/intake/panel.ts';
import { readNetJson } from '../../src/intake/netJson/readNetJson.ts';
import { trimTest } from '../../src/geometry/trimTest.ts';

/** A flat square of 100 mm over the unit square, with a trim as it stands in the file. */
const read = (trim: unknown, units = 'mm'): Intake =>
  readNetJson(
    Buffer.from(
      JSON.stringify({
        format: 'hullsight-net',
        version: 1,
        units,
        panels: [
          {
            name: 'square',
            degree: [1, 1],
            knots: [
              [0, 0, 1, 1],
              [0, 0, 1, 1],
            ],
            rows: [
              [
                [0, 0, 0],
                [100, 0, 0],
              ],
              [
                [0, 100, 0],
                [100, 100, 0],
              ],
            ],
            trim,
          },
        ],
      }),
    ),
  );

const line = (...points: readonly (readonly [number, number])[]) => ({
  degree: 1,
  knots: [0, ...points.map((_, k) => k), points.length - 1],
  points,
});
const triangle = [line([0.1, 0.1], [0.9, 0.1]), line([0.9, 0.1], [0.1, 0.9], [0.1, 0.1])];

describe('trim of a panel in net JSON', () => {
  test.each([[null], [undefined]])('%s: the whole surface', (trim) => {
    expect(read(trim).panels.map((panel) => panel.trim)).toEqual([{ kind: 'whole' }]);
  });

  test('loops of curves cut a region; its tolerance is in the unit of the file', () => {
    const { panels, faults, notices } = read({ tolerance: 0.01, loops: [triangle] }, 'cm');
    expect([faults, notices]).toEqual([[], []]);
    const [{ trim, net }] = panels;
    if (trim.kind !== 'part') throw new Error(trim.kind);
    expect(trim.region.tolerance).toBe(0.1);
    const side = trimTest(net, trim.region);
    expect([side(0.2, 0.2), side(0.8, 0.8), side(0.05, 0.5)]).toEqual([
      'inside',
      'outside',
      'outside',
    ]);
  });

  test('a rational curve: a circle (weights as of a quarter turn)', () => {
    const s = Math.SQRT1_2;
    const circle = {
      degree: 2,
      knots: [0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4],
      points: [
        [0.9, 0.5],
        [0.9, 0.9],
        [0.5, 0.9],
        [0.1, 0.9],
        [0.1, 0.5],
        [0.1, 0.1],
        [0.5, 0.1],
        [0.9, 0.1],
        [0.9, 0.5],
      ],
      weights: [1, s, 1, s, 1, s, 1, s, 1],
    };
    const { panels } = read({ loops: [[circle]] });
    const [{ trim, net }] = panels;
    if (trim.kind !== 'part') throw new Error(trim.kind);
    const side = trimTest(net, trim.region);
    for (let k = 0; k < 50; k++) {
      const at = (radius: number) =>
        side(0.5 + radius * Math.cos(k / 8), 0.5 + radius * Math.sin(k / 8));
      expect([at(0.399), at(0.401)]).toEqual(['inside', 'outside']);
    }
  });

  test.each<[string, unknown, string]>([
    ['ends 0.5 apart', { loops: [[line([0.1, 0.1], [0.9, 0.1], [0.5, 0.5])]] }, 'trim-open'],
    ['a loop without a length', { loops: [[line([0.1, 0.1], [0.1, 0.1])]] }, 'trim-empty'],
    [
      'a knot too few',
      {
        loops: [
          [
            {
              degree: 1,
              knots: [0, 0, 1],
              points: [
                [0, 0],
                [1, 1],
              ],
            },
          ],
        ],
      },
      'trim-unsound',
    ],
    [
      'a weight too many',
      { loops: [[{ ...line([0, 0], [1, 0], [0, 0]), weights: [1, 1, 1, 1] }]] },
      'trim-unsound',
    ],
  ])('%s: told, and the net is read all the same', (_, trim, code) => {
    const { panels, faults, notices } = read(trim);
    expect(faults).toEqual([]);
    expect(panels.map((panel) => panel.trim.kind)).toEqual(['unread']);
    expect(notices.map((notice) => notice.code)).toEqual([code]);
    expect(notices[0].place.record).toBe('/panels/0/trim');
  });

  test.each<[string, unknown, Record<string, unknown>]>([
    ['no loop', { loops: [] }, { problem: 'few', expected: 1 }],
    [
      'a point of space',
      { loops: [[{ degree: 1, knots: [], points: [[0, 0, 0]] }]] },
      { problem: 'many', expected: 2 },
    ],
    [
      'a slip of the key',
      { loops: [triangle], tolerence: 1 },
      { problem: 'unknown-key', key: 'tolerence', nearest: 'tolerance' },
    ],
    ['a tolerance of nothing', { tolerance: 0, loops: [triangle] }, { problem: 'other' }],
  ])('%s is a fault of the file', (_, trim, data) => {
    const { panels, faults } = read(trim);
    expect(panels).toEqual([]);
    expect(faults.map(({ code }) => code)).toEqual(['json-shape']);
    expect(faults[0].data).toMatchObject(data);
  });
});

import { describe, expect, test } from 'vitest';
import { readNetJson } from '../../src/intake/netJson/readNetJson.ts';
import { trimTest } from '../../src/geometry/trimTest.ts';

const line = (...points: [number, number][]) => ({
  degree: 1,
  knots: [0, ...points.map((_, k) => k), points.length - 1],
  points,
});
const square = line([0.25, 0.25], [0.75, 0.25], [0.75, 0.75], [0.25, 0.75], [0.25, 0.25]);

/** A plane square of 1000 mm, told in metres, with a trim. */
const read = (trim: unknown) =>
  readNetJson(
    Buffer.from(
      JSON.stringify({
        format: 'hullsight-net',
        version: 1,
        units: 'm',
        panels: [
          {
            name: 'hood',
            degree: [1, 1],
            knots: [
              [0, 0, 1, 1],
              [0, 0, 1, 1],
            ],
            rows: [
              [
                [0, 0, 0],
                [1, 0, 0],
              ],
              [
                [0, 1, 0],
                [1, 1, 0],
              ],
            ],
            trim,
          },
        ],
      }),
    ),
  );

describe('the trim of a panel in a net file', () => {
  test('is a region, its tolerance in the file’s unit', () => {
    const { panels, notices, faults } = read({ tolerance: 0.0005, loops: [[square]] });
    expect([notices, faults]).toEqual([[], []]);
    const [{ net, trim }] = panels;
    if (trim.kind !== 'part') throw new Error(trim.kind);
    expect(trim.region.tolerance).toBeCloseTo(0.5, 12);
    const told = trimTest(net, trim.region);
    expect([told(0.5, 0.5), told(0.2, 0.5)]).toEqual(['inside', 'outside']);
  });

  test.each([
    ['ends that do not meet', [[line([0.2, 0.2], [0.8, 0.2], [0.5, 0.8])]], 'trim-open'],
    ['a loop without curves', [[square], []], 'trim-empty'],
    ['too few knots', [[{ ...square, knots: [0, 1] }]], 'trim-unsound'],
    ['a weight of nothing', [[{ ...square, weights: [1, 1, 0, 1, 1] }]], 'trim-unsound'],
    ['a degree of nothing', [[{ ...square, degree: 0 }]], 'trim-unsound'],
  ])('%s: a notice, and the net is judged whole', (_, loops, code) => {
    const { panels, notices, faults } = read({ loops });
    expect(faults).toEqual([]);
    expect(notices.map((one) => [one.code, one.place.record])).toEqual([[code, '/panels/0/trim']]);
    expect(panels[0].trim.kind).toBe('unread');
  });

  test.each([
    ['loops of no list', { loops: 3 }],
    ['no loops', {}],
    ['a point of three numbers', { loops: [[{ ...square, points: [[0, 0, 0]] }]] }],
    ['a key it does not know', { loops: [[square]], colour: 'red' }],
  ])('%s: a fault', (_, trim) => {
    expect(read(trim).faults.map(({ code }) => code)).toEqual(['json-shape']);
  });
});

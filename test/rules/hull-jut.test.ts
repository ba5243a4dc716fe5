import { describe, expect, test } from 'vitest';
import { families, unevenNet } from '../../fixtures/panelFamilies.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { withMoves, type ControlNet } from '../../src/geometry/controlNet.ts';
import { scaled } from '../../src/geometry/vector.ts';
import { netNormals } from '../../src/measure/outwardSide.ts';
import { catalogue } from '../../src/rules/catalogue.ts';
import { thresholdsOf } from '../../src/rules/rule.ts';
import { subjectOf } from '../../src/rules/subject.ts';
import { repairs } from '../../src/suggest/nudges.ts';
import { shownSite } from '../../src/writers/shown.ts';
import { changes, fixtureNet, judgement, ruleTable } from './ruleTable.ts';

ruleTable('hull-jut', {
  sites: [{ kind: 'row', row: 3 }],
  value: 3,
  within: 0.15,
  direction: 'out',
});

describe('the points of a line that is named', () => {
  const net = fixtureNet('hull-jut', 'missed');

  test.each(['point-jut', 'point-drift'])('are not blamed by themselves: %s', (id) => {
    expect(judgement(id, net)).toEqual({ outcome: 'met' });
  });

  test('are at most probable where one is off from the line as far as the line is', () => {
    const both = withMoves(net, [{ spot: { row: 3, column: 4 }, by: [0, 0, -3] }]);
    const row = judgement('hull-jut', both);
    expect(row.outcome === 'missed' && row.misses.map(({ site }) => site)).toEqual([
      { kind: 'row', row: 3 },
    ]);
    const point = judgement('point-jut', both);
    if (point.outcome !== 'missed') throw new Error(point.outcome);
    expect(point.misses.map(({ certainty }) => certainty)).toEqual(['uncertain']);
    expect(point.misses[0].site).toEqual({ kind: 'point', row: 3, column: 4 });
  });
});

describe.each(changes)('a run of a row, $name', (change) => {
  const fair = fixtureNet('hull-jut', 'met');
  const normals = netNormals(fair);
  const run = (first: number, last: number, by: number): ControlNet =>
    withMoves(
      fair,
      Array.from({ length: last - first + 1 }, (_, k) => ({
        spot: { row: 3, column: first + k },
        by: scaled(normals[3 * fair.columns + first + k]!, by),
      })),
    );

  test.each([
    [2, 5, 2],
    [0, 4, -3],
    [6, 8, 1.5],
    [1, 9, 2],
  ])('columns %i to %i off by %d mm: told as one, and no member by itself', (from, to, by) => {
    const net = run(from, to, by);
    const told = judgement('hull-jut', change.net(net));
    if (told.outcome !== 'missed') throw new Error(told.outcome);
    const site = { kind: 'row', row: 3, from, to } as const;
    expect(told.misses.map((miss) => miss.site)).toEqual([change.site(site, net)]);
    const [{ value, moves, certainty }] = told.misses;
    expect(Math.abs(value - Math.abs(by))).toBeLessThan(0.1 * Math.abs(by));
    expect(moves).toHaveLength(to - from + 1);
    expect(certainty).toBe('named');
    for (const id of ['point-jut', 'point-drift'])
      expect(judgement(id, change.net(net))).toEqual({ outcome: 'met' });
  });
});

test('a run of a net is told as it is, with a nudge that leaves nothing of it', () => {
  const fair = fixtureNet('hull-jut', 'met');
  const net = withMoves(
    fair,
    [2, 3, 4].map((row) => ({ spot: { row, column: 5 }, by: [0, 0, 3] as const })),
  );
  const subject = subjectOf(net);
  const judged = Object.fromEntries(
    catalogue
      .filter(({ data }) => data.id === 'hull-jut')
      .map(({ data, judge }) => [data.id, judge(subject, thresholdsOf(data, 'A'))]),
  );
  const [{ miss, nudge, holds }] = repairs(subject, judged);
  expect(shownSite(miss.site)).toBe('column 6, rows 3 to 5');
  expect(nudge.moves.map(({ row, column }) => [row, column])).toEqual([
    [2, 5],
    [3, 5],
    [4, 5],
  ]);
  expect(nudge.leaves).toBeLessThan(0.1);
  expect(holds).toBe(true);
});

test('honest sections that accelerate, and soft creases, are no line off', () => {
  for (const family of ['accelerating-crown', 'soft-crease'])
    for (let seed = 0; seed < 15; seed++) {
      const random = seededRandom(1200 + seed);
      const result = judgement('hull-jut', unevenNet(families[family](random), random, 0.02));
      const misses = result.outcome === 'missed' ? result.misses : [];
      expect(misses.filter(({ certainty }) => certainty === 'named')).toEqual([]);
    }
});

test('a net of four rows has no inner line that could be told', () => {
  const net = fixtureNet('degree-limit', 'missed');
  expect([net.columns, net.rows]).toEqual([9, 4]);
  const off = withMoves(
    net,
    Array.from({ length: net.columns }, (_, column) => ({
      spot: { row: 1, column },
      by: [0, 0, 3],
    })),
  );
  const result = judgement('hull-jut', off);
  const misses = result.outcome === 'missed' ? result.misses : [];
  expect(misses.filter(({ site }) => site.kind === 'row')).toEqual([]);
});

import { describe, expect, test } from 'vitest';
import { families, unevenNet } from '../../fixtures/panelFamilies.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';
import { withMoves } from '../../src/geometry/controlNet.ts';
import { fixtureNet, judgement, ruleTable } from './ruleTable.ts';

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

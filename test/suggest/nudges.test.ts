import { describe, expect, test } from 'vitest';
import { ruleFixtures } from '../../fixtures/rules/makeRuleFixtures.ts';
import { pointAt, withMoves, type ControlNet } from '../../src/geometry/controlNet.ts';
import { difference, length, scaled, sum, unit, type Vector } from '../../src/geometry/vector.ts';
import { catalogue } from '../../src/rules/catalogue.ts';
import { thresholdsOf, type Judgement, type Miss } from '../../src/rules/rule.ts';
import { subjectOf, type Subject } from '../../src/rules/subject.ts';
import { repairs, type Repair } from '../../src/suggest/nudges.ts';

const judgementOf = (id: string, subject: Subject): Judgement => {
  const { data, judge } = catalogue.find((rule) => rule.data.id === id)!;
  return judge(subject, thresholdsOf(data, 'A'));
};

/** The nudges for what one rule says of a net. */
function repaired(id: string, net: ControlNet): Repair[] {
  const subject = subjectOf(net);
  return repairs(subject, { [id]: judgementOf(id, subject) });
}

const withNudges = (net: ControlNet, found: readonly Repair[]): ControlNet =>
  withMoves(
    net,
    found.flatMap(({ nudge }) => nudge.moves.map(({ by, ...spot }) => ({ spot, by }))),
  );

/** The net with the point of row 2, column 3 moved. */
const moved = (by: Vector): ControlNet =>
  withMoves(ruleFixtures['point-jut'].met, [{ spot: { row: 2, column: 3 }, by }]);

describe('the nudge of a row', () => {
  const { met, missed } = ruleFixtures['hull-jut'];
  const found = repaired('hull-jut', missed);

  test('moves every point of it, back to where it was before it was displaced', () => {
    expect(found).toHaveLength(1);
    const [{ nudge, holds }] = found;
    expect(holds).toBe(true);
    expect(nudge.moves.map(({ row, column }) => ({ row, column }))).toEqual(
      Array.from({ length: missed.columns }, (_, column) => ({ row: 3, column })),
    );
    for (const { row, column, by } of nudge.moves) {
      const planted = difference(pointAt(missed, row, column), pointAt(met, row, column));
      expect(length(sum(by, planted))).toBeLessThan(0.15);
    }
  });

  test('shows the move of its middle, and leaves next to nothing', () => {
    const [{ nudge, miss }] = found;
    const own = nudge.moves.find(({ column }) => column === nudge.spot.column)!;
    expect(nudge.spot).toEqual({ row: 3, column: 5 });
    expect(nudge.vector).toEqual(own.by);
    expect(nudge.vector).toEqual(scaled(miss.displacement!, -1));
    expect(miss.position).toEqual(pointAt(missed, 3, 5));
    expect(nudge.leaves).toBeLessThan(0.15);
  });

  test('made, is not asked for again', () => {
    expect(judgementOf('hull-jut', subjectOf(withNudges(missed, found)))).toEqual({
      outcome: 'met',
    });
  });
});

describe.each([
  ['point-jut', [0, 0, 2.5]],
  ['point-jut', [1, -1, -2]],
  ['point-drift', [9, 0, 0]],
  ['point-drift', [0, -9, 0]],
] as const)('the nudge of a point: %s by %j', (id, by) => {
  const net = moved(by);
  const found = repaired(id, net);

  test('undoes the displacement', () => {
    expect(found).toHaveLength(1);
    const [{ nudge }] = found;
    expect(nudge.moves).toEqual([{ ...nudge.spot, by: nudge.vector }]);
    expect(length(sum(nudge.vector, by))).toBeLessThan(0.05 * length(by));
    expect(nudge.either).toEqual([]);
  });

  test('its parts along normal, row and column make up its vector', () => {
    const [{ nudge }] = found;
    const { row, column } = nudge.spot;
    const along = (from: Vector, to: Vector): Vector => unit(difference(to, from))!;
    const ways = [
      subjectOf(net).parts[0].normals[row * net.columns + column]!,
      along(pointAt(net, row, column - 1), pointAt(net, row, column + 1)),
      along(pointAt(net, row - 1, column), pointAt(net, row + 1, column)),
    ];
    const parts = [nudge.parts!.normal, nudge.parts!.row, nudge.parts!.column];
    const made = ways.reduce<Vector>(
      (total, way, k) => sum(total, scaled(way, parts[k])),
      [0, 0, 0],
    );
    expect(length(difference(made, nudge.vector))).toBeLessThan(1e-9);
  });
});

test('what a nudge leaves is measured on the copy, not assumed', () => {
  const net = moved([0, 0, 2.5]);
  const subject = subjectOf(net);
  const judgement = judgementOf('point-jut', subject);
  if (judgement.outcome !== 'missed') throw new Error(judgement.outcome);
  const [miss] = judgement.misses;
  const leavesAfter = (share: number): { readonly leaves: number; readonly holds: boolean } => {
    const short: Miss = {
      ...miss,
      moves: miss.moves!.map((move) => ({ ...move, by: scaled(move.by, share) })),
    };
    const [{ nudge, holds }] = repairs(subject, {
      'point-jut': { outcome: 'missed', misses: [short] },
    });
    return { leaves: nudge.leaves, holds };
  };
  expect(leavesAfter(1).leaves).toBeLessThan(0.05);
  expect(leavesAfter(1).holds).toBe(true);
  expect(leavesAfter(0.5).leaves).toBeCloseTo(1.25, 1);
  expect(leavesAfter(0.5).holds).toBe(false);
});

test('a point that may be another is offered with the other, and only one of them is moved', () => {
  const net = moved([0, 0, 2.5]);
  const subject = subjectOf(net);
  const judgement = judgementOf('point-jut', subject);
  if (judgement.outcome !== 'missed') throw new Error(judgement.outcome);
  const either = [{ row: 2, column: 4, by: [0, 0, -1] as const }];
  const spots = [
    { row: 2, column: 3 },
    { row: 2, column: 4 },
  ];
  const tied: Miss = {
    ...judgement.misses[0],
    site: { kind: 'points', points: spots },
    certainty: 'uncertain',
    either,
  };
  const [{ nudge }] = repairs(subject, { 'point-jut': { outcome: 'missed', misses: [tied] } });
  expect(nudge.either).toEqual(either);
  expect(nudge.moves.map(({ row, column }) => ({ row, column }))).toEqual([spots[0]]);
  expect(nudge.leaves).toBeLessThan(0.05);
});

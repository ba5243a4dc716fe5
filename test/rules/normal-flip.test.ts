import { expect, test } from 'vitest';
import { normalFlip } from '../../src/rules/normal-flip.ts';
import { thresholdsOf } from '../../src/rules/rule.ts';
import { subjectOf } from '../../src/rules/subject.ts';
import { sphere } from '../geometry/revolvedNet.ts';
import { fixtureNet, ruleTable } from './ruleTable.ts';

ruleTable('normal-flip', {
  sites: [{ kind: 'point', row: 2, column: 2 }],
  value: 179,
  within: 1,
});

const judged = (...from: Parameters<typeof subjectOf>) =>
  normalFlip.judge(subjectOf(...from), thresholdsOf(normalFlip.data, 'A'));

test('looks at what is kept', () => {
  const net = fixtureNet('normal-flip', 'missed');
  // the cusp lies at y = 225
  const keepTo = (most: number) =>
    ({ keptRegion: { region: null, keep: [{ normal: [0, 1, 0], most }] } }) as const;
  expect(judged(net, keepTo(260)).outcome).toBe('missed');
  expect(judged(net, keepTo(190))).toEqual({ outcome: 'met' });
  expect(judged(net, keepTo(-10))).toEqual({ outcome: 'not-applicable', reason: 'nothing-kept' });
});

test('the poles of a sphere do not turn over, and a surface without a normal is undecided', () => {
  const ball = sphere(40);
  expect(judged(ball)).toEqual({ outcome: 'met' });
  const point = { ...ball, points: ball.points.map(() => 3) };
  expect(judged(point)).toEqual({ outcome: 'undecided', reason: 'no-normal' });
});

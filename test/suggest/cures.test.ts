import { describe, expect, test } from 'vitest';
import { ruleFixtures } from '../../fixtures/rules/makeRuleFixtures.ts';
import { withMoves, type ControlNet } from '../../src/geometry/controlNet.ts';
import { catalogue } from '../../src/rules/catalogue.ts';
import { thresholdsOf, type Judgement } from '../../src/rules/rule.ts';
import { subjectOf, type Subject } from '../../src/rules/subject.ts';
import { cures, type Cure } from '../../src/suggest/cures.ts';
import { repairs } from '../../src/suggest/nudges.ts';

const judge = (id: string, subject: Subject): Judgement => {
  const rule = catalogue.find(({ data }) => data.id === id)!;
  return rule.judge(subject, thresholdsOf(rule.data, 'A'));
};

interface Judged {
  readonly judgements: Readonly<Record<string, Judgement>>;
  readonly cured: readonly Cure[];
  readonly asked: readonly string[];
}

function judged(net: ControlNet): Judged {
  const subject = subjectOf(net);
  const judgements = Object.fromEntries(
    catalogue.map(({ data }) => [data.id, judge(data.id, subject)]),
  );
  const asked: string[] = [];
  const cured = cures(subject, judgements, repairs(subject, judgements), (id, mended) => {
    asked.push(id);
    return judge(id, mended);
  });
  return { judgements, cured, asked };
}

const missesOf = (judgement: Judgement): number =>
  judgement.outcome === 'missed' ? judgement.misses.length : 0;

describe('the nudge of a row takes away what the row disturbed', () => {
  const { met, missed } = ruleFixtures['hull-jut'];
  // The same row four times as far out, so that the turning and the differences jump as well.
  const far = {
    ...met,
    points: met.points.map((value, k) => value + 4 * (missed.points[k] - value)),
  };
  const { judgements, cured, asked } = judged(far);

  test('each cured by the row, and gone on the mended net', () => {
    expect(missesOf(judgements['hull-jut'])).toBe(1);
    expect(cured.length).toBeGreaterThan(0);
    for (const { rule, by, miss } of cured) {
      expect(by.rule).toBe('hull-jut');
      expect(by.miss.site).toEqual({ kind: 'row', row: 3 });
      expect(judgements[rule].outcome).toBe('missed');
      const moves = by.nudge.moves.map(({ by: move, ...spot }) => ({ spot, by: move }));
      const after = judge(rule, subjectOf(withMoves(far, moves)));
      if (after.outcome === 'missed')
        expect(after.misses.map(({ site }) => site)).not.toContainEqual(miss.site);
    }
  });

  test('rules that offered a nudge, or met their limit, are not judged again', () => {
    for (const id of asked) {
      expect(judgements[id].outcome).toBe('missed');
      expect(['point-jut', 'point-drift', 'hull-jut']).not.toContain(id);
    }
  });

  test('nothing, where the row is not named for certain or its nudge does not hold', () => {
    const subject = subjectOf(far);
    const found = repairs(subject, judgements);
    const unsure = found.map((repair) => ({
      ...repair,
      miss: { ...repair.miss, certainty: 'uncertain' as const },
    }));
    const shaky = found.map((repair) => ({ ...repair, holds: false }));
    expect(cures(subject, judgements, found, judge)).toEqual(cured);
    expect(cures(subject, judgements, unsure, judge)).toEqual([]);
    expect(cures(subject, judgements, shaky, judge)).toEqual([]);
  });
});

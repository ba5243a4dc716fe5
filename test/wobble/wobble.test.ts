import { describe, expect, test } from 'vitest';
import { shareWhere } from '../bench/locator/share.ts';
import { isClear, isDecided, isOwned, isWrong, wobbleTrial } from './wobbleTrial.ts';

// A small part of what test/wobble/wobbleReport.ts runs, without its finest scans.
describe('whose wobble it is on generated panels and scans', () => {
  const finest = 4;
  const trials = Array.from({ length: 120 }, (_, k) => wobbleTrial(70_000_000, k, finest));

  test('at most one of a hundred decided is wrong', () => {
    expect(shareWhere(trials.filter(isDecided), isWrong).share).toBeLessThanOrEqual(0.01);
  });

  test('most are decided, of the clear ones nearly all', () => {
    expect(shareWhere(trials.filter(isOwned), isDecided).share).toBeGreaterThanOrEqual(0.6);
    expect(shareWhere(trials.filter(isClear), isDecided).share).toBeGreaterThanOrEqual(0.85);
  });

  test('where there is no wobble nothing is decided', () => {
    const none = trials.filter(({ facts }) => facts.kind === 'none');
    expect(none.filter(isDecided)).toEqual([]);
  });

  test('the measured share is as near to the true one as its error says', () => {
    const told = trials.filter(
      ({ facts, found }) => facts.share !== null && found.chances !== null,
    );
    const within = shareWhere(
      told,
      ({ facts, found }) => Math.abs(found.share - facts.share!) < 2 * found.shareError,
    );
    expect(within.share).toBeGreaterThan(0.9);
  });
});

import { expect, test } from 'vitest';
import { learnedSpectra } from '../../../src/measure/locator/learnedSpectra.ts';
import { likeliestSet } from '../../../src/measure/locator/likeliestSet.ts';
import { MixtureScorer } from '../../../src/measure/locator/mixtureScorer.ts';
import {
  fittedSet,
  look,
  nearHands,
  residual,
  settledSet,
} from '../../../src/measure/locator/faultSets.ts';
import { anyModel } from './anyModel.ts';

const scorer = new MixtureScorer(learnedSpectra());
const seeds = Array.from({ length: 12 }, (_, k) => k + 1);

test('a settled set rests: settled again it is the same, wherever it came from', () => {
  let settledSets = 0;
  for (const seed of seeds) {
    const model = anyModel(seed);
    const { set } = likeliestSet(model, scorer);
    if (set.atoms.length === 0) continue;
    settledSets += 1;
    const settled = settledSet(model, scorer, set);
    const again = settledSet(model, scorer, settled);
    expect(again.atoms).toEqual(settled.atoms);
    settled.strengths.forEach((strength, s) =>
      expect(Math.abs(again.strengths[s] - strength)).toBeLessThan(1e-6),
    );
    expect(Math.abs(again.evidence - settled.evidence)).toBeLessThan(1e-6);
  }
  expect(settledSets).toBeGreaterThan(8);
});

test('more rounds of fitting never leave a worse set', () => {
  for (const seed of seeds) {
    const model = anyModel(seed);
    const { clean } = likeliestSet(model, scorer);
    for (const { atoms, strengths, look: seen } of clean.extensions) {
      const off = strengths.map((strength) => 0.7 * strength);
      const [unfitted, fitted] = [0, 3].map((rounds) =>
        fittedSet(model, scorer, atoms, off, nearHands(seen.byHand), rounds),
      );
      expect(fitted.evidence).toBeGreaterThanOrEqual(unfitted.evidence);
      expect(unfitted.strengths).toEqual(off);
    }
  }
});

test('a look at what an earlier one saw already says the same', () => {
  const model = anyModel(3);
  const everyHand = Array.from(model.hands.keys());
  const left = residual(model, [], []);
  const seen = look(model, scorer, model.mixture, left, everyHand);
  expect(look(model, scorer, model.mixture, left, everyHand, seen)).toEqual(seen);
});

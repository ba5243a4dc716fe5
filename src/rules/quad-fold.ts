import data from '../../rules/quad-fold.json' with { type: 'json' };
import { quadFolds } from '../measure/quadFolds.ts';
import { joinedJudgement } from './joinedJudgement.ts';
import { degrees, judged, met, notApplicable, type Rule, type RuleData } from './rule.ts';
import { partPoint, wholeSpot } from './subject.ts';

export const quadFold: Rule = {
  data: data as RuleData,
  judge: (subject, { limit }) =>
    joinedJudgement(subject, (part) => {
      // A fold spreads over the quads around it: the worst is said, the others are counted.
      const quads = quadFolds(part.net);
      if (quads.length === 0) return notApplicable('no-extent');
      const folds = quads.filter(({ angle }) => degrees(angle) > limit.value);
      if (folds.length === 0) return met;
      const worst = folds.reduce((a, b) => (b.angle > a.angle ? b : a));
      return judged([
        {
          site: { kind: 'point', ...wholeSpot(part, worst.spot) },
          value: degrees(worst.angle),
          position: partPoint(part, worst.spot),
          evidence: { quads: folds.length },
        },
      ]);
    }),
};

import type { ControlNet } from '../../../src/geometry/controlNet.ts';
import type { Answer } from './answer.ts';
import { reportedAnswer } from './reportedAnswer.ts';
import { sameSpot, type Trial } from './trial.ts';

/** What the present method says of a published net as it was published; a net comes up many times. */
function rememberedAnswer(): (net: ControlNet) => Answer {
  const known = new Map<string, Answer>();
  return (net) => {
    const key = net.points.join();
    const answer = known.get(key) ?? reportedAnswer(net);
    known.set(key, answer);
    return answer;
  };
}

/** The answer without the points and lines that the net as published has named. */
function without(answer: Answer, own: Answer): Answer {
  const named = answer.named.filter(({ spot }) => !own.named.some((o) => sameSpot(o.spot, spot)));
  const lines = answer.lines.filter(
    ({ along, index }) => !own.lines.some((o) => o.along === along && o.index === index),
  );
  const gone = answer.named.length + answer.lines.length > named.length + lines.length;
  return {
    ...answer,
    named,
    lines,
    graver: gone ? named.length + lines.length > 0 : answer.graver,
  };
}

/**
 * Trials with the present method's names on published nets taken off where it gives them to the net
 * as published too: a bump that somebody's hull or wing has is no false alarm of the tool.
 */
export function ownNamesSetAside(trials: readonly Trial[]): Trial[] {
  const asPublished = rememberedAnswer();
  return trials.map(({ at, answers }) =>
    at.kind === 'published'
      ? { at, answers: { ...answers, present: without(answers['present'], asPublished(at.given)) } }
      : { at, answers },
  );
}

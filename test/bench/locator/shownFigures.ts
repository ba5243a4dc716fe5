import type { Answer } from './answer.ts';
import type { DisplacedRun } from './panelCase.ts';
import { pointTally } from './pointTally.ts';
import { shareWhere, type Share } from './share.ts';
import { isClean, isClear, isEven, isHonest, isOne, type Trial } from './trial.ts';

/** A share, and the family it is of where it is one family's. */
export type FigureShare = Share & { readonly family?: string };

/** One figure the locator must show, and how it is measured on the trials for any method. */
export interface ShownFigure {
  readonly text: string;
  /** `null`: reported only. */
  readonly aim: { readonly sense: 'at-least' | 'at-most'; readonly value: number } | null;
  readonly measure: (trials: readonly Trial[], method: string) => FigureShare;
}

/** Whether the share reaches the aim; null where nothing was counted or nothing is aimed at. */
export function reached({ aim }: ShownFigure, { share }: Share): boolean | null {
  if (aim === null || share === null) return null;
  return aim.sense === 'at-least' ? share >= aim.value : share <= aim.value;
}

const atLeast = (value: number) => ({ sense: 'at-least', value }) as const;
const atMost = (value: number) => ({ sense: 'at-most', value }) as const;

const graver = (trials: readonly Trial[], method: string): Share =>
  shareWhere(trials, ({ answers }) => answers[method].graver);

/** The family with the largest share of them all. */
function worstFamily(
  trials: readonly Trial[],
  measure: (own: readonly Trial[]) => Share,
): FigureShare {
  const families = [...new Set(trials.map(({ at }) => at.family))];
  return families
    .map((family) => ({ ...measure(trials.filter(({ at }) => at.family === family)), family }))
    .reduce((a, b) => ((b.share ?? 0) > (a.share ?? 0) ? b : a));
}

const clean = (trials: readonly Trial[]): Trial[] => trials.filter((t) => isClean(t) && isEven(t));
const plain = (trials: readonly Trial[]): Trial[] => clean(trials).filter((t) => !isHonest(t));
const honest = (trials: readonly Trial[]): Trial[] => clean(trials).filter(isHonest);

const sized =
  (least: number, most: number) =>
  ({ at }: Trial): boolean =>
    at.pointCount >= least && at.pointCount <= most;
const oneClear = (trials: readonly Trial[]): Trial[] =>
  trials.filter((t) => isOne(t) && isClear(t));
const several = (count: number, trials: readonly Trial[], least: number, most: number) =>
  trials.filter((t) => t.at.question === count && isClear(t) && sized(least, most)(t));
const drifts = (trials: readonly Trial[]): Trial[] =>
  trials.filter(
    (t) =>
      isOne(t) &&
      sized(25, Infinity)(t) &&
      t.at.slips.every(({ way, by }) => (way === 'row' || way === 'column') && by >= 5),
  );

const lineRight = ({ at, answers }: Trial, method: string): boolean =>
  answers[method].lines.some(
    ({ along, index, run }) => along === at.line?.along && index === at.line.index && !run,
  );
/** How many points an end of a run may be told too far or too short. */
const endSlack = 1;
const isRun = (run: DisplacedRun, { along, index, run: told }: Answer['lines'][number]): boolean =>
  along === run.along &&
  index === run.index &&
  told !== undefined &&
  told.every((end, k) => Math.abs(end - run.run[k]) <= endSlack);
const farRuns = (trials: readonly Trial[]): Trial[] =>
  trials.filter(
    (t) => t.at.run !== null && t.at.run.by >= 2 && isEven(t) && sized(36, Infinity)(t),
  );
const outsideBlamed = ({ at: { run }, answers }: Trial, method: string): boolean =>
  answers[method].lines.some(({ along, index }) => along !== run!.along || index !== run!.index) ||
  answers[method].named.some(({ spot }) => {
    const [across, at] = run!.along === 'row' ? [spot.row, spot.column] : [spot.column, spot.row];
    return across !== run!.index || at < run!.run[0] || at > run!.run[1];
  });
const lineWrong = ({ at, answers }: Trial, method: string): boolean =>
  answers[method].lines.some(
    ({ along, index }) => along !== at.line?.along || index !== at.line.index,
  );
const memberBlamed = ({ at: { line }, answers }: Trial, method: string): boolean =>
  answers[method].named.some(
    ({ spot }) => line !== null && (line.along === 'row' ? spot.row : spot.column) === line.index,
  );
const shifted = (trials: readonly Trial[]): Trial[] => trials.filter(({ at }) => at.line !== null);
const farLines = (
  trials: readonly Trial[],
  fits: (count: number, spans: number) => boolean,
): Trial[] =>
  shifted(trials).filter(({ at: { line } }) => line!.by >= 2 && fits(line!.count, line!.spans));

/** The figures of the locator's order that are shares, in its order. */
export const shownFigures: readonly ShownFigure[] = [
  {
    text: 'Clean panels, unevenness up to 0.05 mm: with a severe or moderate jut or drift',
    aim: atMost(0.01),
    measure: (trials, method) => graver(plain(trials), method),
  },
  {
    text: 'Clean panels, up to 0.05 mm, worst family',
    aim: atMost(0.03),
    measure: (trials, method) => worstFamily(plain(trials), (own) => graver(own, method)),
  },
  {
    text: 'Clean panels with honest features, up to 0.05 mm',
    aim: atMost(0.03),
    measure: (trials, method) => graver(honest(trials), method),
  },
  {
    text: 'Clean panels with honest features, up to 0.05 mm, worst family',
    aim: atMost(0.06),
    measure: (trials, method) => worstFamily(honest(trials), (own) => graver(own, method)),
  },
  {
    text: 'One clear point, 25 points or more: found',
    aim: atLeast(0.95),
    measure: (trials, method) =>
      pointTally(oneClear(trials).filter(sized(25, Infinity)), method).found,
  },
  {
    text: 'One clear point, 16 to 20 points: found',
    aim: atLeast(0.8),
    measure: (trials, method) => pointTally(oneClear(trials).filter(sized(16, 20)), method).found,
  },
  {
    text: 'One clear point, a name given: the first name right',
    aim: atLeast(0.98),
    measure: (trials, method) => pointTally(oneClear(trials), method).firstNameRight,
  },
  {
    text: 'One clear point, found: direction right',
    aim: atLeast(0.995),
    measure: (trials, method) => pointTally(oneClear(trials), method).directionRight,
  },
  {
    text: 'One clear point, found: nudge within 20 %',
    aim: atLeast(0.85),
    measure: (trials, method) => pointTally(oneClear(trials), method).within20,
  },
  {
    text: 'One point, not clear: a wrong name',
    aim: atMost(0.02),
    measure: (trials, method) =>
      pointTally(
        trials.filter((t) => isOne(t) && !isClear(t)),
        method,
      ).wrongPanels,
  },
  {
    text: 'Three clear points, 36 points or more: recall',
    aim: atLeast(0.85),
    measure: (trials, method) => pointTally(several(3, trials, 36, Infinity), method).found,
  },
  {
    text: 'Three clear points, 36 points or more: precision',
    aim: atLeast(0.95),
    measure: (trials, method) => pointTally(several(3, trials, 36, Infinity), method).precision,
  },
  {
    text: 'Two clear points, 16 to 20 points: precision',
    aim: atLeast(0.9),
    measure: (trials, method) => pointTally(several(2, trials, 16, 20), method).precision,
  },
  {
    text: 'Two clear points, 16 to 20 points: recall',
    aim: null,
    measure: (trials, method) => pointTally(several(2, trials, 16, 20), method).found,
  },
  {
    text: 'A line off by 2 mm or more, several spans, 7 lines or more: named',
    aim: atLeast(0.7),
    measure: (trials, method) =>
      shareWhere(
        farLines(trials, (count, spans) => spans > 1 && count >= 7),
        (t) => lineRight(t, method),
      ),
  },
  {
    text: 'A line off by 2 mm or more, one span, 5 to 7 lines: named',
    aim: atLeast(0.3),
    measure: (trials, method) =>
      shareWhere(
        farLines(trials, (count, spans) => spans === 1 && count <= 7),
        (t) => lineRight(t, method),
      ),
  },
  {
    text: 'A line off: a wrong line named',
    aim: atMost(0.01),
    measure: (trials, method) => shareWhere(shifted(trials), (t) => lineWrong(t, method)),
  },
  {
    text: 'A line off: a member of it blamed by itself',
    aim: atMost(0),
    measure: (trials, method) => shareWhere(shifted(trials), (t) => memberBlamed(t, method)),
  },
  {
    text: 'A run of three points or more of a line off by 2 mm or more, 36 points or more: named',
    aim: null,
    measure: (trials, method) =>
      shareWhere(farRuns(trials), ({ at, answers }) =>
        answers[method].lines.some((told) => isRun(at.run!, told)),
      ),
  },
  {
    text: 'A run off by 2 mm or more, 36 points or more: something outside it named',
    aim: null,
    measure: (trials, method) => shareWhere(farRuns(trials), (t) => outsideBlamed(t, method)),
  },
  {
    text: 'Accelerating crowns and creases, clean: a line named',
    aim: atMost(0),
    measure: (trials, method) =>
      shareWhere(
        trials.filter(
          (t) => isClean(t) && ['accelerating-crown', 'soft-crease'].includes(t.at.family),
        ),
        ({ answers }) => answers[method].lines.length > 0,
      ),
  },
  {
    text: 'Drift of 5 mm or more along row or column, 25 points or more: named',
    aim: atLeast(0.9),
    measure: (trials, method) => pointTally(drifts(trials), method).found,
  },
  {
    text: 'Drift of 5 mm or more along row or column, 25 points or more: a wrong name',
    aim: atMost(0.03),
    measure: (trials, method) => pointTally(drifts(trials), method).wrongPanels,
  },
];

import { spanCount } from '../../../src/geometry/knots.ts';
import { pointTally, type PointTally } from './pointTally.ts';
import { shareWhere, type Share } from './share.ts';
import { isClean, isClear, isOne, type Trial } from './trial.ts';

/** By what the panels of a table are parted, and the part a panel belongs to. */
type Parting = readonly [string, (trial: Trial) => string];

const pointClass = ({ at: { pointCount } }: Trial): string =>
  pointCount <= 20
    ? '16 to 20'
    : pointCount < 25
      ? '21 to 24'
      : pointCount < 36
        ? '25 to 35'
        : '36 or more';

const spans = ({ at: { net } }: Trial): number =>
  spanCount(net.knots[0], net.degree[0]) * spanCount(net.knots[1], net.degree[1]);

const family: Parting = ['family', ({ at }) => at.family];
const hand: Parting = ['hand, mm', ({ at }) => String(at.hand)];
const points: Parting = ['points', pointClass];
const build: Parting = [
  'spans',
  (t) => (spans(t) === 1 ? 'one' : spans(t) <= 6 ? '2 to 6' : 'over 6'),
];
const degree: Parting = ['highest degree', ({ at }) => String(Math.max(...at.net.degree))];
const weights: Parting = ['rational', ({ at }) => (at.net.weights ? 'yes' : 'no')];
const first = ({ at }: Trial) => at.slips[0];
const size: Parting = ['displaced by, mm', (t) => String(first(t).by)];
const way: Parting = ['direction', (t) => first(t).way];
const place: Parting = ['place', (t) => first(t).place];
const both = (a: Parting, b: Parting): Parting => [
  `${a[0]} | ${b[0]}`,
  (t) => `${a[1](t)} | ${b[1](t)}`,
];

/** Parts that start with a number by that, others by their letters; crossed parts one by one. */
function inOrder(a: string, b: string): number {
  const [as, bs] = [a.split(' | '), b.split(' | ')];
  const k = as.findIndex((part, at) => part !== bs[at]);
  if (k < 0) return 0;
  const numbers = parseFloat(as[k]) - parseFloat(bs[k]);
  return numbers || (as[k] < bs[k] ? -1 : 1);
}

/** The panels of each part, in order. */
function parted(trials: readonly Trial[], [, partOf]: Parting): [string, Trial[]][] {
  const parts = new Map<string, Trial[]>();
  for (const trial of trials) {
    const part = partOf(trial);
    parts.set(part, [...(parts.get(part) ?? []), trial]);
  }
  return [...parts].sort(([a], [b]) => inOrder(a, b));
}

export interface Table<Row> {
  readonly by: string;
  readonly panels: 'all' | 'clear';
  /** rows[part][method]. */
  readonly rows: Readonly<Record<string, Readonly<Record<string, Row>>>>;
}

function tables<Row>(
  trials: readonly Trial[],
  methods: readonly string[],
  partings: readonly Parting[],
  row: (own: readonly Trial[], method: string) => Row,
  panels: Table<Row>['panels'] = 'all',
): Table<Row>[] {
  return partings.map((parting) => ({
    by: parting[0],
    panels,
    rows: Object.fromEntries(
      parted(trials, parting).map(([part, own]) => [
        part,
        Object.fromEntries(methods.map((method) => [method, row(own, method)])),
      ]),
    ),
  }));
}

export interface CleanRow {
  /** Panels with a moderate or severe finding; with any name; with a line named. */
  readonly graver: Share;
  readonly named: Share;
  readonly lines: Share;
}

export const cleanTables = (
  trials: readonly Trial[],
  methods: readonly string[],
): Table<CleanRow>[] =>
  tables(
    trials.filter(isClean),
    methods,
    [hand, family, points, build, degree, weights, both(family, hand)],
    (own, method) => ({
      graver: shareWhere(own, ({ answers }) => answers[method].graver),
      named: shareWhere(own, ({ answers }) => answers[method].named.length > 0),
      lines: shareWhere(own, ({ answers }) => answers[method].lines.length > 0),
    }),
  );

export function oneTables(
  trials: readonly Trial[],
  methods: readonly string[],
): Table<PointTally>[] {
  const one = trials.filter(isOne);
  const partings = [family, hand, points, build, degree, weights, size, way, place];
  const crossed = [both(way, size), both(points, hand), both(place, points)];
  return (['all', 'clear'] as const).flatMap((panels) =>
    tables(
      panels === 'all' ? one : one.filter(isClear),
      methods,
      [...partings, ...crossed],
      pointTally,
      panels,
    ),
  );
}

export function severalTables(
  trials: readonly Trial[],
  methods: readonly string[],
): Table<PointTally>[] {
  const several = trials.filter(({ at }) => typeof at.question === 'number' && at.question > 1);
  const count: Parting = ['displaced points', ({ at }) => String(at.question)];
  return (['all', 'clear'] as const).flatMap((panels) =>
    tables(
      panels === 'all' ? several : several.filter(isClear),
      methods,
      [count, both(count, points), both(count, family)],
      pointTally,
      panels,
    ),
  );
}

export interface LineRow {
  readonly named: Share;
  readonly wrong: Share;
  readonly blamed: Share;
}

export function lineTables(trials: readonly Trial[], methods: readonly string[]): Table<LineRow>[] {
  const off: Parting = ['line off by, mm', ({ at }) => String(at.line!.by)];
  const across: Parting = [
    'spans across, lines',
    ({ at: { line } }) =>
      `${line!.spans === 1 ? 'one' : 'several'}, ${line!.count < 7 ? '5 or 6' : '7 or more'}`,
  ];
  return tables(
    trials.filter(({ at }) => at.line !== null),
    methods,
    [off, across, family, both(across, off)],
    (own, method) => {
      const lines = ({ at, answers }: Trial) =>
        answers[method].lines.map(
          ({ along, index }) => along === at.line!.along && index === at.line!.index,
        );
      return {
        named: shareWhere(own, (t) => lines(t).includes(true)),
        wrong: shareWhere(own, (t) => lines(t).includes(false)),
        blamed: shareWhere(own, ({ at: { line }, answers }) =>
          answers[method].named.some(
            ({ spot }) => (line!.along === 'row' ? spot.row : spot.column) === line!.index,
          ),
        ),
      };
    },
  );
}

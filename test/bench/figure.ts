import { spreadOf, type Spread } from './spread.ts';

/** What a side got through in a run, so that its rate can be told. */
export interface Amount {
  readonly value: number;
  readonly unit: string;
}

export interface Side {
  readonly name: string;
  /** Milliseconds a run. */
  readonly taken: Spread;
  /** `amount` over the median time. */
  readonly rate: { readonly perSecond: number; readonly unit: string } | null;
}

/** One thing measured against another in the same rounds. */
export interface Figure {
  readonly name: string;
  /** `times as long` or `times as fast` as the base: of the medians. */
  readonly ratio: number;
  readonly times: 'as long' | 'as fast';
  /** The same ratio in each round by itself. */
  readonly byRound: Spread;
  readonly aim: string | null;
  readonly ours: Side;
  readonly base: Side;
}

/** A side before it is summed up: milliseconds of each round. */
export interface Timed {
  readonly name: string;
  readonly taken: readonly number[];
  readonly amount?: Amount;
}

function sideOf({ name, taken, amount }: Timed): Side {
  const spread = spreadOf(taken);
  const rate = amount && {
    perSecond: amount.value / (spread.median / 1000),
    unit: `${amount.unit}/s`,
  };
  return { name, taken: spread, rate: rate ?? null };
}

/**
 * `ours` against `base`, round by round. Where both have amounts, `as fast` compares what they get
 * through in the same time.
 */
export function figureOf(
  name: string,
  times: Figure['times'],
  ours: Timed,
  base: Timed,
  aim: string | null = null,
): Figure {
  const share = (ours.amount?.value ?? 1) / (base.amount?.value ?? 1);
  const ratio = (own: number, other: number): number =>
    times === 'as long' ? own / other : (share * other) / own;
  const sides = [sideOf(ours), sideOf(base)] as const;
  return {
    name,
    ratio: ratio(sides[0].taken.median, sides[1].taken.median),
    times,
    byRound: spreadOf(ours.taken.map((own, round) => ratio(own, base.taken[round]))),
    aim,
    ours: sides[0],
    base: sides[1],
  };
}

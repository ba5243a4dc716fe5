import { wilsonInterval } from './wilsonInterval.ts';

/** So many of so many, with the 95 % interval of the share; share null where nothing was counted. */
export interface Share {
  readonly hits: number;
  readonly count: number;
  readonly share: number | null;
  readonly interval: readonly [number, number] | null;
}

export const shareOf = (hits: number, count: number): Share => ({
  hits,
  count,
  share: count === 0 ? null : hits / count,
  interval: wilsonInterval(hits, count),
});

export const shareWhere = <T>(list: readonly T[], holds: (one: T) => boolean): Share =>
  shareOf(list.filter(holds).length, list.length);

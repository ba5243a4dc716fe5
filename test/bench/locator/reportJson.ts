import type { FigureShare } from './shownFigures.ts';

const isShare = (value: object): value is FigureShare => 'hits' in value && 'interval' in value;

/** Numbers to four places; a share as an array, which says the same in a fifth of the room. */
function brief(_: string, value: unknown): unknown {
  if (typeof value === 'number') return Number(value.toFixed(4));
  if (typeof value !== 'object' || value === null || !isShare(value)) return value;
  const { hits, count, share, interval, family } = value;
  return [hits, count, share, ...(interval ?? [null, null]), ...(family ? [family] : [])];
}

/** The report as JSON, one line for each of its parts. */
export function reportJson(report: object): string {
  const shares = ['hits', 'count', 'share', '95 % from', '95 % to', 'family (if one)'];
  const lines = Object.entries({ shares, ...report }).map(
    ([key, value]) => `${JSON.stringify(key)}: ${JSON.stringify(value, brief)}`,
  );
  return `{\n${lines.join(',\n')}\n}\n`;
}

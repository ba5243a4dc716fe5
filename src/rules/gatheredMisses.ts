import type { Spot } from '../geometry/controlNet.ts';
import type { Miss, Site } from './rule.ts';
import { partPoint, wholeSpot, type Part } from './subject.ts';

/** A value off its limit at one point, seen along a row or a column. */
export interface Excess {
  readonly along: 'row' | 'column';
  readonly spot: Spot;
  readonly value: number;
}

/** At least this share of the lines, and this many, must miss at one index to be one fault. */
const sharedBy = 0.6;
const fewestLines = 3;

/**
 * Only the peaks along each line: a point off the run disturbs its neighbours as well, and naming
 * those too would send a modeller after points that are right.
 */
export function peaks(all: readonly Excess[], limit: number): Excess[] {
  const at = new Map(all.map((e) => [`${e.along} ${e.spot.row} ${e.spot.column}`, e.value]));
  const beside = ({ along, spot }: Excess, step: 1 | -1): number => {
    const row = along === 'row' ? spot.row : spot.row + step;
    const column = along === 'row' ? spot.column + step : spot.column;
    return at.get(`${along} ${row} ${column}`) ?? -Infinity;
  };
  // Neighbours alike but for rounding are both named: which of them is larger hangs on the direction.
  const least = (e: Excess): number => e.value * (1 + 1e-9);
  return all.filter(
    (e) => e.value > limit && least(e) >= beside(e, -1) && least(e) >= beside(e, 1),
  );
}

/**
 * Peaks as misses. Where most rows have theirs in one column, that column is the fault and is said
 * once (and likewise a row, seen along the columns); the rest are said point by point, each point
 * once with its worst value.
 */
export function gatheredMisses(part: Part, excesses: readonly Excess[]): Miss[] {
  const misses: Miss[] = [];
  const single = new Map<string, Excess>();
  for (const along of ['row', 'column'] as const) {
    const own = excesses.filter((e) => e.along === along);
    const lineCount = along === 'row' ? part.net.rows : part.net.columns;
    const indexOf = (e: Excess): number => (along === 'row' ? e.spot.column : e.spot.row);
    for (const index of new Set(own.map(indexOf))) {
      const here = own.filter((e) => indexOf(e) === index);
      const worst = here.reduce((a, b) => (b.value > a.value ? b : a));
      if (here.length >= Math.max(fewestLines, sharedBy * lineCount)) {
        const whole = wholeSpot(part, worst.spot);
        const site: Site =
          along === 'row'
            ? { kind: 'column', column: whole.column }
            : { kind: 'row', row: whole.row };
        misses.push({
          site,
          value: worst.value,
          position: partPoint(part, worst.spot),
          evidence: { lines: here.length, of: lineCount, ...(part.whole ? {} : { part: 1 }) },
        });
      } else {
        for (const e of here) {
          const name = `${e.spot.row} ${e.spot.column}`;
          if (e.value > (single.get(name)?.value ?? -Infinity)) single.set(name, e);
        }
      }
    }
  }
  for (const { spot, value } of single.values())
    misses.push({
      site: { kind: 'point', ...wholeSpot(part, spot) },
      value,
      position: partPoint(part, spot),
    });
  return misses;
}

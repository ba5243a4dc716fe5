import type { HighlightLine, LinePlace } from './highlightLines.ts';

/** A piece of a highlight line between two reversals of its turning, beyond which it turns as before. */
export interface HighlightWiggle {
  readonly line: HighlightLine;
  /** The smallest of the turns before, between and after the two reversals, radians. */
  readonly swing: number;
  /** The places of both reversals. */
  readonly from: LinePlace;
  readonly to: LinePlace;
  /** Twice the way between them, mm. */
  readonly wavelength: number;
  /** Sway of the line from side to side that such a swing makes over it, mm; of a sine. */
  readonly shift: number;
  /** Largest tilt of the surface, to one side, that sways it so, radians. */
  readonly tilt: number;
}

/** A place at which a line's heading is largest or smallest, or its end. */
interface Extreme {
  readonly place: LinePlace;
  readonly heading: number;
}

/** The headings of a line at its ends and wherever its turning reverses, and the places. */
function extremes(places: readonly LinePlace[]): Extreme[] {
  const found: Extreme[] = [];
  for (const place of places) {
    const { heading } = place;
    const [before, last] = [found[found.length - 2], found[found.length - 1]];
    if (last && heading === last.heading) continue;
    if (before && last && heading > last.heading === last.heading > before.heading) found.pop();
    found.push({ place, heading });
  }
  return found;
}

/**
 * The wiggles of a line: the smallest swing of its heading is taken out until no reversal is left, so
 * that a small wiggle is found on the back of a large one, and neither counts twice. A line whose
 * turning never reverses, or reverses once (an S), has none.
 */
export function highlightWiggles(line: HighlightLine): HighlightWiggle[] {
  const turns = extremes(line.places);
  const wiggles: HighlightWiggle[] = [];
  const swing = (k: number): number => Math.abs(turns[k + 1].heading - turns[k].heading);
  const wiggle = (size: number, k: number): void => {
    const [from, to] = [turns[k].place, turns[k + 1].place];
    const half = Math.abs(to.way - from.way);
    const shift = (size * half) / Math.PI;
    wiggles.push({
      line,
      swing: size,
      from,
      to,
      wavelength: 2 * half,
      shift,
      tilt: (shift / 2) * Math.max(from.tiltPerShift, to.tiltPerShift),
    });
  };
  while (turns.length >= 4) {
    const last = turns.length - 2;
    let least = 0;
    for (let k = 1; k <= last; k++) if (swing(k) < swing(least)) least = k;
    const size = swing(least);
    if (least === 0) {
      wiggle(size, 1);
      turns.shift();
    } else if (least === last) {
      wiggle(size, last - 1);
      turns.pop();
    } else {
      wiggle(size, least);
      turns.splice(least, 2);
    }
  }
  return wiggles;
}

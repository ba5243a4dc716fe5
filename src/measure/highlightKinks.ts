import type { HighlightLine, LinePlace } from './highlightLines.ts';

/** Where a highlight line crosses a knot line and its direction jumps. */
export interface HighlightKink {
  readonly line: HighlightLine;
  /** The place as it is reached and as it is left. */
  readonly before: LinePlace;
  readonly after: LinePlace;
  /** The jump of the line's direction, radians. */
  readonly angle: number;
}

/** The kinks of a line, those of no angle among them. */
export const highlightKinks = (line: HighlightLine): HighlightKink[] =>
  line.places.flatMap((after, k): HighlightKink[] => {
    const before = line.places[k - 1];
    if (!before || before.way !== after.way) return [];
    return [{ line, before, after, angle: Math.abs(after.heading - before.heading) }];
  });

import { distance } from '../geometry/vector.ts';
import type { HighlightWiggle } from './highlightWiggles.ts';
import type { WobbleSuspect } from './wobbleSuspect.ts';

/**
 * The wobble behind a wiggle of a highlight line. A line swerves most beside a bump, where its slope across
 * the line is steepest: a fifth to a third of a wavelength from its top, on either side. Between its
 * reversals it runs two standard deviations of the bump, so that the wiggle's wavelength is 0.85 to 1.3 times
 * the bump's (our own bumps, test/measure/wobbleSuspects.test.ts). What it is like across the line is not known: as
 * along it.
 */
export function suspectOfWiggle({
  line,
  at,
  point,
  wavelength,
}: Pick<HighlightWiggle, 'line' | 'at' | 'point' | 'wavelength'>): WobbleSuspect {
  const nearest = line.places.reduce((a, b) =>
    distance(b.point, point) < distance(a.point, point) ? b : a,
  );
  return {
    position: point,
    at: [at[0], at[1]],
    along: nearest.tangent,
    lengths: [wavelength, wavelength],
  };
}

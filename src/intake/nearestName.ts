import { closest, distance } from 'fastest-levenshtein';

/** The known name nearest to a mistyped one, or null where none is near (over half the letters off). */
export function nearestName(name: string, known: readonly string[]): string | null {
  if (known.length === 0) return null;
  const best = closest(name.toLowerCase(), known);
  return distance(name.toLowerCase(), best) <= Math.max(2, best.length / 2) ? best : null;
}

import type { TrimTrouble } from '../geometry/trimRegion.ts';
import type { Notice, Place } from './fault.ts';

/** What to tell of borders that gave no region; `place` is that of the trimmed surface, or of the loop. */
export function trimNotice(trouble: TrimTrouble, place: Place): Notice {
  const loop = trouble.loop + 1;
  return 'gap' in trouble
    ? { code: `trim-${trouble.trouble}`, place, data: { loop, gap: trouble.gap, unit: 'mm' } }
    : { code: `trim-${trouble.trouble}`, place, data: { loop } };
}

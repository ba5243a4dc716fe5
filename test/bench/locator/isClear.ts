/** Times the net's own leave-one-out error that a clear displacement is at least. */
const timesError = 6;
/** Peak movement of the surface that somebody sees, mm on 1200. */
const leastSeen = 0.1;

/**
 * Whether a displacement stands out of its net: at least six times the rms leave-one-out error of
 * the net before it was displaced (method D), and seen. All in mm on a net of 1200 mm.
 */
export const isClear = (displacement: number, ownError: number, seen: number): boolean =>
  displacement >= timesError * ownError && seen >= leastSeen;

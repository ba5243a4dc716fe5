/** Corners of two facets. */
const kept = 6;

/**
 * The corners of a block of text that were read last, each by where it is written, with its last four
 * bytes, and by its vertex. Facets that follow each other share corners, and what is written alike need
 * not be read again.
 */
export interface RecentCorners {
  readonly from: Int32Array;
  /** 0: none yet. */
  readonly length: Int32Array;
  readonly tail: Int32Array;
  readonly vertex: Uint32Array;
  /** Where the next one goes, in place of the oldest. */
  next: number;
}

export const recentCorners = (): RecentCorners => ({
  from: new Int32Array(kept),
  length: new Int32Array(kept),
  tail: new Int32Array(kept),
  vertex: new Uint32Array(kept),
  next: 0,
});

/** Keeps the corner that is written from `from` to `end`. */
export function keepCorner(
  recent: RecentCorners,
  view: DataView,
  from: number,
  end: number,
  vertex: number,
): void {
  const { next } = recent;
  recent.from[next] = from;
  recent.length[next] = end - from;
  recent.tail[next] = view.getInt32(end - 4, true);
  recent.vertex[next] = vertex;
  recent.next = next + 1 < kept ? next + 1 : 0;
}

function isSameText(view: DataView, a: number, b: number, length: number): boolean {
  for (let k = 0; k + 4 < length; k += 4)
    if (view.getInt32(a + k, true) !== view.getInt32(b + k, true)) return false;
  return true;
}

/** Which of the corners is written at `at` again, as far as it went; -1: none. Digits may follow it there. */
export function recentCorner(
  { from, length, tail }: RecentCorners,
  view: DataView,
  at: number,
  to: number,
): number {
  for (let k = 0; k < kept; k++) {
    const end = at + length[k];
    if (
      end > at &&
      end < to &&
      view.getInt32(end - 4, true) === tail[k] &&
      isSameText(view, at, from[k], length[k])
    )
      return k;
  }
  return -1;
}

/** How far inside a span its ends are looked at, as a share of it: each side of a break is seen. */
const justInside = 1e-9;
/** Fewest stations of a span. */
const fewest = 4;

/**
 * Parameters at which splines are compared whose spans end at `ends`: there and, between them, at twice as
 * many extrema of Chebyshev's polynomials as the degree, where no polynomial hides a hill.
 */
export function spanStations(ends: readonly number[], degree: number): Float64Array {
  const count = Math.max(2 * degree, fewest);
  const stations = ends.slice(1).flatMap((high, k) => {
    const low = ends[k];
    return Array.from({ length: count + 1 }, (_, s) => {
      const t = (1 - Math.cos((s / count) * Math.PI)) / 2;
      const first = k === 0 ? 0 : justInside;
      const last = k + 2 === ends.length ? 1 : 1 - justInside;
      return low + (high - low) * Math.min(Math.max(t, first), last);
    });
  });
  // the sum of the last may miss the end by a rounding
  stations[stations.length - 1] = ends[ends.length - 1];
  return Float64Array.from(stations);
}

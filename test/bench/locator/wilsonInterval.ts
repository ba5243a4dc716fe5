/** The 97.5 % point of the standard normal. */
const z = 1.959963984540054;

/**
 * The 95 % interval of a share, both ends in [0, 1]: Wilson's score interval (E. B. Wilson, JASA 22
 * (1927), 209-212; formula from memory). Null where there was nothing to count.
 */
export function wilsonInterval(hits: number, count: number): readonly [number, number] | null {
  if (count === 0) return null;
  const share = hits / count;
  const centre = share + (z * z) / (2 * count);
  const half = z * Math.sqrt((share * (1 - share)) / count + (z * z) / (4 * count * count));
  const whole = 1 + (z * z) / count;
  return [hits === 0 ? 0 : (centre - half) / whole, hits === count ? 1 : (centre + half) / whole];
}

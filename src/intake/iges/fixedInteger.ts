const space = 32;
const minus = 45;
const plus = 43;

/**
 * The integer in a field of fixed width, right or left in it; 0 where the field is blank (IGES 5.3,
 * 2.2.4.4), null where it holds anything else. A line that ends early is blank from there.
 */
export function fixedInteger(bytes: Uint8Array, at: number, width: number): number | null {
  const end = Math.min(at + width, bytes.length);
  let i = at;
  while (i < end && bytes[i] === space) i++;
  if (i >= end || bytes[i] === 10 || bytes[i] === 13) return 0;
  const negative = bytes[i] === minus;
  if (negative || bytes[i] === plus) i++;
  const from = i;
  let value = 0;
  while (i < end && bytes[i] >= 48 && bytes[i] <= 57) value = value * 10 + (bytes[i++] - 48);
  if (i === from) return null;
  while (i < end && bytes[i] === space) i++;
  if (i < end && bytes[i] !== 10 && bytes[i] !== 13) return null;
  return negative ? -value : value;
}

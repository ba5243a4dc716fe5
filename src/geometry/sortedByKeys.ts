/** Bits that are sorted by in one pass. */
const digitBits = 11;
const lastDigit = 2 ** digitBits - 1;

/** Keys of 32 bits, and the numbers of what they belong to. */
export interface Keyed {
  readonly keys: Uint32Array;
  readonly numbers: Uint32Array;
}

/** Sorts by one digit of the keys into `to`, those of the same digit in the order in which they were. */
function sortedByDigit(from: Keyed, to: Keyed, shift: number): Keyed {
  const { keys, numbers } = from;
  // in a constant of the function itself, which costs a loop less than one of the module
  const mask = lastDigit;
  const starts = new Uint32Array(mask + 1);
  for (let k = 0; k < keys.length; k++) starts[(keys[k] >>> shift) & mask]++;
  for (let digit = 0, start = 0; digit <= mask; digit++) {
    const many = starts[digit];
    starts[digit] = start;
    start += many;
  }
  for (let k = 0; k < keys.length; k++) {
    const key = keys[k];
    const place = starts[(key >>> shift) & mask]++;
    to.keys[place] = key;
    to.numbers[place] = numbers[k];
  }
  return to;
}

/**
 * Numbers in the order of their keys, by passes over one digit each (radix sort: Knuth, The Art of
 * Computer Programming 3, 5.2.5). They end in `room`, which is as large; `all` is used up.
 */
export const sortedByKeys = (all: Keyed, room: Keyed): Keyed =>
  sortedByDigit(sortedByDigit(sortedByDigit(all, room, 0), all, digitBits), room, 2 * digitBits);

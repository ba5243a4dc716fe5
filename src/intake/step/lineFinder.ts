const blockSize = 4096;

/** Ends of lines from `from` up to `to`: a line feed, or a carriage return without one. */
function lineEnds(bytes: Uint8Array, from: number, to: number): number {
  let count = 0;
  for (let at = from; at < to; at++) {
    const c = bytes[at];
    if (c <= 13 && (c === 10 || (c === 13 && bytes[at + 1] !== 10))) count++;
  }
  return count;
}

/**
 * Line (from 1) of any byte, as lineOf gives it, but for many questions on one large text: the lines
 * before each block of 4096 bytes are counted once, at the first question.
 */
export function lineFinder(bytes: Uint8Array): (byte: number) => number {
  let before: Uint32Array | null = null;
  const counted = (): Uint32Array => {
    const counts = new Uint32Array(Math.floor(bytes.length / blockSize) + 1);
    for (let block = 1; block < counts.length; block++)
      counts[block] =
        counts[block - 1] + lineEnds(bytes, (block - 1) * blockSize, block * blockSize);
    return counts;
  };
  return (byte) => {
    before ??= counted();
    const end = Math.min(byte, bytes.length);
    const block = Math.floor(end / blockSize);
    return 1 + before[block] + lineEnds(bytes, block * blockSize, end);
  };
}

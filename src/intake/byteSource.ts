/**
 * Bytes that are read piece by piece from wherever they lie: a file that the command has opened, or
 * a buffer. What is too large for one buffer is read this way.
 */
export interface ByteSource {
  /** Bytes there are. */
  readonly size: number;
  /** Puts bytes from offset `at` on into `into`; gives how many, 0 only at the end. */
  readonly read: (into: Uint8Array, at: number) => number;
}

export const bufferSource = (bytes: Uint8Array): ByteSource => ({
  size: bytes.length,
  read: (into, at) => {
    const piece = bytes.subarray(at, at + into.length);
    into.set(piece);
    return piece.length;
  },
});

/** Fills `into` from offset `at` as far as there are bytes; gives how many there were. */
export function filledBytes(source: ByteSource, into: Uint8Array, at: number): number {
  let count = 0;
  while (count < into.length) {
    const more = source.read(count === 0 ? into : into.subarray(count), at + count);
    if (more === 0) break;
    count += more;
  }
  return count;
}

/** The bytes of a source in blocks of at most `length`, each valid until the next is taken. */
export function* byteBlocks(source: ByteSource, length = 2 ** 20): Generator<Uint8Array> {
  const block = new Uint8Array(Math.min(length, Math.max(1, source.size)));
  for (let at = 0; ; at += block.length) {
    const count = filledBytes(source, block, at);
    if (count > 0) yield block.subarray(0, count);
    if (count < block.length) return;
  }
}

/** Up to `most` bytes from the start. */
export function headOf(source: ByteSource, most: number): Uint8Array {
  const head = new Uint8Array(Math.min(most, source.size));
  return head.subarray(0, filledBytes(source, head, 0));
}

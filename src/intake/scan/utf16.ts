import type { ByteSource } from '../byteSource.ts';
import { filledBytes } from '../byteSource.ts';

/** Stands for every character beyond ASCII: none of them means anything in a mesh file. */
const unknown = 63;

/** 'big' or 'little' where the bytes begin with a byte-order mark of UTF-16 (Unicode, 23.8), else null. */
export function utf16Order(head: Uint8Array): 'big' | 'little' | null {
  if (head[0] === 0xfe && head[1] === 0xff) return 'big';
  return head[0] === 0xff && head[1] === 0xfe ? 'little' : null;
}

/**
 * Text in UTF-16 with a byte-order mark as a source of ASCII, one byte a code unit, so that any
 * place of it can be read without what stands before. Offsets count code units after the mark.
 */
export function asciiSource(source: ByteSource, order: 'big' | 'little'): ByteSource {
  const [high, low] = order === 'big' ? [0, 1] : [1, 0];
  const size = Math.floor(source.size / 2) - 1;
  return {
    size,
    read: (into, at) => {
      const wide = new Uint8Array(2 * Math.min(into.length, Math.max(0, size - at)));
      const count = filledBytes(source, wide, 2 + 2 * at) >> 1;
      for (let k = 0; k < count; k++)
        into[k] = wide[2 * k + high] === 0 && wide[2 * k + low] < 128 ? wide[2 * k + low] : unknown;
      return count;
    },
  };
}

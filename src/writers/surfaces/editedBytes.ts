/** Bytes from `start` up to `end` of a file, and what stands there instead. */
export interface Edit {
  readonly start: number;
  readonly end: number;
  readonly text: string;
}

/**
 * A file with some stretches replaced; all else stays byte for byte. Edits do not overlap; their text is
 * one character a byte.
 */
export function editedBytes(bytes: Uint8Array, edits: readonly Edit[]): Uint8Array {
  if (edits.length === 0) return bytes;
  const parts: Uint8Array[] = [];
  let at = 0;
  for (const { start, end, text } of edits.toSorted((a, b) => a.start - b.start || a.end - b.end)) {
    parts.push(bytes.subarray(at, start), Buffer.from(text, 'latin1'));
    at = end;
  }
  return Buffer.concat([...parts, bytes.subarray(at)]);
}

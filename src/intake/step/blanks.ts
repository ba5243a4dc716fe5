/**
 * The first byte at or after `at` that is neither blank, nor in a comment, nor of a print directive;
 * `end` where there is none. An open comment runs to the end. Source: ISO 10303-21:2016, token
 * separators: comments do not nest; \N\ and \F\ only control how a listing looks.
 */
export function pastBlanks(bytes: Uint8Array, at: number, end: number): number {
  let i = at;
  while (i < end) {
    const c = bytes[i];
    if (c <= 32) i++;
    else if (c === 47 && bytes[i + 1] === 42) i = pastComment(bytes, i, end);
    else if (c === 92 && (bytes[i + 1] === 78 || bytes[i + 1] === 70) && bytes[i + 2] === 92)
      i += 3;
    else return i;
  }
  return end;
}

/** The byte behind the comment that starts at `at`, or `end` where it never closes. */
export function pastComment(bytes: Uint8Array, at: number, end: number): number {
  for (let i = at + 3; i < end; i++) if (bytes[i] === 47 && bytes[i - 1] === 42) return i + 1;
  return end;
}

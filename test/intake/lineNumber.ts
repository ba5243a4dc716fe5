/** Line (from 1) on which a byte stands; carriage return, line feed or both end a line. */
export function lineOf(bytes: Uint8Array, byte: number): number {
  let line = 1;
  const end = Math.min(byte, bytes.length);
  for (let i = 0; i < end; i++) {
    const c = bytes[i];
    if (c === 10 || (c === 13 && bytes[i + 1] !== 10)) line++;
  }
  return line;
}

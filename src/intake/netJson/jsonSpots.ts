import { visit, type JSONPath } from 'jsonc-parser';

/** Where the value of a JSON pointer begins, and its text where it is a number. */
export interface JsonSpot {
  /** From 1. */
  readonly line: number;
  readonly number: string | null;
}

const pointerOf = (path: JSONPath): string => path.map((key) => `/${key}`).join('');

/** Pointers of all that a pointer lies in: of "/a/0" they are "", "/a" and "/a/0". */
const above = (pointer: string): string[] =>
  [...pointer.matchAll(/\/|$/g)].map(({ index }) => pointer.slice(0, index));

/**
 * The spots of JSON pointers (RFC 6901; keys without "/" and "~") in a text that is JSON. One pass
 * that keeps nothing else: a tree of the whole text would take many times its room.
 */
export function jsonSpots(
  text: string,
  pointers: readonly string[],
): ReadonlyMap<string, JsonSpot> {
  const wanted = new Set(pointers);
  const entered = new Set(pointers.flatMap(above));
  const spots = new Map<string, JsonSpot>();
  const begin = (
    _offset: number,
    _length: number,
    startLine: number,
    _character: number,
    path: () => JSONPath,
  ): boolean => {
    const pointer = pointerOf(path());
    if (wanted.has(pointer)) spots.set(pointer, { line: startLine + 1, number: null });
    return entered.has(pointer);
  };
  // Without an end the visitor would not know where what was passed over ends.
  const end = (): void => {};
  visit(text, {
    onObjectBegin: begin,
    onObjectEnd: end,
    onArrayBegin: begin,
    onArrayEnd: end,
    onLiteralValue: (value, offset, length, startLine, _character, path) => {
      const pointer = pointerOf(path());
      if (!wanted.has(pointer)) return;
      const number = typeof value === 'number' ? text.slice(offset, offset + length) : null;
      spots.set(pointer, { line: startLine + 1, number });
    },
  });
  return spots;
}

import { printParseErrorCode, visit } from 'jsonc-parser';

/** Where a text stops being JSON (RFC 8259), and the parser's name for what is wrong. */
export interface JsonError {
  /** From 1. */
  readonly line: number;
  readonly what: string;
}

/** The first error of a text that is not JSON; null where this parser finds none. */
export function jsonError(text: string): JsonError | null {
  const found: JsonError[] = [];
  visit(
    text,
    {
      onError: (error, _offset, _length, startLine) => {
        if (found.length === 0)
          found.push({ line: startLine + 1, what: printParseErrorCode(error) });
      },
    },
    { disallowComments: true, allowTrailingComma: false },
  );
  return found[0] ?? null;
}

import { pastComment } from './blanks.ts';

const quote = 39;
const slash = 47;
const star = 42;
const hash = 35;

/** A reference to a record: #n and where it stands. */
export interface Reference {
  readonly id: number;
  readonly start: number;
  readonly end: number;
}

/** The references from `start` up to `end`, outside strings and comments. */
export function* references(bytes: Uint8Array, start: number, end: number): Generator<Reference> {
  for (let at = start; at < end;) {
    const c = bytes[at];
    if (c === quote) {
      at++;
      while (at < end && bytes[at] !== quote) at++;
      at++;
    } else if (c === slash && bytes[at + 1] === star) at = pastComment(bytes, at, end);
    else if (c === hash) {
      let id = 0;
      let to = at + 1;
      while (to < end && bytes[to] >= 48 && bytes[to] <= 57) id = id * 10 + bytes[to++] - 48;
      yield { id, start: at, end: to };
      at = to;
    } else at++;
  }
}

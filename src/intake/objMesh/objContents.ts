import type { ByteSource } from '../byteSource.ts';
import { blank, lineEnd, wordEnd, wordText } from '../scan/coordinate.ts';
import { takeTextBlocks } from '../scan/textBlocks.ts';

/** What of a file in OBJ there is to read: polygons, which are a scan, and free-form surfaces. */
export interface ObjContents {
  readonly faces: boolean;
  readonly surfaces: boolean;
}

const letterF = 102;

/** Statements that give a surface: those of version 2.11 as well, which are told as not judged. */
const surfaceWords: ReadonlySet<string> = new Set(['surf', 'bsp', 'bzp', 'cdp']);
/** Their first letters: b, c, s. */
const firstLetters: ReadonlySet<number> = new Set([98, 99, 115]);

/**
 * Whether an OBJ file has faces and surfaces, by the first words of its lines: so that it is
 * handed to the reader of scans, to that of surfaces, or to both.
 */
export function objContents(source: ByteSource): ObjContents {
  let faces = false;
  let surfaces = false;
  takeTextBlocks(source, 0, true, (bytes, from, to) => {
    let i = from;
    while (i < to && !(faces && surfaces)) {
      const c = bytes[i];
      if (c <= blank) i++;
      else {
        if (c === letterF) faces ||= bytes[i + 1] <= blank;
        else if (firstLetters.has(c))
          surfaces ||= surfaceWords.has(wordText(bytes, i, wordEnd(bytes, i)));
        i = lineEnd(bytes, i);
      }
    }
    return !(faces && surfaces);
  });
  return { faces, surfaces };
}

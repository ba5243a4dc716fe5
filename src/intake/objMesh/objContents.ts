import type { ByteSource } from '../byteSource.ts';
import { blank, lineEnd, wordEnd, wordText } from '../scan/coordinate.ts';
import { takeTextBlocks } from '../scan/textBlocks.ts';

/** What of a file in OBJ there is to read: polygons, which are a scan, and free-form surfaces. */
export interface ObjContents {
  readonly faces: boolean;
  readonly surfaces: boolean;
}

const [letterF, letterS] = [102, 115];

/**
 * Whether an OBJ file has statements `f`, and `surf`, by the first words of its lines: so that it is
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
        else if (c === letterS) surfaces ||= wordText(bytes, i, wordEnd(bytes, i)) === 'surf';
        i = lineEnd(bytes, i);
      }
    }
    return !(faces && surfaces);
  });
  return { faces, surfaces };
}

import { scanned } from '../decimal.ts';
import type { ByteSource } from '../byteSource.ts';
import {
  blank,
  isLineEnd,
  lineEnd,
  scanCoordinate,
  wordEnd,
  wordOnLine,
  wordText,
} from '../scan/coordinate.ts';
import { addFault, addNotice, addTriangle, makeRoom, type ScanDraft } from '../scan/scanDraft.ts';
import { lineAt, longestLine, takeTextBlocks } from '../scan/textBlocks.ts';
import { makeSlots, weldedVertex } from '../scan/weldedVertex.ts';
import { FramedFacets } from './framedFacets.ts';

/** The fewest bytes that a corner takes: "vertex 0 0 0" and a line end. */
const leastCorner = 13;

const lettersOf = (word: string): Uint8Array => Buffer.from(word, 'latin1');
const vertex = lettersOf('vertex');
const endloop = lettersOf('endloop');
const facet = lettersOf('facet');
const normal = lettersOf('normal');
const outer = lettersOf('outer');
const loop = lettersOf('loop');
const endfacet = lettersOf('endfacet');
const solid = lettersOf('solid');
const endsolid = lettersOf('endsolid');

/** Whether bytes[at..end) is that word, in letters of either case. */
function isWord(bytes: Uint8Array, at: number, end: number, word: Uint8Array): boolean {
  if (end - at !== word.length) return false;
  for (let k = 0; k < word.length; k++) if ((bytes[at + k] | 32) !== word[k]) return false;
  return true;
}

/**
 * Reads the text form of STL into a draft (3D Systems, "StereoLithography Interface Specification",
 * 1989; from memory): words of either case, several solids, names of any words on the lines of `solid`
 * and `endsolid`. A facet that has not three whole corners is told and left out; lines that begin with
 * no word of the format are counted.
 */
export function readTextStl(source: ByteSource, draft: ScanDraft): void {
  draft.hasFaces = true;
  const corners = [0, 0, 0];
  const point = [0, 0, 0];
  // Corners of the facet at hand, -1 outside of a loop; whether one of them cannot be read.
  let corner = -1;
  let isBad = false;
  let facets: FramedFacets | null = null;
  let facetAt = 0;
  let isOpen = false;
  let [strange, strangeAt, strangeText] = [0, 0, ''];

  /** Takes three coordinates; gives the offset behind them. */
  function takeCorner(bytes: Uint8Array, from: number, to: number, at: number): number {
    if (corner < 0) corner = 0;
    let end = from;
    for (let axis = 0; axis < 3; axis++) {
      const start = wordOnLine(bytes, end);
      end = start;
      if (isLineEnd(bytes[start])) {
        addFault(draft, 'mesh-row', at + start, { what: 'vertex', found: axis, expected: 3 });
        isBad = true;
        return start;
      }
      if (!scanCoordinate(bytes, start, to)) {
        addFault(draft, 'bad-number', at + start, {
          what: 'coordinate',
          text: wordText(bytes, start, scanned.end),
        });
        isBad = true;
      }
      point[axis] = scanned.value;
      end = scanned.end;
    }
    if (!isBad && corner >= 0 && corner < 3)
      corners[corner] = weldedVertex(draft, point[0], point[1], point[2]);
    corner++;
    return end;
  }

  /** Ends the facet at hand: adds its triangle, or tells why there is none. */
  function endFacet(): void {
    if (corner < 0) return;
    draft.faces++;
    if (!isBad && corner === 3) addTriangle(draft, corners[0], corners[1], corners[2]);
    else {
      draft.broken++;
      if (!isBad)
        addFault(draft, 'mesh-row', facetAt, { what: 'facet', found: corner, expected: 3 });
    }
    corner = -1;
    isBad = false;
  }

  /** Takes the word bytes[from..end) with what belongs to it; gives the offset behind. */
  function takeWord(bytes: Uint8Array, from: number, end: number, at: number): number {
    if (isWord(bytes, from, end, endloop) || isWord(bytes, from, end, endfacet)) {
      endFacet();
      return end;
    }
    if (isWord(bytes, from, end, facet)) {
      // Where the one before was not ended, this ends it.
      endFacet();
      facetAt = at + from;
      const behind = facets?.add(from) ?? -1;
      return behind < 0 ? end : behind;
    }
    if (isWord(bytes, from, end, outer)) return end;
    if (isWord(bytes, from, end, loop)) {
      endFacet();
      corner = 0;
      return end;
    }
    if (isWord(bytes, from, end, normal)) {
      // The winding of the corners tells the side; what is written may be 0 or wrong.
      let behind = end;
      for (let axis = 0; axis < 3; axis++) behind = wordEnd(bytes, wordOnLine(bytes, behind));
      return behind;
    }
    if (isWord(bytes, from, end, solid)) {
      endFacet();
      draft.parts++;
      isOpen = true;
    } else if (isWord(bytes, from, end, endsolid)) {
      endFacet();
      isOpen = false;
    } else if (strange++ === 0) {
      strangeAt = at + from;
      strangeText = wordText(bytes, from, end);
    }
    return lineEnd(bytes, end);
  }

  const tooLong = takeTextBlocks(source, 0, false, (bytes, from, to, at) => {
    const most = Math.ceil((to - from) / leastCorner) + 1;
    if (!makeRoom(draft, most, most) || !makeSlots(draft, draft.vertexCount + most)) return false;
    facets = new FramedFacets(draft, bytes, to);
    let i = at === 0 && bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf ? 3 : from;
    while (i < to) {
      if (bytes[i] <= blank) i++;
      // Three words in ten are this one.
      else if (bytes[i + 6] <= blank && isWord(bytes, i, i + 6, vertex))
        i = takeCorner(bytes, i + 6, to, at);
      else i = takeWord(bytes, i, wordEnd(bytes, i), at);
    }
    return true;
  });
  if (tooLong !== null) addFault(draft, 'line-too-long', tooLong, { most: longestLine });
  if (draft.lacking > 0) return;
  const isCut = corner >= 0 || isOpen;
  if (corner === 3) endFacet();
  else if (corner >= 0) {
    draft.faces++;
    draft.broken++;
  }
  if (isCut)
    addFault(draft, 'mesh-truncated', source.size, { what: 'facets', read: draft.triangleCount });
  if (strange > 0)
    addNotice(
      draft,
      'mesh-text-unread',
      { count: strange, text: strangeText },
      { line: lineAt(source, strangeAt) },
    );
}

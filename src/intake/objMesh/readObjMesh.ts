import type { ByteSource } from '../byteSource.ts';
import { scanned } from '../decimal.ts';
import { addFace, noVertex } from '../scan/addedFace.ts';
import {
  blank,
  isLineEnd,
  scanCoordinate,
  wordEnd,
  wordOnLine,
  wordText,
} from '../scan/coordinate.ts';
import {
  addFault,
  addNotice,
  addVertex,
  makeCornerRoom,
  makeRoom,
  type ScanDraft,
} from '../scan/scanDraft.ts';
import { lineAt, longestLine, takeTextBlocks } from '../scan/textBlocks.ts';
import { freeForm, passedOver } from './objStatements.ts';

/** The fewest bytes of a line that gives a vertex: "v 0 0 0" and its end; of a corner in a face: " 1". */
const leastVertex = 8;
const leastCorner = 2;

const [zero, nine, minus, plus, backslash, hash] = [48, 57, 45, 43, 92, 35];
const [letterV, letterF, letterO] = [118, 102, 111];
const carriageReturn = 13;
const lineFeed = 10;

/** Offset behind a backslash and the line end it takes back; `at` where there is none. */
function behindContinuation(bytes: Uint8Array, at: number): number {
  if (bytes[at] !== backslash) return at;
  if (bytes[at + 1] === carriageReturn && bytes[at + 2] === lineFeed) return at + 3;
  return isLineEnd(bytes[at + 1]) ? at + 2 : at;
}

/** Offset of the next word on the line, or of the line end. */
function nextWord(bytes: Uint8Array, from: number): number {
  let at = wordOnLine(bytes, from);
  while (bytes[at] === backslash) {
    const behind = behindContinuation(bytes, at);
    if (behind === at) break;
    at = wordOnLine(bytes, behind);
  }
  return at;
}

/** Offset of the end of the line, continued lines taken along. */
function statementEnd(bytes: Uint8Array, from: number): number {
  let at = from;
  while (!isLineEnd(bytes[at]))
    at = bytes[at] === backslash ? Math.max(at + 1, behindContinuation(bytes, at)) : at + 1;
  return at;
}

/**
 * Reads the polygons of an OBJ file into a draft: v, f with v/vt/vn in any of its forms, indices from 1
 * or backwards from the last vertex (-1), lines joined by a backslash (the format's published description, appendix B1, 1995; from memory). Colours or a weight behind the coordinates are passed over.
 * A vertex that cannot be read keeps its number, so that the faces still fit.
 */
export function readObjMesh(source: ByteSource, draft: ScanDraft): void {
  let surfaces = 0;
  let [strange, strangeAt, strangeText] = [0, 0, ''];
  const point = [0, 0, 0];

  function takeVertex(bytes: Uint8Array, from: number, to: number, at: number): number {
    let i = from;
    for (let axis = 0; axis < 3; axis++) {
      i = nextWord(bytes, i);
      if (isLineEnd(bytes[i])) {
        addFault(draft, 'mesh-row', at + i, { what: 'v', found: axis, expected: 3 });
        point.fill(NaN);
        break;
      }
      if (!scanCoordinate(bytes, i, to))
        addFault(draft, 'bad-number', at + i, {
          what: 'coordinate',
          text: wordText(bytes, i, scanned.end),
        });
      point[axis] = scanned.value;
      i = scanned.end;
    }
    addVertex(draft, point[0], point[1], point[2]);
    return i;
  }

  /** Number of the vertex that the index at `from` names; NaN where no index stands there. */
  function cornerAt(bytes: Uint8Array, from: number): number {
    let i = from;
    const isBackward = bytes[i] === minus;
    if (isBackward || bytes[i] === plus) i++;
    const first = i;
    let value = 0;
    for (let c = bytes[i]; c >= zero && c <= nine; c = bytes[++i]) value = 10 * value + (c - zero);
    if (i === first) return NaN;
    const number = isBackward ? draft.vertexCount - value : value - 1;
    return number >= 0 && value > 0 && number < noVertex ? number : noVertex;
  }

  function takeFace(bytes: Uint8Array, from: number, at: number): number {
    let count = 0;
    let isBad = false;
    let i = nextWord(bytes, from);
    while (!isLineEnd(bytes[i])) {
      const corner = cornerAt(bytes, i);
      let end = i;
      while (bytes[end] > blank && bytes[end] !== backslash) end++;
      if (Number.isNaN(corner)) {
        addFault(draft, 'bad-number', at + i, { what: 'corner', text: wordText(bytes, i, end) });
        isBad = true;
      }
      if (count === draft.corners.length && !makeCornerRoom(draft, count + 1)) return end;
      draft.corners[count++] = corner;
      // A backslash within the line is no continuation and part of no index.
      i = nextWord(
        bytes,
        bytes[end] === backslash && behindContinuation(bytes, end) === end ? end + 1 : end,
      );
    }
    if (isBad) {
      draft.faces++;
      draft.broken += Math.max(1, count - 2);
    } else addFace(draft, count, at + from);
    return i;
  }

  function takeOther(bytes: Uint8Array, from: number, end: number, at: number): void {
    const word = wordText(bytes, from, end);
    if (freeForm.has(word)) {
      if (word === 'surf') surfaces++;
    } else if (!passedOver.has(word) && strange++ === 0) {
      strangeAt = at + from;
      strangeText = word;
    }
  }

  const tooLong = takeTextBlocks(source, 0, true, (bytes, from, to, at) => {
    const room = to - from;
    if (!makeRoom(draft, Math.ceil(room / leastVertex), Math.ceil(room / leastCorner)))
      return false;
    let i = at === 0 && bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf ? 3 : from;
    while (i < to) {
      const c = bytes[i];
      if (c <= blank) {
        i++;
        continue;
      }
      const isLetter = bytes[i + 1] <= blank;
      if (isLetter && c === letterV) i = takeVertex(bytes, i + 1, to, at);
      else if (isLetter && c === letterF) i = takeFace(bytes, i + 1, at);
      else if (isLetter && c === letterO) draft.parts++;
      else if (c !== hash) takeOther(bytes, i, wordEnd(bytes, i), at);
      if (draft.lacking > 0) return false;
      i = statementEnd(bytes, i);
    }
    return true;
  });
  if (tooLong !== null) addFault(draft, 'line-too-long', tooLong, { most: longestLine });
  if (surfaces > 0) addNotice(draft, 'obj-surfaces', { count: surfaces });
  if (strange > 0)
    addNotice(
      draft,
      'mesh-text-unread',
      { count: strange, text: strangeText },
      { line: lineAt(source, strangeAt) },
    );
}

import type { ByteSource } from '../byteSource.ts';
import { scanned } from '../decimal.ts';
import { addFace, addStrip, noVertex } from '../scan/addedFace.ts';
import {
  blank,
  isLineEnd,
  lineEnd,
  scanCoordinate,
  scanCount,
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
import { cornerList, nothing, type PlyRows } from './plyRows.ts';

/** The fewest bytes of a corner in a list: a digit and a blank. */
const leastCorner = 2;

/**
 * Reads the rows of an ASCII PLY file from offset `start` on into a draft: one row a line. A row that
 * cannot be read is told; a vertex of that kind keeps its number, so that the faces still fit.
 */
export function readTextPly(
  source: ByteSource,
  start: number,
  elements: readonly PlyRows[],
  draft: ScanDraft,
): void {
  // Elements without properties have no lines.
  const all = elements.filter(({ columns, element }) => columns.length > 0 && element.count > 0);
  let current = 0;
  let row = 0;
  let [further, furtherAt, furtherText] = [0, 0, ''];
  const point = [0, 0, 0, 0];
  let corners = 0;

  /** Tells of a row with too few values; -1. */
  function tooFew(rows: PlyRows, byte: number, found: number): number {
    addFault(draft, 'mesh-row', byte, {
      what: rows.element.name,
      found,
      expected: rows.columns.length,
    });
    return -1;
  }

  /** Tells of a word that is no number; -1. */
  function noNumber(bytes: Uint8Array, from: number, at: number): number {
    addFault(draft, 'bad-number', at + from, {
      what: 'coordinate',
      text: wordText(bytes, from, scanned.end),
    });
    return -1;
  }

  /** Takes the list at `from`; gives the offset behind it, -1 where it cannot be read. */
  function takeList(
    bytes: Uint8Array,
    from: number,
    to: number,
    at: number,
    column: number,
  ): number {
    const rows = all[current];
    const { means } = rows.columns[column];
    if (!scanCount(bytes, from, to)) return noNumber(bytes, from, at);
    const count = scanned.value;
    let i = scanned.end;
    if (!(Number.isInteger(count) && count >= 0 && leastCorner * count <= to - i + 1))
      return tooFew(rows, at + from, column);
    if (means === cornerList) {
      if (!makeCornerRoom(draft, count)) return -1;
      corners = count;
    }
    for (let k = 0; k < count; k++) {
      i = wordOnLine(bytes, i);
      if (isLineEnd(bytes[i])) return tooFew(rows, at + from, column);
      if (means === nothing) i = wordEnd(bytes, i);
      else {
        if (!scanCount(bytes, i, to)) return noNumber(bytes, i, at);
        const { value } = scanned;
        const isVertex = value >= 0 && value < noVertex && Number.isInteger(value);
        draft.corners[k] = isVertex ? value : noVertex;
        i = scanned.end;
      }
    }
    return i;
  }

  /** Takes the values of a row that mean something; false where they cannot be read. */
  function takeRow(bytes: Uint8Array, from: number, to: number, at: number): boolean {
    const rows = all[current];
    const { columns } = rows;
    let i = from;
    for (let column = 0; column < columns.length && i >= 0; column++) {
      const { means, count } = columns[column];
      i = wordOnLine(bytes, i);
      if (isLineEnd(bytes[i])) i = tooFew(rows, at + from, column);
      else if (count !== null) i = takeList(bytes, i, to, at, column);
      else if (means === nothing) i = wordEnd(bytes, i);
      else if (scanCoordinate(bytes, i, to)) {
        point[means] = scanned.value;
        i = scanned.end;
      } else i = noNumber(bytes, i, at);
    }
    return i >= 0;
  }

  function takeLine(bytes: Uint8Array, from: number, to: number, at: number): void {
    if (current === all.length) {
      if (further++ === 0) {
        furtherAt = at + from;
        furtherText = wordText(bytes, from, wordEnd(bytes, from));
      }
      return;
    }
    const { kind, element } = all[current];
    if (kind !== 'other') {
      const isWhole = takeRow(bytes, from, to, at);
      if (kind === 'vertex') {
        if (!isWhole) point.fill(NaN);
        if (makeRoom(draft, 1, 0)) addVertex(draft, point[1], point[2], point[3]);
      } else if (!isWhole) {
        draft.faces++;
        draft.broken++;
      } else if (!makeRoom(draft, 0, corners)) return;
      else if (kind === 'face') addFace(draft, corners, at + from);
      else addStrip(draft, corners, at + from);
    }
    if (++row === element.count) {
      current++;
      row = 0;
    }
  }

  const tooLong = takeTextBlocks(source, start, false, (bytes, from, to, at) => {
    let i = from;
    while (i < to) {
      if (bytes[i] <= blank) i++;
      else {
        takeLine(bytes, i, to, at);
        if (draft.lacking > 0) return false;
        i = lineEnd(bytes, i);
      }
    }
    return true;
  });
  if (tooLong !== null) addFault(draft, 'line-too-long', tooLong, { most: longestLine });
  if (draft.lacking > 0) return;
  if (current < all.length && tooLong === null)
    addFault(draft, 'mesh-truncated', source.size, {
      what: all[current].element.name,
      read: row,
      expected: all[current].element.count,
    });
  if (further > 0)
    addNotice(
      draft,
      'mesh-text-unread',
      { count: further, text: furtherText },
      { line: lineAt(source, furtherAt) },
    );
}

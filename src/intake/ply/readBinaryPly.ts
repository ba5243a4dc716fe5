import { filledBytes, type ByteSource } from '../byteSource.ts';
import { addFace, addStrip, noVertex } from '../scan/addedFace.ts';
import {
  addFault,
  addVertex,
  makeCornerRoom,
  makeRoom,
  type ScanDraft,
} from '../scan/scanDraft.ts';
import type { PlyType } from './plyHeader.ts';
import { cornerList, xValue, yValue, zValue, type PlyColumn, type PlyRows } from './plyRows.ts';

/** A piece of the file that is moved along; `at` is the place in it, `offset` that of its first byte. */
interface Stretch {
  readonly source: ByteSource;
  readonly bytes: Uint8Array;
  readonly view: DataView;
  readonly isLittle: boolean;
  at: number;
  end: number;
  offset: number;
}

const stretchLength = 2 ** 18;

function stretchFrom(source: ByteSource, offset: number, isLittle: boolean): Stretch {
  const bytes = new Uint8Array(stretchLength);
  return { source, bytes, view: new DataView(bytes.buffer), isLittle, at: 0, end: 0, offset };
}

/** Moves a stretch so that `count` bytes (few) stand from `at` on; false at the end of the file. */
function movedOn(stretch: Stretch, count: number): boolean {
  const { bytes, source, at, end } = stretch;
  bytes.copyWithin(0, at, end);
  stretch.offset += at;
  stretch.end = end - at;
  stretch.at = 0;
  stretch.end += filledBytes(source, bytes.subarray(stretch.end), stretch.offset + stretch.end);
  return stretch.end >= count;
}

const has = (stretch: Stretch, count: number): boolean =>
  stretch.at + count <= stretch.end || movedOn(stretch, count);

const bytesLeft = ({ source, offset, at }: Stretch): number => source.size - offset - at;

/** Passes over that many bytes, of which the file has all. */
function skip(stretch: Stretch, count: number): void {
  if (stretch.at + count <= stretch.end) stretch.at += count;
  else {
    stretch.offset += stretch.at + count;
    stretch.at = 0;
    stretch.end = 0;
  }
}

function numberAt(view: DataView, at: number, type: PlyType, isLittle: boolean): number {
  switch (type) {
    case 'float32':
      return view.getFloat32(at, isLittle);
    case 'int32':
      return view.getInt32(at, isLittle);
    case 'uint8':
      return view.getUint8(at);
    case 'uint32':
      return view.getUint32(at, isLittle);
    case 'float64':
      return view.getFloat64(at, isLittle);
    case 'int8':
      return view.getInt8(at);
    case 'int16':
      return view.getInt16(at, isLittle);
    case 'uint16':
      return view.getUint16(at, isLittle);
  }
}

/** The number at the place of a stretch, which is there; moves behind it. */
function taken(stretch: Stretch, type: PlyType, bytes: number): number {
  const value = numberAt(stretch.view, stretch.at, type, stretch.isLittle);
  stretch.at += bytes;
  return value;
}

const isCount = (value: number): boolean => Number.isInteger(value) && value >= 0;

/** The fewest bytes a row of the element can take. */
export const leastRowBytes = ({ columns }: PlyRows): number =>
  columns.reduce((sum, { bytes, countBytes }) => sum + (countBytes || bytes), 0);

/** Rows that are handed on between two looks at the room for them. */
const rowsAtOnce = 4096;

/** Vertices whose rows hold no list: each at a fixed distance from the one before. */
function readVertices(stretch: Stretch, { columns, element }: PlyRows, draft: ScanDraft): number {
  const [x, y, z] = [xValue, yValue, zValue].map((value) => {
    const index = columns.findIndex(({ means }) => means === value);
    const at = columns.slice(0, index).reduce((sum, { bytes }) => sum + bytes, 0);
    return { at, type: columns[index].type };
  });
  const length = columns.reduce((sum, { bytes }) => sum + bytes, 0);
  const { view, isLittle } = stretch;
  let row = 0;
  while (row < element.count) {
    if (!makeRoom(draft, Math.min(rowsAtOnce, element.count - row), 0)) return row;
    const until = Math.min(element.count, row + rowsAtOnce);
    for (; row < until; row++) {
      if (!has(stretch, length)) return row;
      const at = stretch.at;
      addVertex(
        draft,
        numberAt(view, at + x.at, x.type, isLittle),
        numberAt(view, at + y.at, y.type, isLittle),
        numberAt(view, at + z.at, z.type, isLittle),
      );
      stretch.at = at + length;
    }
  }
  return row;
}

/** Corners of a list of `count` numbers into `draft.corners`; the file has their bytes. */
function readCorners(
  stretch: Stretch,
  { type, bytes }: PlyColumn,
  count: number,
  draft: ScanDraft,
): void {
  const { corners } = draft;
  for (let k = 0; k < count && has(stretch, bytes); k++) {
    const value = taken(stretch, type, bytes);
    corners[k] = value >= 0 && value < noVertex && Number.isInteger(value) ? value : noVertex;
  }
}

/** Rows of any properties; lists that mean nothing are passed over. Gives the rows that were whole. */
function readMixedRows(stretch: Stretch, rows: PlyRows, draft: ScanDraft): number {
  const { kind, columns, element } = rows;
  const point = [0, 0, 0, 0];
  for (let row = 0; row < element.count; row++) {
    const begin = stretch.offset + stretch.at;
    let corners = -1;
    for (let k = 0; k < columns.length; k++) {
      const column = columns[k];
      const { type, bytes, count, countBytes, means } = column;
      if (!has(stretch, countBytes || bytes)) return row;
      if (count === null) {
        point[means & 3] = taken(stretch, type, bytes);
        continue;
      }
      const items = taken(stretch, count, countBytes);
      // A count of items that the file cannot hold: nothing behind it can be found either.
      if (!isCount(items) || items * bytes > bytesLeft(stretch)) return row;
      if (means === cornerList) {
        if (!makeCornerRoom(draft, items)) return row;
        readCorners(stretch, column, items, draft);
        corners = items;
      } else skip(stretch, items * bytes);
    }
    if (kind === 'other') continue;
    if (!makeRoom(draft, 1, Math.max(0, corners))) return row;
    if (kind === 'vertex') addVertex(draft, point[xValue], point[yValue], point[zValue]);
    else if (kind === 'face') addFace(draft, corners, begin);
    else addStrip(draft, corners, begin);
  }
  return element.count;
}

/** Passes over rows without lists. */
function skipRows(stretch: Stretch, rows: PlyRows): number {
  const length = leastRowBytes(rows);
  if (length === 0) return rows.element.count;
  const count = Math.min(rows.element.count, Math.floor(bytesLeft(stretch) / length));
  skip(stretch, count * length);
  return count;
}

/**
 * Reads the rows of a binary PLY file from offset `start` on into a draft. Where an element ends before
 * it has all its rows, nothing that follows can be found, and the reading ends.
 */
export function readBinaryPly(
  source: ByteSource,
  start: number,
  isLittle: boolean,
  elements: readonly PlyRows[],
  draft: ScanDraft,
): void {
  const stretch = stretchFrom(source, start, isLittle);
  for (const rows of elements) {
    const hasList = rows.columns.some(({ count }) => count !== null);
    const read = hasList
      ? readMixedRows(stretch, rows, draft)
      : rows.kind === 'vertex'
        ? readVertices(stretch, rows, draft)
        : skipRows(stretch, rows);
    if (draft.lacking > 0) return;
    if (read < rows.element.count) {
      addFault(draft, 'mesh-truncated', stretch.offset + stretch.at, {
        what: rows.element.name,
        read,
        expected: rows.element.count,
      });
      return;
    }
  }
  const rest = bytesLeft(stretch);
  if (rest > 0)
    draft.notices.push({
      code: 'mesh-bytes-after',
      place: { byte: stretch.offset + stretch.at },
      data: { bytes: rest },
    });
}

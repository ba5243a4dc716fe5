import type { ByteSource } from '../byteSource.ts';
import type { Fault } from '../fault.ts';
import {
  addFault,
  addNotice,
  isAffordable,
  makeRoom,
  meshBytes,
  type ScanDraft,
} from '../scan/scanDraft.ts';
import { plyHeader } from './plyHeader.ts';
import { plyRows, type PlyRows } from './plyRows.ts';
import { leastRowBytes, readBinaryPly } from './readBinaryPly.ts';
import { readTextPly } from './readTextPly.ts';

const rowsOf = (elements: readonly PlyRows[], kind: PlyRows['kind']): number =>
  elements.reduce((sum, rows) => sum + (rows.kind === kind ? rows.element.count : 0), 0);

/** The fewest bytes that the rows of an element take, so that a claim can be held against what is there. */
function leastBytes(rows: PlyRows, isText: boolean): number {
  const row = isText ? 2 * rows.columns.length : leastRowBytes(rows);
  // The last line of a text may have no end.
  return Math.max(0, row * rows.element.count - (isText ? 1 : 0));
}

/**
 * Reads a PLY file into a draft: ASCII or binary, elements and properties of any order and type,
 * further elements counted and passed over. Gives the form, or the fault of a header that cannot be
 * read.
 */
export function readPly(source: ByteSource, draft: ScanDraft): Fault | 'text' | 'binary' {
  const header = plyHeader(source);
  if ('code' in header) return header;
  const isText = header.form === 'ascii';
  const form = isText ? 'text' : 'binary';
  const all = plyRows(header);
  const filled = all.filter(({ element }) => element.count > 0);
  draft.hasFaces = filled.some(({ kind }) => kind === 'face' || kind === 'strip');
  if (filled.length > 0 && !all.some(({ kind }) => kind === 'vertex')) {
    addFault(draft, 'ply-header', null, { what: 'vertex', text: '' });
    return form;
  }
  for (const { kind, element } of filled)
    if (kind === 'other')
      addNotice(draft, 'ply-element', { element: element.name, count: element.count });
  const left = source.size - header.end;
  const fits = all.every((rows) => leastBytes(rows, isText) <= left);
  // A claim that the file cannot hold is told when the rows end; nothing is set aside for it.
  const [vertices, faces] = [rowsOf(all, 'vertex'), rowsOf(all, 'face')];
  if (fits && !isAffordable(draft, meshBytes(vertices, faces))) return form;
  if (fits) makeRoom(draft, vertices, faces);
  if (isText) readTextPly(source, header.end, all, draft);
  else readBinaryPly(source, header.end, header.form === 'little', all, draft);
  return form;
}

import { headOf, type ByteSource } from './byteSource.ts';
import { fault, type Fault } from './fault.ts';
import { formatByContent } from './format.ts';
import { readObjMesh } from './objMesh/readObjMesh.ts';
import { readPly } from './ply/readPly.ts';
import { addPostponedFaces } from './scan/addedFace.ts';
import { checkedMesh, farthest } from './scan/checkedMesh.ts';
import {
  addFault,
  addNotice,
  faultsOf,
  isAffordable,
  meshBytes,
  scanDraft,
  type ScanDraft,
} from './scan/scanDraft.ts';
import type { ScanCounts, ScanIntake } from './scan/scanIntake.ts';
import { asciiSource, utf16Order } from './scan/utf16.ts';
import { scanFormatByContent, scanFormatByName, type ScanFormat } from './scanFormat.ts';
import { readBinaryStl } from './stl/readBinaryStl.ts';
import { readTextStl } from './stl/readTextStl.ts';
import { stlForm } from './stl/stlForm.ts';

export interface ScanOptions {
  /** Millimetres of the file's unit, which none of the formats states. */
  readonly millimetres: number;
  /** Bytes that the mesh may take while it is read: a file that needs more is not tried. */
  readonly most: number;
}

const headLength = 4096;

/** What a file gave of which nothing could be read as a scan. */
const unreadScan = (problem: Fault): ScanIntake => ({
  format: null,
  mesh: null,
  counts: null,
  faults: [problem],
  notices: [],
});

/**
 * The format to read a scan as, or why it is not read: the ending decides what is meant and the content
 * what is there, as with surfaces (format.ts).
 */
function recognisedScanFormat(name: string, head: Uint8Array, size: number): ScanFormat | Fault {
  if (size === 0) return fault('file-empty', {});
  const meant = scanFormatByName(name);
  const found = formatByContent(head) ?? scanFormatByContent(head, size);
  if (meant && found && meant !== found) return fault('wrong-extension', {}, { meant, found });
  if (!meant)
    return found
      ? fault('wrong-extension', {}, { meant: 'no known format', found })
      : fault('unknown-format', {});
  const zero = head.indexOf(0);
  if (meant === 'obj' && zero >= 0) return fault('binary-content', { byte: zero }, { meant });
  if (meant === 'ply' && !found) return fault('ply-header', { line: 1 }, { what: 'ply', text: '' });
  return meant === 'stl' && stlForm(head, size) === null ? fault('stl-form', {}) : meant;
}

/** Bytes of text that a triangle, with its share of vertices, takes in common files; common practice. */
const textBytes = { stl: 250, obj: 60 } as const;

/** Reads a source of a known format into a draft; gives whether it is text, or why it cannot be. */
function readInto(
  draft: ScanDraft,
  format: ScanFormat,
  source: ByteSource,
  head: Uint8Array,
): Fault | 'text' | 'binary' {
  if (format === 'ply') return readPly(source, draft);
  if (format === 'stl' && stlForm(head, source.size) === 'binary') {
    readBinaryStl(source, draft);
    return 'binary';
  }
  const triangles = source.size / textBytes[format];
  if (isAffordable(draft, meshBytes(triangles / 2, triangles)))
    if (format === 'stl') readTextStl(source, draft);
    else readObjMesh(source, draft);
  return 'text';
}

/** What a person should know of what was left out, or is not there. */
function tellCounts(draft: ScanDraft, counts: ScanCounts): void {
  const { degenerate, duplicate, broken, notFinite, far, unused, vertices } = counts;
  if (degenerate > 0) addNotice(draft, 'mesh-degenerate', { count: degenerate });
  if (duplicate > 0) addNotice(draft, 'mesh-duplicate', { count: duplicate });
  if (notFinite > 0) addNotice(draft, 'mesh-not-finite', { count: notFinite, triangles: broken });
  if (far > 0) addNotice(draft, 'mesh-far', { count: far, triangles: broken, most: farthest });
  if (unused > 0) addNotice(draft, 'mesh-unused', { count: unused });
  if (!draft.hasFaces && vertices > 0) addNotice(draft, 'points-only', { count: vertices });
}

/**
 * A scan from the bytes of one file: STL, PLY, or the polygons of OBJ, as one mesh. `name` is only
 * looked at for its ending. Text in UTF-16 with a byte-order mark is read as well. Throws only what
 * `source` throws.
 */
export function readScan(name: string, source: ByteSource, options: ScanOptions): ScanIntake {
  const order = utf16Order(headOf(source, 2));
  const bytes = order === null ? source : asciiSource(source, order);
  const head = headOf(bytes, headLength);
  const format = recognisedScanFormat(name, head, bytes.size);
  if (typeof format !== 'string') return unreadScan(format);
  const draft = scanDraft(options.most);
  const form = readInto(draft, format, bytes, head);
  if (typeof form !== 'string') return { ...unreadScan(form), format };
  if (draft.lacking === 0) addPostponedFaces(draft);
  const checked = draft.lacking === 0 ? checkedMesh(draft, options.millimetres) : null;
  if (draft.lacking > 0)
    addFault(draft, 'mesh-too-large', null, { needed: draft.lacking, most: draft.most });
  if (checked) tellCounts(draft, checked.counts);
  if (checked?.mesh === null) addFault(draft, 'mesh-empty', null, { faces: draft.faces });
  return {
    format,
    mesh: checked?.mesh ?? null,
    counts: checked?.counts ?? null,
    faults: faultsOf(draft, bytes, form === 'text'),
    notices: draft.notices,
  };
}

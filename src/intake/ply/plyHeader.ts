import { headOf, type ByteSource } from '../byteSource.ts';
import { fault, type Fault } from '../fault.ts';

/** Bytes of each scalar type, by both sets of names that are in use. */
const typeBytes = {
  int8: 1,
  uint8: 1,
  int16: 2,
  uint16: 2,
  int32: 4,
  uint32: 4,
  float32: 4,
  float64: 8,
} as const;
export type PlyType = keyof typeof typeBytes;

const typeNames: Readonly<Record<string, PlyType>> = {
  char: 'int8',
  uchar: 'uint8',
  short: 'int16',
  ushort: 'uint16',
  int: 'int32',
  uint: 'uint32',
  float: 'float32',
  double: 'float64',
  ...Object.fromEntries(Object.keys(typeBytes).map((name) => [name, name as PlyType])),
};

/** A property of an element: a number, or a list of numbers after their count. */
export interface PlyProperty {
  readonly name: string;
  readonly type: PlyType;
  /** Of one number. */
  readonly bytes: number;
  /** Type of the count; null: no list. */
  readonly count: PlyType | null;
  /** Of the count; 0: no list. */
  readonly countBytes: number;
}

export interface PlyElement {
  readonly name: string;
  /** As the header claims. */
  readonly count: number;
  readonly properties: readonly PlyProperty[];
}

export interface PlyHeader {
  readonly form: 'ascii' | 'little' | 'big';
  readonly elements: readonly PlyElement[];
  /** Offset of the first byte behind the header. */
  readonly end: number;
}

const forms: Readonly<Record<string, PlyHeader['form']>> = {
  ascii: 'ascii',
  binary_little_endian: 'little',
  binary_big_endian: 'big',
};

/** A header longer than this is none. */
const longestHeader = 2 ** 20;

const wholeNumber = (word: string | undefined): number =>
  word !== undefined && /^\d{1,15}$/.test(word) ? Number(word) : NaN;

/**
 * The header of a PLY file, or why it cannot be read (G. Turk, "The PLY Polygon File Format", 1994;
 * from memory): lines of words up to `end_header`; comments and obj_info are passed over. Lines end as
 * the first one does, since the bytes behind the header may be any.
 */
export function plyHeader(source: ByteSource): PlyHeader | Fault {
  const text = Buffer.from(headOf(source, longestHeader)).toString('latin1');
  const lineEnd = /\r\n|\n|\r/.exec(text)?.[0] ?? '\n';
  const elements: { name: string; count: number; properties: PlyProperty[] }[] = [];
  let form: PlyHeader['form'] | undefined;
  let at = 0;
  const problem = (line: number, what: string, found: string): Fault =>
    fault('ply-header', { line }, { what, text: found.slice(0, 40) });
  for (let line = 1; ; line++) {
    const end = text.indexOf(lineEnd, at);
    const written = text.slice(at, end < 0 ? undefined : end);
    const words = written.trim().split(/\s+/);
    const [keyword, ...rest] = words;
    at = end < 0 ? text.length : end + lineEnd.length;
    if (keyword === 'end_header') break;
    if (end < 0) return problem(line, 'end_header', written);
    if (line === 1 || ['', 'comment', 'obj_info'].includes(keyword)) continue;
    if (keyword === 'format') {
      form = forms[rest[0]];
      if (!form) return problem(line, 'format', written);
    } else if (keyword === 'element') {
      const count = wholeNumber(rest[1]);
      if (Number.isNaN(count)) return problem(line, 'element', written);
      elements.push({ name: rest[0], count, properties: [] });
    } else if (keyword === 'property') {
      const isList = rest[0] === 'list';
      const [counts, type, name] = isList ? rest.slice(1) : [undefined, ...rest];
      const known = [isList ? counts : type, type].map((word) => typeNames[word ?? '']);
      if (elements.length === 0 || !known[0] || !known[1] || name === undefined)
        return problem(line, 'property', written);
      elements[elements.length - 1].properties.push({
        name,
        type: known[1],
        bytes: typeBytes[known[1]],
        count: isList ? known[0] : null,
        countBytes: isList ? typeBytes[known[0]] : 0,
      });
    } else return problem(line, 'word', written);
  }
  if (!form) return problem(1, 'format', '');
  return { form, elements, end: at };
}

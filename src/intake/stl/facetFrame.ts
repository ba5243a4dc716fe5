/** A stretch of text, four bytes a word; the last word may overlap the one before it. */
interface Stretch {
  readonly words: Int32Array;
  readonly length: number;
}

/** What stands between the numbers of a facet, blanks and line ends included. */
export interface FacetFrame {
  readonly beforeNormal: Stretch;
  readonly beforeCorners: readonly Stretch[];
  readonly behindCorners: Stretch;
}

function stretchOf(text: string): Stretch {
  const bytes = Buffer.from(text, 'latin1');
  const { length } = bytes;
  const words = Int32Array.from({ length: Math.ceil(length / 4) }, (_, k) =>
    bytes.readInt32LE(Math.min(4 * k, length - 4)),
  );
  return { words, length };
}

/** More bytes than a facet takes, with each number to the last digit. */
const longestFacet = 1024;

const blanks = '[\\0- ]+';
const blankOnLine = '[\\0-\\t\\v\\f\\x0e- ]';
const numbers = Array(3).fill(`${blankOnLine}*[^\\0- ]+`).join(blankOnLine);
const commonFacet = new RegExp(
  [
    `^(facet${blanks}normal${blankOnLine})`,
    `(${blanks}outer${blanks}loop${blanks}vertex${blankOnLine})`,
    `(${blanks}vertex${blankOnLine})`,
    `(${blanks}vertex${blankOnLine})`,
    `(${blanks}endloop${blanks}endfacet)${blanks}`,
  ].join(numbers),
  'i',
);

/** The frame of the facet that begins at `from`; null where it is not of the common form. */
export function facetFrame(bytes: Uint8Array, from: number, to: number): FacetFrame | null {
  const length = Math.min(longestFacet, to - from);
  const text = Buffer.from(bytes.buffer, bytes.byteOffset + from, length).toString('latin1');
  const found = commonFacet.exec(text)?.slice(1).map(stretchOf);
  if (!found) return null;
  const [beforeNormal, first, second, third, behindCorners] = found;
  return { beforeNormal, beforeCorners: [first, second, third], behindCorners };
}

/** Offset behind a stretch that stands at `at`, -1 where it does not. */
export function stretchEnd(
  { words, length }: Stretch,
  view: DataView,
  at: number,
  to: number,
): number {
  const end = at + length;
  if (end > to) return -1;
  const last = words.length - 1;
  for (let k = 0; k < last; k++) if (view.getInt32(at + 4 * k, true) !== words[k]) return -1;
  return view.getInt32(end - 4, true) === words[last] ? end : -1;
}

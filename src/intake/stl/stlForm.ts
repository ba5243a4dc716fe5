/** Bytes before the first facet of the binary form: a header of any content, then the number of facets. */
export const binaryHead = 84;
/** Bytes of one facet of the binary form: normal and three corners as 32-bit floats, two bytes more. */
export const binaryFacet = 50;

/** Facets that the header of the binary form states (3D Systems, "StereoLithography Interface Specification", 1989; from memory). */
export const statedFacets = (head: Uint8Array): number =>
  new DataView(head.buffer, head.byteOffset).getUint32(80, true);

const tab = 9;
const carriageReturn = 13;
const blank = 32;

/** How far a text must be without bytes that no text has, to be one. */
const looked = 1024;

/** Whether the first bytes are all such as a text has. */
const isText = (head: Uint8Array): boolean =>
  head.subarray(0, looked).every((c) => c >= blank || (c >= tab && c <= carriageReturn));

/** Whether a text begins as the text form does. */
const beginsAsText = (head: Uint8Array): boolean =>
  /^(\u00ef\u00bb\u00bf)?\s*(solid|facet|endsolid)\b/i.test(
    Buffer.from(head.subarray(0, looked)).toString('latin1'),
  );

/** A coordinate beyond these is none, in any unit; 0 is one. */
const [nearest, farthest] = [1e-30, 1e9];

const isLikely = (size: number): boolean => size === 0 || (size >= nearest && size <= farthest);

/**
 * Whether the first facets hold coordinates that may be some: of any other bytes read as floats most are
 * beyond all measure, or no number.
 */
function hasLikelyCorners(head: Uint8Array): boolean {
  const view = new DataView(head.buffer, head.byteOffset, head.length);
  let [likely, all] = [0, 0];
  for (let at = binaryHead; at + binaryFacet <= head.length; at += binaryFacet)
    for (let k = 12; k < 48; k += 4, all++)
      if (isLikely(Math.abs(view.getFloat32(at + k, true)))) likely++;
  return likely >= 0.8 * all;
}

/**
 * The form of STL that a file of `size` bytes shows beyond doubt. A size that fits the number of facets
 * decides, since a header of the binary form may begin with "solid"; else text that begins as the text
 * form does. `null`: neither.
 */
export function shownStlForm(head: Uint8Array, size: number): 'text' | 'binary' | null {
  if (size >= binaryHead && binaryHead + binaryFacet * statedFacets(head) === size) return 'binary';
  return isText(head) && beginsAsText(head) ? 'text' : null;
}

/** The form of a file that is meant to be STL: binary also where the number of facets is wrong. */
export const stlForm = (head: Uint8Array, size: number): 'text' | 'binary' | null =>
  shownStlForm(head, size) ??
  (size >= binaryHead && !isText(head) && hasLikelyCorners(head) ? 'binary' : null);

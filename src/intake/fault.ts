/** Where in a file something stands. A reader gives what its format has. */
export interface Place {
  /** Line of the text, from 1. */
  readonly line?: number;
  /** Byte offset from 0. */
  readonly byte?: number;
  /** The format's own address: "D7", "P123", "#40", "/panels/0/rows/2". */
  readonly record?: string;
}

/**
 * What can be wrong with a file. The sentence for each, with what to do, stands in
 * writers/faultSentences.ts; `data` fills its gaps.
 */
export const faultCodes = [
  // the file itself
  'file-missing',
  'file-unreadable',
  'file-empty',
  'file-too-large',
  'not-a-file',
  'link-loop',
  'nothing-to-read',
  'unknown-format',
  'wrong-extension',
  'text-encoding',
  'binary-content',
  // its form
  'json-syntax',
  'json-shape',
  // iges-form { form: compressed | binary | unknown }
  // iges-section { section: G | D | P | T } is missing
  // iges-record { what: section | entry, found: number of such records }, { what: delimiters }, or
  //   { what: unended, entity (0: the global section), found: parameters read }
  // iges-count { what: D | P, found, expected } records, { entity, what: parameters, found, expected? }
  // iges-pointer { entity, what: surface | member | matrix | parameter record | shared parameter
  //   record | parameter type, found }
  // iges-instances { most }
  // from IGES also: bad-number { entity, what: number | string | integer, found: parameters read, text },
  //   count-beyond-file { entity, what: parameters | pointers, found, expected }, placement { entity },
  //   too-deep { what: matrices | instances, most }, unit-unknown { flag, name }
  'iges-form',
  'iges-section',
  'iges-record',
  'iges-count',
  'iges-pointer',
  'iges-instances',
  // STEP: data keys. Where over 100 faults have one code, the last carries `further`, the count of the rest.
  'step-syntax', // near: text at the spot; expected, only where the opening mark is missing
  'step-truncated', // read: number of whole records
  'step-reference', // to: "#12", which the file does not hold
  'step-argument', // what, expected
  'step-duplicate', // firstLine: line of the record that is kept
  // VDA-FS: also bad-number { what: number | integer, found: parameters read, text }, wrong-count
  //   { what: parameters | header lines, found, expected }, count-beyond-file { what, found, expected },
  //   too-deep { what: sets | lists | members of lists | curves | points, most }, placement { what }
  'vda-statement', // { what: none | text | command | slash, found }
  'vda-truncated', // { read: statements }
  'vda-reference', // { what: surface | curve on a surface | curve | curve on its surface | TMAT | element, to }
  'vda-duplicate', // { firstLine } of the element that is kept
  // OBJ: also bad-number { what: number | coordinate | integer, text }, wrong-count { what, found,
  //   expected }, too-deep { what: points, most }
  'obj-index', // { what: vertex | parameter vertex | trimming curve, found, held }
  'obj-attribute', // { what: a statement that is missing or cannot be used }
  'obj-unended', // a curve or surface without its end
  'too-deep',
  'count-beyond-file',
  'bad-number',
  'unit-unknown',
  // the scan. Each stands once, for the first of its kind; `further` counts the rest.
  'mesh-too-large', // { needed, most } bytes
  'mesh-empty', // { faces }: none of them can be used
  'mesh-truncated', // { what: facets | an element's name, read, expected? }
  'mesh-row', // { what: vertex | facet | v | an element's name, found, expected } numbers or corners
  'mesh-index', // { vertices }: a face has a corner that the file does not hold
  'mesh-face', // { corners, most }
  'line-too-long', // { most } bytes
  // also bad-number { what: coordinate | corner, text }
  'stl-form', // neither of the two
  'ply-header', // { what: ply | format | element | property | word | end_header | vertex, text }
  // the surface
  'degree-range',
  'too-few-points',
  'wrong-count',
  'knots-count',
  'knots-decrease',
  'knots-multiplicity',
  'not-finite',
  'weights-not-positive',
  'beyond-range',
  'no-extent',
  'placement',
] as const;
export type FaultCode = (typeof faultCodes)[number];

export interface Fault {
  readonly code: FaultCode;
  readonly place: Place;
  readonly data: Readonly<Record<string, string | number>>;
}

/** Something the reader of a verdict should know, that does not stop the judging. */
export const noticeCodes = [
  'unit-doubtful',
  'unit-missing',
  'flag-contradicts', // { what: unit | PROP1 to PROP5, flag, found }
  'model-scale', // { scale }
  // of scans
  'points-only', // { count }
  'mesh-degenerate', // { count } triangles
  'mesh-duplicate', // { count } triangles
  'mesh-unused', // { count } vertices
  'mesh-not-finite', // { count } vertices, { triangles } left out with them or for other reasons
  'mesh-far', // the same, { most } mm
  'mesh-count', // { what: facets, stated, found }
  'mesh-bytes-after', // { bytes }
  'mesh-text-unread', // { count } lines, text: the first word
  'ply-element', // { element, count } rows
  'obj-surfaces', // { count }
  'obj-faces', // { count } beside free-form surfaces
  'obj-outside', // { what: call | csh, count }, never followed
  'points-unread', // { sets } of points, measured or with directions (VDA-FS PSET, MDI)
  'coefficient-order', // { coefficients: s | t, patches: s | t }, which run fastest
  // borders that gave no region (intake/trimNotice.ts); loop counts from 1, gap is in `unit`
  'trim-open', // { loop, gap, unit }
  'trim-off-surface', // { loop, gap, unit }
  'trim-empty', // { loop }
  'trim-unsound', // { loop }
  // a border that the reader could not make out: { entity, what: kind | pointer | data | nesting |
  //   surface (its parameters are those of another surface) | apart (its surface falls to pieces) }
  'trim-unread',
  'patches-apart', // { found: nets, gap, unit } of a surface made of patches that do not meet
  // STEP trims of which a record cannot be used
  'trim-kind', // { type } of a kind that is not read
  'trim-damaged', // { type }
] as const;
export type NoticeCode = (typeof noticeCodes)[number];

export interface Notice {
  readonly code: NoticeCode;
  readonly place: Place;
  readonly data: Readonly<Record<string, string | number>>;
}

export const fault = (code: FaultCode, place: Place, data: Fault['data'] = {}): Fault => ({
  code,
  place,
  data,
});

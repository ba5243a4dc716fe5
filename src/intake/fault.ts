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
  'too-deep',
  'count-beyond-file',
  'bad-number',
  'unit-unknown',
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
  'flag-contradicts', // { what: unit | PROP3, flag, found }
  'model-scale', // { scale }
  // borders that gave no region (intake/trimNotice.ts); loop counts from 1, gap is in `unit`
  'trim-open', // { loop, gap, unit }
  'trim-off-surface', // { loop, gap, unit }
  'trim-empty', // { loop }
  'trim-unsound', // { loop }
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

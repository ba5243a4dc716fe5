import { fault, type Fault, type FaultCode, type Place } from '../fault.ts';
import { lineFinder } from './lineFinder.ts';
import { keywords, type StepKeyword } from './stepKeywords.ts';
import {
  complex,
  complexKinds,
  keywordNumber,
  recordFinder,
  stepRecords,
  type StepRecords,
} from './stepRecords.ts';
import { deepest, isProblem, stepParts, type StepPart, type StepValue } from './stepValues.ts';

/** A file may be wrong in every record; of each kind of fault this many are told, the rest counted. */
const mostOfOneCode = 100;

/**
 * Records are parsed anew at each use, which costs little unless a file has many uses of one huge
 * record: then reading ends after so many times the file's own length.
 */
const mostReadings = 16;

/** An entity type of a complex instance and how many attributes it declares itself. */
export type Layout = readonly (readonly [type: string, attributes: number])[];

/** An indexed exchange file, with what was found wrong in it so far. */
export class StepFile {
  readonly records: StepRecords;
  /** Record number of #n, or -1. */
  readonly find: (id: number) => number;
  readonly lineOf: (byte: number) => number;
  private readonly byKeyword: readonly (readonly number[])[];
  private readonly told = new Map<FaultCode, Fault[]>();
  private readonly further = new Map<FaultCode, number>();
  private readonly broken = new Set<number>();
  private readonly kindsOfComplex = new Map<number, readonly number[]>();
  private bytesLeft: number;

  constructor(readonly bytes: Uint8Array) {
    this.records = stepRecords(bytes);
    this.bytesLeft = mostReadings * bytes.length;
    this.lineOf = lineFinder(bytes);
    const finder = recordFinder(this.records);
    this.find = finder.find;
    const lists: number[][] = [[], ...keywords.map((): number[] => [])];
    // Points are by far the most, and are only ever reached by name.
    const point = keywordNumber('CARTESIAN_POINT');
    const { kinds, ids, count } = this.records;
    const doubled = finder.duplicates.length > 0;
    for (let record = 0; record < count; record++) {
      const kind = kinds[record];
      if (kind === 0 || kind === point) continue;
      if (doubled && this.find(ids[record]) !== record) continue;
      if (kind !== complex) lists[kind].push(record);
      else {
        const numbers = complexKinds(this.records, record);
        this.kindsOfComplex.set(record, numbers);
        for (const number of numbers) lists[number].push(record);
      }
    }
    this.byKeyword = lists;
    for (const problem of [...this.records.problems, ...finder.duplicates])
      this.tell(
        problem.code,
        {
          line: this.lineOf(problem.byte),
          byte: problem.byte,
          ...(problem.id === null ? {} : { record: `#${problem.id}` }),
        },
        problem.code === 'step-duplicate'
          ? { firstLine: this.lineOf(problem.firstByte) }
          : problem.code === 'step-truncated'
            ? { read: count }
            : { near: this.near(problem.byte) },
      );
  }

  get faults(): readonly Fault[] {
    return [...this.told.entries()].flatMap(([code, faults]) => {
      const further = this.further.get(code);
      return further === undefined
        ? faults
        : [
            ...faults.slice(0, -1),
            { ...faults[faults.length - 1], data: { ...faults[faults.length - 1].data, further } },
          ];
    });
  }

  tell(code: FaultCode, place: Place, data: Fault['data'] = {}): void {
    const faults = this.told.get(code) ?? [];
    this.told.set(code, faults);
    if (faults.length < mostOfOneCode) faults.push(fault(code, place, data));
    else this.further.set(code, (this.further.get(code) ?? 0) + 1);
  }

  tellAt(code: FaultCode, record: number, data: Fault['data'] = {}): void {
    this.tell(code, this.place(record), data);
  }

  place(record: number): Place {
    const byte = this.records.starts[record];
    return { line: this.lineOf(byte), byte, record: `#${this.records.ids[record]}` };
  }

  /** Printable characters at a byte, for a person to find the spot. */
  private near(byte: number): string {
    return Buffer.from(this.bytes.subarray(byte, byte + 24))
      .toString('latin1')
      .replace(/[^ -~]+/g, ' ')
      .trim();
  }

  /** Records of any of these types, in the order of the file, each once. */
  having(...types: readonly StepKeyword[]): readonly number[] {
    if (types.length === 1) return this.byKeyword[keywordNumber(types[0])];
    const all = types.flatMap((type) => this.byKeyword[keywordNumber(type)]);
    return all.sort((a, b) => a - b).filter((record, k) => record !== all[k - 1]);
  }

  /** Whether a record is of one of these types. */
  is(record: number, types: readonly StepKeyword[]): boolean {
    const kind = this.records.kinds[record];
    const numbers = types.map(keywordNumber);
    return kind === complex
      ? (this.kindsOfComplex.get(record) ?? []).some((number) => numbers.includes(number))
      : numbers.includes(kind);
  }

  /** The first type of a record as the file spells it. */
  typeName(record: number): string {
    const start = this.records.bodies[record];
    const head = Buffer.from(
      this.bytes.subarray(start, Math.min(start + 100, this.records.ends[record])),
    );
    return /^\(?\s*(!?[A-Z0-9_]*)/i.exec(head.toString('latin1'))![1].toUpperCase();
  }

  /** The parsed parts of a record, or null where it cannot be read, which is told once. */
  parts(record: number): readonly StepPart[] | null {
    const { bodies, ends } = this.records;
    const isSpent = this.bytesLeft < 0;
    this.bytesLeft -= ends[record] - bodies[record];
    if (this.bytesLeft < 0) {
      if (!isSpent) this.tellAt('too-deep', record, { what: 'readings', most: mostReadings });
      return null;
    }
    const parts = stepParts(this.bytes, bodies[record], ends[record]);
    if (!isProblem(parts)) return parts;
    if (!this.broken.has(record)) {
      this.broken.add(record);
      const place: Place = {
        line: this.lineOf(parts.byte),
        byte: parts.byte,
        record: `#${this.records.ids[record]}`,
      };
      if (parts.code === 'too-deep')
        this.tell('too-deep', place, { what: 'brackets', most: deepest });
      else this.tell('step-syntax', place, { near: this.near(parts.byte) });
    }
    return null;
  }

  /**
   * The attributes of a record in one list, inherited ones first: a simple instance gives them so
   * (ISO 10303-21, internal mapping), a complex one type by type, and `layout` says in which order.
   */
  attributes(record: number, layout: Layout): readonly StepValue[] | null {
    const parts = this.parts(record);
    return parts && flattened(parts, layout);
  }

  /** As `follow`, with -1 also where there is no name to follow. */
  followed(from: number, id: number | null): number {
    return id === null ? -1 : this.follow(from, id);
  }

  /** The record a value names; -1 with a fault where the file does not hold it. */
  follow(from: number, id: number): number {
    const record = this.find(id);
    if (record < 0) this.tellAt('step-reference', from, { to: `#${id}` });
    return record;
  }
}

export function flattened(parts: readonly StepPart[], layout: Layout): readonly StepValue[] {
  if (parts.length === 1) return parts[0].values;
  return layout.flatMap(([type, attributes]) => {
    const values = parts.find((part) => part.type === type)?.values ?? [];
    return Array.from({ length: attributes }, (_, k): StepValue => values[k] ?? { kind: 'none' });
  });
}

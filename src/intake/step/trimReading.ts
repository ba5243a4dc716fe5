import type { Vector } from '../../geometry/vector.ts';
import type { Notice } from '../fault.ts';
import type { Layout, StepFile } from './stepFile.ts';
import type { StepValue } from './stepValues.ts';

/** A record of a trim that gives nothing: of a kind that is not read, or damaged. */
interface UnreadRecord {
  readonly record: number;
  readonly type: string;
  readonly problem: 'kind' | 'damaged';
}

/** The reading of the trim of one face: its measures, and the first thing in it that is not read. */
export class TrimReading {
  unread: UnreadRecord | null = null;
  /** Points of vertices by record, as most are the end of two edges; null: it has none. */
  readonly vertices = new Map<number, Vector | null>();

  constructor(
    readonly file: StepFile,
    /** Millimetres of a unit of length, radians of a unit of plane angle. */
    readonly millimetres: number,
    readonly radians: number,
    /** Millimetres within which points are one. */
    readonly tolerance: number,
  ) {}

  fail(problem: UnreadRecord['problem'], record: number, type = this.typeName(record)): null {
    this.unread ??= { record, type, problem };
    return null;
  }

  private typeName(record: number): string {
    return record < 0 ? '' : this.file.typeName(record);
  }

  /** As StepFile.attributes, and null is a failure. */
  attributes(record: number, layout: Layout): readonly StepValue[] | null {
    return this.file.attributes(record, layout) ?? this.fail('damaged', record);
  }

  /** The record a value names; -1, which is a failure, where it names none that is there. */
  target(from: number, id: number | null): number {
    const record = this.file.followed(from, id);
    if (record < 0) this.fail('damaged', from);
    return record;
  }

  /** What to tell of it, where something is not read. */
  notice(face: number): Notice {
    const { record, type, problem } = this.unread ?? { record: face, type: '', problem: 'damaged' };
    return {
      code: problem === 'kind' ? 'trim-kind' : 'trim-damaged',
      place: this.file.place(record),
      data: { type: type || this.file.typeName(record) },
    };
  }
}

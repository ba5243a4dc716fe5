import type { Spot } from '../../../src/geometry/controlNet.ts';
import type { Run } from '../../../src/measure/locator/netFaults.ts';
import type { Site } from '../../../src/rules/rule.ts';
import type { Vector } from '../../../src/geometry/vector.ts';

export interface NamedPoint {
  readonly spot: Spot;
  readonly displacement: Vector;
}

/** What a method says of a panel. */
export interface Answer {
  /** The likeliest point that would be seen, however unlikely, and how sure the method is of it. */
  readonly top: (NamedPoint & { readonly strength: number }) | null;
  /** Points named for certain, the surest first. */
  readonly named: readonly NamedPoint[];
  /** Rows and columns named for certain, whole or a run of them. */
  readonly lines: readonly {
    readonly along: 'row' | 'column';
    readonly index: number;
    /** First and last point of a run; left out for the whole line. */
    readonly run?: Run;
  }[];
  /** Whether any finding would be moderate or severe; every named point, where severity is unknown. */
  readonly graver: boolean;
  /** Every site told, with the probability that it is so, from a method that gives one. */
  readonly told?: readonly { readonly site: Site; readonly confidence: number }[];
  readonly milliseconds: number;
}

import type { Spot } from '../geometry/controlNet.ts';
import type { Vector } from '../geometry/vector.ts';
import type { BuildPrice } from '../measure/lighterBuilds.ts';
import type { WobbleSuspect } from '../measure/wobbleSuspect.ts';
import type { Seam } from './seam.ts';
import type { Subject } from './subject.ts';

/** A: visible; B: secondary; C: hidden. */
export type SurfaceClass = 'A' | 'B' | 'C';

/** `nats`: natural logarithm of how much better one explanation is than another; floors only. */
export type Unit = 'mm' | 'deg' | 'ratio' | 'count' | 'nats';

export interface Limit {
  readonly value: number;
  /** A published reference, "common practice" (no source), "from memory", or "spec". */
  readonly source: string;
}

export type ByClass = Readonly<Record<SurfaceClass, Limit>>;

/** The gaps a rule's message and remedy may have. */
export const placeholders = ['site', 'measured', 'limit', 'direction'] as const;

/** What must be exceeded as well before a miss is worth a person's time; the title begins its sentence. */
export type Floor = ByClass & { readonly title: string; readonly unit: Unit };

/** What is seen on the surface of a point that is off: movement at the peak, mm; tilt, degrees; shift of a highlight, mm. */
export interface Visible {
  readonly peak: number;
  readonly tilt: number;
  readonly shift: number;
}

export const seenMeasures = ['peak', 'tilt', 'shift'] as const;
/** The units of what is seen, and of a rule's steps of it. */
export const seenUnits = { peak: 'mm', tilt: 'deg', shift: 'mm' } as const;

/** Severity from how many times beyond the limit; severe null: never. */
export interface TimesBeyond {
  readonly moderate: number;
  readonly severe: number | null;
}

/** Severity from what is seen on the surface, whatever the limit: moderate where two reach that step, severe where all three do. */
export interface SeenSteps {
  readonly seen: Readonly<
    Record<keyof Visible, { readonly moderate: ByClass; readonly severe: ByClass }>
  >;
}

/** What rules/<id>.json holds; schema: rule.schema.json. */
export interface RuleData {
  readonly id: string;
  readonly title: string;
  /**
   * Rules of scope `surface` look at the part that trim and spec keep, `scan` at how far that lies off the
   * scan, `seam` at how two panels meet, the others at the whole net.
   */
  readonly scope: 'net' | 'build' | 'surface' | 'scan' | 'seam';
  readonly measure: string;
  readonly unit: Unit;
  readonly sense: 'at-most' | 'at-least';
  readonly limits: ByClass;
  readonly floors?: Readonly<Record<string, Floor>>;
  readonly severity: TimesBeyond | SeenSteps;
  readonly message: string;
  readonly remedy: string;
  readonly references: readonly string[];
}

/** First and last point of a part of a line, counted along it; left out for the whole line. */
interface Stretch {
  readonly from?: number;
  readonly to?: number;
}

/** Where on a panel something is; row and column count from 0. */
export type Site =
  | { readonly kind: 'point'; readonly row: number; readonly column: number }
  | { readonly kind: 'points'; readonly points: readonly Spot[] }
  | {
      readonly kind: 'leg';
      readonly row: number;
      readonly column: number;
      readonly along: 'row' | 'column';
    }
  | ({ readonly kind: 'row'; readonly row: number } & Stretch)
  | ({ readonly kind: 'column'; readonly column: number } & Stretch)
  | { readonly kind: 'net' }
  | {
      /** A plane across that axis of the model, mm; or the line of constant v (row) or u (column), parameter units. */
      readonly kind: 'section';
      readonly axis: 'x' | 'y' | 'z' | 'row' | 'column';
      readonly at: number;
    }
  | {
      readonly kind: 'seam';
      /** The other panel's name. */
      readonly with: string;
      /** Which of the seams of these two panels, from 0. */
      readonly nth: number;
      /** mm along the seam where the limit is missed first and last. */
      readonly from: number;
      readonly to: number;
    }
  | {
      /** A connected part of the surface. */
      readonly kind: 'region';
      /** mm^2. */
      readonly area: number;
      /** The control points that sway its peak most, the first most. */
      readonly points: readonly Spot[];
      /** Which of the regions around the first of them, from 0, the worst first. */
      readonly nth: number;
    };

/** A control point and how far to move it, mm in the model's frame. */
export interface Move extends Spot {
  readonly by: Vector;
}

/** A control point and its share of the sway that all have at a place, 0 to 1. */
export interface Influence extends Spot {
  readonly share: number;
}

/** One site at which a limit is missed. Numbers only; sentences are made by the writers. */
export interface Miss {
  readonly site: Site;
  /** In the rule's unit (degrees where it says deg). */
  readonly value: number;
  /** Where, mm in the model's frame; null for a miss of the whole net. */
  readonly position: Vector | null;
  readonly direction?: 'out' | 'in';
  /** Where a displaced point (of a line, the one farthest off) is minus where it is expected, mm. */
  readonly displacement?: Vector;
  /** Where that point is expected, mm in the model's frame. */
  readonly expected?: Vector;
  /** Moves that mend it, one a point, mm. */
  readonly moves?: readonly Move[];
  /** Points that may be off instead, each with the move that would mend it. */
  readonly either?: readonly Move[];
  /** Calibrated probability that it is this site. */
  readonly confidence?: number;
  /** The likeliest other site. */
  readonly runnerUp?: Site;
  readonly visible?: Visible;
  readonly certainty?: 'named' | 'uncertain';
  /** Control points that sway the surface most at `position`, the first most. */
  readonly influence?: readonly Influence[];
  /** How many times beyond a floor that is missed by itself, where that is worse than the limit. */
  readonly beyond?: number;
  /** The wobble behind it, to be sought in the scan; where there is one. */
  readonly suspect?: WobbleSuspect;
  /** More numbers behind the miss, for whoever asks. */
  readonly evidence?: Readonly<Record<string, number>>;
  /** The lighter build that would do, and what any build costs. */
  readonly lighter?: { readonly build: BuildPrice; readonly prices: readonly BuildPrice[] };
}

/** Why a rule did not decide, or does not apply. */
export const reasonCodes = [
  'too-few-points',
  'too-small',
  'too-large',
  'inner-break',
  'no-extent',
  'no-normal',
  'polynomial',
  'smooth-knots',
  'single-span',
  'same-net',
  'no-section',
  'nothing-kept',
  'no-side',
  'no-view',
  'no-neighbour',
  'trim-unread',
  'feature-line',
  'angle-first',
  'curvature-first',
  'no-centre',
  'off-centre',
  'no-scan',
  'scan-unread',
  'scan-misaligned',
  'scan-open',
  'scan-cloud',
] as const;
export type Reason = (typeof reasonCodes)[number];

export type Judgement =
  | { readonly outcome: 'met' }
  | { readonly outcome: 'missed'; readonly misses: readonly Miss[] }
  | { readonly outcome: 'undecided'; readonly reason: Reason }
  | { readonly outcome: 'not-applicable'; readonly reason: Reason };
export type Outcome = Judgement['outcome'];

/** The thresholds a rule judges by, for the panel's class. */
export interface Thresholds {
  readonly limit: Limit;
  /** A floor's value; every name a rule asks for stands in its data. */
  readonly floor: (name: string) => number;
}

/** A rule: its data, and the few lines that turn measures into misses. */
export interface Rule {
  readonly data: RuleData;
  readonly judge: (subject: Subject, thresholds: Thresholds) => Judgement;
}

/** A rule on how two panels meet. */
export interface SeamRule {
  readonly data: RuleData;
  readonly judge: (seam: Seam, thresholds: Thresholds) => Judgement;
}

export const thresholdsOf = (data: RuleData, surfaceClass: SurfaceClass): Thresholds => ({
  limit: data.limits[surfaceClass],
  floor: (name) => {
    const floor = data.floors?.[name];
    if (!floor) throw new Error(`rule ${data.id} asks for a floor "${name}" that its data lacks`);
    return floor[surfaceClass].value;
  },
});

export const met: Judgement = { outcome: 'met' };

/** Missed where there are misses, else met. */
export const judged = (misses: readonly Miss[]): Judgement =>
  misses.length > 0 ? { outcome: 'missed', misses } : met;

export const notApplicable = (reason: Reason): Judgement => ({
  outcome: 'not-applicable',
  reason,
});

export const degrees = (radians: number): number => (radians * 180) / Math.PI;
